"""An age from a measurement, and one age from several of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

from grammar.ageing.curves import CURVES, NO_CURVE, OTHER_LENGTH_RULE, Curve
from grammar.ageing.estimate import AgeEstimate, AgeFrom, NoAge, days_text, size_text
from grammar.findings import Measurement, Quantity

OUTLIER_STANDARD_ERRORS = 2.0
_IN_WORDS = {
    Quantity.CROWN_RUMP_LENGTH: "crown-rump length",
    Quantity.BIPARIETAL_DIAMETER: "head width",
}


@dataclass(frozen=True, slots=True)
class Outlier:
    """An estimate that stands apart: its distance from the mean of the others.

    ``standardised``: that distance in standard errors of the difference, signed.
    """

    estimate: AgeEstimate
    standardised: float


@dataclass(frozen=True, slots=True)
class MeasuredAge:
    """The age that the measurements give together.

    ``estimate``: inverse-variance weighted mean. ``parts``: what went into it. ``outliers``: parts
    more than 2 standard errors from the mean of the others. ``refused``: measurements without age.
    """

    estimate: AgeEstimate | None
    parts: tuple[AgeEstimate, ...] = ()
    outliers: tuple[Outlier, ...] = ()
    refused: tuple[NoAge, ...] = ()


def age_from_measurement(
    quantity: Quantity, size_mm: float, fetus: int | None = None
) -> AgeEstimate | NoAge:
    """The age of one measured size, or why it gives none. Never a number outside a curve."""
    if quantity in NO_CURVE:
        source_id, reason = NO_CURVE[quantity]
        return NoAge(quantity, size_mm, source_id, reason, fetus)
    curves = [curve for curve in CURVES if curve.quantity is quantity]
    for curve in curves:
        if curve.covers(size_mm):
            return _read(curve, size_mm, fetus)
    ranges = " and ".join(f"{curve.low_mm:g} to {curve.high_mm:g} mm" for curve in curves)
    reason = f"{size_text(size_mm)} is outside the published curves ({ranges})"
    return NoAge(quantity, size_mm, "/".join(c.identifier for c in curves), reason, fetus)


def _read(curve: Curve, size_mm: float, fetus: int | None) -> AgeEstimate:
    days = curve.age_days(size_mm)
    memory = " (curve from memory)" if curve.from_memory else ""
    return AgeEstimate(
        days=days,
        error_days=curve.error_days(days),
        age_from=AgeFrom.MEASURED,
        source_id=curve.identifier,
        source=curve.source,
        method=curve.method,
        reason=f"{quantity_text(curve.quantity)} {size_text(size_mm)}{memory}",
        quantity=curve.quantity,
        size_mm=size_mm,
        fetus=fetus,
        from_memory=curve.from_memory,
    )


def by_other_rule(measurements: Sequence[Measurement]) -> float | None:
    """Days that the other published rule gives for the lengths it covers, their mean."""
    days = [
        OTHER_LENGTH_RULE.age_days(m.size_mm)
        for m in measurements
        if m.quantity is OTHER_LENGTH_RULE.quantity and OTHER_LENGTH_RULE.covers(m.size_mm)
    ]
    return sum(days) / len(days) if days else None


def quantity_text(quantity: Quantity) -> str:
    """The quantity in words: 'crown-rump length', 'head width'."""
    return _IN_WORDS.get(quantity, quantity.value.replace("_", " "))


def measured_age(measurements: Sequence[Measurement]) -> MeasuredAge:
    """All measurements of one pregnancy as one age.

    Method: what one curve ages is averaged first, repeats of one fetus before those of several,
    because it all shares the error of the curve. What remains is taken as independent and combined
    with weights 1 / standard error squared; the standard error is 1 / sqrt(sum of
    weights), widened by the Birge ratio sqrt(chi squared / (n - 1)) where that is above 1.
    Nothing is left out of the mean: outliers are named, and a person decides.
    """
    parts, refused = [], []
    for measurement in measurements:
        age = age_from_measurement(measurement.quantity, measurement.size_mm, measurement.fetus)
        if isinstance(age, AgeEstimate):
            parts.append(age)
        else:
            refused.append(age)
    merged = _merge_repeats(parts)
    return MeasuredAge(combine(_each_curve(merged)), merged, outliers(merged), tuple(refused))


def _merge_repeats(parts: Sequence[AgeEstimate]) -> tuple[AgeEstimate, ...]:
    groups: dict[tuple[str, int | None], list[AgeEstimate]] = {}
    for part in parts:
        groups.setdefault((part.source_id, part.fetus), []).append(part)
    merged = map(_mean, groups.values())
    return tuple(sorted(merged, key=lambda p: (p.source_id, p.fetus or 0, p.days)))


def _each_curve(parts: Sequence[AgeEstimate]) -> list[AgeEstimate]:
    """One estimate a curve: fetuses of one cow have one age, and share what the curve errs."""
    curves: dict[str, list[AgeEstimate]] = {}
    for part in parts:
        curves.setdefault(part.source_id, []).append(part)
    return [_mean(group) for group in curves.values()]


def _mean(group: Sequence[AgeEstimate]) -> AgeEstimate:
    """The mean of what one curve gives, no surer than each."""
    first = group[0]
    if len(group) == 1:
        return first
    assert first.quantity is not None
    name = f"{quantity_text(first.quantity)} "
    sizes = sorted(p.reason.removeprefix(name).removesuffix(" (mean)") for p in group)
    return replace(
        first,
        days=sum(part.days for part in group) / len(group),
        error_days=max(part.error_days for part in group),
        size_mm=None,
        fetus=None,
        reason=f"{name}{', '.join(sizes)} (mean)",
    )


def combine(parts: Sequence[AgeEstimate]) -> AgeEstimate | None:
    """The inverse-variance weighted mean of independent estimates; None of none."""
    if len(parts) <= 1:
        return parts[0] if parts else None
    weights = [part.standard_error_days**-2 for part in parts]
    total = sum(weights)
    mean = sum(weight * part.days for weight, part in zip(weights, parts, strict=True)) / total
    chi_squared = sum(
        weight * (part.days - mean) ** 2 for weight, part in zip(weights, parts, strict=True)
    )
    birge = max(1.0, sqrt(chi_squared / (len(parts) - 1)))
    return AgeEstimate(
        days=mean,
        error_days=2 * birge / sqrt(total),
        age_from=AgeFrom.MEASURED,
        source_id="+".join(sorted({part.source_id for part in parts})),
        source="; ".join(sorted({part.source for part in parts})),
        method="inverse-variance weighted mean",
        reason="; ".join(f"{part.reason} {days_text(part.days)} d" for part in parts),
        from_memory=any(part.from_memory for part in parts),
    )


def outliers(parts: Sequence[AgeEstimate]) -> tuple[Outlier, ...]:
    """Estimates more than 2 standard errors of the difference from the mean of the others.

    The worst is named and set aside before the next is looked for, so that one bad number does not
    make the good ones look bad. Of two that disagree both are named: nothing tells which is wrong.
    """
    found: list[Outlier] = []
    left = list(parts)
    while len(left) > 1:
        ranked = sorted((_from_others(left, at) for at in range(len(left))), key=_distance)
        if _distance(ranked[-1]) <= OUTLIER_STANDARD_ERRORS:
            break
        if len(left) == 2:
            return (*found, *ranked)
        found.append(ranked[-1])
        left.remove(ranked[-1].estimate)
    return tuple(found)


def _distance(outlier: Outlier) -> float:
    return abs(outlier.standardised)


def _from_others(parts: Sequence[AgeEstimate], at: int) -> Outlier:
    part = parts[at]
    others = [other for place, other in enumerate(parts) if place != at]
    total = sum(other.standard_error_days**-2 for other in others)
    mean = sum(other.days * other.standard_error_days**-2 for other in others) / total
    spread = sqrt(part.standard_error_days**2 + 1 / total)
    return Outlier(part, (part.days - mean) / spread)
