"""One statement of a breath as an item: a finding that still lacks its place, or a place, or a command.

Sides and ages are put together afterwards (see breath.py), because a side said once holds for what
follows it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import TypeVar

from lark import Token, Tree

from grammar.findings import (
    Animal,
    AnimalClass,
    AnswerWord,
    Arrangement,
    Command,
    CommandName,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    History,
    Landmark,
    LandmarkName,
    Measurement,
    Membranes,
    Note,
    OvarianStructure,
    Ovary,
    PastEvent,
    Plan,
    PlanAction,
    Pregnancy,
    PregnancyStatus,
    Quantity,
    Sex,
    Side,
    StatedAs,
    TreatmentClass,
    UterineState,
    Uterus,
    Viability,
    Wall,
)
from grammar.numbers import (
    MONTHS,
    cardinal,
    digit_run,
    fraction,
    ordinal,
    tag_digits,
    words_of,
)

Node = Tree[Token]

DAYS_IN_WEEK = 7
# A month of gestation is taken as 30 days, as in the size bands of Njaa (ed.) 2012, Kirkbride's
# Diagnosis of Abortion and Neonatal Loss in Animals, 4th ed., Table A.1.
DAYS_IN_MONTH = 30
DAYS_IN_FORTNIGHT = 14
MM_IN_CM = 10


class PlaceKind(StrEnum):
    """What a spoken place can carry."""

    OVARY = "ovary"
    UTERUS = "uterus"
    CERVIX = "cervix"
    SIDE = "side"


class RemarkKind(StrEnum):
    """A remark that means something only with a place."""

    NORMAL = "normal"
    CLEAR = "clear"
    NOT_SEEN = "not_seen"
    COULD_NOT_REACH = "could_not_reach"
    NOTHING = "nothing"
    ADHESION = "adhesion"


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the tract; ``side`` None is the whole uterus."""

    kind: PlaceKind
    side: Side | None


@dataclass(frozen=True, slots=True)
class Remark:
    """A remark; ``place`` where it was part of the same statement ("couldn't see the left ovary")."""

    kind: RemarkKind
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Age:
    """An age that belongs to a pregnancy of the breath."""

    age_days: int
    age_to_days: int | None
    approximate: bool
    stated_as: StatedAs | None


@dataclass(frozen=True, slots=True)
class GravidSide:
    """ "carrying left": a side that belongs to a pregnancy of the breath."""

    side: Side


Content = Finding | Command | Place | Remark | Age | GravidSide | Arrangement


@dataclass(frozen=True, slots=True)
class Item:
    """A piece of a breath and its character span."""

    content: Content
    start: int
    end: int


class UnresolvedDateError(Exception):
    """A day and month were spoken but the date of the visit, which gives the year, is not known."""


_E = TypeVar("_E", bound=StrEnum)


def children(node: Node, name: str | None = None) -> list[Node]:
    """Child nodes, of one rule if ``name`` is given."""
    return [c for c in node.children if isinstance(c, Tree) and (name is None or c.data == name)]


def child(node: Node, name: str) -> Node | None:
    """The child of that rule, if there is one."""
    return next(iter(children(node, name)), None)


def _named(node: Node | None, kind: type[_E]) -> _E | None:
    """The enum member that names the only child of a choice rule."""
    return None if node is None else kind(str(children(node)[0].data))


def items_of(node: Node, visit_date: date | None) -> list[Item]:
    """Items of one statement or command. Raises UnresolvedDateError."""
    start, end = int(node.meta.start_pos), int(node.meta.end_pos)
    return [Item(content, start, end) for content in _READERS[str(node.data)](node, visit_date)]


# ---- identity and places


def _animal(node: Node, _: date | None) -> list[Content]:
    if child(node, "tag_missing"):
        return [Animal()]
    tag = child(node, "tag")
    return [
        Animal(
            tag=None if tag is None else tag_digits(tag),
            animal_class=_named(child(node, "animal_class"), AnimalClass),
        )
    ]


def _tag_alone(node: Node, _: date | None) -> list[Content]:
    return [Animal(tag=tag_digits(children(node)[0]), tag_alone=True)]


def _electronic(node: Node, _: date | None) -> list[Content]:
    return [Animal(electronic_id=digit_run(children(node, "digits")[0]))]


def _side(node: Node | None) -> Side | None:
    if node is None:
        return None
    spoken = list(node.find_data("side_word")) if node.data != "side_word" else [node]
    # of "left, no, right" the last counts
    ordered = sorted(spoken, key=lambda s: int(s.meta.start_pos))
    return _named(ordered[-1], Side) if ordered else None


