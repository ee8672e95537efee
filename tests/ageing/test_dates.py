"""Day counting, service, due and dry-off dates: leap days, year ends, published lengths.

The oracle for calendar arithmetic is numpy's datetime64, which shares no code with datetime.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grammar.ageing.estimate import AgeEstimate, AgeFrom
from grammar.dating.calving import dry_off_date, due_date, next_sexing
from grammar.dating.days import LossClass, age_on, loss_class, service_day, whole_days
from grammar.dating.gestation import BREEDS, GestationLength, gestation_length
from grammar.dating.services import fit_services, service_text
from grammar.exam import CheckSettings, KnownAnimal, Service
from grammar.figures import ServiceDateFrom
from grammar.findings import Conceptus, History, Measurement, PastEvent, Quantity
from grammar.summary import summarise_age
from tests.checks.exams import ON, OPEN, crl, exam, pregnant, served

NORMAN = "Norman et al. 2009, J Dairy Sci 92:2259-2269"
EXTENSION = "extension value 283 d"
day_one = st.dates(date(1990, 1, 1), date(2090, 1, 1))


def _due(service: date, breed: str | None, heifer: bool = False, twins: bool = False) -> date:
    due = due_date(service, gestation_length(breed, heifer, twins))
    assert due is not None
    return due.on


@pytest.mark.parametrize(
    ("service", "breed", "heifer", "due", "source"),
    [
        (date(2026, 1, 1), "Holstein", False, date(2026, 10, 7), NORMAN),
        (date(2026, 1, 1), "beef", False, date(2026, 10, 11), EXTENSION),
        (date(2026, 7, 1), "beef", False, date(2027, 4, 10), EXTENSION),
        (date(2025, 11, 20), "Holstein", True, date(2026, 8, 25), NORMAN),
        (date(2026, 2, 10), "Jersey", False, date(2026, 11, 17), NORMAN),
        (date(2026, 3, 15), "Brown Swiss", False, date(2026, 12, 27), NORMAN),
        # Across 29 February 2028.
        (date(2027, 6, 1), "beef", False, date(2028, 3, 10), EXTENSION),
        (date(2027, 6, 1), "Holstein", False, date(2028, 3, 6), NORMAN),
        # Across the year end, and a service on a leap day.
        (date(2026, 12, 31), "Holstein", False, date(2027, 10, 6), NORMAN),
        (date(2028, 2, 29), "Holstein", False, date(2028, 12, 4), NORMAN),
    ],
)
def test_a_due_date_is_the_service_date_plus_the_published_length(
    service: date, breed: str, heifer: bool, due: date, source: str
) -> None:
    assert _due(service, breed, heifer) == due, source
    days = (np.datetime64(due) - np.datetime64(service)).astype(int)
    assert days == gestation_length(breed, heifer).mean_days


def test_the_day_of_service_is_day_0_unlike_in_many_printed_charts() -> None:
    # Printed extension charts (recalled) count it as day 1: 1 January and 283 d give 10 October.
    assert _due(date(2027, 1, 1), "beef") == date(2027, 10, 11)


def test_a_stated_age_gives_the_service_date_and_back() -> None:
    # Calendar arithmetic; Norman et al. 2009 for the length.
    assert service_day(date(2026, 5, 20), 45) == date(2026, 4, 5)
    assert _due(date(2026, 4, 5), "Holstein") == date(2027, 1, 9)
    assert age_on(date(2026, 3, 1), date(2026, 5, 20)) == 80


@given(day_one, st.integers(0, 300))
def test_ages_and_service_dates_are_the_same_count_in_numpy(on: date, age: int) -> None:
    service = service_day(on, age)
    assert service is not None
    assert np.datetime64(on) - np.timedelta64(age, "D") == np.datetime64(service)
    assert age_on(service, on) == age


def test_drying_off_is_sixty_days_before_calving_unless_set() -> None:
    # Ohio State newsletter and Penn State 1996: 60 d.
    assert dry_off_date(date(2026, 10, 7)) == date(2026, 8, 8)
    assert dry_off_date(date(2026, 10, 7), 45) == date(2026, 8, 23)
    assert dry_off_date(date(2028, 3, 10)) == date(2028, 1, 10)


def test_twins_come_five_days_earlier() -> None:
    # Norman et al. 2009: 4.7 d under a single female.
    due = _due(date(2026, 1, 1), "Holstein", twins=True)
    assert abs((due - date(2026, 10, 2)).days) <= 1


@pytest.mark.parametrize(
    ("breed", "cow", "heifer"),
    [
        ("Holstein", 279, 278),
        ("Jersey", 280, 278),
        ("Milking Shorthorn", 281, 279),
        ("Ayrshire", 282, 282),
        ("Guernsey", 286, 285),
        ("Brown Swiss", 287, 287),
    ],
)
def test_dairy_lengths_are_the_means_of_norman_in_whole_days(
    breed: str, cow: int, heifer: int
) -> None:
    assert gestation_length(breed).mean_days == cow
    assert gestation_length(breed, heifer=True).mean_days == heifer
    assert "Norman et al. 2009" in gestation_length(breed).source


@pytest.mark.parametrize("breed", BREEDS)
def test_every_breed_has_a_source_and_a_length_within_the_live_term(breed: str) -> None:
    length = gestation_length(breed)
    assert length.source
    assert 270 <= length.mean_days <= 295


def test_a_breed_that_is_not_known_has_the_length_of_all_breeds_and_says_so() -> None:
    unknown = gestation_length("purple")
    assert (unknown.breed, unknown.mean_days) == ("any breed: 'purple' is not known", 282)
    assert "Tessier 1817" in unknown.source
    assert gestation_length(None).breed == gestation_length("crossbred").breed == "any breed"


def test_the_spread_of_a_due_date_joins_gestation_and_service() -> None:
    length = gestation_length("Holstein")
    by_service = due_date(date(2026, 1, 1), length, 1)
    by_scan = due_date(date(2026, 1, 1), length, 16)
    assert by_service is not None
    assert by_scan is not None
    assert by_service.sd_days == pytest.approx(6.02, abs=0.01)
    assert by_scan.sd_days == pytest.approx(10.0)
    assert (by_scan.latest - by_scan.on).days == 20


def test_a_date_past_the_calendar_is_none_and_no_error() -> None:
    assert due_date(date(9999, 12, 1), GestationLength(279, 6, "holstein", "test")) is None
    assert service_day(date(1, 1, 2), 45) is None


@pytest.mark.parametrize(
    ("age", "name"),
    # NDSU (42 d); Committee 1972 from memory; Berglund et al. 2003 (260 d).
    [
        (40, LossClass.EMBRYONIC),
        (42, LossClass.EMBRYONIC),
        (43, LossClass.ABORTION),
        (150, LossClass.ABORTION),
        (259, LossClass.ABORTION),
        (265, LossClass.STILLBIRTH),
    ],
)
def test_a_loss_is_named_by_its_age(age: int, name: LossClass) -> None:
    assert loss_class(age) is name


def test_halves_of_days_count_as_a_day_more() -> None:
    assert [whole_days(d) for d in (39.4, 39.5, 40.5, -1.5)] == [39, 40, 41, -2]


def test_the_sexing_window_runs_from_day_56_to_98_and_then_is_over() -> None:
    service, usual = date(2026, 1, 1), CheckSettings()
    window = next_sexing(service, service, usual)
    assert window is not None
    assert (window.first, window.last) == (date(2026, 2, 26), date(2026, 4, 9))
    rest = next_sexing(service, date(2026, 3, 1), usual)
    assert rest is not None
    assert rest.first == date(2026, 3, 1)
    assert next_sexing(service, date(2026, 4, 10), usual) is None
    narrow = CheckSettings(sexing_from_day=58, sexing_to_day=70)
    chosen = next_sexing(service, service, narrow)
    assert chosen is not None
    assert chosen.first == date(2026, 2, 28)


def _age(days: float, error: float = 4) -> AgeEstimate:
    return AgeEstimate(days, error, AgeFrom.MEASURED, "test", "test", "test", "test")


def _ago(days: int, last: int | None = None) -> Service:
    return Service(ON - timedelta(days=days), None if last is None else ON - timedelta(days=last))


def test_of_several_services_the_nearest_to_the_age_is_taken() -> None:
    fit = fit_services([_ago(81), _ago(60), _ago(39)], ON, _age(61))
    assert fit.chosen is not None
    assert fit.chosen.service == _ago(60)
    assert fit.also == ()


def test_two_services_that_fit_are_both_named() -> None:
    fit = fit_services([_ago(47), _ago(44)], ON, _age(45))
    assert fit.chosen is not None
    assert fit.chosen.service == _ago(44)
    assert [c.service for c in fit.also] == [_ago(47)]


def test_no_service_is_taken_where_none_fits() -> None:
    fit = fit_services([_ago(81), _ago(60)], ON, _age(45))
    assert fit.chosen is None
    assert "15 days off" in fit.reason


def test_an_age_inside_a_mating_period_fits_it() -> None:
    fit = fit_services([_ago(70, 30), _ago(90)], ON, _age(50))
    assert fit.chosen is not None
    assert fit.chosen.service == _ago(70, 30)
    assert fit.chosen.difference_days == 0
    assert service_text(fit.chosen.service) == "2026-03-11 to 2026-04-20"


def test_a_bull_still_in_counts_to_the_day_of_the_exam() -> None:
    fit = fit_services([Service(ON - timedelta(days=60), ON + timedelta(days=30))], ON, None)
    assert fit.chosen is not None
    assert (fit.chosen.low_days, fit.chosen.high_days) == (0, 60)


def test_without_an_age_one_service_is_taken_and_of_several_none() -> None:
    assert fit_services([_ago(40)], ON, None).chosen is not None
    several = fit_services([_ago(40), _ago(61)], ON, None)
    assert several.chosen is None
    assert "2 services" in several.reason
    assert fit_services([], ON, None).chosen is None


def test_a_service_after_the_exam_is_not_considered() -> None:
    assert fit_services([Service(ON + timedelta(days=3))], ON, _age(45)).chosen is None


def test_the_row_of_an_exam_takes_the_recorded_service_for_its_dates() -> None:
    row = summarise_age(exam(pregnant(45), crl(30), known=served(46, 67, breed="Holstein")))
    assert (row.age_days, row.age_from) == (45, AgeFrom.STATED)
    assert row.service_date == ON - timedelta(days=46)
    assert row.service_date_from is ServiceDateFrom.RECORDED
    assert row.due_date == ON - timedelta(days=46) + timedelta(days=279)
    assert row.dry_off == row.due_date - timedelta(days=60)


def test_the_row_counts_the_service_back_where_none_is_recorded() -> None:
    row = summarise_age(exam(pregnant(45), known=KnownAnimal("837", breed="Holstein")))
    assert row.service_date == date(2026, 4, 5)
    assert row.service_date_from is ServiceDateFrom.COUNTED_BACK
    assert row.due_date == date(2027, 1, 9)
    assert row.age_error_days == 5.2


def test_the_row_counts_back_within_a_mating_period() -> None:
    known = KnownAnimal("837", services=(_ago(70, 30),))
    row = summarise_age(exam(pregnant(), crl(37), known=known))
    assert (row.age_days, row.age_from) == (50, AgeFrom.MEASURED)
    assert row.service_date == ON - timedelta(days=50)


def test_a_service_spoken_of_is_a_service() -> None:
    row = summarise_age(exam(pregnant(), History(PastEvent.SERVED, days_ago=40)))
    assert (row.age_days, row.age_from) == (40, AgeFrom.SERVICE)
    assert row.service_date == ON - timedelta(days=40)


def test_twins_and_a_heifer_change_the_due_date_of_the_row() -> None:
    heifer = served(45, breed="Holstein", parity=0)
    single = summarise_age(exam(pregnant(45), known=heifer)).due_date
    twins = summarise_age(exam(pregnant(45), Conceptus(2), known=heifer)).due_date
    assert single == ON - timedelta(days=45) + timedelta(days=278)
    assert twins == single - timedelta(days=5)


def test_the_row_is_empty_where_she_is_not_plainly_pregnant() -> None:
    length = Measurement(Quantity.CROWN_RUMP_LENGTH, 30)
    for checked in (exam(OPEN, known=served(60)), exam(pregnant(45), OPEN), exam(length)):
        row = summarise_age(checked)
        assert (row.age_days, row.service_date, row.due_date) == (None, None, None)


def test_ages_that_contradict_give_no_date_until_it_is_settled() -> None:
    row = summarise_age(exam(pregnant(75), crl(22)))
    assert (row.age_days, row.age_from) == (75, AgeFrom.STATED)
    assert (row.service_date, row.due_date, row.dry_off) == (None, None, None)


@pytest.mark.parametrize("days_ago", [76, 40])
def test_a_recorded_service_that_fits_either_of_them_keeps_its_date(days_ago: int) -> None:
    row = summarise_age(exam(pregnant(75), crl(22), known=served(days_ago)))
    assert row.service_date == ON - timedelta(days=days_ago)
    assert row.service_date_from is ServiceDateFrom.RECORDED


def test_an_insemination_within_the_error_of_a_length_is_not_replaced() -> None:
    row = summarise_age(exam(pregnant(), crl(20), known=served(43, breed="Holstein")))
    assert row.service_date == ON - timedelta(days=43)
    assert row.due_date == ON - timedelta(days=43) + timedelta(days=279)


def test_no_due_date_is_given_that_is_past_or_of_a_bull_who_never_came_out() -> None:
    past = summarise_age(exam(pregnant(), known=served(310)))
    assert (past.service_date, past.due_date) == (ON - timedelta(days=310), None)
    bull = KnownAnimal("837", services=(Service(ON - timedelta(days=90), natural=True),))
    assert summarise_age(exam(pregnant(), known=bull)).service_date is None
    assert summarise_age(exam(pregnant(50), known=bull)).due_date is not None


def test_several_services_and_no_age_leave_the_dates_empty() -> None:
    row = summarise_age(exam(pregnant(), known=served(40, 61)))
    assert (row.age_days, row.service_date, row.due_date) == (None, None, None)
