"""Who should be examined and why: the limits of every reason, and the order of the list."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from dictation.records.plan_list import Planned, not_understood, plan
from grammar.exam import KnownAnimal, Service
from tests.decide.spoken import Unsure
from tests.records.visits import heard

ON = date(2026, 11, 18)


def ago(days: int) -> date:
    return ON - timedelta(days=days)


def cow(  # noqa: PLR0913, PLR0917 - what a herd list says of her
    served: int | None = None,
    calved: int | None = None,
    status: str | None = None,
    tag: str = "5",
    parity: int | None = 2,
    bull_until: int | None = None,
) -> KnownAnimal:
    until = None if bull_until is None else ago(bull_until)
    services = () if served is None else (Service(ago(served), until),)
    calved_on = None if calved is None else ago(calved)
    return KnownAnimal(
        tag, parity=parity, calved_on=calved_on, services=services, last_status=status
    )


def rules(*animals: KnownAnimal) -> list[str]:
    return [reason.rule for planned in plan(animals, ON) for reason in planned.reasons]


def tags(planned: tuple[Planned, ...]) -> list[str]:
    return [each.animal.tag for each in planned]


@pytest.mark.parametrize(
    ("animal", "expected"),
    [
        (cow(served=28), []),
        (cow(served=29), ["served_not_checked"]),
        (cow(served=25, parity=0), []),
        (cow(served=26, parity=0), ["served_not_checked"]),
        (cow(served=60, bull_until=20), []),
        (cow(served=60, bull_until=29), ["served_not_checked"]),
        (cow(calved=60), []),
        (cow(calved=61), ["not_served"]),
        (cow(calved=29), []),
        (cow(calved=30), ["after_calving"]),
        (cow(calved=40), ["after_calving"]),
        (cow(calved=41), []),
        (cow(calved=-5), []),
        (cow(served=44, status="pregnant"), []),
        (cow(served=45, status="Pregnant"), ["second_look"]),
        (cow(served=60, status="in calf"), ["second_look"]),
        (cow(served=61, status="in calf"), []),
        (cow(served=200, status="in calf"), ["last_look"]),
        (cow(served=221, status="in calf"), []),
        (cow(served=296, status="in calf"), []),
        (cow(served=297, status="in calf"), ["past_calving"]),
        (cow(served=10, calved=100, status="open"), ["open_long"]),
        (cow(served=10, status="open"), ["open"]),
        (cow(status="in calf"), ["pregnant_no_service"]),
        (cow(), []),
        # A service before the last calving is of the lactation before.
        (cow(served=200, calved=100), ["not_served"]),
    ],
)
def test_a_reason_holds_within_its_days(animal: KnownAnimal, expected: list[str]) -> None:
    assert rules(animal) == expected


def test_the_most_pressing_come_first_and_among_them_the_longest() -> None:
    planned = plan(
        (
            cow(tag="1", calved=80),
            cow(tag="2", served=30),
            cow(tag="3", served=50),
            cow(tag="4", calved=35),
        ),
        ON,
    )
    assert tags(planned) == ["3", "2", "1", "4"]


def test_a_recheck_that_was_asked_for_comes_before_all() -> None:
    earlier = heard("cow five", "open", "recheck in two weeks").exams
    (planned,) = plan((cow(served=40),), ON + timedelta(days=20), earlier)
    assert planned.reasons[0].rule == "recheck_due"
    assert "due on 2 Dec 2026, 6 days ago" in planned.reasons[0].why


def test_a_recheck_of_a_cow_on_no_list_is_not_forgotten() -> None:
    earlier = heard("cow nine nine", "open", "recheck in two weeks").exams
    assert tags(plan((), ON + timedelta(days=14), earlier)) == ["99"]


def test_a_recheck_that_is_weeks_away_is_not_due() -> None:
    earlier = heard("cow five", "open", "recheck in eight weeks").exams
    assert plan((), ON + timedelta(days=14), earlier) == ()


def test_a_recheck_that_was_done_since_is_not_asked_for_again() -> None:
    first = heard("cow five", "open", "recheck in two weeks").exams[0]
    from dataclasses import replace

    later = replace(heard("cow five", "open").exams[0], on_date=ON + timedelta(days=10))
    assert plan((), ON + timedelta(days=20), (first, later)) == ()


def planned_after(days: int, animal: KnownAnimal, *said: str) -> list[str]:
    """Rules for an animal so many days after a visit at which this was said of her."""
    exams = heard("cow five", *said).exams
    found = plan((animal,), ON + timedelta(days=days), exams)
    return [reason.rule for planned in found for reason in planned.reasons]


@pytest.mark.parametrize(
    ("days", "animal", "said", "expected"),
    [
        (30, cow(served=40), ("pregnant forty days",), []),
        (12, cow(served=34), ("pregnant thirty-four days",), ["second_look"]),
        (14, cow(served=40, calved=90), ("open",), ["open_long"]),
        (14, cow(served=40, calved=90), ("uncertain",), ["served_not_checked"]),
        (14, cow(served=40, calved=90), ("pregnant forty days", "lost it"), ["open_long"]),
        # Too young to be seen at that visit, or served after it.
        (14, cow(served=20), ("open",), ["served_not_checked"]),
        (
            40,
            cow(served=-5),
            ("pregnant forty days",),
            ["served_not_checked", "served_since_in_calf"],
        ),
        # In calf of a service that the list does not know.
        (30, cow(calved=90), ("pregnant forty days",), []),
        (12, cow(calved=90), ("pregnant forty days",), ["second_look"]),
        (30, cow(calved=90), ("pregnant",), []),
        (30, cow(calved=90), ("open",), ["not_served"]),
        # She has calved since: that was another pregnancy.
        (30, cow(calved=-3), ("pregnant forty days",), []),
        (64, cow(calved=-3), ("pregnant forty days",), ["not_served"]),
        (14, cow(served=40, status="open"), ("pregnant forty days",), ["list_and_visit_differ"]),
        (14, cow(served=40, status="pregnant"), ("open",), ["list_and_visit_differ"]),
        (30, cow(served=40, status="pregnant"), ("pregnant forty days",), []),
    ],
)
def test_what_an_earlier_visit_found_is_not_asked_for_again(
    days: int, animal: KnownAnimal, said: tuple[str, ...], expected: list[str]
) -> None:
    assert planned_after(days, animal, *said) == expected


def test_a_result_in_doubt_is_no_result() -> None:
    exams = heard("cow five", Unsure("pregnant forty days", ("pregnant fifty days",))).exams
    (planned,) = plan((cow(served=40),), ON + timedelta(days=30), exams)
    assert [reason.rule for reason in planned.reasons] == ["served_not_checked"]


def test_words_for_a_result_that_are_not_understood_are_told_and_not_used() -> None:
    animals = (cow(served=40, status="P+"), cow(tag="6", served=40, status="open"))
    assert not_understood(animals) == ("P+",)
    assert rules(animals[0]) == ["served_not_checked"]


def test_every_reason_has_a_source() -> None:
    planned = plan((cow(served=40), cow(tag="6", calved=90), cow(tag="7", calved=35)), ON)
    assert all(reason.source for each in planned for reason in each.reasons)
