"""Twins: how many, how they lie, and what follows."""

from __future__ import annotations

from collections.abc import Iterator

from grammar.ageing.estimate import days_text
from grammar.checks.fetal_sex import sexes_of
from grammar.checks.pregnancy import called
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import CORPORA_LUTEA, FLANKS, corpora_lutea, ovary_numbers
from grammar.dating.gestation import TWINS_DAYS, TWINS_SOURCE
from grammar.facts import ExamFacts
from grammar.findings import Arrangement, Conceptus, FetalSex, Landmark, Measurement, Sex, Viability

# Findings that may name one fetus of several.
NUMBERED = (Measurement, Viability, Landmark, FetalSex)
RULES = Family("twins", Conceptus, *NUMBERED)
_SILVA = "98 twin pregnancies: Silva del Rio et al. 2009, Theriogenology (press report)"
_GARCIA = "Garcia-Ispierto & Lopez-Gatius 2020, Reprod Domest Anim (1194 twin pregnancies)"


def _numbers(facts: ExamFacts) -> tuple[int, ...]:
    return facts.numbers(Conceptus)


def _twins(facts: ExamFacts) -> bool:
    return (facts.fetuses or 1) > 1


def _arrangements(facts: ExamFacts) -> set[Arrangement]:
    return {t.finding.arrangement for t in facts.of(Conceptus) if t.finding.arrangement is not None}


@RULES.query(COMMON_PRACTICE)
def fetuses_counted_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """Two different numbers of fetuses stand."""
    counts = sorted({told.finding.count for told in facts.of(Conceptus)})
    if len(counts) > 1:
        said = " and ".join(str(count) for count in counts)
        yield Raised(
            f"Fetuses are counted as {said}. Say how many there are.",
            (("fetuses", said),),
            _numbers(facts),
        )


@RULES.query(COMMON_PRACTICE)
def fetus_beyond_count(facts: ExamFacts) -> Iterator[Raised]:
    """A fetus is numbered beyond the count of fetuses."""
    numbered = [
        (told.finding.fetus, told.number) for kind in NUMBERED for told in facts.told.get(kind, ())
    ]
    limit = facts.fetuses or 1
    beyond = [(fetus, number) for fetus, number in numbered if fetus is not None and fetus > limit]
    if beyond:
        highest = max(fetus for fetus, _ in beyond)
        counted = "no number" if facts.fetuses is None else str(facts.fetuses)
        yield Raised(
            f"Fetus {highest} is spoken of, and the count of fetuses is {counted}. "
            "Say how many there are.",
            (("fetus", str(highest)), ("counted", counted)),
            tuple(number for _, number in beyond) + _numbers(facts),
        )


@RULES.query(COMMON_PRACTICE)
def twins_arranged_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """Twins are recorded in the same horn and also one in each."""
    arranged = _arrangements(facts)
    if len(arranged) > 1:
        why = "Twins are recorded in the same horn and one in each. Say which it is."
        yield Raised(why, (), _numbers(facts))
    elif Arrangement.SAME_HORN in arranged and len(facts.gravid_sides) > 1:
        yield Raised(
            "Twins are recorded in the same horn, and a pregnancy in both horns. Say which it is.",
            (),
            _numbers(facts) + facts.status_numbers,
        )


@RULES.query(
    "Univ. Pennsylvania New Bolton Center teaching page (crown-rump points); twins of one "
    "cow have one age"
)
def twins_differ_in_size(facts: ExamFacts) -> Iterator[Raised]:
    """Sizes of twins give ages more than 2 standard errors apart."""
    found = [o for o in facts.ages.measured.outliers if o.estimate.fetus is not None]
    if len({part.fetus for part in facts.ages.measured.parts} - {None}) > 1 and found:
        names = "; ".join(
            f"fetus {o.estimate.fetus}, {o.estimate.reason}, {days_text(o.estimate.days)} d"
            for o in found
        )
        yield Raised(
            f"The fetuses do not give one age: {names}. Look again at the smaller one's heartbeat.",
            tuple((f"fetus {o.estimate.fetus}", f"{days_text(o.estimate.days)} d") for o in found),
            facts.numbers(Measurement),
        )


