"""A finding as it would be spoken: for the read-back, and the other half of 'what is said is read'.

For every finding that the grammar can express, ``parse(say(finding))`` gives the finding again.
"""

from __future__ import annotations

from datetime import date
from functools import singledispatch

from grammar.findings import (
    Animal,
    AnimalClass,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    History,
    Landmark,
    Measurement,
    Membranes,
    Note,
    OvarianStructure,
    Ovary,
    PastEvent,
    Plan,
    PlanAction,
    Pregnancy,
    Seen,
    SeenRemark,
    Side,
    StatedAs,
    SweepStructure,
    UterineState,
    Uterus,
    Viability,
)
from grammar.numbers import MONTHS, ORDINALS, TEENS, TENS, UNITS
from grammar.statements.units import DAYS_IN_MONTH, DAYS_IN_WEEK
from grammar.vocabulary import built_in

_SMALL = {n: w for w, n in {**UNITS, **TEENS, **TENS}.items()}
_ORDINAL_WORDS = {n: w for w, n in ORDINALS.items()}
_MONTH_WORDS = {n: w for w, n in MONTHS.items()}
_DIGIT_WORDS = {0: "oh", **{n: w for w, n in UNITS.items()}}


def say_number(number: float) -> str:
    """1 to 999: 22 is "twenty two", 105 "a hundred and five", 2.4 "two point four"."""
    whole = int(number)
    decimals = f"{number:.2f}".split(".")[1].rstrip("0")
    if decimals:
        return f"{say_number(whole)} point {' '.join(_DIGIT_WORDS[int(d)] for d in decimals)}"
    if whole in _SMALL:
        return _SMALL[whole]
    if whole == 0:
        return "zero"
    if whole < 100:
        return f"{_SMALL[whole - whole % 10]} {_SMALL[whole % 10]}"
    hundreds, rest = divmod(whole, 100)
    head = "a hundred" if hundreds == 1 else f"{_SMALL[hundreds]} hundred"
    return head if rest == 0 else f"{head} and {say_number(rest)}"


def say_digits(digits: str) -> str:
    """A tag digit by digit."""
    return " ".join(_DIGIT_WORDS[int(d)] for d in digits)


def say_day(day: date) -> str:
    """Day and month: "the tenth of march"."""
    number = day.day
    if number in _ORDINAL_WORDS:
        word = _ORDINAL_WORDS[number]
    else:
        word = f"{_SMALL[number - number % 10]} {_ORDINAL_WORDS[number % 10]}"
    return f"the {word} of {_MONTH_WORDS[day.month]}"


def _term(name: str) -> str:
    return built_in().spoken(name)


def _size(number: float, *, unit: bool) -> str:
    return say_number(number) + (" millimetres" if unit else "")


def _fetus(number: int | None) -> str:
    return "" if number is None else f"{_term('first_fetus' if number == 1 else 'second_fetus')} "


@singledispatch
def say(finding: Finding) -> str:
    """The phrase for one finding, in normalised words."""
    raise TypeError(f"no spoken form for {finding!r}")


@say.register
def _(finding: Animal) -> str:
    if finding.electronic_id is not None:
        return f"{_term('electronic_word')} {say_digits(finding.electronic_id)}"
    if finding.tag is None:
        return _term("tag_missing")
    if finding.tag_alone:
        return say_digits(finding.tag)
    word = _term(
        {
            None: "animal_word",
            AnimalClass.HEIFER: "heifer",
            AnimalClass.COW: "cow",
            AnimalClass.FIRST_CALVER: "first_calver",
        }[finding.animal_class]
    )
    return f"{word} {say_digits(finding.tag)}"


def _ovary_place(side: Side | None) -> str:
    if side is None:
        return ""
    return f"{_term('both_ovaries')} " if side is Side.BOTH else f"{side} ovary "


_SEVERAL = {
    OvarianStructure.CORPUS_LUTEUM: "corpora_lutea",
    OvarianStructure.FOLLICLE: "follicles",
    OvarianStructure.CYST: "cysts",
}


def _cavity(finding: Ovary, *, unit: bool) -> list[str]:
    if finding.cavity is None:
        return []
    if not finding.cavity:
        return [_term("no_cavity")]
    size = finding.cavity_mm
    return [_term("cavity_with"), *([] if size is None else [f"of {_size(size, unit=unit)}"])]


@say.register
def _(finding: Ovary) -> str:
    if finding.structure is OvarianStructure.NONE:
        return f"{_ovary_place(finding.side)}nothing"
    if finding.count == 0:
        return f"{_ovary_place(finding.side)}no {_term(finding.structure)}"
    words = [_term(finding.structure)]
    if finding.count is not None:
        words = [say_number(finding.count), _term(_SEVERAL[finding.structure])]
    unit = not finding.unit_assumed
    if finding.second_size_mm is not None and finding.size_mm is not None:
        words += [say_number(finding.size_mm), "by", _size(finding.second_size_mm, unit=unit)]
    elif finding.size_mm is not None:
        words.append(_size(finding.size_mm, unit=unit))
    words += _cavity(finding, unit=unit)
    if finding.wall_mm is not None:
        words.append(f"wall {_size(finding.wall_mm, unit=unit)}")
    elif finding.wall is not None:
        words.append(f"{_term(finding.wall)} wall")
    return _ovary_place(finding.side) + " ".join(words)


