"""Who is in calf, from when to when, with what calf; in the order in which they calve."""

from __future__ import annotations

from datetime import date

from dictation.records.ahead import ahead_of, is_lost, settled, signs_of_loss, status_in_doubt
from dictation.records.exam_rows import status_of
from dictation.records.farm_list.part import SMALLER, Line, Part, by_tag, day, tag_of
from grammar.ageing.estimate import AgeFrom
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
from grammar.figures import AgeSummary
from grammar.findings import FetalSex, PregnancyStatus, Sex
from grammar.summary import summarise

HOW_AGED = {
    AgeFrom.STATED: "as said",
    AgeFrom.MEASURED: "measured",
    AgeFrom.SERVICE: "by service",
}

CALVES = {2: "TWINS", 3: "TRIPLETS"}
SEXES = {Sex.MALE: "bull", Sex.FEMALE: "heifer", Sex.UNDETERMINED: "sex not seen"}
NOT_TO_SAY = "not to say yet"

ESTIMATES = (
    "Days and dates are estimates. Nineteen cows in twenty calve between the two days under the"
    " expected day; watch her from the first of them."
)
TWINS = "Twins come earlier and more often need help: mark these cows."


def is_pregnant(exam: Exam) -> bool:
    """Recorded pregnant, and nothing of that is in doubt or lost."""
    kept = settled(exam)
    return (
        status_of(kept) is PregnancyStatus.PREGNANT
        and not status_in_doubt(exam)
        and not is_lost(facts_of(kept))
    )


def pregnant(exams: tuple[Exam, ...]) -> Part:
    """The part, by expected day; those without one come last."""
    mine = sorted((e for e in exams if is_pregnant(e)), key=_order)
    lines = tuple(_line(exam) for exam in mine)
    heed = (ESTIMATES,) if mine else ()
    if any("TWINS" in line.cells[3] for line in lines):
        heed = (*heed, TWINS)
    columns = ("Days in calf", "Expected to calve", "Dry off", "Calf")
    return Part("pregnant", "In calf", columns, lines, "by expected day of calving", heed)


def _order(exam: Exam) -> tuple[bool, date, object]:
    due = ahead_of(exam).calving
    return (due is None, date.max if due is None else due.on, by_tag(exam))


def _line(exam: Exam) -> Line:
    facts = facts_of(settled(exam))
    age = summarise(facts)
    ahead = ahead_of(exam)
    due = NOT_TO_SAY
    if ahead.calving is not None:
        calving = ahead.calving
        due = f"{day(calving.on)}{SMALLER}{_short(calving.earliest)} to {_short(calving.latest)}"
    dry = "heifer" if facts.heifer else ("" if ahead.dry_off is None else day(ahead.dry_off))
    if ahead.dry_off is not None and ahead.dry_off < exam.on_date:
        dry = f"{dry}{SMALLER}ALREADY PAST"
    calf = _calf(facts)
    strong = (3,) if (facts.fetuses or 1) > 1 else ()
    return Line(tag_of(exam), (_age(facts, age), due, dry, calf), strong)


def _age(facts: ExamFacts, age: AgeSummary) -> str:
    if facts.ages.contradict:
        return f"not sure{SMALLER}said and measured{SMALLER}do not agree"
    if age.age_days is None or age.age_from is None:
        return "not said"
    error = "" if age.age_error_days is None else f" ± {age.age_error_days:g}"
    return f"{age.age_days}{error}{SMALLER}{HOW_AGED[age.age_from]}"


def _calf(facts: ExamFacts) -> str:
    words = [CALVES[facts.fetuses]] if facts.fetuses in CALVES else []
    words += [_sex(told.finding) for told in facts.of(FetalSex)]
    if signs_of_loss(facts):
        words.append("see losses")
    return SMALLER.join(words)


def _sex(finding: FetalSex) -> str:
    word = SEXES[finding.sex]
    return word if finding.fetus is None else f"{finding.fetus}: {word}"


def _short(on: date) -> str:
    return day(on).rsplit(" ", 1)[0]
