"""What of an exam is settled enough to act on or to send, and the days that lie ahead by it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from dictation.records.exam_rows import status_of
from grammar.dating.calving import Window, next_sexing
from grammar.exam import Exam, FindingState
from grammar.facts import ExamFacts, facts_of
from grammar.figures import AgeSummary, DueDate
from grammar.findings import (
    Animal,
    FetalSex,
    Membranes,
    Pregnancy,
    Sex,
    UterineState,
    Uterus,
    Viability,
)
from grammar.history import recheck_day
from grammar.summary import summarise
from grammar.wording import written

_DEAD = frozenset({UterineState.MUMMIFIED, UterineState.MACERATED})


def settled(exam: Exam) -> Exam:
    """The exam without what is still queried: a doubt is not passed on as a fact.

    Figures that it was approved with rest on the doubt too, so they are reckoned without it.
    """
    kept = tuple(r for r in exam.recorded if r.state is not FindingState.QUERIED)
    return exam if kept == exam.recorded else replace(exam, recorded=kept, approved=None)


def is_queried(exam: Exam, kind: type = object) -> bool:
    """Whether a finding, of this kind, still waits for an answer."""
    queried = (r.finding for r in exam.recorded if r.state is FindingState.QUERIED)
    return any(isinstance(finding, kind) for finding in queried)


def status_in_doubt(exam: Exam) -> bool:
    """Whether any word on pregnancy still waits for an answer."""
    return is_queried(exam, Pregnancy)


def doubtful_identity(exam: Exam) -> str | None:
    """Why it is not certain which animal this was; None where it is."""
    if is_queried(exam, Animal):
        return "which animal it was is not settled yet"
    if exam.tag_repeated_in:
        others = " and ".join(str(number) for number in exam.tag_repeated_in)
        return f"exam {others} carries the same tag"
    return None


def result_of(exam: Exam, facts: ExamFacts) -> str | None:
    """Lost, or what was said of pregnancy, by the facts of what is settled; None in doubt."""
    if status_in_doubt(exam):
        return None
    return "lost" if is_lost(facts) else status_of(facts.exam)


@dataclass(frozen=True, slots=True)
class Ahead:
    """What is to come. A field is None where it does not apply or rests on a doubt.

    ``sexing``: what is left of the days on which the calf's sex can be seen, if it was not called.
    ``dry_off``: not of a heifer, who gives no milk yet. ``signs_of_loss``: what else was said that
    casts a doubt on all days of a calf.
    """

    recheck: date | None = None
    sexing: Window | None = None
    dry_off: date | None = None
    calving: DueDate | None = None
    signs_of_loss: tuple[str, ...] = ()


def ahead_of(exam: Exam) -> Ahead:
    """The days ahead of one animal; none where it is not certain which animal it was."""
    if doubtful_identity(exam) is not None:
        return Ahead()
    facts = facts_of(settled(exam))
    recheck = recheck_day(facts.exam)
    if status_in_doubt(exam) or is_lost(facts):
        return Ahead(recheck)
    age = summarise(facts)
    if age.due is None:
        return Ahead(recheck)
    return Ahead(
        recheck=recheck,
        sexing=_sexing(facts, age),
        dry_off=None if facts.heifer else age.dry_off,
        calving=age.due,
        signs_of_loss=tuple(signs_of_loss(facts)),
    )


def is_lost(facts: ExamFacts) -> bool:
    """Whether the loss of the pregnancy was recorded."""
    return any(told.finding.loss for told in facts.of(Viability))


def signs_of_loss(facts: ExamFacts) -> list[str]:
    """What was said of a conceptus that is dead or in danger, in words."""
    signs = []
    for _, life in facts.of(Viability):
        if life.loss or life.heartbeat is False or life.membranes is Membranes.DETACHED:
            signs.append(written(life))
    signs += [written(told.finding) for told in facts.of(Uterus) if told.finding.state in _DEAD]
    return signs


def _sexing(facts: ExamFacts, age: AgeSummary) -> Window | None:
    called = any(told.finding.sex is not Sex.UNDETERMINED for told in facts.of(FetalSex))
    if called or age.service_date is None:
        return None
    return next_sexing(age.service_date, facts.on, facts.exam.settings)
