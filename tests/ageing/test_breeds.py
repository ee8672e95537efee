"""Breeds as herd lists write them, and the length of a pregnancy by cow and bull."""

from __future__ import annotations

from datetime import timedelta

import pytest

from grammar.dating.breeds import BEEF, DAIRY, breeds_of, breeds_of_bull
from grammar.dating.gestation import gestation_length
from grammar.exam import KnownAnimal, Service
from grammar.summary import summarise_age
from tests.checks.exams import ON, exam, flag_of, pregnant, rules_of


# Farm Data Standards, animal breed list: ICAR codes of three and two letters, and prefixes.
@pytest.mark.parametrize(
    ("codes", "breed"),
    [
        ("HOL HO RED RW FRI BRF", "holstein"),
        ("JER JE", "jersey"),
        ("RDC AY AYS", "ayrshire"),
        ("GUE GU", "guernsey"),
        ("BSW BS", "brown swiss"),
        ("AAN AN ANG AA", "angus"),
        ("HER HE", "hereford"),
        ("CHA CH", "charolais"),
        ("LIM LI LM", "limousin"),
        ("SIM SM", "simmental"),
        ("BBL BGB BB", "belgian blue"),
        ("BRM BR", "brahman"),
        ("MON MO", "montbeliarde"),
        ("NMD NO", "normande"),
        ("BAQ BLO", "blonde d'aquitaine"),
        ("BSH", "shorthorn"),
        ("MSH", "milking shorthorn"),
        ("SDE SD", "south devon"),
        ("WAG", "wagyu"),
        ("NR", "norwegian red"),
    ],
)
def test_the_codes_of_the_open_list_are_read(codes: str, breed: str) -> None:
    assert [breeds_of(code) for code in codes.split()] == [(breed,)] * len(codes.split())
    assert breeds_of(codes.split(maxsplit=1)[0].lower()) == (breed,)


@pytest.mark.parametrize(
    ("written", "breeds"),
    [
        ("Holstein-Friesian", ("holstein",)),
        ("Montbéliarde", ("montbeliarde",)),
        ("Blonde d\u2019Aquitaine", ("blonde d'aquitaine",)),
        ("Fleckvieh", ("simmental",)),
        ("Norwegian Red", ("norwegian red",)),
        ("Holstein x Jersey", ("holstein", "jersey")),
        ("HOLxJER", ("holstein", "jersey")),
        ("HO/JE", ("holstein", "jersey")),
        ("75% Holstein 25% Jersey", ("holstein", "jersey")),
        ("AANX", ("angus",)),
        ("Angus cross", ("angus",)),
        ("HFX", ("hereford", "holstein")),
        ("KiwiCross", ("holstein", "jersey")),
        ("crossbred", ()),
        ("", ()),
        (None, ()),
        ("purple", None),
        ("HI", None),
        ("Holstein x purple", None),
    ],
)
def test_names_and_crosses_are_read_and_what_is_not_known_is_not_guessed(
    written: str | None, breeds: tuple[str, ...] | None
) -> None:
    assert breeds_of(written) == breeds


@pytest.mark.parametrize(
    ("sire", "breeds"),
    [
        ("999AN1234", ("angus",)),
        ("007 HO 12345", ("holstein",)),
        ("LIMFRAM001234567890", ("limousin",)),
        ("Dexter", None),
        ("1234", None),
        (None, None),
    ],
)
def test_the_breed_of_a_bull_is_read_from_his_code_and_not_from_his_name(
    sire: str | None, breeds: tuple[str, ...] | None
) -> None:
    assert breeds_of_bull(sire) == breeds


def test_every_breed_reads_as_itself_and_no_name_means_two() -> None:
    assert [breeds_of(breed) for breed in (*DAIRY, *BEEF)] == [(b,) for b in (*DAIRY, *BEEF)]


# 88,000 records of UK dairy cows 1981-1993 (abstract): Angus 281.0, Hereford 282.7, Limousin 288.1,
# Blonde d'Aquitaine 289.0; means in whole days.
@pytest.mark.parametrize(
    ("sire", "days"),
    [("angus", 281), ("hereford", 283), ("limousin", 288), ("blonde d'aquitaine", 289)],
)
def test_a_beef_sire_on_a_dairy_cow_decides_the_length(sire: str, days: int) -> None:
    length = gestation_length("HOL", sire=(sire,))
    assert length.mean_days == days
    assert length.breed == f"{sire} on holstein"
    assert "88,000" in length.source


def test_other_crosses_have_the_mean_of_their_breeds_and_say_so() -> None:
    blue = gestation_length("Holstein", sire=("belgian blue",))
    assert blue.mean_days == 282  # 279.4 and 284
    assert "common practice" in blue.source
    assert gestation_length("Holstein x Jersey").mean_days == 280
    assert gestation_length("Holstein", sire=("holstein",)) == gestation_length("Holstein")


def test_the_bull_of_the_service_that_fits_counts() -> None:
    services = (
        Service(ON - timedelta(days=66), sire="998HO12345"),
        Service(ON - timedelta(days=45), sire="Max", sire_breed="Limousin"),
    )
    known = KnownAnimal("837", breed="HOL", services=services)
    row = summarise_age(exam(pregnant(45), known=known))
    assert row.due is not None
    assert row.due.gestation.breed == "limousin on holstein"
    assert row.due_date == ON + timedelta(days=288 - 45)


def test_a_breed_that_is_not_known_is_noted_where_a_due_date_is_given() -> None:
    known = KnownAnimal("837", breed="purple")
    assert "'purple'" in flag_of(exam(pregnant(45), known=known), "breed_not_known").why
    assert "breed_not_known" not in rules_of(exam(pregnant(45), known=KnownAnimal("837")))
