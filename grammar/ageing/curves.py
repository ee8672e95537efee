"""Published relations between the size of a conceptus and its age, and where each may be used.

A curve gives no number outside its range. Figures marked from memory were recalled and not seen on
a page. Where a second published rule is for the same size, it is said beside the first.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

from grammar.findings import Quantity

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """A relation of size in mm to age in days within ``low_mm`` to ``high_mm``, both included.

    ``error_days``: half-width of about 95 % at that age, with its own source in ``error_source``.
    """

    identifier: str
    quantity: Quantity
    low_mm: float
    high_mm: float
    age_days: Callable[[float], float]
    error_days: Callable[[float], float]
    method: str
    source: str
    error_source: str
    from_memory: bool = False

    def covers(self, size_mm: float) -> bool:
        """Whether the curve may be used at this size."""
        return self.low_mm <= size_mm <= self.high_mm


def through(points: Points) -> Callable[[float], float]:
    """Straight lines between ``(mm, days)`` points, mm rising. Raises ValueError outside them."""
    sizes = tuple(size for size, _ in points)
    if any(low >= high for low, high in pairwise(sizes)):
        raise ValueError("the sizes of a table must rise")

    def age(size_mm: float) -> float:
        if not sizes[0] <= size_mm <= sizes[-1]:
            raise ValueError(f"{size_mm:g} mm is outside {sizes[0]:g} to {sizes[-1]:g} mm")
        at = min(bisect_right(sizes, size_mm), len(sizes) - 1)
        (low_mm, low_d), (high_mm, high_d) = points[at - 1], points[at]
        return low_d + (high_d - low_d) * (size_mm - low_mm) / (high_mm - low_mm)

    return age


def _always(days: float) -> Callable[[float], float]:
    return lambda age_days: days


_PENN = "Univ. Pennsylvania New Bolton Center, dairy reproduction ultrasound teaching page"
_SOMNUK = "Somnuk & Kornmatitsuk 2017, Asian Pac J Reprod 6(4):186-190"
_KROG = "Krog, Agerholm & Nielsen 2018, PLoS ONE 13(11) e0207682"
KROG = f"{_KROG}, 262 Holstein fetuses of known insemination, fitted by us"
_R2_ERROR = "derived: R2 0.95 over ages of 30 to 120 d leaves a standard deviation of about 6 d"

# The Penn points on the 24 fetuses of 20 to 60 mm among those 262: bias -0.1 d, SD 2.6 d.
EARLY_ERROR_DAYS = 5.2
EARLY_ERROR = f"twice the SD of 2.6 d of these points on 24 fetuses of {_KROG}"

# Callipers after death, one breed: a floor. A probe at arm's length reads worse the larger the
# fetus is, and a length of more than about 8 cm is not on the screen whole. What is added in days,
# by age, is our allowance; common practice, no source.
ULTRASOUND_ALLOWANCE: dict[Quantity, Points] = {
    Quantity.BIPARIETAL_DIAMETER: ((60, 0), (285, 7.5)),
    Quantity.CROWN_RUMP_LENGTH: ((60, 0), (70, 3), (285, 10)),
}
_LATE_ERROR = (
    "95 % of the fetuses at that age, cross-validated, widened by our allowance for ultrasound"
)


def levelled(points: Points) -> Callable[[float], float]:
    """Straight lines between points, and level outside them."""
    inside, first, last = through(points), points[0][0], points[-1][0]
    return lambda at: inside(min(max(at, first), last))


def _widened(floor: Points, quantity: Quantity) -> Callable[[float], float]:
    """The error at an age, from ``(day, days)`` points of the data and the allowance."""
    seen, allowed = levelled(floor), levelled(ULTRASOUND_ALLOWANCE[quantity])
    return lambda age_days: seen(age_days) + allowed(age_days)


# What 95 % of the fetuses lie within at that age, smoothed; the tests reckon it from the fixture.
LENGTH_FLOOR: Points = ((60, EARLY_ERROR_DAYS), (165, 9.5), (200, 12), (240, 22), (285, 40))
HEAD_FLOOR: Points = ((40, 5.6), (60, 6.6), (165, 14), (200, 25), (240, 36), (285, 46))
#: The error of an age told by the eye is that of a length measured, on both sides of day 60.
reading_error_days = _widened(LENGTH_FLOOR, Quantity.CROWN_RUMP_LENGTH)


def _krog_length(size_mm: float) -> float:
    size_cm = size_mm / 10
    return 22.337 + 11.453 * sqrt(size_cm) + 1.2572 * size_cm


def _late_length(size_mm: float) -> float:
    """Fetuses from 80 mm; below, straight from the last Penn point, 60 mm at 60 d."""
    if size_mm >= 80:
        return _krog_length(size_mm)
    return 60 + (_krog_length(80) - 60) * (size_mm - 60) / 20


CROWN_RUMP_EARLY = Curve(
    identifier="penn_lengths",
    quantity=Quantity.CROWN_RUMP_LENGTH,
    low_mm=5,
    high_mm=60,
    age_days=through(((5, 25), (15, 35), (30, 45), (45, 55), (60, 60))),
    error_days=_always(EARLY_ERROR_DAYS),
    method="ultrasound",
    source=f"{_PENN} (1999-2001): 25 d 5 mm, 35 d 15, 45 d 30, 55 d 45, 60 d 60",
    error_source=EARLY_ERROR,
)
CROWN_RUMP_LATE = Curve(
    identifier="krog_length",
    quantity=Quantity.CROWN_RUMP_LENGTH,
    low_mm=60,
    high_mm=1013,
    age_days=_late_length,
    error_days=reading_error_days,
    method="post mortem",
    source=f"{KROG}: 22.337 + 11.453 sqrt cm + 1.2572 cm, from 80 mm",
    error_source=_LATE_ERROR,
)
# 'Head width' is not defined on the page that the points are from, so nothing says that it is the
# biparietal diameter of other papers.
HEAD_WIDTH = Curve(
    identifier="krog_head_width",
    quantity=Quantity.BIPARIETAL_DIAMETER,
    low_mm=6.8,
    high_mm=152,
    age_days=lambda size_mm: 33.73 + 1.608 * size_mm,
    error_days=_widened(HEAD_FLOOR, Quantity.BIPARIETAL_DIAMETER),
    method="post mortem",
    source=f"{KROG}: 33.73 + 1.608 mm on days 38 to 165, and on from there with a wide error",
    error_source=_LATE_ERROR,
)
AMNIOTIC_VESICLE = Curve(
    identifier="drost_vesicle",
    quantity=Quantity.AMNIOTIC_VESICLE_DIAMETER,
    low_mm=7.5,
    high_mm=35,
    age_days=through(((7.5, 35), (15, 42), (35, 48))),
    error_days=_always(7.0),
    method="palpation",
    source="Drost, Bovine Reproduction visual guide, Univ. Florida: 35 d 7.5 mm, 42 d 15, 48 d 35",
    error_source="our allowance, one step of the table; no published error",
)
AMNIOTIC_VESICLE_LATE = Curve(
    identifier="zemjanis_vesicle",
    quantity=Quantity.AMNIOTIC_VESICLE_DIAMETER,
    low_mm=35,
    high_mm=105,
    age_days=through(((35, 48), (55, 52), (75, 58), (90, 62), (105, 65))),
    error_days=_always(7.0),
    method="palpation",
    source="Zemjanis 1970, Diagnostic and Therapeutic Techniques (from memory)",
    error_source="our allowance, one step of the table; no published error",
    from_memory=True,
)
# The printed cubic falls above about 31 mm, a probable misprint of its last sign. Between 5 and
# 20 mm the two signs differ by at most 3.6 d, well within the error, so it may be used there.
TRUNK = Curve(
    identifier="somnuk_trunk",
    quantity=Quantity.TRUNK_DIAMETER,
    low_mm=5,
    high_mm=20,
    age_days=lambda size_mm: (
        14.583 + 29.878 * (size_mm / 10) - 3.759 * (size_mm / 10) ** 2 - 0.225 * (size_mm / 10) ** 3
    ),
    error_days=_always(12.0),
    method="ultrasound",
    source=f"{_SOMNUK}, trunk equation as printed, used to 20 mm only",
    error_source=_R2_ERROR,
)

CURVES: tuple[Curve, ...] = (
    CROWN_RUMP_EARLY,
    CROWN_RUMP_LATE,
    HEAD_WIDTH,
    AMNIOTIC_VESICLE,
    AMNIOTIC_VESICLE_LATE,
    TRUNK,
)

#: Another published rule for a size that a curve above ages: said beside it, never an age of its
#: own. The parabola peaks at 57.6 mm and then gives younger ages for longer fetuses.
OTHER_LENGTH_RULE = Curve(
    identifier="somnuk_length",
    quantity=Quantity.CROWN_RUMP_LENGTH,
    low_mm=5,
    high_mm=50,
    age_days=lambda size_mm: 22.679 + 12.005 * (size_mm / 10) - 1.042 * (size_mm / 10) ** 2,
    error_days=_always(12.0),
    method="ultrasound",
    source=f"{_SOMNUK}, crown-rump equation; 3.3 d too old, SD 2.5 d, on 21 fetuses of {_KROG}",
    error_source=_R2_ERROR,
)

#: Why a quantity gives no age at any size.
NO_CURVE: dict[Quantity, tuple[str, str]] = {
    Quantity.EYE_DIAMETER: (
        "somnuk_eye",
        "the published eye equation fits poorly (R2 0.67, 13 fetuses) and is not used",
    ),
    Quantity.PLACENTOME_LENGTH: (
        "adeyinka_placentome",
        "placentome length misses the age by up to 33 d and is not used",
    ),
    Quantity.FEMUR_LENGTH: (
        "massey_femur",
        "femur length misses the age by up to 22 d and its authors advise against it",
    ),
}
