"""A finding as it is written for the eye: short, with numerals and units. Speech has its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from grammar.findings import (
    Animal,
    AnimalClass,
    Arrangement,
    Conceptus,
    Condition,
    FetalSex,
    Finding,
    History,
    Landmark,
    Measurement,
    Note,
    OvarianStructure,
    Ovary,
    Plan,
    PlanAction,
    Pregnancy,
    Seen,
    SeenRemark,
    Sex,
    Side,
    StatedAs,
    Uterus,
    Viability,
)
from grammar.vocabulary import built_in

DAYS_IN_WEEK = 7


def written(finding: Finding) -> str:
    """A finding in words and numerals: 'left ovary corpus luteum 22 mm'."""
    return _WRITTEN[type(finding)](finding)


def written_without_side(finding: Ovary) -> str:
    """What is on an ovary, where the side is given by its place on the page."""
    words = [_counted(finding)]
    if finding.size_mm is not None:
        words.append(_size(finding.size_mm, finding.second_size_mm))
    if finding.cavity_mm is not None:
        words.append(f"cavity {number(finding.cavity_mm)} mm")
    elif finding.cavity is not None:
        words.append("with a cavity" if finding.cavity else "no cavity")
    if finding.wall_mm is not None:
        words.append(f"wall {number(finding.wall_mm)} mm")
    elif finding.wall is not None:
        words.append(f"{finding.wall} wall")
    return " ".join(words)


def how_to_answer(alternatives: int) -> str:
    """Which words answer a query with so many alternatives."""
    if alternatives == 0:
        return "say it again, or 'no' to leave it"
    if alternatives == 1:
        return "say 'yes' or 'no'"
    choices = ("first_choice", "second_choice", "third_choice")[:alternatives]
    words = [f"'{built_in().spoken(choice)}'" for choice in choices]
    return f"say {', '.join(words)} or 'no'"


def number(value: float) -> str:
    """A number without a needless point."""
    return f"{value:g}"


def spaced(name: str) -> str:
    """A name of the contract as words."""
    return name.replace("_", " ")


def _size(first: float, second: float | None) -> str:
    return f"{number(first)} mm" if second is None else f"{number(first)} by {number(second)} mm"


def _place(side: Side | None, part: str) -> str:
    return part if side is None or side is Side.BODY else f"{side} {part}"


def _counted(finding: Ovary) -> str:
    if finding.structure is OvarianStructure.NONE:
        return "nothing"
    name = spaced(finding.structure)
    if finding.count is None:
        return name
    if finding.count == 0:
        return f"no {name}"
    return name if finding.count == 1 else f"{finding.count} {name}"


def _animal(finding: Animal) -> str:
    kind = spaced(finding.animal_class or AnimalClass.COW) if finding.animal_class else "tag"
    if finding.tag is not None:
        return f"{kind} {finding.tag}"
    if finding.electronic_id is not None:
        return f"electronic number {finding.electronic_id}"
    return kind if finding.animal_class else "no tag"


def _ovary(finding: Ovary) -> str:
    part = "ovaries" if finding.side is Side.BOTH else "ovary"
    return f"{_place(finding.side, part)} {written_without_side(finding)}"


def _uterus(finding: Uterus) -> str:
    part = {None: "uterus", Side.BODY: "body", Side.BOTH: "horns"}.get(finding.side, "horn")
    depth = "" if finding.depth_mm is None else f" {number(finding.depth_mm)} mm"
    return f"{_place(finding.side, part)} {spaced(finding.state)}{depth}"


def _pregnancy(finding: Pregnancy) -> str:
    words: list[str] = [str(finding.status)]
    if finding.age_days is not None:
        about = "about " if finding.approximate else ""
        until = "" if finding.age_to_days is None else f" to {finding.age_to_days}"
        words.append(f"{about}{finding.age_days}{until} days")
        if finding.stated_as is StatedAs.WEEKS and finding.age_days % DAYS_IN_WEEK == 0:
            words.append(f"({finding.age_days // DAYS_IN_WEEK} weeks)")
    if finding.side is not None:
        part = "horns" if finding.side is Side.BOTH else "horn"
        words.append(_place(finding.side, part))
    return " ".join(words)


def _conceptus(finding: Conceptus) -> str:
    name = {1: "single", 2: "twins", 3: "triplets"}.get(finding.count, f"{finding.count} fetuses")
    where = {
        None: "",
        Arrangement.SAME_HORN: " in the same horn",
        Arrangement.ONE_EACH_HORN: " one in each horn",
    }
    return name + where[finding.arrangement]


def _viability(finding: Viability) -> str:
    signs = (
        (finding.heartbeat, "heartbeat"),
        (finding.movement, "movement"),
        (finding.loss, "loss"),
    )
    words = [name if seen else f"no {name}" for seen, name in signs if seen is not None]
    if finding.membranes is not None:
        words.append(f"membranes {finding.membranes}")
    return _of_fetus(", ".join(words), finding.fetus)


def _landmark(finding: Landmark) -> str:
    words = spaced(finding.name) if finding.seen else f"{spaced(finding.name)} not seen"
    return _of_fetus(words, finding.fetus)


def _measurement(finding: Measurement) -> str:
    return _of_fetus(f"{spaced(finding.quantity)} {number(finding.size_mm)} mm", finding.fetus)


def _sex(finding: FetalSex) -> str:
    words = {
        Sex.MALE: "male fetus",
        Sex.FEMALE: "female fetus",
        Sex.UNDETERMINED: "sex not determined",
    }
    return _of_fetus(words[finding.sex], finding.fetus)


def _of_fetus(words: str, fetus: int | None) -> str:
    return words if fetus is None else f"fetus {fetus}: {words}"


def _seen(finding: Seen) -> str:
    remark = "seen" if finding.remark is None else spaced(finding.remark)
    if finding.remark is SeenRemark.COULD_NOT_REACH:
        remark = "not reached"
    return f"{spaced(finding.structure)} {remark}"


def _condition(finding: Condition) -> str:
    scale = "" if finding.scale is None else f" of {finding.scale}"
    return f"condition {number(finding.score)}{scale}"


def _plan(finding: Plan) -> str:
    words = spaced(finding.action)
    if finding.treatment_class is not None:
        treatment = spaced(finding.treatment_class)
        words = treatment if finding.action is PlanAction.TREAT else f"{words} {treatment}"
    if finding.on_date is not None:
        return f"{words} on {finding.on_date.isoformat()}"
    if finding.in_days == 0:
        return f"{words} today"
    return words if finding.in_days is None else f"{words} in {finding.in_days} days"


def _history(finding: History) -> str:
    if finding.on_date is not None:
        return f"{finding.event} on {finding.on_date.isoformat()}"
    ago = "" if finding.days_ago is None else f" {finding.days_ago} days ago"
    return f"{finding.event}{ago}"


def _note(finding: Note) -> str:
    return f"note: {finding.text}"


_WRITTEN: dict[type[Finding], Callable[[Any], str]] = {
    Animal: _animal,
    Ovary: _ovary,
    Uterus: _uterus,
    Pregnancy: _pregnancy,
    Conceptus: _conceptus,
    Viability: _viability,
    Landmark: _landmark,
    Measurement: _measurement,
    FetalSex: _sex,
    Seen: _seen,
    Condition: _condition,
    Plan: _plan,
    History: _history,
    Note: _note,
}
