"""The countries of numbers, against lists of others."""

from __future__ import annotations

from pathlib import Path

import pytest

from dictation.records.herd.countries import UNKNOWN, country_of, official_number
from grammar.exam import KnownAnimal

SYSTEM_LIST = Path("/usr/share/zoneinfo/iso3166.tab")
"""Two letters and name of each country, as the time zone data of the system has them."""


@pytest.mark.parametrize(
    ("number", "country"),
    [
        # The first five as the open Animal Data Exchange standard's documents name them.
        ("276000312312345", "Germany"),
        ("036000000000001", "Australia"),
        ("056000000000001", "Belgium"),
        ("840003123456837", "United States"),
        ("124000000000001", "Canada"),
        ("982000123456789", "manufacturer 982"),
        ("276 0003 1231 2345", "Germany"),
        ("DE 01 234 56837", "Germany"),
        ("UK 123456 100837", "United Kingdom"),
        ("NL680250829", "Netherlands"),
        ("EL 12345678", "Greece"),
        ("277000000000001", UNKNOWN),
        ("XX 12345678", UNKNOWN),
        ("837", None),
        ("Clara", None),
    ],
)
def test_a_number_begins_with_its_country(number: str, country: str | None) -> None:
    assert country_of(number) == country


@pytest.mark.skipif(not SYSTEM_LIST.is_file(), reason="no list of countries on this machine")
def test_every_country_of_the_system_s_list_is_there() -> None:
    lines = SYSTEM_LIST.read_text(encoding="utf-8").splitlines()
    codes = [line.split("\t")[0] for line in lines if not line.startswith("#")]
    assert len(codes) > 240
    assert [code for code in codes if country_of(f"{code} 12345678") == UNKNOWN] == []


def test_an_ear_tag_s_number_is_official_and_a_short_one_is_not() -> None:
    assert official_number(KnownAnimal("837", national="de 01 234 56837")) == "DE0123456837"
    assert official_number(KnownAnimal("UK 123456 100837")) == "UK123456100837"
    assert official_number(KnownAnimal("837")) is None
    assert official_number(KnownAnimal("US 12345678")) is None
