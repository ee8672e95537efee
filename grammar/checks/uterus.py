"""States of the uterus: beside each other, beside a pregnancy, and by days since calving."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from grammar.checks.pregnancy import lives
from grammar.checks.rule import COMMON_PRACTICE, Family, Raised
from grammar.checks.tract import corpora_lutea, ovaries_closed
from grammar.facts import ExamFacts
from grammar.findings import (
    Conceptus,
    Landmark,
    Measurement,
    Ovary,
    Pregnancy,
    Seen,
    Side,
    UterineState,
    Uterus,
    Viability,
)
from grammar.wording import spaced

RULES = Family("uterus", Uterus)
_FLUIDS = frozenset({UterineState.FLUID, UterineState.CLOUDY_FLUID})
_DISEASE = frozenset(
    {
        UterineState.PYOMETRA,
        UterineState.ENDOMETRITIS,
        UterineState.METRITIS,
        UterineState.MUCOMETRA,
        UterineState.CLOUDY_FLUID,
        UterineState.PUS,
        UterineState.DIRTY,
        UterineState.WHITES,
    }
)
_DEAD = frozenset({UterineState.MUMMIFIED, UterineState.MACERATED})
_AFTER_CALVING = frozenset(
    {UterineState.METRITIS, UterineState.RETAINED_MEMBRANES, UterineState.NOT_INVOLUTED}
)
# Pairs that cannot be said of one place.
_OPPOSITES: tuple[tuple[frozenset[UterineState], frozenset[UterineState]], ...] = (
    (frozenset({UterineState.CLEAR}), _DISEASE | _FLUIDS | _DEAD),
    (frozenset({UterineState.GOOD_TONE}), frozenset({UterineState.POOR_TONE})),
    (frozenset({UterineState.INVOLUTED}), frozenset({UterineState.NOT_INVOLUTED})),
)
_SHELDON = "Sheldon et al. 2006, Theriogenology 65:1516-1530"
# Sheldon et al. 2006: metritis within 21 days of calving, endometritis from 21 days.
METRITIS_LAST_DAY = 21
# Izaike et al., Jpn J Anim Reprod 35:54-60: lumen gone at 25.5 d, involution 37.8 +/- 6.7 d;
# Cengic et al. 2012: 38 to 45 d.
LUMEN_GONE_DAY = 26
INVOLUTED_FROM_DAY, INVOLUTED_BY_DAY = 24, 45
_INVOLUTION = (
    "Cengic et al. 2012, Biotechnol Anim Husb 28:205-217 (38-45 d); Izaike et al., Jpn J Anim "
    "Reprod 35:54-60 (37.8 +/- 6.7 d; lumen gone at 25.5 d)"
)


def _numbers(facts: ExamFacts, states: frozenset[UterineState]) -> tuple[int, ...]:
    return facts.numbers(Uterus, lambda uterus: uterus.state in states)


def _words(facts: ExamFacts, states: frozenset[UterineState]) -> str:
    found = {spaced(t.finding.state) for t in facts.of(Uterus) if t.finding.state in states}
    return ", ".join(sorted(found))


def _meet(one: Side | None, other: Side | None) -> bool:
    """Whether two places overlap: no side is the whole uterus, both is both horns."""
    if one is None or other is None or one is other:
        return True
    return Side.BOTH in (one, other) and Side.BODY not in (one, other)


@RULES.query(COMMON_PRACTICE)
def uterus_said_two_ways(facts: ExamFacts) -> Iterator[Raised]:
    """States that exclude each other are recorded of one place."""
    for ones, others in _OPPOSITES:
        pairs = [
            (one, other)
            for one, other in permutations(facts.of(Uterus), 2)
            if one.finding.state in ones
            and other.finding.state in others
            and _meet(one.finding.side, other.finding.side)
        ]
        if pairs:
            names = sorted({spaced(told.finding.state) for pair in pairs for told in pair})
            yield Raised(
                f"The uterus is recorded as {' and '.join(names)} in one place. Say which it is.",
                (("states", ", ".join(names)),),
                tuple(told.number for pair in pairs for told in pair),
            )


# A query though its definition is from memory: what is called pyometra may be a pregnancy, and
# is treated.
@RULES.query(f"{_SHELDON} (definition from memory; common practice)")
def pyometra_without_corpus_luteum(facts: ExamFacts) -> Iterator[Raised]:
    """Pyometra is recorded and no corpus luteum, once the ovaries are done with."""
    numbers = _numbers(facts, frozenset({UterineState.PYOMETRA}))
    if facts.pregnant:  # that pyometra is asked about by itself
        return
    if numbers and not corpora_lutea(facts) and ovaries_closed(facts):
        yield Raised(
            "Pyometra as recorded and no corpus luteum recorded; by its definition there is one. "
            "Look again at the ovaries, or say which fluid it is.",
            (("corpora lutea", "0"),),
            numbers,
        )


@RULES.query(
    "Fissore et al. 1986, Anim Reprod Sci 12:167-177 (one picture for pus and mucus); course "
    "notes: mucometra may mislead for pregnancy"
)
def uterine_disease_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Pyometra, mucometra, metritis, endometritis or cloudy fluid in a pregnant animal."""
    numbers = _numbers(facts, _DISEASE)
    if facts.pregnant and numbers:
        words = _words(facts, _DISEASE)
        yield Raised(
            f"Pregnant, and {words} as recorded. They look alike early: look again for an embryo "
            "and its heartbeat.",
            (("uterus", words),),
            numbers + facts.status_numbers,
        )


