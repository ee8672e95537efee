"""Lines of tag readers become ISO 11784 numbers, or are refused with a reason; none is guessed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictation.reader.number import Electronic, NoNumber, electronic

NUMBER = "982000123456789"


def code_of(digits: str, *, animal: bool = True) -> int:
    return (int(animal) << 63) | (int(digits[:3]) << 38) | int(digits[3:])


@pytest.mark.parametrize(
    "line",
    [
        NUMBER,
        "982 000123456789",
        "982 000 123 456 789",
        "982.000123456789",
        "982-000-123456789",
        "LA 982 000123456789",
        "LA982000123456789",
        "\x02982000123456789\x03",
        "982000123456789\r",
        "982 000123456789 2026-11-18 09:14:05",
        "18/11/2026 09:14 982000123456789",
        "EID 982000123456789",
        f"{code_of(NUMBER):016X}",
        f"0x{code_of(NUMBER):016x}",
    ],
)
def test_every_way_in_which_readers_write_a_number_is_the_same_number(line: str) -> None:
    assert electronic(line) == Electronic(NUMBER)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("9820001234567890", "has 16"),
        ("000000123456789", "000"),
        ("999000123456789", "999"),
        ("982999999999999", "larger"),
        ("982000123456789 982000123456780", "has 30"),
        ("982000123456789 17", "has 17"),
        ("982000123456789 B17", "more than one"),
        (f"{code_of(NUMBER) | 1 << 50:016X}", "no electronic number"),
    ],
)
def test_what_cannot_be_a_number_is_refused_with_the_reason(line: str, why: str) -> None:
    refused = electronic(line)
    assert isinstance(refused, NoNumber)
    assert why in refused.why


@pytest.mark.parametrize(
    "line",
    [
        "",
        "837",
        "left ovary cl 22",
        "READY",
        "BATTERY 45%",
        "eid 982000123456789 open",
        "372123456789",
    ],
)
def test_other_lines_are_none_of_ours(line: str) -> None:
    assert electronic(line) is None


@given(st.integers(1, 998), st.integers(0, 2**38 - 1))
def test_the_64_bits_and_the_digits_name_the_same_animal(country: int, national: int) -> None:
    digits = f"{country:03d}{national:012d}"
    assert electronic(digits) == Electronic(digits)
    code = f"{code_of(digits):016x}"
    read = electronic(code)
    # a code that is a number both ways round, or digits alone, is refused rather than guessed
    assert read == Electronic(digits) or isinstance(read, NoNumber)


@given(st.text())
def test_any_line_is_a_number_a_reason_or_none_of_ours(line: str) -> None:
    read = electronic(line)
    assert read is None or isinstance(read, NoNumber) or len(read.digits) == 15