def _uterus_place(side: Side | None) -> str:
    places = {None: "", Side.BOTH: "both horns ", Side.BODY: "body "}
    return places.get(side, f"{side} horn ")


@say.register
def _(finding: Uterus) -> str:
    place = _uterus_place(finding.side)
    if finding.state is UterineState.CLEAR and finding.side is None:
        place = f"{_term('uterus_word')} "
    words = place + _term(finding.state)
    if finding.depth_mm is not None:
        words += f" {_size(finding.depth_mm, unit=not finding.unit_assumed)}"
    return words


def say_age(age_days: int, stated_as: StatedAs | None) -> str:
    """An age in the unit in which it was stated; days where it is no whole or half unit."""
    if stated_as is None:
        return say_number(age_days)
    size = {StatedAs.WEEKS: DAYS_IN_WEEK, StatedAs.MONTHS: DAYS_IN_MONTH}.get(stated_as, 1)
    whole, rest = divmod(age_days, size)
    if rest == 0:
        return f"{say_number(whole)} {stated_as}"
    if whole and age_days == int((whole + 0.5) * size + 0.5):
        return f"{say_number(whole)} and a half {stated_as}"
    return f"{say_number(age_days)} days"


@say.register
def _(finding: Pregnancy) -> str:
    words = [] if finding.status_assumed else [_term(finding.status)]
    if finding.side is not None:
        words.append(
            f"carrying {finding.side}"
            if finding.status_assumed
            else _uterus_place(finding.side).strip()
        )
    if finding.age_days is not None:
        if finding.age_to_days is not None:
            size = {StatedAs.WEEKS: DAYS_IN_WEEK, StatedAs.MONTHS: DAYS_IN_MONTH}.get(
                finding.stated_as or StatedAs.DAYS, 1
            )
            words.append(f"{say_number(finding.age_days // size)} to")
            words.append(say_age(finding.age_to_days, finding.stated_as))
        else:
            words += ["about"] if finding.approximate else []
            words.append(say_age(finding.age_days, finding.stated_as))
    return " ".join(words)


@say.register
def _(finding: Conceptus) -> str:
    words = _term({1: "single", 2: "twins", 3: "triplets"}[finding.count])
    return words if finding.arrangement is None else f"{words} {_term(finding.arrangement)}"


@say.register
def _(finding: Viability) -> str:
    if finding.heartbeat is not None:
        sign = "heartbeat" if finding.heartbeat else "no_heartbeat"
    elif finding.movement is not None:
        sign = "movement" if finding.movement else "no_movement"
    elif finding.membranes is not None:
        attached = finding.membranes is Membranes.ATTACHED
        sign = "membranes_attached" if attached else "membranes_detached"
    else:
        sign = "lost" if finding.loss else "viable"
    return _fetus(finding.fetus) + _term(sign)


@say.register
def _(finding: Landmark) -> str:
    return _fetus(finding.fetus) + ("" if finding.seen else "no ") + _term(finding.name)


@say.register
def _(finding: Measurement) -> str:
    size = _size(finding.size_mm, unit=not finding.unit_assumed)
    return f"{_fetus(finding.fetus)}{_term(finding.quantity)} {size}"


@say.register
def _(finding: FetalSex) -> str:
    return _fetus(finding.fetus) + _term(finding.sex)


@say.register
def _(finding: Seen) -> str:
    place = {SweepStructure.CERVIX: "cervix", SweepStructure.BODY: "body"}.get(
        finding.structure, finding.structure.replace("_", " ")
    )
    remark = {
        None: "",
        SeenRemark.NORMAL: "normal",
        SeenRemark.NOT_SEEN: "not seen",
        SeenRemark.COULD_NOT_REACH: "could not reach",
    }[finding.remark]
    return f"{place} {remark}".strip()


@say.register
def _(finding: Condition) -> str:
    scale = "" if finding.scale is None else f" out of {say_number(finding.scale)}"
    return f"{_term('condition_word')} {say_number(finding.score)}{scale}"


def _when(in_days: int | None, on_date: date | None) -> str:
    if on_date is not None:
        return f" on {say_day(on_date)}"
    if in_days == 0:
        return f" {_term('today')}"
    return "" if in_days is None else f" in {say_number(in_days)} days"


@say.register
def _(finding: Plan) -> str:
    name = finding.treatment_class if finding.action is PlanAction.TREAT else finding.action
    assert name is not None  # a treatment always has its class
    return _term(name) + _when(finding.in_days, finding.on_date)


@say.register
def _(finding: History) -> str:
    verb = _term("served" if finding.event is PastEvent.SERVED else "calved")
    if finding.on_date is not None:
        return f"{verb} on {say_day(finding.on_date)}"
    return f"{verb} {say_number(finding.days_ago or 0)} days ago"


@say.register
def _(finding: Note) -> str:
    return f"note {finding.text}"
