"""Several measurements as one age, against scipy; stated ages; three ages side by side."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.optimize import curve_fit
from scipy.stats import zscore

from grammar.ageing.estimate import AgeEstimate, AgeFrom
from grammar.ageing.measured import combine, measured_age, outliers
from grammar.ageing.stated import stated_age
from grammar.dating.ages import ages_of, compare
from grammar.exam import Service
from grammar.findings import Measurement, Pregnancy, PregnancyStatus, Quantity, StatedAs

ON = date(2026, 5, 20)
CRL, VESICLE = Quantity.CROWN_RUMP_LENGTH, Quantity.AMNIOTIC_VESICLE_DIAMETER


def _estimate(days: float, error_days: float) -> AgeEstimate:
    return AgeEstimate(days, error_days, AgeFrom.MEASURED, f"of {days}", "made up", "test", "test")


def _pregnant(
    days: int | None, stated_as: StatedAs | None = StatedAs.DAYS, **more: object
) -> Pregnancy:
    return Pregnancy(PregnancyStatus.PREGNANT, days, stated_as=stated_as, **more)  # type: ignore[arg-type]


# absolute_sigma=False scales the covariance by the reduced chi squared: the Birge ratio.
@pytest.mark.parametrize(
    ("parts", "absolute"),
    [
        # These agree well within their errors, so nothing widens the error.
        ([(40, 4), (42, 7)], True),
        ([(40, 4), (41, 4), (43, 12)], True),
        ([(55, 4), (58, 7), (57, 12), (56, 16)], True),
        # These disagree.
        ([(40, 4), (55, 4), (60, 7)], False),
    ],
)
def test_the_weighted_mean_and_its_error_are_those_of_scipy(
    parts: list[tuple[int, int]], absolute: bool
) -> None:
    combined = combine([_estimate(days, error) for days, error in parts])
    assert combined is not None
    days, errors = np.array(parts, dtype=float).T
    at, sigma = np.arange(len(days), dtype=float), errors / 2
    fit, covariance = curve_fit(
        np.full_like, at, days, p0=[50.0], sigma=sigma, absolute_sigma=absolute
    )
    assert combined.days == pytest.approx(fit[0])
    assert combined.standard_error_days == pytest.approx(np.sqrt(covariance[0, 0]))


def test_an_outlier_is_named_and_left_in_the_mean() -> None:
    parts = [_estimate(days, 4) for days in (40, 41, 42, 41, 60)]
    named = outliers(parts)
    assert [outlier.estimate.days for outlier in named] == [60]
    assert int(np.argmax(np.abs(zscore([part.days for part in parts])))) == 4
    combined = combine(parts)
    assert combined is not None
    assert combined.days == pytest.approx(np.mean([40, 41, 42, 41, 60]))


def test_of_two_that_disagree_both_are_named() -> None:
    assert {o.estimate.days for o in outliers([_estimate(40, 4), _estimate(60, 4)])} == {40, 60}


def test_estimates_that_agree_have_no_outlier() -> None:
    assert outliers([_estimate(40, 4), _estimate(43, 4)]) == ()


def test_one_length_measured_twice_is_no_surer_than_once() -> None:
    twice = measured_age([Measurement(CRL, 20), Measurement(CRL, 24)])
    assert twice.estimate is not None
    # 20 mm is 38.33 d and 24 mm 41 d between the published points.
    assert twice.estimate.days == pytest.approx((38.333 + 41.0) / 2, abs=0.01)
    assert twice.estimate.error_days == 5.2


def test_twins_share_the_error_of_their_curve() -> None:
    twins = measured_age([Measurement(CRL, 22, fetus=1), Measurement(CRL, 24, fetus=2)])
    assert twins.estimate is not None
    assert twins.estimate.days == pytest.approx((39.667 + 41.0) / 2, abs=0.01)
    assert twins.estimate.error_days == 5.2
    assert len(twins.parts) == 2


def test_a_length_and_a_vesicle_together_are_surer_than_either() -> None:
    both = measured_age([Measurement(CRL, 22), Measurement(VESICLE, 15)])
    assert both.estimate is not None
    assert both.estimate.error_days < 5.2
    assert 39.6 < both.estimate.days < 42
    assert "inverse-variance" in both.estimate.method


def test_a_refused_measurement_does_not_spoil_the_others() -> None:
    ages = measured_age([Measurement(CRL, 22), Measurement(Quantity.EYE_DIAMETER, 14)])
    assert ages.estimate is not None
    assert ages.estimate.days == pytest.approx(39.67, abs=0.01)
    assert [refused.quantity for refused in ages.refused] == [Quantity.EYE_DIAMETER]


@pytest.mark.parametrize(
    ("spoken", "days", "rounding"),
    [
        (_pregnant(45), 45, 0.5),
        (_pregnant(42, StatedAs.WEEKS), 42, 3.5),
        (_pregnant(90, StatedAs.MONTHS), 90, 15),
        (_pregnant(40, approximate=True), 40, 3.5),
        (_pregnant(40, age_to_days=45), 42.5, 3.0),
        (_pregnant(40, None), 40, 0.5),
    ],
)
def test_a_stated_age_has_the_rounding_of_its_unit(
    spoken: Pregnancy, days: float, rounding: float
) -> None:
    age = stated_age([spoken])
    assert age is not None
    assert (age.days, age.rounding_days) == (days, rounding)


def test_no_age_said_is_no_age() -> None:
    assert stated_age([_pregnant(None)]) is None
    assert stated_age([]) is None


def test_of_a_stated_age_beside_a_measured_one_only_its_rounding_counts() -> None:
    ages = ages_of([_pregnant(45)], [Measurement(CRL, 22)], [], ON)
    assert ages.stated is not None
    assert ages.measured.estimate is not None
    apart = compare(ages.stated, ages.measured.estimate)
    assert apart.difference_days == pytest.approx(5.33, abs=0.01)
    # 5.33 / sqrt(0.25^2 + 2.6^2).
    assert apart.standard_errors == pytest.approx(2.04, abs=0.01)
    assert ages.contradict


def test_the_age_to_go_by_is_stated_then_measured_then_by_service() -> None:
    service = [Service(ON - timedelta(days=40))]
    length = [Measurement(CRL, 22)]
    names = [
        ages_of(stated, measured, service, ON).best
        for stated, measured in (([_pregnant(45)], length), ([], length), ([], []))
    ]
    assert [name.age_from for name in names if name is not None] == [
        AgeFrom.STATED,
        AgeFrom.MEASURED,
        AgeFrom.SERVICE,
    ]
