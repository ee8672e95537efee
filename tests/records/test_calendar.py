"""The calendar, as a parser other than the one that wrote it reads it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
import vobject

from dictation.records.diary import calendar
from dictation.visit.inputs import FindingWithdrawn
from dictation.visit.journal_state import Origin
from dictation.visit.state import Visit
from grammar.exam import Exam
from tests.decide.spoken import Phrase, Unsure
from tests.records.visits import FARM, ORIGIN, farm_visit, heard


def events(visit: Visit, origin: Origin = ORIGIN) -> list[Any]:
    content = calendar(visit.exams, origin, FARM).decode("utf-8")
    assert content.endswith("END:VCALENDAR\r\n")
    assert not re.search(r"(?<!\r)\n", content)
    assert max(len(line.encode()) for line in content.split("\r\n")) <= 75
    file = vobject.readOne(content)
    file.validate(raiseException=True)
    return list(getattr(file, "vevent_list", []))


def days(*phrases: Phrase) -> dict[str, tuple[date, date]]:
    """Title of each event of one animal: its first day and the day after its last."""
    return {
        event.summary.value: (event.dtstart.value, event.dtend.value)
        for event in events(heard(*phrases))
    }


def test_a_pregnant_cow_has_dry_off_sexing_and_calving_days() -> None:
    assert days("cow eight three seven", "pregnant forty-five days") == {
        "Calf sex can be seen: tag 837": (date(2026, 11, 29), date(2027, 1, 11)),
        "Dry off: tag 837": (date(2027, 5, 11), date(2027, 5, 12)),
        "Expected to calve: tag 837": (date(2027, 7, 10), date(2027, 7, 11)),
    }


def test_signs_of_a_loss_stand_on_every_day_of_the_calf() -> None:
    said = ("cow eight three seven", "pregnant forty-five days", "no heartbeat")
    visit = heard(*said, "recheck in one week")
    found = {event.summary.value: event.description.value for event in events(visit)}
    assert set(found) == {
        "Recheck: tag 837",
        "Calf sex can be seen, if not lost: tag 837",
        "Dry off, if not lost: tag 837",
        "Expected to calve, if not lost: tag 837",
    }
    assert sum("Said of her too: no heartbeat." in words for words in found.values()) == 3


def test_a_heifer_is_not_dried_off_and_her_recheck_has_its_day() -> None:
    found = days("heifer two six oh five", "pregnant thirty-two days", "recheck in four weeks")
    assert found["Recheck: tag 2605"] == (date(2026, 12, 16), date(2026, 12, 17))
    assert not any(title.startswith("Dry off") for title in found)


def test_a_sex_that_was_called_needs_no_window() -> None:
    found = days("cow one one four six", "pregnant sixty-four days", "female fetus")
    assert not any("sex" in title for title in found)


@pytest.mark.parametrize(
    "phrases",
    [
        ("open",),
        ("uncertain",),
        ("pregnant forty days", "embryonic loss"),
        ("pregnant seventy-five days", "crown rump twenty-two millimetres"),
        ("open", "pregnant forty days"),
        (Unsure("pregnant forty days", ("pregnant fifty days",)),),
    ],
)
def test_no_day_rests_on_a_doubt_or_a_loss(phrases: tuple[Phrase, ...]) -> None:
    assert days("cow eight three seven", *phrases) == {}


def test_the_spread_of_the_calving_day_is_told() -> None:
    told = events(heard("cow eight three seven", "pregnant forty-five days"))[-1]
    assert (
        "Two standard deviations either way: 2027-06-27 to 2027-07-23 (279 days, holstein)"
        in told.description.value
    )
    assert "The vet decides" in told.description.value


def test_a_second_import_updates_and_adds_none() -> None:
    first = {event.uid.value: event for event in events(farm_visit())}
    later = replace(
        ORIGIN, revision=ORIGIN.revision + 5, changed_at=ORIGIN.changed_at + timedelta(hours=1)
    )
    again = {event.uid.value: event for event in events(farm_visit(), later)}
    assert len(first) == len(events(farm_visit())) > 5
    assert set(first) == set(again)
    for uid, event in first.items():
        assert int(again[uid].sequence.value) > int(event.sequence.value)
        assert again[uid].dtstamp.value > event.dtstamp.value


def test_the_same_journal_gives_the_same_bytes() -> None:
    visit = farm_visit()
    assert calendar(visit.exams, ORIGIN) == calendar(visit.exams, ORIGIN)


def test_what_was_taken_back_is_cancelled_under_its_identifier() -> None:
    said: tuple[Phrase, ...] = ("cow eight three seven", "pregnant forty-five days")
    before = {event.uid.value for event in events(heard(*said))}
    status = heard(*said).exams[0].recorded[1].number
    after = events(heard(*said, FindingWithdrawn(status), "cow five", "open"))
    assert {event.uid.value for event in after} == before
    assert {event.status.value for event in after} == {"CANCELLED"}


def test_another_visit_has_other_identifiers() -> None:
    other = replace(ORIGIN, opened_at=ORIGIN.opened_at + timedelta(milliseconds=1))
    ours = {event.uid.value for event in events(farm_visit())}
    assert ours.isdisjoint(event.uid.value for event in events(farm_visit(), other))


HOSTILE = "12\r\nATTENDEE:mailto:x;y,z\\n\x00\x07\u202e end"


def test_a_hostile_tag_stays_inside_its_line() -> None:
    exam: Exam = replace(heard("cow five", "recheck in two weeks").exams[0], tag=HOSTILE)
    content = calendar((exam,), ORIGIN, "Farm\r\nBEGIN:VALARM").decode("utf-8")
    file = vobject.readOne(content)
    assert not re.search(r"^(ATTENDEE|BEGIN:VALARM)", content, re.MULTILINE)
    assert "\x00" not in content
    assert "\u202e" not in content
    (event,) = file.vevent_list
    assert event.summary.value.startswith("Recheck: tag 12 ATTENDEE:mailto:x;y,z\\n")
