"""How long a pregnancy lasts, by breed, parity and number of calves, with source and spread."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

_NORMAN = "Norman et al. 2009, J Dairy Sci 92:2259-2269"
_BREED_SHEETS = "breed tables of extension sheets (from memory; sources differ by 3 d)"
_BURRIS = "gestation length of beef cattle, abstract (Burris & Blunn 1952 from memory)"

# Norman et al. 2009: a standard deviation of about 5 to 6 days; the wider is taken.
DAIRY_SD_DAYS = 6.0
# An extension specialist (Arkansas 2010) puts beef at 7 to 14 days either way: 14 read as 2 SD.
BEEF_SD_DAYS = 7.0
# Norman 2009: twins 4.7 d under a single female, 5.6 d under a single male; Knott 1932: 4.4 d.
TWINS_DAYS = -5
TWINS_SOURCE = f"{_NORMAN}; Knott 1932, J Dairy Sci 15:87-98"


@dataclass(frozen=True, slots=True)
class GestationLength:
    """Mean length in whole days and its standard deviation in days.

    ``breed`` is the row used ('any breed' where none was known); ``heifer`` whether the row is of
    first gestations; ``twins`` whether days were taken off for twins.
    """

    mean_days: int
    sd_days: float
    breed: str
    source: str
    heifer: bool = False
    twins: bool = False


@dataclass(frozen=True, slots=True)
class BreedRow:
    """Published mean days of cows and of heifers (the same where not told apart)."""

    cow: float
    heifer: float
    sd_days: float
    source: str


BREEDS: dict[str, BreedRow] = {
    "holstein": BreedRow(279.4, 277.8, DAIRY_SD_DAYS, _NORMAN),
    "jersey": BreedRow(280.0, 278.4, DAIRY_SD_DAYS, _NORMAN),
    "milking shorthorn": BreedRow(281.1, 279.3, DAIRY_SD_DAYS, _NORMAN),
    "ayrshire": BreedRow(281.7, 281.6, DAIRY_SD_DAYS, _NORMAN),
    "guernsey": BreedRow(285.7, 284.8, DAIRY_SD_DAYS, _NORMAN),
    "brown swiss": BreedRow(287.5, 287.2, DAIRY_SD_DAYS, _NORMAN),
    "angus": BreedRow(281.7, 281.7, BEEF_SD_DAYS, _BURRIS),
    "hereford": BreedRow(286.1, 286.1, BEEF_SD_DAYS, _BURRIS),
    "shorthorn": BreedRow(284.3, 284.3, BEEF_SD_DAYS, _BURRIS),
    "charolais": BreedRow(289, 289, BEEF_SD_DAYS, _BREED_SHEETS),
    "limousin": BreedRow(289, 289, BEEF_SD_DAYS, _BREED_SHEETS),
    "simmental": BreedRow(286, 286, BEEF_SD_DAYS, _BREED_SHEETS),
    "belgian blue": BreedRow(284, 284, BEEF_SD_DAYS, _BREED_SHEETS),
    "brahman": BreedRow(292, 292, BEEF_SD_DAYS, _BREED_SHEETS),
    "south devon": BreedRow(286, 286, BEEF_SD_DAYS, _BREED_SHEETS),
    "beef": BreedRow(283, 283, BEEF_SD_DAYS, "Univ. Arkansas extension specialist, 2010"),
    "dairy": BreedRow(
        282, 282, DAIRY_SD_DAYS, "New Zealand dairy herds, commonly accepted (abstract)"
    ),
}

# Tessier 1817 (in Copeland 1930): mean 282.2 d, 95 % within 270 to 299 d, so about 7 d.
ANY_BREED = BreedRow(282.2, 282.2, 7.0, "Tessier 1817 in Copeland 1930, J Dairy Sci 13 (575 cases)")

# Other names under which herd lists carry these breeds. Common practice, no source.
SAME_BREED: dict[str, str] = {
    "holstein-friesian": "holstein",
    "holstein friesian": "holstein",
    "friesian": "holstein",
    "ho": "holstein",
    "hf": "holstein",
    "je": "jersey",
    "ay": "ayrshire",
    "gu": "guernsey",
    "bs": "brown swiss",
    "an": "angus",
    "aa": "angus",
    "aberdeen angus": "angus",
    "he": "hereford",
    "ch": "charolais",
    "lm": "limousin",
    "sm": "simmental",
    "bb": "belgian blue",
    "british blue": "belgian blue",
    "beef shorthorn": "shorthorn",
    "dairy shorthorn": "milking shorthorn",
    "beef cross": "beef",
}


def gestation_length(
    breed: str | None, heifer: bool | None = None, twins: bool = False
) -> GestationLength:
    """The length to reckon with: for an unknown breed that of all breeds, for no parity a cow's.

    Means are rounded to whole days, halves down (Brown Swiss cow 287.5 is 287). The calf's sex
    (about a day) and its sire (up to 12 d between sires) are not reckoned with.
    """
    name = " ".join((breed or "").lower().split())
    name = SAME_BREED.get(name, name)
    row = BREEDS.get(name)
    used = name if row is not None else "any breed"
    row = row or ANY_BREED
    mean = ceil((row.heifer if heifer else row.cow) - 0.5) + (TWINS_DAYS if twins else 0)
    source = f"{row.source}; twins: {TWINS_SOURCE}" if twins else row.source
    return GestationLength(mean, row.sd_days, used, source, bool(heifer), twins)
