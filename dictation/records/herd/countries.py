"""Which country, or manufacturer, the number of an animal begins with (ISO 3166-1, ISO 11784)."""

from __future__ import annotations

import re
from functools import cache
from importlib import resources

from grammar.exam import KnownAnimal, digits_of

ELECTRONIC_DIGITS = 15
FIRST_MANUFACTURER, LAST_MANUFACTURER = 900, 998
"""ISO 11784: these are no countries but makers of tags, by what registrars of tags publish."""

UNKNOWN = "no known country"
EU = frozenset(
    "AT BE BG CY CZ DE DK EE EL ES FI FR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK".split()  # noqa: SIM905
)
"""Letters on ear tags of member states (Regulation (EC) 1760/2000; Greece writes EL)."""


def country_of(number: str) -> str | None:
    """The country by name, 'manufacturer 982', or that none is known; None of a short number."""
    digits, letters = digits_of(number), re.match(r"\s*([A-Za-z]{2})\s*[0-9]", number)
    if letters is not None:
        code = letters.group(1).upper()
        return _by_code().get({"UK": "GB", "EL": "GR"}.get(code, code), UNKNOWN)
    if len(digits) != ELECTRONIC_DIGITS:
        return None
    if FIRST_MANUFACTURER <= int(digits[:3]) <= LAST_MANUFACTURER:
        return f"manufacturer {digits[:3]}"
    return _by_code().get(digits[:3], UNKNOWN)


def official_number(known: KnownAnimal) -> str | None:
    """Her ear tag's number of the EU or the UK, without spaces; None where the list has none."""
    for number in (known.national, known.tag):
        plain = re.sub(r"[\s.\-]", "", number or "").upper()
        if re.fullmatch(r"[A-Z]{2}[0-9]{8,12}", plain) and plain[:2] in EU | {"UK"}:
            return plain
    return None


@cache
def _by_code() -> dict[str, str]:
    text = resources.files(__package__).joinpath("countries.txt").read_text(encoding="utf-8")
    lines = (line for line in text.splitlines() if not line.startswith("#"))
    each = (entry.split(" ", 2) for entry in " ".join(lines).split("; "))
    return {code: name for number, letters, name in each for code in (number, letters)}