@RULES.query(COMMON_PRACTICE)
def dead_fetus_and_pregnant(facts: ExamFacts) -> Iterator[Raised]:
    """A mummified or macerated fetus is recorded with a live pregnancy."""
    numbers = _numbers(facts, _DEAD)
    alive = facts.numbers(Viability, lives)
    if numbers and (alive or facts.pregnant):
        words = _words(facts, _DEAD)
        yield Raised(
            f"A {words} fetus is recorded, and a live pregnancy. Say which it is, or that there "
            "are two.",
            (("uterus", words),),
            numbers + alive + facts.status_numbers,
        )


@RULES.query(COMMON_PRACTICE)
def freemartin_with_a_tract(facts: ExamFacts) -> Iterator[Raised]:
    """A freemartin is recorded with a pregnancy, a calving or a corpus luteum."""
    numbers = _numbers(facts, frozenset({UterineState.FREEMARTIN}))
    if numbers and (facts.pregnant or facts.days_calved is not None or corpora_lutea(facts)):
        yield Raised(
            "Freemartin as recorded, with a pregnancy, a calving or a corpus luteum. Check the tag "
            "and the findings.",
            (),
            numbers + facts.status_numbers,
        )


_INVOLUTION_STATES = frozenset({UterineState.INVOLUTED, UterineState.NOT_INVOLUTED})


@RULES.query(f"{_INVOLUTION}; retained over 24 hours: Gilbert, RuVASA 2018")
def calving_state_in_pregnancy(facts: ExamFacts) -> Iterator[Raised]:
    """Retained membranes, or the going back of the uterus, in an animal recorded pregnant."""
    states = _INVOLUTION_STATES | {UterineState.RETAINED_MEMBRANES}
    numbers = _numbers(facts, states)
    if facts.pregnant and numbers:
        words = _words(facts, states)
        yield Raised(
            f"Pregnant, and {words} as recorded, which is said of the weeks after a calving. Check "
            "the tag and the words; membranes of a pregnancy may come away when it is lost.",
            (("uterus", words),),
            numbers + facts.status_numbers,
        )


