"""What the standard has no field for: in words for the remark, as data for one extra property."""

from __future__ import annotations

from collections.abc import Iterable

from dictation.records.icar.diagnosis import positions
from dictation.records.icar.left_out import is_kept_back
from dictation.records.icar.sender import SCHEME, Json
from dictation.records.one_line import one_line
from grammar.facts import ExamFacts
from grammar.figures import AgeSummary
from grammar.findings import (
    Animal,
    Finding,
    Measurement,
    Note,
    Ovary,
    Plan,
    PlanAction,
    Side,
    Uterus,
    finding_record,
)
from grammar.history import recheck_day
from grammar.wording import written

PROPERTY = "ultrasoundExam"
VERSION = "1"
MILLIMETRE = "MMT"
"""UN/CEFACT unit code."""

_SAID_ONLY_IF_TRUE = frozenset({"approximate", "unit_assumed", "status_assumed"})


def sent(facts: ExamFacts) -> tuple[Finding, ...]:
    """The findings of an exam that may be sent, in the order of speech."""
    findings = facts.exam.findings
    return tuple(f for f in findings if not isinstance(f, Animal) and not is_kept_back(f))


def remark(facts: ExamFacts) -> str | None:
    """The exam as sentences; None where nothing was said that may be sent."""
    sentences = [_sentence(_words(finding, facts)) for finding in sent(facts)]
    if facts.exam.started_at is None:
        sentences.append("Time of day not recorded.")
    return " ".join(sentences) or None


def ultrasound_exam(facts: ExamFacts, age: AgeSummary) -> Json:
    """The extra property: every finding as a flat record, and the measures in millimetres."""
    findings = sent(facts)
    record: Json = {
        "scheme": f"{SCHEME}.exam",
        "version": VERSION,
        "findings": [_known(finding_record(f)) for f in findings],
    }
    if age.age_days is not None and age.age_from is not None:
        record["age"] = _known(
            {"from": str(age.age_from), "days": age.age_days, "errorDays": age.age_error_days}
        )
    measures = [m for finding in findings for m in _measures(finding)]
    if measures:
        record["measurements"] = measures
    return record


def _words(finding: Finding, facts: ExamFacts) -> str:
    if isinstance(finding, Note):
        return one_line(finding.text)
    if isinstance(finding, Plan) and finding.action is PlanAction.RECHECK:
        day = recheck_day(facts.exam)
        return "recheck" if day is None else f"recheck {day.isoformat()}"
    return written(finding)


def _sentence(words: str) -> str:
    words = words.strip().rstrip(".")
    return f"{words[:1].upper()}{words[1:]}."


def _known(record: dict[str, object]) -> Json:
    """Without what is unknown, and without flags that only say how something was heard."""
    return {
        name: one_line(value) if isinstance(value, str) else value
        for name, value in record.items()
        if value is not None and not (value is False and name in _SAID_ONLY_IF_TRUE)
    }


def _measures(finding: Finding) -> Iterable[Json]:
    if isinstance(finding, Measurement):
        yield _measure(str(finding.quantity), finding.size_mm, fetus=finding.fetus)
    elif isinstance(finding, Ovary):
        name = str(finding.structure)
        sizes = {
            f"{name}_diameter": finding.size_mm,
            f"{name}_second_diameter": finding.second_size_mm,
            f"{name}_cavity": finding.cavity_mm,
            f"{name}_wall": finding.wall_mm,
        }
        for metric, size_mm in sizes.items():
            if size_mm is not None:
                yield _measure(metric, size_mm, side=finding.side, on_an_ovary=True)
    elif isinstance(finding, Uterus) and finding.depth_mm is not None:
        yield _measure(f"{finding.state}_depth", finding.depth_mm)


def _measure(
    metric: str,
    size_mm: float,
    *,
    fetus: int | None = None,
    side: Side | None = None,
    on_an_ovary: bool = False,
) -> Json:
    measure: Json = {
        "metric": {"scheme": f"{SCHEME}.metric", "id": metric},
        "value": int(size_mm) if float(size_mm).is_integer() else size_mm,
        "unit": MILLIMETRE,
    }
    if fetus is not None:
        measure["fetus"] = fetus
    if on_an_ovary:
        measure["positions"] = positions(side)
    return measure
