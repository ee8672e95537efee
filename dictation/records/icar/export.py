"""All exams of a visit as three collections, one kind of event a file."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from dictation.records.ahead import doubtful_identity, settled, status_in_doubt
from dictation.records.exam_rows import status_of
from dictation.records.icar.diagnosis import diagnoses, is_condition
from dictation.records.icar.left_out import LeftOut, OnlyInWords, counted, is_kept_back
from dictation.records.icar.pregnancy_check import (
    PREGNANCY_CHECK,
    STATUS_OBSERVED,
    pregnancy_check,
    sexes_fit,
    status_observed,
    withdrawn_check,
)
from dictation.records.icar.sender import Json, Sender, animal_identifier, event
from dictation.records.icar.ultrasound import remark, sent
from dictation.records.writing import replace_file
from grammar.exam import Exam, FindingState
from grammar.facts import ExamFacts, facts_of
from grammar.findings import Animal, Finding, Ovary, Pregnancy, Uterus
from grammar.summary import summarise_age
from grammar.wording import written

DIAGNOSIS = "icarDiagnosisEventResource"

FILES = {
    PREGNANCY_CHECK: "pregnancy_checks.json",
    STATUS_OBSERVED: "statuses_observed.json",
    DIAGNOSIS: "diagnoses.json",
}
"""Kind of event: the file of its collection. All three are always written."""


@dataclass(frozen=True, slots=True)
class IcarExport:
    """The events, and what is in none of them."""

    events: tuple[Json, ...]
    left_out: tuple[LeftOut, ...]
    only_in_words: OnlyInWords

    def collection(self, kind: str) -> bytes:
        """One file: all events of a kind."""
        member = [each for each in self.events if each["resourceType"] == kind]
        view = {"totalItems": len(member), "totalPages": 1}
        text = json.dumps(
            {"view": view, "member": member}, ensure_ascii=False, indent=2, allow_nan=False
        )
        return (text + "\n").encode("utf-8")


def icar_export(exams: tuple[Exam, ...], sender: Sender) -> IcarExport:
    """The events of exams, in the order of the exams. Never raises on exams of findings."""
    events: list[Json] = []
    left: list[LeftOut] = []
    words: list[Finding] = []
    due = 0
    for exam in exams:
        animal = animal_identifier(exam, sender)
        doubt = doubtful_identity(exam)
        if animal is None or doubt is not None:
            left.append(_whole(exam, doubt or _no_identity(exam)))
            continue
        made, said = _events_of(exam, animal, sender)
        events += made
        words += said
        due += summarise_age(settled(exam)).due_date is not None
        left += _left_of(exam, made)
    return IcarExport(tuple(events), tuple(left), counted(words, due))


def write_icar(folder: Path, export: IcarExport) -> tuple[Path, ...]:
    """Write the three files into a folder; their paths. Raises MissingError."""
    paths = tuple(folder / name for name in FILES.values())
    for kind, path in zip(FILES, paths, strict=True):
        replace_file(path, export.collection(kind))
    return paths


def _events_of(exam: Exam, animal: Json, sender: Sender) -> tuple[list[Json], tuple[Finding, ...]]:
    facts = facts_of(settled(exam))
    check = None if status_in_doubt(exam) else pregnancy_check(facts, animal, sender)
    main = check
    if main is None and not _said_of_pregnancy(exam) and _examined(facts):
        main = status_observed(facts, animal, sender)
    made = [main] if main is not None else []
    deleted = withdrawn_check(facts_of(exam), animal, sender)
    made += [deleted] if deleted is not None else []
    conditions = diagnoses(facts)
    if conditions:
        diagnosis = event(DIAGNOSIS, exam, animal, sender)
        diagnosis["diagnoses"] = conditions
        words = remark(facts)
        if main is None and words is not None:
            diagnosis["remark"] = words
        made.append(diagnosis)
    elif _took_a_condition_back(exam):
        made.append(event(DIAGNOSIS, exam, animal, sender, deleted=True))
    return made, sent(facts) if main is not None else ()


def _took_a_condition_back(exam: Exam) -> bool:
    return any(
        isinstance(r.finding, Ovary | Uterus) and is_condition(r.finding)
        for r in exam.recorded
        if r.state is FindingState.WITHDRAWN
    )


def _said_of_pregnancy(exam: Exam) -> bool:
    return any(isinstance(finding, Pregnancy) for finding in exam.findings)


def _examined(facts: ExamFacts) -> bool:
    return any(not isinstance(finding, Animal) for finding in facts.exam.findings)


def _left_of(exam: Exam, made: list[Json]) -> list[LeftOut]:
    left = [
        _left(exam, written(r.finding), "not settled yet")
        for r in exam.standing
        if r.state is FindingState.QUERIED
    ]
    left += [
        _left(exam, written(f), "advice is not sent as the farm's decision")
        for f in exam.findings
        if is_kept_back(f)
    ]
    left += [_left(exam, f"a question: {q}", "not settled yet") for q in exam.open_queries]
    facts = facts_of(settled(exam))
    if not status_in_doubt(exam) and status_of(exam) is None and facts.statuses:
        left.append(_left(exam, "the result of the check", "it was said two ways"))
    if facts.pregnant and facts.ages.contradict:
        left.append(_left(exam, "foetalAge", "the stated and the measured age contradict"))
    if facts.pregnant and not sexes_fit(facts):
        left.append(_left(exam, "the calf's sex", "it does not fit the number of calves"))
    if not any("isDeleted" not in _meta(each) for each in made) and _examined(facts):
        left.append(_whole(exam, "no pregnancy result, calving or condition to hang it on"))
    return left


def _meta(record: Json) -> Json:
    meta = record["meta"]
    assert isinstance(meta, dict)
    return meta


def _left(exam: Exam, what: str, why: str) -> LeftOut:
    return LeftOut(exam.number, exam.tag, what, why)


def _whole(exam: Exam, why: str) -> LeftOut:
    return _left(exam, "the whole exam", why)


def _no_identity(exam: Exam) -> str:
    if exam.tag is None:
        return "no tag was said"
    return "no electronic number is known; --herd-id gives the tag a herd"