def _ovary_place(node: Node, _: date | None) -> list[Content]:
    if child(node, "both_ovaries"):
        side: Side | None = Side.BOTH
    elif child(node, "left_ovary_short"):
        side = Side.LEFT
    elif child(node, "right_ovary_short"):
        side = Side.RIGHT
    else:
        side = _side(child(node, "side"))
    return [Place(PlaceKind.OVARY, side)]


def _side_place(node: Node, _: date | None) -> list[Content]:
    side = Side.BOTH if child(node, "both_sides") else _side(child(node, "side"))
    return [Place(PlaceKind.SIDE, side)]


def _uterus_place(node: Node, _: date | None) -> list[Content]:
    if child(node, "both_horns"):
        side: Side | None = Side.BOTH
    elif child(node, "body_place"):
        side = Side.BODY
    else:
        side = _side(child(node, "side"))
    return [Place(PlaceKind.UTERUS, side)]


def _cervix_place(_: Node, __: date | None) -> list[Content]:
    return [Place(PlaceKind.CERVIX, None)]


def _station_remark(node: Node, _: date | None) -> list[Content]:
    return [Remark(RemarkKind(str(children(node)[0].data)))]


def _remark_with_place(kind: RemarkKind) -> Callable[[Node, date | None], list[Content]]:
    def read(node: Node, visit_date: date | None) -> list[Content]:
        place = next(c for c in children(node) if str(c.data).endswith("_place"))
        content = _READERS[str(place.data)](place, visit_date)[0]
        return [Remark(kind, content if isinstance(content, Place) else None)]

    return read


# ---- sizes


def _small(node: Node) -> float:
    """A number with a decimal part or a half: n199, NDEC, "two point four", "two and a half"."""
    words = words_of(node)
    if "point" in words:
        at = words.index("point")
        return cardinal(words[:at]) + fraction(words[at + 1 :])
    if "half" in words:
        return cardinal(words[: words.index("and")]) + 0.5
    if len(words) == 1 and "." in words[0]:
        return float(words[0])
    return float(cardinal(words))


def _millimetres(number: float, unit: Node | None) -> float:
    cm = unit is not None and child(unit, "centimetres") is not None
    return round(number * (MM_IN_CM if cm else 1), 2)


def _sizes(node: Node) -> tuple[float, float | None, bool]:
    """Size, second size, whether the unit was assumed, of an ovary_size in any of its forms."""
    numbers = [_small(n) for n in children(node, "small_size")]
    units = children(node, "size_unit")
    if node.data == "two_axes":
        unit = units[0] if units else None
        return _millimetres(numbers[0], unit), _millimetres(numbers[1], unit), unit is None
    # of "twenty, sorry, twenty-four" the last counts, with the unit said last
    unit = units[-1] if units else None
    return _millimetres(numbers[-1], unit), None, unit is None


_SEVERAL = {
    "corpora_lutea": OvarianStructure.CORPUS_LUTEUM,
    "follicles": OvarianStructure.FOLLICLE,
    "cysts": OvarianStructure.CYST,
}
_SIZE_RULES = {"ovary_size", "two_axes", "size_slip"}


def _ovary(node: Node, _: date | None) -> list[Content]:
    if child(node, "static_ovaries"):
        return [Ovary(Side.BOTH, OvarianStructure.STATIC)]
    head = child(node, "ovary_head") or node
    many = child(head, "structures")
    structure = (
        _SEVERAL[str(children(many)[0].data)]
        if many is not None
        else _named(child(head, "structure"), OvarianStructure)
    )
    assert structure is not None  # the grammar always has one here
    found = _detailed(node, structure, None)
    count = child(head, "count")
    return [found if count is None else replace(found, count=cardinal(words_of(count)))]


def _walled_cyst(node: Node, _: date | None) -> list[Content]:
    wall = _named(child(node, "wall"), Wall)
    kind = OvarianStructure.FOLLICULAR_CYST if wall is Wall.THIN else OvarianStructure.LUTEAL_CYST
    return [_detailed(node, kind, wall)]


def _detailed(node: Node, structure: OvarianStructure, wall: Wall | None) -> Ovary:
    size: float | None = None
    second: float | None = None
    assumed = False
    cavity: bool | None = None
    cavity_mm: float | None = None
    wall_mm: float | None = None
    before = child(node, "small_size")
    if before is not None:
        size = _millimetres(_small(before), child(node, "size_unit"))
    for detail in children(node):
        sized = _sized(detail)
        if sized is not None:
            size, second, assumed = _sizes(sized)
        elif detail.data == "cavity_plain":
            cavity = True
        elif detail.data == "cavity":
            cavity = child(detail, "no_cavity") is None
            cavity_mm, bare = _optional_mm(detail)
            assumed = assumed or bare
        elif detail.data == "wall_said":
            wall = _named(child(detail, "wall"), Wall) or wall
            measured, bare = _optional_mm(detail)
            wall_mm = measured if measured is not None else wall_mm
            assumed = assumed or bare
    return Ovary(
        side=None,
        structure=structure,
        size_mm=size,
        second_size_mm=second,
        cavity=cavity,
        cavity_mm=cavity_mm,
        wall=wall,
        wall_mm=wall_mm,
        unit_assumed=assumed,
    )