@RULES.note("common practice, no source (migration between horns is rare in cattle)")
def twins_and_corpora_lutea_elsewhere(facts: ExamFacts) -> Iterator[Raised]:
    """The sides of the corpora lutea do not go with how the twins lie."""
    counts, arranged = corpora_lutea(facts), _arrangements(facts)
    if sum(counts.values()) < 2 or None in counts or len(arranged) != 1:
        return
    on_both = all(side in counts for side in FLANKS)
    if (Arrangement.ONE_EACH_HORN in arranged) != on_both:
        where = "one on each ovary" if on_both else "all on one ovary"
        how = "in the same horn" if on_both else "one in each horn"
        yield Raised(
            f"Twins {how}, and corpora lutea {where}. Embryos rarely cross to the other horn: "
            "look again.",
            (("twins", how), ("corpora lutea", where)),
            _numbers(facts) + ovary_numbers(facts, CORPORA_LUTEA),
        )


@RULES.note(_GARCIA)
def twins_arrangement_not_said(facts: ExamFacts) -> Iterator[Raised]:
    """An exam of twins closes without how they lie."""
    if facts.exam.closed and _twins(facts) and not _arrangements(facts):
        yield Raised(
            "Twins, and not said whether in one horn or one in each; losses before day 260 were "
            "40.3 % in one horn and 1.3 % with one in each.",
            (("same horn lost", "40.3 %"), ("one each lost", "1.3 %")),
            _numbers(facts),
        )


@RULES.note(_GARCIA)
def twins_in_one_horn(facts: ExamFacts) -> Iterator[Raised]:
    """Twins lie in one horn."""
    if Arrangement.SAME_HORN in _arrangements(facts) and _twins(facts):
        yield Raised(
            "Twins in one horn as recorded: 40.3 % of such were lost before day 260, at day 173 on "
            "average. A later look is usual.",
            (("lost before day 260", "40.3 %"),),
            _numbers(facts),
        )


@RULES.query(
    "ultrasonic fetal sexing by the genital tubercle, 68 cows (abstract): failed in both twin "
    "pregnancies; freemartins over 90 %: extension text"
)
def sexes_of_twins(facts: ExamFacts) -> Iterator[Raised]:
    """The sex of twins is called."""
    sexes = set[Sex]().union(*sexes_of(facts).values())
    if _twins(facts) and sexes:
        both = (
            " Of twins of both sexes the heifer calf is mostly sterile." if len(sexes) > 1 else ""
        )
        yield Raised(
            "The sex of twins is called; in the published series it could not be told in either "
            f"twin pregnancy. Look again, or leave the sex out.{both}",
            (("sexes", ", ".join(sorted(sexes))),),
            facts.numbers(FetalSex, called) + _numbers(facts),
        )


@RULES.note(_SILVA)
def one_of_twins_lost(facts: ExamFacts) -> Iterator[Raised]:
    """One of twins is lost or without heartbeat."""
    numbers = facts.numbers(
        Viability,
        lambda sign: sign.fetus is not None and (sign.loss or sign.heartbeat is False),
    )
    if numbers and _twins(facts):
        yield Raised(
            "One of twins lost or without heartbeat as recorded; of twins seen at 25 to 40 days "
            "both were lost in 13.3 % and one in 11.2 % by the next look.",
            (("both lost", "13.3 %"), ("one lost", "11.2 %")),
            numbers,
        )


@RULES.note(TWINS_SOURCE)
def twins_due_earlier(facts: ExamFacts) -> Iterator[Raised]:
    """Twins with an age: the due date is five days earlier."""
    if facts.pregnant and _twins(facts) and facts.ages.best is not None:
        yield Raised(
            f"Twins: the due date is reckoned {-TWINS_DAYS} days earlier.",
            (("days earlier", str(-TWINS_DAYS)),),
            _numbers(facts),
        )
