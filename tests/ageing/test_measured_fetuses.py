"""The late curves against the fetuses they are from: coefficients, errors, and the older rules."""

from __future__ import annotations

import numpy as np
import pytest

from grammar.ageing import curves
from grammar.ageing.curves import reading_error_days
from grammar.findings import Quantity
from tests.ageing.fit_fetuses import (
    BANDS,
    OLDER_RULES,
    Numbers,
    by_the_tool,
    cross_validated,
    fetuses,
    fitted,
    heads,
    lengths,
    line,
    penn_errors,
    root,
)

CRL, HEAD = Quantity.CROWN_RUMP_LENGTH, Quantity.BIPARIETAL_DIAMETER


def test_the_fixture_is_the_262_fetuses_with_the_printed_summary() -> None:
    # As printed with the data: age 25 to 274, mean 136.06; length 2.0 to 101.3 cm, median 35.65.
    found = fetuses()
    assert len(found.age_days) == 262
    assert (found.age_days.min(), found.age_days.max()) == (25, 274)
    assert found.age_days.mean() == pytest.approx(136.06, abs=0.01)
    assert (found.crown_rump_cm.min(), found.crown_rump_cm.max()) == (2.0, 101.3)
    assert np.median(found.crown_rump_cm) == pytest.approx(35.65, abs=0.01)
    assert found.head_width_mm.mean() == pytest.approx(62.34, abs=0.02)


def test_the_length_curve_is_the_least_squares_fit_point_by_point() -> None:
    cm, age = lengths()
    fit = root(cm) @ fitted(root, cm, age)
    ours = np.array([estimate.days for estimate in by_the_tool(CRL, cm * 10)])
    assert np.abs(ours - fit)[cm >= 8].max() < 0.1


def test_the_head_curve_is_the_least_squares_fit_point_by_point() -> None:
    mm, age = heads()
    fit = line(mm) @ fitted(line, mm, age)
    ours = np.array([estimate.days for estimate in by_the_tool(HEAD, mm)])
    assert np.abs(ours - fit).max() < 0.1


def test_nineteen_fetuses_in_twenty_lie_within_the_error_without_the_allowance() -> None:
    cm, age = lengths()
    _covers(cross_validated(root, cm, age), age, curves.LENGTH_FLOOR)
    mm, age = heads(last_day=300)
    _covers(line(mm) @ fitted(line, *heads()), age, curves.HEAD_FLOOR)


def _covers(reckoned: Numbers, age: Numbers, floor: curves.Points) -> None:
    inside = np.abs(age - reckoned) <= list(map(curves.levelled(floor), reckoned))
    assert inside.mean() >= 0.95
    for low, high in BANDS:
        # By the age that is reckoned: it is what stands beside the error.
        assert inside[(reckoned >= low) & (reckoned < high)].mean() >= 0.92, (low, high)


def test_the_error_grows_smoothly_with_age_and_never_jumps() -> None:
    for error in (reading_error_days, curves.HEAD_WIDTH.error_days):
        steps = np.diff([error(day) for day in range(40, 286)])
        assert steps.min() >= 0
        assert steps.max() <= 0.7
    early, late = curves.CROWN_RUMP_EARLY, curves.CROWN_RUMP_LATE
    assert late.error_days(60) == early.error_days(60) == 5.2
    assert late.age_days(60) == early.age_days(60) == 60


def test_no_length_between_60_and_80_mm_is_without_an_age() -> None:
    ages = by_the_tool(CRL, np.arange(60, 81, 0.5))
    assert [a.days for a in ages] == sorted(a.days for a in ages)
    # Beside the fit to the fetuses: within the error of either.
    fit = np.arange(60, 81, 0.5) / 10
    beside = root(fit) @ fitted(root, *lengths())
    assert max(abs(a.days - b) for a, b in zip(ages, beside, strict=True)) < 3


def test_the_early_points_are_borne_out_and_the_other_rule_runs_three_days_high() -> None:
    early, other = penn_errors()
    assert len(early) == 24
    assert early.mean() == pytest.approx(0.1, abs=0.1)
    assert early.std(ddof=1) == pytest.approx(2.6, abs=0.1)
    assert (np.abs(early) <= curves.EARLY_ERROR_DAYS).sum() == 23
    assert other.mean() == pytest.approx(-3.3, abs=0.1)


@pytest.mark.parametrize("name", OLDER_RULES)
def test_the_older_length_rules_make_every_fetus_too_old(name: str) -> None:
    cm, age = lengths()
    bias = OLDER_RULES[name](cm) - age
    assert bias[(cm >= 10) & (cm < 40)].mean() > 3
    assert bias[cm >= 60].mean() > 15
    ours = np.array([e.days for e in by_the_tool(CRL, cm * 10)]) - age
    assert abs(ours[(cm >= 10) & (cm < 40)].mean()) < 1
    assert abs(ours[cm >= 60].mean()) < 3


def test_head_widths_recalled_from_elsewhere_agree_within_three_days() -> None:
    # Values of the kind given by Kahn 1989, Theriogenology 31:1105-1121, from memory.
    ages = by_the_tool(HEAD, np.array([18.0, 34.0, 52.0]))
    assert all(abs(a.days - day) <= 3 for a, day in zip(ages, (60, 90, 120), strict=True))
