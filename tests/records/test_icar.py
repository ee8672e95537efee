"""Events of the open standard: valid, harmless, and silent of what has no home there."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dictation.records.icar.export import FILES, IcarExport, icar_export, write_icar
from dictation.records.icar.findings import left_out_words
from dictation.records.icar.sender import Sender, event_time, iso_11784
from dictation.visit.inputs import FindingWithdrawn
from dictation.visit.state import Visit
from grammar.sample import sample_phrase
from tests.decide.spoken import Phrase, Unsure
from tests.records.standard import faults
from tests.records.visits import OPENED, ORIGIN, SPOKEN, farm_visit, heard

GOLDEN = Path(__file__).parent / "golden" / "icar"
SENDER = Sender(ORIGIN, herd_id="123450", responsible="First vet")
CHECK = "icarReproPregnancyCheckEventResource"


def exported(visit: Visit, sender: Sender = SENDER) -> IcarExport:
    return icar_export(visit.exams, sender)


def events(*phrases: Phrase) -> list[dict[str, object]]:
    return list(exported(heard(*phrases)).events)


def left(*phrases: Phrase) -> str:
    export = exported(heard(*phrases))
    return left_out_words(export.left_out, export.only_in_words)


def values(record: object) -> Iterator[object]:
    if isinstance(record, dict):
        for each in record.values():
            yield from values(each)
    elif isinstance(record, list):
        for each in record:
            yield from values(each)
    else:
        yield record


@pytest.mark.parametrize("kind", list(FILES))
def test_a_visit_is_written_as_three_collections(
    kind: str, tmp_path: Path, rewrite_golden: bool
) -> None:
    write_icar(tmp_path, exported(farm_visit()))
    written = (tmp_path / FILES[kind]).read_text(encoding="utf-8")
    golden = GOLDEN / FILES[kind]
    if rewrite_golden:
        golden.parent.mkdir(parents=True, exist_ok=True)
        golden.write_text(written, encoding="utf-8")
    assert written == golden.read_text(encoding="utf-8")
    collection = json.loads(written)
    assert collection["view"]["totalItems"] == len(collection["member"]) > 0


def test_every_event_is_valid_and_holds_no_null() -> None:
    made = exported(farm_visit()).events
    assert [fault for event in made for fault in faults(event)] == []
    assert None not in list(values(list(made)))


@given(st.randoms(use_true_random=False))
@settings(max_examples=20, deadline=None)
def test_whatever_is_said_the_events_are_valid(random: object) -> None:
    phrases = [sample_phrase(random) for _ in range(12)]  # type: ignore[arg-type]
    made = exported(heard("cow eight three seven", *phrases)).events
    assert [fault for event in made for fault in faults(event)] == []
    assert None not in list(values(list(made)))


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("result", "Inseminated"),
        ("foetalAge", "45"),
        ("foetalAge", -3),
        ("eventDateTime", "2026-11-18 09:00"),
        ("eventDateTime", "2026-11-18T09:00:00+01:00"),
        ("animal", {"id": "837"}),
        ("meta", {"source": "x"}),
        ("foetusCountMale", 3),
        ("pregnancyAge", 45),
        ("remark", None),
    ],
)
def test_a_spoilt_event_is_refused(field: str, value: object) -> None:
    good = exported(farm_visit()).events[0]
    spoilt = copy.deepcopy(good) | {field: value}
    assert faults(good) == []
    assert faults(spoilt)


def test_twins_are_counted_and_only_the_sex_that_was_called() -> None:
    (event,) = events(
        "cow one one four six", "pregnant sixty-four days", "twins", "first fetus male"
    )
    assert (event["result"], event["foetusCount"]) == ("Multiple", 2)
    assert event["foetusCountMale"] == 1
    assert "foetusCountFemale" not in event


def test_open_is_empty_and_uncertain_is_unknown() -> None:
    assert events("cow four one two", "open")[0]["result"] == "Empty"
    assert events("cow four one two", "uncertain")[0]["result"] == "Unknown"


def test_an_age_said_in_weeks_is_sent_in_days() -> None:
    assert events("cow four one two", "pregnant six weeks")[0]["foetalAge"] == 42


def test_an_age_that_the_measure_contradicts_is_not_sent() -> None:
    said = ("cow four one two", "pregnant seventy-five days", "crown rump twenty-two millimetres")
    (event,) = events(*said)
    assert "foetalAge" not in event
    assert "foetalAge of 412 (the stated and the measured age contradict)" in left(*said)


def test_a_size_that_was_asked_about_is_not_sent_and_is_named() -> None:
    said = ("cow four one two", "open", Unsure("left ovary CL forty", ("left ovary CL fourteen",)))
    (event,) = events(*said)
    assert "40" not in json.dumps(event["ultrasoundExam"])
    assert "corpus luteum 40 mm of 412 (not settled yet)" in left(*said)


def test_a_status_that_was_asked_about_is_no_event() -> None:
    said = ("cow three eight eight", Unsure("pregnant forty days", ("pregnant fifty days",)))
    assert events(*said) == []
    assert "of 388" in left(*said)


def test_a_status_said_two_ways_is_no_event() -> None:
    said = ("cow four one two", "open", "pregnant forty days")
    assert not [event for event in events(*said) if event["resourceType"] == CHECK]
    assert "it was said two ways" in left(*said)


def test_a_cow_whose_tag_was_asked_about_is_not_sent() -> None:
    said = (Unsure("cow four one two", ("cow four one three",)), "open")
    assert events(*said) == []
    assert "which animal it was" in left(*said)


def test_the_same_tag_twice_is_not_sent() -> None:
    said = ("cow four one two", "open", "next cow five", "next cow four one two", "open")
    assert events(*said) == []
    assert "carries the same tag" in left(*said)


def test_treatment_culling_and_breeding_advice_stay_with_us() -> None:
    said = ("cow four one two", "open", "prostaglandin", "cull", "recheck in two weeks")
    (event,) = events(*said)
    assert "Recheck 2026-12-02." in str(event["remark"])
    assert "prostaglandin" not in json.dumps(event)
    assert "cull" not in json.dumps(event)
    assert "prostaglandin of 412 (advice is not sent" in left(*said)


def test_a_fresh_cow_without_a_check_is_an_observed_status() -> None:
    (event,) = events("cow three eight eight", "left ovary follicle ten", "uterus involuted")
    assert event["observedStatus"] == "Birthed"


def test_a_cow_served_since_calving_is_no_observed_status() -> None:
    said = ("cow four one two", "left ovary follicle ten")
    assert events(*said) == []
    assert "no pregnancy result, calving or condition" in left(*said)


def test_conditions_of_both_ovaries_and_the_uterus_are_one_diagnosis_event() -> None:
    made = events("cow seven three", "both ovaries cyst", "pyometra", "open")
    diagnosis = made[1]["diagnoses"]
    assert isinstance(diagnosis, list)
    assert [each["name"] for each in diagnosis] == ["Ovarian cyst", "Pyometra"]
    assert len(diagnosis[0]["positions"]) == 2


def test_no_cyst_is_no_diagnosis() -> None:
    made = events("cow seven three", "left ovary no cyst", "open")
    assert [event["resourceType"] for event in made] == [CHECK]


def test_an_unchanged_visit_gives_the_same_bytes_and_a_correction_keeps_its_identity() -> None:
    first, again = exported(farm_visit()), exported(farm_visit())
    assert first == again
    later = replace(SENDER, origin=replace(ORIGIN, changed_at=OPENED + timedelta(days=1)))
    corrected = exported(farm_visit("cow two two", "open"), later)
    assert [e["id"] for e in first.events] == [e["id"] for e in corrected.events][:-1]
    assert corrected.events[0]["meta"]["modified"] == "2026-11-19T08:55:12Z"


def test_what_was_taken_back_is_sent_as_deleted_under_its_identity() -> None:
    said: tuple[Phrase, ...] = ("cow seven three", "open", "pyometra")
    before = events(*said)
    status, condition = (r.number for r in heard(*said).exams[0].recorded[1:])
    after = events(*said, FindingWithdrawn(status), FindingWithdrawn(condition))
    assert [e["id"] for e in after] == [e["id"] for e in before]
    assert all(e["meta"]["isDeleted"] is True for e in after)  # type: ignore[index]
    assert [fault for event in after for fault in faults(event)] == []


def test_without_a_number_or_a_herd_the_exam_is_left_out_by_name() -> None:
    export = exported(farm_visit(), Sender(ORIGIN))
    assert {str(e["animal"]["scheme"]) for e in export.events} == {"std.iso.11785"}
    told = left_out_words(export.left_out, export.only_in_words)
    assert "412" in told
    assert "--herd-id" in told


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("276 000312312345", "276000312312345"),
        ("036000000000001", "036000000000001"),
        ("276274877906943", "276274877906943"),
        ("276274877906944", None),
        ("27600031231234", None),
        ("2760003123123456", None),
        ("", None),
        (None, None),
    ],
)
def test_an_electronic_number_is_what_the_standard_allows(
    text: str | None, number: str | None
) -> None:
    assert iso_11784(text) == number


def test_a_local_time_becomes_utc_even_across_midnight() -> None:
    exam = replace(heard("cow five", "open").exams[0], started_at="2026-11-18T23:30:00")
    assert event_time(exam, replace(SENDER, zone=ZoneInfo("America/Chicago"))) == (
        "2026-11-19T05:30:00Z"
    )


def test_a_time_that_was_not_recorded_is_noon_and_says_so() -> None:
    visit = heard("cow five", "open")
    exam = replace(visit.exams[0], started_at=None)
    sender = replace(SENDER, zone=ZoneInfo("Europe/Dublin"))
    (event,) = icar_export((exam,), sender).events
    assert event["eventDateTime"] == "2026-11-18T12:00:00Z"
    assert "Time of day not recorded." in str(event["remark"])


def test_the_visit_has_something_of_everything() -> None:
    assert len(farm_visit().exams) == sum("cow" in str(p) or "heifer" in str(p) for p in SPOKEN)


def test_every_event_says_where_where_that_was_given() -> None:
    placed = replace(SENDER, location=("org.example.holding", "12/345"))
    made = exported(farm_visit(), placed).events
    assert [fault for event in made for fault in faults(event)] == []
    assert all(
        event["location"] == {"scheme": "org.example.holding", "id": "12/345"} for event in made
    )
    assert all("location" not in event for event in exported(farm_visit()).events)


def test_a_condition_score_goes_in_words_only_and_is_named() -> None:
    said = ("cow eight three seven", "pregnant forty-five days", "condition two and a half")
    (event,) = events(*said)
    assert event["remark"] == "Pregnant 45 days. Condition 2.5."
    told = left(*said)
    assert "condition 1" in told
    assert "a score of another scale" in told
    assert "conformation" not in left(*said[:2])


def test_how_many_expected_calvings_are_not_sent_is_told() -> None:
    assert "expected calving of 1, which is reckoned" in left(
        "cow eight three seven", "pregnant forty-five days", "next cow four one two", "open"
    )
    assert "expected calving" not in left("cow four one two", "open")
