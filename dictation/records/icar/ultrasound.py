"""What the standard has no field for: in words for the remark, as data for one extra property."""

from __future__ import annotations

from collections.abc import Iterable

from dictation.records.icar.diagnosis import positions
from dictation.records.icar.left_out import is_kept_back
from dictation.records.icar.sender import SCHEME, Json
from dictation.records.one_line import one_line
from grammar.facts import ExamFacts
from grammar.fields import FIELDS, MM, main_of, numbers_of, usual
from grammar.figures import AgeSummary
from grammar.findings import (
    Animal,
    Finding,
    Measurement,
    Note,
    Ovary,
    Plan,
    PlanAction,
    finding_record,
)
from grammar.history import recheck_day
from grammar.wording import written

PROPERTY = "ultrasoundExam"
VERSION = "1"
MILLIMETRE = "MMT"
"""UN/CEFACT unit code."""

_PARTS = {"size_mm": "diameter", "second_size_mm": "second_diameter"}
_SAID_ONLY_IF_TRUE = frozenset(
    n for kind in FIELDS for n, value in usual(kind).items() if value is False
)


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
    """What was measured in millimetres: of a structure its parts, of a conceptus the quantity."""
    for field, size_mm in numbers_of(finding):
        if field.unit != MM:
            continue
        metric = str(main_of(finding))
        if not isinstance(finding, Measurement):
            metric += f"_{_PARTS.get(field.name, field.name.removesuffix('_mm'))}"
        measure: Json = {
            "metric": {"scheme": f"{SCHEME}.metric", "id": metric},
            "value": int(size_mm) if float(size_mm).is_integer() else size_mm,
            "unit": MILLIMETRE,
        }
        if isinstance(finding, Measurement) and finding.fetus is not None:
            measure["fetus"] = finding.fetus
        if isinstance(finding, Ovary):
            measure["positions"] = positions(finding.side)
        yield measure
