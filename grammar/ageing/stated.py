"""The age a vet spoke, with the error of the unit it was spoken in."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from grammar.ageing.curves import reading_error_days
from grammar.ageing.estimate import AgeEstimate, AgeFrom, days_text
from grammar.findings import Pregnancy, StatedAs

# Half of the unit spoken: "six weeks" is said of 38 to 46 days, "three months" of a month's width.
# Common practice, no source.
ROUNDING_DAYS: dict[StatedAs | None, float] = {
    None: 0.5,
    StatedAs.DAYS: 0.5,
    StatedAs.WEEKS: 3.5,
    StatedAs.MONTHS: 15.0,
}
# "About forty" widens what is meant by this much. Common practice, no source.
APPROXIMATE_DAYS = 3.0
READING_ERROR_SOURCE = "error of an age measured by length; rounding: common practice, no source"


def stated_span_days(pregnancy: Pregnancy) -> tuple[float, float] | None:
    """The first and last age that the words allow before rounding, in days; None if none said."""
    if pregnancy.age_days is None:
        return None
    other = pregnancy.age_days if pregnancy.age_to_days is None else pregnancy.age_to_days
    return (float(min(pregnancy.age_days, other)), float(max(pregnancy.age_days, other)))


def rounding_days(pregnancy: Pregnancy) -> float:
    """How far from its words a stated age may lie, in days."""
    about = APPROXIMATE_DAYS if pregnancy.approximate else 0.0
    return ROUNDING_DAYS[pregnancy.stated_as] + about


def stated_age(pregnancies: Sequence[Pregnancy]) -> AgeEstimate | None:
    """The age stated, or None. Several stated ages become the middle of their span.

    ``rounding_days`` is the half-width the words allow; ``error_days`` adds the error of reading
    an age off a screen, which grows with the age, in quadrature.
    """
    told = [
        (span, rounding_days(pregnancy))
        for pregnancy in pregnancies
        if (span := stated_span_days(pregnancy)) is not None
    ]
    if not told:
        return None
    low, high = min(low for (low, _), _ in told), max(high for (_, high), _ in told)
    days = (low + high) / 2
    rounding = max(room for _, room in told) + (high - low) / 2
    words = days_text(low) if low == high else f"{days_text(low)} to {days_text(high)}"
    return AgeEstimate(
        days=days,
        error_days=hypot(rounding, reading_error_days(days)),
        age_from=AgeFrom.STATED,
        source_id="stated",
        source=READING_ERROR_SOURCE,
        method="spoken",
        reason=f"stated {words} days",
        rounding_days=rounding,
    )