def _sized(node: Node) -> Node | None:
    """The size under a detail, said with or without a word before it ("measuring twenty")."""
    if node.data == "size_said":
        return next(c for c in children(node) if c.data in _SIZE_RULES)
    return node if node.data in _SIZE_RULES else None


def _optional_mm(node: Node) -> tuple[float | None, bool]:
    number = child(node, "small_size")
    if number is None:
        return None, False
    unit = child(node, "size_unit")
    return _millimetres(_small(number), unit), unit is None


def _ovary_absent(node: Node, _: date | None) -> list[Content]:
    structure = _named(child(node, "absent_structure"), OvarianStructure)
    assert structure is not None
    return [Ovary(side=None, structure=structure, count=0)]


def _uterus(node: Node, _: date | None) -> list[Content]:
    state = _named(child(node, "uterine_state") or child(node, "fluid_state"), UterineState)
    assert state is not None
    depth, assumed = _optional_mm(node)
    return [Uterus(side=None, state=state, depth_mm=depth, unit_assumed=assumed)]


# ---- pregnancy


def _pregnancy(node: Node, visit_date: date | None) -> list[Content]:
    status = _named(child(node, "status"), PregnancyStatus)
    assert status is not None
    out: list[Content] = [Pregnancy(status)]
    for part in children(node):
        if str(part.data) in {"gravid_side", "uterus_place", "side_place"}:
            place = _READERS[str(part.data)](part, visit_date)[0]
            side = place.side if isinstance(place, Place | GravidSide) else None
            out = [Pregnancy(status, side=side)]
        elif str(part.data) in {"age_bare", "about_age_bare", "age_bare_range"}:
            out.append(_age_bare(part))
    return out


def _gravid_side(node: Node, _: date | None) -> list[Content]:
    side = _side(child(node, "side"))
    assert side is not None
    return [GravidSide(side)]


def _age_bare(node: Node) -> Age:
    numbers = [cardinal(words_of(n)) for n in children(node, "n_age")]
    upper = numbers[1] if node.data == "age_bare_range" else None
    return Age(numbers[0], upper, upper is not None or node.data == "about_age_bare", None)


def _age(node: Node, _: date | None) -> list[Content]:
    about = node.data == "about_age" or child(node, "approximately_after") is not None
    value = next(c for c in children(node) if str(c.data) in _AGE_VALUES)
    unit_node = child(value, "age_unit")
    unit = _named(unit_node, StatedAs) if unit_node is not None else StatedAs.DAYS
    if value.data == "age_ish" and unit_node is None:
        unit = None
    factor = {StatedAs.WEEKS: DAYS_IN_WEEK, StatedAs.MONTHS: DAYS_IN_MONTH}.get(
        unit or StatedAs.DAYS, 1
    )
    numbers = [cardinal(words_of(n)) for n in children(value, "n_age")]
    amount = _AGE_VALUES[str(value.data)](value, numbers)
    upper = numbers[1] * factor if value.data == "age_range" else None
    about = about or upper is not None or value.data == "age_ish"
    return [Age(_whole_days(amount * factor), upper, about, unit)]


def _whole_days(days: float) -> int:
    """Whole days, halves up: six and a half weeks is 46 days."""
    return int(days + 0.5)


_AGE_VALUES: dict[str, Callable[[Node, list[int]], float]] = {
    "age_one": lambda _, n: float(n[0]),
    "age_range": lambda _, n: float(n[0]),
    "age_and_half": lambda _, n: n[0] + 0.5,
    "age_decimal": lambda v, _: float(next(w for w in words_of(v) if "." in w)),
    "age_point": lambda v, _: _small(
        Tree("n", [c for c in v.children if not (isinstance(c, Tree) and c.data == "age_unit")])
    ),
    "age_ish": lambda _, n: float(n[0]),
    "age_one_day": lambda _, n: float(n[0]),
}


