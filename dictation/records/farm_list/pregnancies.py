"""Who is in calf, who is open, who was lost, and of whom nothing was said."""

from __future__ import annotations

from datetime import date

from dictation.records.ahead import (
    ahead_of,
    is_lost,
    result_of,
    settled,
    signs_of_loss,
    status_in_doubt,
)
from dictation.records.exam_rows import status_of
from dictation.records.farm_list.part import (
    SMALLER,
    Line,
    Part,
    by_tag,
    day,
    lines_by_tag,
    tag_of,
    worded,
)
from grammar.ageing.estimate import AgeFrom
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
from grammar.figures import AgeSummary
from grammar.findings import (
    Animal,
    FetalSex,
    OvarianStructure,
    Pregnancy,
    PregnancyStatus,
    Sex,
    UterineState,
    Uterus,
)
from grammar.summary import summarise
from grammar.wording import written

HOW_AGED = {
    AgeFrom.STATED: "as said",
    AgeFrom.MEASURED: "measured",
    AgeFrom.SERVICE: "by service",
}

CALVES = {2: "TWINS", 3: "TRIPLETS"}
SEXES = {Sex.MALE: "bull", Sex.FEMALE: "heifer", Sex.UNDETERMINED: "sex not seen"}
NOT_TO_SAY = "not to say yet"

ESTIMATES = (
    "Days and dates are estimates. The two days under the expected day lie two published standard"
    " deviations before and after it; some calve outside them."
)
TWINS = "Twins come earlier and more often need help."
LOSS = (
    "Keep a cow that aborts away from the others, wear gloves, and tell the vet: some causes infect"
    " people, and in some countries each abortion must be reported by law."
)

_NOTHING_TO_SEE = (UterineState.CLEAR, UterineState.GOOD_TONE, UterineState.INVOLUTED)


def is_pregnant(exam: Exam) -> bool:
    """Recorded pregnant, and nothing of that is in doubt or lost."""
    return result_of(exam, facts_of(settled(exam))) == PregnancyStatus.PREGNANT


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
        if "not known" in calving.gestation.breed:
            due = f"{due}{SMALLER}by {calving.gestation.mean_days} days: {calving.gestation.breed}"
        if facts.ages.fit.chosen is None and facts.ages.fit.candidates:
            due = f"{due}{SMALLER}NO SERVICE LISTED FITS"
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
    for _, called in facts.of(FetalSex):
        fetus = "" if called.fetus is None else f"{called.fetus}: "
        words.append(f"{fetus}{SEXES[called.sex]}")
    if signs_of_loss(facts):
        words.append("see losses")
    return SMALLER.join(words)


def _short(on: date) -> str:
    return day(on).rsplit(" ", 1)[0]


def is_open(exam: Exam) -> bool:
    """Recorded open, and nothing of that is in doubt."""
    return status_of(settled(exam)) is PregnancyStatus.OPEN and not status_in_doubt(exam)


def open_cows(exams: tuple[Exam, ...]) -> Part:
    """Open animals by tag, with what was found."""
    lines = lines_by_tag(
        (exam, (_since_calving(facts_of(exam)), _found(facts_of(settled(exam)))))
        for exam in exams
        if is_open(exam)
    )
    return Part("open", "Open", ("Since calving", "What was found"), lines, "by tag")


def losses(exams: tuple[Exam, ...]) -> Part:
    """Pregnancies found lost, or with a sign that the vet said of one that is dying, by tag."""
    lines = worded(((exam, signs_of_loss(facts_of(settled(exam)))) for exam in exams), "; ")
    heed = (LOSS,) if lines else ()
    return Part("losses", "Losses and signs of one", ("What was found",), lines, "by tag", heed)


def not_said(exams: tuple[Exam, ...]) -> Part:
    """Animals looked at without a word, or without a sure word, on pregnancy; none is forgotten."""

    def every(exam: Exam) -> str:
        findings = settled(exam).findings
        return "; ".join(written(f) for f in findings if not isinstance(f, Animal | Pregnancy))

    lines = lines_by_tag((exam, (_why(exam), every(exam))) for exam in exams if _unsaid(exam))
    return Part("not-said", "In calf or not: not known", ("Why", "What was found"), lines, "by tag")


def _found(facts: ExamFacts) -> str:
    """Ovaries, and of the uterus what is not as it should be."""
    ovaries = (told.finding for told in facts.ovaries)
    words = [written(f) for f in ovaries if f.structure is not OvarianStructure.SMALL_FOLLICLES]
    uterus = (told.finding for told in facts.of(Uterus))
    words += [written(f) for f in uterus if f.state not in _NOTHING_TO_SEE]
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
