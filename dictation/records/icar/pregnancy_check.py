"""One exam as a pregnancy check, or as an observed status where none was made."""

from __future__ import annotations

from dictation.records.exam_rows import status_of
from dictation.records.icar.sender import Json, Sender, event
from dictation.records.icar.ultrasound import PROPERTY, remark, ultrasound_exam
from grammar.facts import ExamFacts
from grammar.figures import AgeSummary
from grammar.findings import FetalSex, Pregnancy, PregnancyStatus, Sex
from grammar.summary import summarise

PREGNANCY_CHECK = "icarReproPregnancyCheckEventResource"
STATUS_OBSERVED = "icarReproStatusObservedEventResource"

_RESULT = {PregnancyStatus.OPEN: "Empty", PregnancyStatus.UNCERTAIN: "Unknown"}


def pregnancy_check(facts: ExamFacts, animal: Json, sender: Sender) -> Json | None:
    """The check; None where nothing, or more than one thing, was said of pregnancy."""
    status = status_of(facts.exam)
    if status is None:
        return None
    record = event(PREGNANCY_CHECK, facts.exam, animal, sender)
    record["method"] = "Echography"
    age = AgeSummary()
    if status is PregnancyStatus.PREGNANT:
        age = summarise(facts)
        record["result"] = "Multiple" if (facts.fetuses or 1) > 1 else "Pregnant"
        record |= _fetuses(facts)
        if age.age_days is not None and age.age_days >= 0 and not facts.ages.contradict:
            record["foetalAge"] = age.age_days
    else:
        record["result"] = _RESULT[status]
    return _with_the_rest(record, facts, age)


def withdrawn_check(facts: ExamFacts, animal: Json, sender: Sender) -> Json | None:
    """A check that was taken back, so that a receiver deletes what an earlier export sent."""
    said = any(isinstance(recorded.finding, Pregnancy) for recorded in facts.exam.recorded)
    if not said or facts.statuses:
        return None
    record = event(PREGNANCY_CHECK, facts.exam, animal, sender, deleted=True)
    record["method"] = "Echography"
    record["result"] = "Unknown"
    return record


def status_observed(facts: ExamFacts, animal: Json, sender: Sender) -> Json | None:
    """A cow looked at after calving and before her next service; None for any other.

    The standard's other statuses either belong to a pregnancy check or are not seen in a scan.
    """
    if facts.days_calved is None or _served_since(facts):
        return None
    record = event(STATUS_OBSERVED, facts.exam, animal, sender)
    record["observedStatus"] = "Birthed"
    return _with_the_rest(record, facts, AgeSummary())


def sexes_fit(facts: ExamFacts) -> bool:
    """Whether no more sexes were called than there are fetuses, and none twice."""
    named = [
        told.finding for told in facts.of(FetalSex) if told.finding.sex is not Sex.UNDETERMINED
    ]
    numbered = [finding.fetus for finding in named if finding.fetus is not None]
    return len(named) <= (facts.fetuses or 1) and len(numbered) == len(set(numbered))


def _served_since(facts: ExamFacts) -> bool:
    last = facts.last_service
    if last is None or facts.days_calved is None:
        return False
    return (facts.on - (last.last_day or last.first_day)).days <= facts.days_calved


def _fetuses(facts: ExamFacts) -> Json:
    counts: Json = {}
    if facts.fetuses is not None:
        counts["foetusCount"] = facts.fetuses
    if sexes_fit(facts):
        called = [told.finding.sex for told in facts.of(FetalSex)]
        for sex, field in ((Sex.MALE, "foetusCountMale"), (Sex.FEMALE, "foetusCountFemale")):
            if sex in called:
                counts[field] = called.count(sex)
    return counts


def _with_the_rest(record: Json, facts: ExamFacts, age: AgeSummary) -> Json:
    words = remark(facts)
    if words is not None:
        record["remark"] = words
    record[PROPERTY] = ultrasound_exam(facts, age)
    return record