@RULES.query(_SHELDON)
def calving_state_in_heifer(facts: ExamFacts) -> Iterator[Raised]:
    """A state that follows calving is recorded in a heifer."""
    numbers = _numbers(facts, _AFTER_CALVING)
    if numbers and facts.heifer and facts.days_calved is None:
        words = _words(facts, _AFTER_CALVING)
        yield Raised(
            f"{words.capitalize()} in a heifer: such states follow a calving. Check the tag and "
            "the class.",
            (("uterus", words),),
            numbers,
        )


@RULES.note(f"{_SHELDON}; Izaike et al., Jpn J Anim Reprod 35:54-60 (lochia gone at 16.5 d)")
def fluid_soon_after_calving(facts: ExamFacts) -> Iterator[Raised]:
    """Fluid or endometritis within 21 days of calving."""
    states = _FLUIDS | {UterineState.ENDOMETRITIS}
    numbers, calved = _numbers(facts, states), facts.days_calved
    if numbers and calved is not None and calved < METRITIS_LAST_DAY:
        words = _words(facts, states)
        yield Raised(
            f"{words.capitalize()} {calved} days after calving: fluid is usual in the first weeks, "
            "and endometritis is defined from day 21.",
            (("calved", f"{calved} d ago"), ("uterus", words)),
            numbers,
        )


@RULES.note(_INVOLUTION)
def slow_uterus_after_calving(facts: ExamFacts) -> Iterator[Raised]:
    """Cloudy fluid after day 26, or not involuted after day 45, from calving."""
    states = frozenset({UterineState.CLOUDY_FLUID, UterineState.NOT_INVOLUTED})
    calved = facts.days_calved
    if calved is None:
        return
    for number, uterus in facts.of(Uterus):
        late = LUMEN_GONE_DAY if uterus.state is UterineState.CLOUDY_FLUID else INVOLUTED_BY_DAY
        if uterus.state in states and calved > late:
            word = spaced(uterus.state)
            yield Raised(
                f"{word.capitalize()} {calved} days after calving: the lumen is usually empty by "
                f"day {LUMEN_GONE_DAY} and the uterus back by day {INVOLUTED_BY_DAY}.",
                (("calved", f"{calved} d ago"), ("uterus", word)),
                (number,),
            )


@RULES.note(_SHELDON)
def metritis_late(facts: ExamFacts) -> Iterator[Raised]:
    """Metritis more than 21 days after calving."""
    numbers, calved = _numbers(facts, frozenset({UterineState.METRITIS})), facts.days_calved
    if numbers and calved is not None and calved > METRITIS_LAST_DAY:
        yield Raised(
            f"Metritis {calved} days after calving: it is defined within 21 days, endometritis "
            "after. Check the word or the calving date.",
            (("calved", f"{calved} d ago"),),
            numbers,
        )


@RULES.note(_INVOLUTION)
def involuted_early(facts: ExamFacts) -> Iterator[Raised]:
    """Involuted within 24 days of calving."""
    numbers, calved = _numbers(facts, frozenset({UterineState.INVOLUTED})), facts.days_calved
    if numbers and calved is not None and calved < INVOLUTED_FROM_DAY:
        yield Raised(
            f"Involuted {calved} days after calving: it usually takes about 38 days, and 24 would "
            "be two standard deviations early. Check the calving date.",
            (("calved", f"{calved} d ago"),),
            numbers,
        )


@RULES.note(COMMON_PRACTICE)
def fluid_alone(facts: ExamFacts) -> Iterator[Raised]:
    """Fluid is recorded and nothing else of the tract when the exam closes."""
    fluids = _numbers(facts, _FLUIDS)
    kinds = (Uterus, Ovary, Conceptus, Viability, Landmark, Measurement, Pregnancy, Seen)
    others = sum(len(facts.of(kind)) for kind in kinds) - len(fluids)
    if facts.exam.closed and fluids and not others:
        yield Raised(
            "Fluid is recorded and nothing else of the tract. A full bladder can look like it.",
            (),
            fluids,
        )
