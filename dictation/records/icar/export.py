"""All exams of a visit as three collections, one kind of event a file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from dictation.disk import remove_file, replace_file
from dictation.records.ahead import doubtful_identity, settled, status_in_doubt
from dictation.records.exam_rows import status_of
from dictation.records.icar.findings import (
    WHOLE,
    LeftOut,
    OnlyInWords,
    counted,
    diagnoses,
    is_condition,
    is_kept_back,
    remark,
    sent,
    ultrasound_exam,
)
from dictation.records.icar.sender import Json, Sender, animal_identifier, event
from grammar.exam import Exam, FindingState
from grammar.facts import ExamFacts, facts_of
from grammar.figures import AgeSummary
from grammar.findings import (
    Animal,
    FetalSex,
    Finding,
    Ovary,
    Pregnancy,
    PregnancyStatus,
    Sex,
    Uterus,
)
from grammar.summary import summarise, summarise_age
from grammar.wording import written

PREGNANCY_CHECK = "icarReproPregnancyCheckEventResource"
STATUS_OBSERVED = "icarReproStatusObservedEventResource"
DIAGNOSIS = "icarDiagnosisEventResource"

FILES = {
    PREGNANCY_CHECK: "pregnancy_checks.json",
    STATUS_OBSERVED: "statuses_observed.json",
    DIAGNOSIS: "diagnoses.json",
}
"""Kind of event: the file of its collection, which is written where there is such an event."""

_RESULT = {PregnancyStatus.OPEN: "Empty", PregnancyStatus.UNCERTAIN: "Unknown"}


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
        doubt = doubtful_identity(exam)
        if animal_identifier(exam, sender) is None or doubt is not None:
            left.append(LeftOut(exam.number, exam.tag, WHOLE, doubt or _no_identity(exam)))
            continue
        made, said = _events_of(exam, sender)
        events += made
        words += said
        due += summarise_age(settled(exam)).due_date is not None
        left += [LeftOut(exam.number, exam.tag, *each) for each in _left_of(exam, made)]
    return IcarExport(tuple(events), tuple(left), counted(words, due))


def write_icar(folder: Path, export: IcarExport) -> tuple[Path, ...]:
    """Write a file for each kind of event that there is; their paths. Raises MissingError."""
    kinds = {event["resourceType"] for event in export.events}
    for kind, name in FILES.items():
        if kind in kinds:
            replace_file(folder / name, export.collection(kind))
        else:
            # One of an earlier export would say something else than the others.
            remove_file(folder / name)
    return tuple(folder / name for kind, name in FILES.items() if kind in kinds)


def _events_of(exam: Exam, sender: Sender) -> tuple[list[Json], tuple[Finding, ...]]:
    facts = facts_of(settled(exam))
    main = None if status_in_doubt(exam) else _pregnancy_check(facts, sender)
    said = any(isinstance(finding, Pregnancy) for finding in exam.findings)
    if main is None and not said and _examined(facts):
        main = _status_observed(facts, sender)
    deleted = _withdrawn_check(facts_of(exam), sender)
    made = [each for each in (main, deleted) if each is not None]
    conditions = diagnoses(facts)
    taken_back = [r.finding for r in exam.recorded if r.state is FindingState.WITHDRAWN]
    if conditions:
        told: Json = {"diagnoses": conditions, "remark": remark(facts) if main is None else None}
        made.append(event(DIAGNOSIS, exam, sender, told))
    elif any(isinstance(f, Ovary | Uterus) and is_condition(f) for f in taken_back):
        made.append(event(DIAGNOSIS, exam, sender, {}, deleted=True))
    return made, sent(facts) if main is not None else ()


def _pregnancy_check(facts: ExamFacts, sender: Sender) -> Json | None:
    """The check; None where nothing, or more than one thing, was said of pregnancy."""
    status = status_of(facts.exam)
    if status is None:
        return None
    told: Json = {"method": "Echography", "result": _RESULT.get(status)}
    age = AgeSummary()
    if status is PregnancyStatus.PREGNANT:
        age = summarise(facts)
        told["result"] = "Multiple" if (facts.fetuses or 1) > 1 else "Pregnant"
        called = [t.finding.sex for t in facts.of(FetalSex)] if _sexes_fit(facts) else []
        told |= {
            "foetusCount": facts.fetuses,
            "foetusCountMale": called.count(Sex.MALE) or None,
            "foetusCountFemale": called.count(Sex.FEMALE) or None,
        }
        if age.age_days is not None and age.age_days >= 0 and not facts.ages.contradict:
            told["foetalAge"] = age.age_days
    told |= {"remark": remark(facts), "ultrasoundExam": ultrasound_exam(facts, age)}
    return event(PREGNANCY_CHECK, facts.exam, sender, told)


def _withdrawn_check(facts: ExamFacts, sender: Sender) -> Json | None:
    """A check that was taken back, so that a receiver deletes what an earlier export sent."""
    said = any(isinstance(recorded.finding, Pregnancy) for recorded in facts.exam.recorded)
    if not said or facts.statuses:
        return None
    told: Json = {"method": "Echography", "result": "Unknown"}
    return event(PREGNANCY_CHECK, facts.exam, sender, told, deleted=True)


def _status_observed(facts: ExamFacts, sender: Sender) -> Json | None:
    """A cow looked at after calving and before her next service; None for any other.

    The standard's other statuses either belong to a pregnancy check or are not seen in a scan.
    """
    last, calved = facts.last_service, facts.days_calved
    served = None if last is None else (facts.on - last.until(facts.on)).days
    if calved is None or (served is not None and served <= calved):
        return None
    told: Json = {
        "observedStatus": "Birthed",
        "remark": remark(facts),
        "ultrasoundExam": ultrasound_exam(facts, AgeSummary()),
    }
    return event(STATUS_OBSERVED, facts.exam, sender, told)


def _sexes_fit(facts: ExamFacts) -> bool:
    """Whether no more sexes were called than there are fetuses, and none twice."""
    every = [told.finding for told in facts.of(FetalSex)]
    named = [finding for finding in every if finding.sex is not Sex.UNDETERMINED]
    numbered = [finding.fetus for finding in named if finding.fetus is not None]
    return len(named) <= (facts.fetuses or 1) and len(numbered) == len(set(numbered))


def _examined(facts: ExamFacts) -> bool:
    return any(not isinstance(finding, Animal) for finding in facts.exam.findings)


def _left_of(exam: Exam, made: list[Json]) -> Iterator[tuple[str, str]]:
    """What is in none of the events made of an exam, and why."""
    for recorded in exam.standing:
        if recorded.state is FindingState.QUERIED:
            yield written(recorded.finding), "not settled yet"
    for finding in exam.findings:
        if is_kept_back(finding):
            yield written(finding), "advice is not sent as the farm's decision"
    for question in exam.open_queries:
        yield f"a question: {question}", "not settled yet"
    facts = facts_of(settled(exam))
    if not status_in_doubt(exam) and status_of(exam) is None and facts.statuses:
        yield "the result of the check", "it was said two ways"
    if facts.pregnant and facts.ages.contradict:
        yield "foetalAge", "the stated and the measured age contradict"
    if facts.pregnant and not _sexes_fit(facts):
        yield "the calf's sex", "it does not fit the number of calves"
    if all("isDeleted" in each["meta"] for each in made) and _examined(facts):
        yield WHOLE, "no pregnancy result, calving or condition to hang it on"


def _no_identity(exam: Exam) -> str:
    if exam.tag is None:
        return "no tag was said"
    return "no electronic number is known; --herd-id gives the tag a herd"