def _conceptus(node: Node, _: date | None) -> list[Content]:
    arrangement = child(node, "arrangement")
    if arrangement is not None:
        kind = _named(arrangement, Arrangement)
        assert kind is not None
        return [kind]
    name = str(children(children(node, "conceptus_count")[0])[0].data)
    return [Conceptus({"single": 1, "twins": 2, "triplets": 3}[name])]


_SIGNS: dict[str, dict[str, bool | Membranes]] = {
    "heartbeat": {"heartbeat": True},
    "no_heartbeat": {"heartbeat": False},
    "movement": {"movement": True},
    "no_movement": {"movement": False},
    "membranes_attached": {"membranes": Membranes.ATTACHED},
    "membranes_detached": {"membranes": Membranes.DETACHED},
    "lost": {"loss": True},
    "viable": {"loss": False},
}


def _fetus(node: Node) -> int | None:
    spoken = child(node, "fetus")
    return None if spoken is None else (1 if child(spoken, "first_fetus") else 2)


def _viability(node: Node, _: date | None) -> list[Content]:
    sign = _SIGNS[str(children(children(node, "sign")[0])[0].data)]
    return [Viability(fetus=_fetus(node), **sign)]  # type: ignore[arg-type]


def _landmark(node: Node, _: date | None) -> list[Content]:
    name = _named(child(node, "landmark_name"), LandmarkName)
    assert name is not None
    return [Landmark(name, seen=node.data == "landmark", fetus=_fetus(node))]


def _measurement(node: Node, _: date | None) -> list[Content]:
    quantity = _named(child(node, "quantity"), Quantity)
    size = children(node, "fetal_size")[0]
    unit = child(size, "size_unit")
    assert quantity is not None
    number = _small(children(size, "n_size")[0])
    return [Measurement(quantity, _millimetres(number, unit), _fetus(node), unit is None)]


def _fetal_sex(node: Node, _: date | None) -> list[Content]:
    if child(node, "both_male"):
        return [FetalSex(Sex.MALE, 1), FetalSex(Sex.MALE, 2)]
    if child(node, "both_female"):
        return [FetalSex(Sex.FEMALE, 1), FetalSex(Sex.FEMALE, 2)]
    if child(node, "one_of_each"):
        return [FetalSex(Sex.MALE, 1), FetalSex(Sex.FEMALE, 2)]
    sex = _named(child(node, "sex"), Sex)
    assert sex is not None
    return [FetalSex(sex, _fetus(node))]


# ---- condition, plan, history, notes


def _condition(node: Node, _: date | None) -> list[Content]:
    score = next(c for c in children(node) if str(c.data).startswith("score"))
    words = words_of(score)
    if "quarters" in words or score.data == "score_three_quarters":
        value = cardinal(words[: words.index("and")]) + 0.75
    elif score.data == "score_quarter":
        value = cardinal(words[: words.index("and")]) + 0.25
    else:
        value = _small(score)
    scale = child(node, "scale")
    return [Condition(value, None if scale is None else cardinal(words_of(scale)))]


def _plan(node: Node, visit_date: date | None) -> list[Content]:
    name = str(children(node)[0].data)
    action = PlanAction(name)
    in_days, on_date = _when(node, visit_date, later=True)
    return [Plan(action, in_days, on_date)]


def _treat(node: Node, visit_date: date | None) -> list[Content]:
    treatment = _named(child(node, "treatment"), TreatmentClass)
    in_days, on_date = _when(node, visit_date, later=True)
    return [Plan(PlanAction.TREAT, in_days, on_date, treatment)]


def _when(node: Node, visit_date: date | None, *, later: bool) -> tuple[int | None, date | None]:
    for part in children(node):
        number = child(part, "n99_number")
        count = 0 if number is None else cardinal(words_of(number))
        match str(part.data):
            case "in_days":
                return count, None
            case "in_weeks":
                return count * DAYS_IN_WEEK, None
            case "in_one_week":
                return DAYS_IN_WEEK, None
            case "in_fortnight":
                return DAYS_IN_FORTNIGHT, None
            case "in_months":
                return count * DAYS_IN_MONTH, None
            case "on_date":
                return None, _date(children(part, "day_of_month")[0], visit_date, later=later)
    return None, None


def _date(node: Node, visit_date: date | None, *, later: bool) -> date:
    """The next such day after the visit for a plan, the last one before it for history."""
    if visit_date is None:
        raise UnresolvedDateError
    day = ordinal(words_of(children(node, "ordinal")[0]))
    month = MONTHS[words_of(children(node, "month")[0])[0]]
    step = 1 if later else -1
    for year in range(visit_date.year, visit_date.year + 9 * step, step):
        try:
            found = date(year, month, day)
        except ValueError:  # 29 February, or a day that no year has
            continue
        if (found >= visit_date) if later else (found <= visit_date):
            return found
    raise UnresolvedDateError


