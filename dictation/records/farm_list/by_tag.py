"""Every animal once, by her tag: in calf or not, what is to come, what was found, what is next."""

from __future__ import annotations

from datetime import date

from dictation.decide.record import Flags
from dictation.records.ahead import (
    ahead_of,
    is_lost,
    result_of,
    settled,
    signs_of_loss,
    status_in_doubt,
)
from dictation.records.exam_rows import status_of
from dictation.records.farm_list.part import SMALLER, Line, Part, by_tag, day, doubt_of, line_of
from dictation.records.farm_list.to_do import NO_DAY_OUT, tasks_of
from dictation.visit.state import Visit
from grammar.ageing.estimate import AgeFrom
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
from grammar.findings import (
    Animal,
    FetalSex,
    Note,
    OvarianStructure,
    Ovary,
    Plan,
    Pregnancy,
    PregnancyStatus,
    Sex,
    UterineState,
    Uterus,
    Viability,
)
from grammar.summary import summarise
from grammar.wording import written

HOW_AGED = {
    AgeFrom.STATED: "as said",
    AgeFrom.MEASURED: "measured",
    AgeFrom.SERVICE: "by service",
}

CALVES = {2: "TWINS", 3: "TRIPLETS"}
SEXES = {Sex.MALE: "bull calf", Sex.FEMALE: "heifer calf", Sex.UNDETERMINED: "sex not seen"}
NOT_TO_SAY = "not to say yet"

ESTIMATES = (
    "Days and dates are estimates: the two days in small letters lie two published standard"
    " deviations before and after the expected one, and some calve outside them."
)
TWINS = "Twins come earlier and more often need help."
LOSS = (
    "Keep a cow that aborts away from the others, wear gloves, and tell the vet: some causes infect"
    " people, and in some countries each abortion must be reported by law."
)

_NOTHING_TO_SEE = (UterineState.CLEAR, UterineState.GOOD_TONE, UterineState.INVOLUTED)
_TOLD_ELSEWHERE = Animal | Plan | Pregnancy | FetalSex | Viability


def is_pregnant(exam: Exam) -> bool:
    """Recorded pregnant, and nothing of that is in doubt or lost."""
    return result_of(exam, facts_of(settled(exam))) == PregnancyStatus.PREGNANT


def is_open(exam: Exam) -> bool:
    """Recorded open, and nothing of that is in doubt."""
    return status_of(settled(exam)) is PregnancyStatus.OPEN and not status_in_doubt(exam)


def every_animal(visit: Visit, flags: Flags) -> Part:
    """The part; nobody is left out of it."""
    mine = sorted(visit.exams, key=by_tag)
    lines = tuple(_line(visit, exam, flags) for exam in mine)
    heed = (ESTIMATES,) if any(ahead_of(exam).calving for exam in mine) else ()
    facts = [facts_of(settled(exam)) for exam in mine]
    if any((each.fetuses or 1) > 1 for each in facts):
        heed = (*heed, TWINS)
    if any(map(signs_of_loss, facts)):
        heed = (*heed, LOSS)
    columns = ("In calf or not", "Expected to calve", "What was found", "Next")
    return Part("animals", "All animals", columns, lines, "by tag", heed)


def _line(visit: Visit, exam: Exam, flags: Flags) -> Line:
    facts = facts_of(settled(exam))
    tasks = ((on, what.removesuffix(f"; {NO_DAY_OUT}")) for on, what in tasks_of(exam))
    next_ = (what if on is None else f"{what}{SMALLER}{day(on)}" for on, what in tasks)
    cells = (_result(exam, facts), _due(exam, facts), _found(facts), "\n".join(next_))
    return line_of(exam, cells, doubt_of(visit, exam, flags))


def _result(exam: Exam, facts: ExamFacts) -> str:
    if is_pregnant(exam):
        return f"IN CALF{SMALLER}{_age(facts)}"
    if is_lost(facts):
        return f"LOST{SMALLER}{'; '.join(signs_of_loss(facts))}"
    if is_open(exam):
        return f"open{SMALLER}{_since_calving(facts)}"
    return f"not known{SMALLER}{_why_unknown(exam, facts)}"


def _age(facts: ExamFacts) -> str:
    age = summarise(facts)
    if facts.ages.contradict:
        return "not sure: said and measured differ"
    if age.age_days is None or age.age_from is None:
        return "age not said"
    error = "" if age.age_error_days is None else f" ± {age.age_error_days:g}"
    return f"{age.age_days}{error} days {HOW_AGED[age.age_from]}"


def _due(exam: Exam, facts: ExamFacts) -> str:
    if not is_pregnant(exam):
        return ""
    ahead = ahead_of(exam)
    if ahead.calving is None:
        return NOT_TO_SAY
    calving = ahead.calving
    due = f"{day(calving.on)}{SMALLER}{_short(calving.earliest)} to {_short(calving.latest)}"
    if "not known" in calving.gestation.breed:
        due = f"{due}{SMALLER}by {calving.gestation.mean_days} days: {calving.gestation.breed}"
    if facts.ages.fit.chosen is None and facts.ages.fit.candidates:
        due = f"{due}{SMALLER}NO SERVICE LISTED FITS"
    if ahead.dry_off is not None:
        past = ", ALREADY PAST" if ahead.dry_off < exam.on_date else ""
        due = f"{due}{SMALLER}dry off {day(ahead.dry_off)}{past}"
    return due


def _found(facts: ExamFacts) -> str:
    """Calves, ovaries, and of the rest what is not as it should be."""
    words = [CALVES[facts.fetuses]] if facts.fetuses in CALVES else []
    for _, called in facts.of(FetalSex):
        fetus = "" if called.fetus is None else f"{called.fetus}: "
        words.append(f"{fetus}{SEXES[called.sex]}")
    if not is_lost(facts):
        words += [f"see a sign of loss: {sign}" for sign in signs_of_loss(facts)]
    pregnant = status_of(facts.exam) is PregnancyStatus.PREGNANT
    for finding in facts.exam.findings:
        if isinstance(finding, Ovary):
            usual = finding.structure is OvarianStructure.SMALL_FOLLICLES or pregnant
            words += [] if usual else [written(finding)]
        elif isinstance(finding, Uterus):
            words += [] if finding.state in _NOTHING_TO_SEE else [written(finding)]
        elif isinstance(finding, Note):
            words.append(finding.text)
    return SMALLER.join(("", "; ".join(words))) if words else ""


def _since_calving(facts: ExamFacts) -> str:
    if facts.days_calved is not None:
        return f"{facts.days_calved} days since calving"
    return "heifer" if facts.heifer else "calving not known"


def _why_unknown(exam: Exam, facts: ExamFacts) -> str:
    if status_in_doubt(exam):
        return "a question is open"
    if status_of(facts.exam) is PregnancyStatus.UNCERTAIN:
        return "the vet was not certain"
    return "said two ways" if facts.statuses else "not said"


def _short(on: date) -> str:
    return day(on).rsplit(" ", 1)[0]
