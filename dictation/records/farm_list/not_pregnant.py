"""Who is open, who was lost, and of whom nothing was said."""

from __future__ import annotations

from dictation.records.ahead import is_lost, settled, signs_of_loss, status_in_doubt
from dictation.records.exam_rows import status_of
from dictation.records.farm_list.part import Line, Part, by_tag, tag_of
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
from grammar.findings import (
    Animal,
    OvarianStructure,
    Pregnancy,
    PregnancyStatus,
    UterineState,
    Uterus,
)
from grammar.wording import written

LOSS = (
    "Keep a cow that aborts away from the others, wear gloves, and tell the vet: some causes infect"
    " people, and in some countries each abortion must be reported by law."
)

_NOTHING_TO_SEE = frozenset(
    {
        UterineState.CLEAR,
        UterineState.GOOD_TONE,
        UterineState.INVOLUTED,
    }
)


def is_open(exam: Exam) -> bool:
    """Recorded open, and nothing of that is in doubt."""
    return status_of(settled(exam)) is PregnancyStatus.OPEN and not status_in_doubt(exam)


def open_cows(exams: tuple[Exam, ...]) -> Part:
    """Open animals by tag, with what was found."""
    mine = sorted((e for e in exams if is_open(e)), key=by_tag)
    lines = tuple(
        Line(tag_of(exam), (_since_calving(facts_of(exam)), found(facts_of(settled(exam)))))
        for exam in mine
    )
    return Part("open", "Open", ("Since calving", "What was found"), lines, "by tag")


def losses(exams: tuple[Exam, ...]) -> Part:
    """Pregnancies found lost, or with a sign that the vet said of one that is dying, by tag."""
    mine = sorted((e for e in exams if signs_of_loss(facts_of(settled(e)))), key=by_tag)
    lines = tuple(
        Line(tag_of(exam), ("; ".join(signs_of_loss(facts_of(settled(exam)))),)) for exam in mine
    )
    heed = (LOSS,) if lines else ()
    return Part("losses", "Losses and signs of one", ("What was found",), lines, "by tag", heed)


def not_said(exams: tuple[Exam, ...]) -> Part:
    """Animals looked at without a word, or without a sure word, on pregnancy; none is forgotten."""
    mine = sorted((e for e in exams if _unsaid(e)), key=by_tag)
    lines = tuple(Line(tag_of(exam), (_why(exam), _all(exam))) for exam in mine)
    return Part("not-said", "In calf or not: not known", ("Why", "What was found"), lines, "by tag")


def found(facts: ExamFacts) -> str:
    """Ovaries, and of the uterus what is not as it should be."""
    words = [
        written(told.finding)
        for told in facts.ovaries
        if told.finding.structure is not OvarianStructure.SMALL_FOLLICLES
    ]
    words += [
        written(t.finding) for t in facts.of(Uterus) if t.finding.state not in _NOTHING_TO_SEE
    ]
    return "\n".join(words)


def _since_calving(facts: ExamFacts) -> str:
    if facts.days_calved is not None:
        return f"{facts.days_calved} days"
    return "heifer" if facts.heifer else "not known"


def _unsaid(exam: Exam) -> bool:
    kept = settled(exam)
    if is_lost(facts_of(kept)):
        return False
    return status_in_doubt(exam) or status_of(kept) in (None, PregnancyStatus.UNCERTAIN)


def _why(exam: Exam) -> str:
    if status_in_doubt(exam):
        return "a question is open"
    kept = settled(exam)
    if status_of(kept) is PregnancyStatus.UNCERTAIN:
        return "the vet was not certain"
    return "said two ways" if facts_of(kept).statuses else "not said"


def _all(exam: Exam) -> str:
    findings = settled(exam).findings
    return "; ".join(written(f) for f in findings if not isinstance(f, Animal | Pregnancy))