def _history(node: Node, visit_date: date | None) -> list[Content]:
    name = str(node.data)
    if name == "milking":
        return [History(PastEvent.CALVED, days_ago=cardinal(words_of(children(node, "n_age")[0])))]
    event = PastEvent.SERVED if name.startswith("served") else PastEvent.CALVED
    if name.endswith("_on"):
        day = children(node, "day_of_month")[0]
        return [History(event, on_date=_date(day, visit_date, later=False))]
    span = children(node, "span")[0]
    count = cardinal(words_of(children(span, "n_age")[0]))
    factor = DAYS_IN_WEEK if child(span, "weeks") else DAYS_IN_MONTH if child(span, "months") else 1
    return [History(event, days_ago=count * factor)]


def _words_as_note(node: Node, _: date | None) -> list[Content]:
    return [Note(" ".join(words_of(node)))]


def _note(node: Node, _: date | None) -> list[Content]:
    return [Note(str(node.children[0]).split(" ", 1)[1])]


# ---- commands

_COMMANDS: dict[str, Command] = {
    "scratch": Command(CommandName.SCRATCH),
    "read_back": Command(CommandName.READ_BACK),
    "close": Command(CommandName.CLOSE),
    "close_visit": Command(CommandName.CLOSE_VISIT),
    "pause": Command(CommandName.PAUSE),
    "resume": Command(CommandName.RESUME),
    "help": Command(CommandName.HELP),
    "take_note": Command(CommandName.NOTE),
    "correction": Command(CommandName.CHANGE),
    "yes": Command(CommandName.ANSWER, answer=AnswerWord.YES),
    "no": Command(CommandName.ANSWER, answer=AnswerWord.NO),
}
_CHOICES = {"first_choice": 1.0, "second_choice": 2.0, "third_choice": 3.0}


def _command(node: Node, _: date | None) -> list[Content]:
    only = children(node)[0]
    if only.data == "choice":
        number = _CHOICES[str(children(only)[0].data)]
        return [Command(CommandName.ANSWER, number=number, answer=AnswerWord.CHOICE)]
    return [_COMMANDS[str(only.data)]]


def _next(node: Node, visit_date: date | None) -> list[Content]:
    named = child(node, "next_named")
    if named is None:
        return [Command(CommandName.NEXT_ANIMAL)]
    only = children(named)[0]
    if only.data == "tag":
        animal: Content = Animal(tag=tag_digits(only))
    else:
        animal = _READERS[str(only.data)](only, visit_date)[0]
    return [Command(CommandName.NEXT_ANIMAL, animal=animal if isinstance(animal, Animal) else None)]


def _change_number(node: Node, _: date | None) -> list[Content]:
    size = next((c for c in children(node) if c.data in _SIZE_RULES), None)
    if size is not None:
        return [Command(CommandName.CHANGE, number=_sizes(size)[0])]
    return [Command(CommandName.CHANGE, number=_small(children(node, "number_only")[0]))]


def _change_side(node: Node, _: date | None) -> list[Content]:
    return [Command(CommandName.CHANGE, side=_side(child(node, "side_word")))]


_READERS: dict[str, Callable[[Node, date | None], list[Content]]] = {
    "animal": _animal,
    "tag_alone": _tag_alone,
    "electronic": _electronic,
    "ovary_place": _ovary_place,
    "side_place": _side_place,
    "uterus_place": _uterus_place,
    "cervix_place": _cervix_place,
    "station_remark": _station_remark,
    "not_seen_place": _remark_with_place(RemarkKind.NOT_SEEN),
    "not_reached_place": _remark_with_place(RemarkKind.COULD_NOT_REACH),
    "ovary": _ovary,
    "walled_cyst": _walled_cyst,
    "ovary_absent": _ovary_absent,
    "uterus": _uterus,
    "pregnancy": _pregnancy,
    "gravid_side": _gravid_side,
    "age": _age,
    "about_age": _age,
    "conceptus": _conceptus,
    "viability": _viability,
    "landmark": _landmark,
    "landmark_absent": _landmark,
    "landmark_not_seen": _landmark,
    "measurement": _measurement,
    "fetal_sex": _fetal_sex,
    "condition": _condition,
    "plan": _plan,
    "treat": _treat,
    "served_ago": _history,
    "served_on": _history,
    "calved_ago": _history,
    "calved_on": _history,
    "milking": _history,
    "remark": _words_as_note,
    "note": _note,
    "command": _command,
    "answer": _command,
    "next": _next,
    "change_number": _change_number,
    "change_side": _change_side,
}
