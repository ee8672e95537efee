"""A line of a reader -> the electronic number in it, fifteen digits after ISO 11784, or why not.

Readers write the same number in many ways: with spaces, points or dashes, behind letters, with a
time after it, as the 64 bits in hexadecimal. All are taken where only one number can be meant;
where two can, or the number cannot be, the line is refused with a sentence, and never guessed at.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

# ISO 11784: ten bits of country or manufacturer and 38 bits of national number (from memory).
LARGEST_NATIONAL_NUMBER = 2**38 - 1
"""The largest that fits the 38 bits of the code."""
_COUNTRY_BITS, _NATIONAL_BITS, _CODE_BITS = 10, 38, 64
_RESERVED = 0b111111 << 49  # bits 10 to 15 of the code, which ISO 11784 keeps at zero
_ANIMAL = 1 << 63
# 1 to 899 are countries (ISO 3166), 900 to 998 manufacturers, 999 is for tests (from memory).
_TEST_CODE = 999
_COUNTRY_DIGITS, _NATIONAL_DIGITS = 3, 12

_GAP = r"[ .\-_]"
_FIFTEEN = re.compile(
    rf"(?<![0-9A-Za-z])(?:[A-Z]{{1,2}}{_GAP}?)?([0-9](?:{_GAP}?[0-9]){{14}})(?![0-9])"
)
_ONLY_DIGITS = re.compile(rf"(?:[A-Za-z]{{1,2}}{_GAP}?)?[0-9](?:{_GAP}?[0-9])*")
_HEX = re.compile(r"(?:0[xX])?([0-9A-Fa-f]{16})")
# Beside the number: a day or a time, as readers put them.
_TIME = re.compile(r"[0-9]{1,4}[-/.:][0-9]{1,2}[-/.:][0-9]{1,4}|[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?")
_FEWEST_DIGITS = 15
"""A line of digits alone with at least so many is meant as an electronic number, even if it is
none; a number printed on an ear tag is shorter (twelve digits in places; common practice)."""
_WORDS = frozenset({"eid", "id", "iso", "fdx", "hdx"})
"""Words that readers put beside the number; any other makes the line a phrase."""


@dataclass(frozen=True, slots=True)
class Electronic:
    """The number as fifteen digits, the first three being the country or manufacturer."""

    digits: str


@dataclass(frozen=True, slots=True)
class NoNumber:
    """The line was meant as a number and is none; ``why`` is a sentence."""

    why: str


def electronic(line: str) -> Electronic | NoNumber | None:
    """The electronic number of a line; None where the line is not one of a reader."""
    text = line.strip().strip("\x02\x03").strip()
    hexadecimal = _HEX.fullmatch(text)
    if hexadecimal and not hexadecimal.group(1).isdigit():
        return _of_bits(hexadecimal.group(1))
    if _ONLY_DIGITS.fullmatch(text):
        digits = re.sub(r"[^0-9]", "", text)
        return _checked(digits) if len(digits) >= _FEWEST_DIGITS else None
    return _with_more(text)


def _with_more(text: str) -> Electronic | NoNumber | None:
    plain = _TIME.sub(" ", text)
    found = {re.sub(r"[^0-9]", "", match) for match in _FIFTEEN.findall(plain)}
    if not found:
        return None
    rest = _FIFTEEN.sub(" ", plain)
    if any(word.lower() not in _WORDS for word in re.findall(r"[A-Za-z]{2,}", rest)):
        return None
    if len(found) > 1 or re.search(r"[0-9]", rest):
        return NoNumber("There is more than one number in the line of the reader: read her again.")
    return _checked(found.pop())


def _checked(digits: str) -> Electronic | NoNumber:
    """Fifteen digits that ISO 11784 allows."""
    if len(digits) != _COUNTRY_DIGITS + _NATIONAL_DIGITS:
        return NoNumber(
            f"An electronic number has 15 digits, and '{digits}' has {len(digits)}: read her again."
        )
    country, national = int(digits[:_COUNTRY_DIGITS]), int(digits[_COUNTRY_DIGITS:])
    if country == 0:
        return NoNumber(f"'{digits}' begins with 000, which is no country or manufacturer.")
    if country == _TEST_CODE:
        return NoNumber(f"'{digits}' begins with 999, which is for test tags only.")
    if national > LARGEST_NATIONAL_NUMBER:
        return NoNumber(f"'{digits}' is larger than an electronic tag can hold: read her again.")
    return Electronic(digits)


def _of_bits(code: str) -> Electronic | NoNumber:
    """The 64 bits of the code, first bit first, or with its bytes the other way round."""
    whole = int(code, 16)
    turned = int.from_bytes(whole.to_bytes(_CODE_BITS // 8, "big"), "little")
    read = {digits for bits in (whole, turned) if (digits := _digits_of(bits)) is not None}
    if len(read) == 1:
        return Electronic(read.pop())
    what = "can be read in two ways" if read else "is no electronic number of an animal"
    return NoNumber(f"The code '{code}' {what}: set the reader to 15 digits, and read her again.")


def _digits_of(bits: int) -> str | None:
    country = bits >> _NATIONAL_BITS & (2**_COUNTRY_BITS - 1)
    digits = f"{country:03d}{bits & LARGEST_NATIONAL_NUMBER:012d}"
    if not bits & _ANIMAL or bits & _RESERVED or len(digits) != _COUNTRY_DIGITS + _NATIONAL_DIGITS:
        return None
    return digits if isinstance(_checked(digits), Electronic) else None


def phrase_of(line: str) -> tuple[str, str | None]:
    """A typed line as a phrase, and why it cannot be one: a reader's line names its number."""
    number = electronic(line)
    if isinstance(number, Electronic):
        return f"electronic number {number.digits}", None
    return line, number.why if isinstance(number, NoNumber) else None
