"""How long a pregnancy lasts, by breed, bull, parity and number of calves, with its source."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from grammar.dating.breeds import DAIRY, breeds_of, is_dairy

_NORMAN = "Norman et al. 2009, J Dairy Sci 92:2259-2269"
_BREED_SHEETS = "breed tables of extension sheets (from memory; sources differ by 3 d)"
_TORELL = "Torell, Nevada livestock extension (12 d either way within a breed)"
_UK_SIRES = (
    "88,000 records of beef sires on UK dairy cows 1981-1993, Animal Science (abstract); 122 "
    "farms: Angus 280.2, Limousin 287.6 (abstract)"
)
_MEAN = "the mean of the breeds of dam and sire (common practice, no source)"
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

    ``breed`` is what was reckoned with ('any breed' where none was said, and that a breed is not
    known where it is not); ``heifer`` whether the row is of first gestations; ``twins`` whether
    days were taken off for twins.
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
    "charolais": BreedRow(289, 289, BEEF_SD_DAYS, _TORELL),
    "limousin": BreedRow(289, 289, BEEF_SD_DAYS, _TORELL),
    # Beef Improvement Federation 284.3 (SD 5.5), Torell 289: the middle of the two.
    "simmental": BreedRow(
        286,
        286,
        BEEF_SD_DAYS,
        f"Beef Improvement Federation guidelines (284.3) and {_TORELL} (289)",
    ),
    "blonde d'aquitaine": BreedRow(
        294, 294, BEEF_SD_DAYS, "Irish national cattle breeding federation, gestation lengths"
    ),
    "belgian blue": BreedRow(284, 284, BEEF_SD_DAYS, _BREED_SHEETS),
    "brahman": BreedRow(292, 292, BEEF_SD_DAYS, _TORELL),
    "south devon": BreedRow(286, 286, BEEF_SD_DAYS, _BREED_SHEETS),
    "beef": BreedRow(283, 283, BEEF_SD_DAYS, "Univ. Arkansas extension specialist, 2010"),
    "dairy": BreedRow(
        282, 282, DAIRY_SD_DAYS, "New Zealand dairy herds, commonly accepted (abstract)"
    ),
}

# Tessier 1817 (in Copeland 1930): mean 282.2 d, 95 % within 270 to 299 d, so about 7 d.
ANY_BREED = BreedRow(282.2, 282.2, 7.0, "Tessier 1817 in Copeland 1930, J Dairy Sci 13 (575 cases)")

#: Beef sires on dairy cows: the sire moves the day, and the cow's own breed no longer says it.
BEEF_ON_DAIRY: dict[str, float] = {
    "angus": 281.0,
    "hereford": 282.7,
    "limousin": 288.1,
    "blonde d'aquitaine": 289.0,
}


def gestation_length(
    breed: str | None,
    heifer: bool | None = None,
    twins: bool = False,
    sire: tuple[str, ...] = (),
) -> GestationLength:
    """The length to reckon with: for an unknown breed that of all breeds, for no parity a cow's.

    ``sire``: his breeds, () where not known. A beef sire on a dairy cow has a published length or,
    like every other cross, the mean of the breeds. A breed without a length of its own has that of
    beef or of dairy. Means are rounded to whole days, halves down (Brown Swiss cow 287.5 is 287).
    The calf's sex (about a day) is not reckoned with.
    """
    dam = breeds_of(breed)
    if dam is None:
        row, used = ANY_BREED, f"any breed: '{' '.join((breed or '').split())}' is not known"
    else:
        row, used = _mean([_row(b) for b in dam]) or ANY_BREED, " x ".join(dam) or "any breed"
    if sire and sire != dam:
        beef_on_dairy = BEEF_ON_DAIRY.get(sire[0]) if len(sire) == 1 else None
        used = f"{' x '.join(sire)} on {used}"
        if beef_on_dairy is not None and is_dairy(dam or ()):
            row = BreedRow(beef_on_dairy, beef_on_dairy, BEEF_SD_DAYS, _UK_SIRES)
        elif dam:
            row = _mean([row, *(_row(b) for b in sire)]) or row
        else:
            row = _mean([_row(b) for b in sire]) or row
    mean = ceil((row.heifer if heifer else row.cow) - 0.5) + (TWINS_DAYS if twins else 0)
    source = f"{row.source}; twins: {TWINS_SOURCE}" if twins else row.source
    return GestationLength(mean, row.sd_days, used, source, bool(heifer), twins)


def _row(breed: str) -> BreedRow:
    return BREEDS.get(breed) or BREEDS["dairy" if breed in DAIRY else "beef"]


def _mean(rows: list[BreedRow]) -> BreedRow | None:
    if len(rows) < 2:
        return rows[0] if rows else None
    return BreedRow(
        sum(row.cow for row in rows) / len(rows),
        sum(row.heifer for row in rows) / len(rows),
        max(row.sd_days for row in rows),
        f"{'; '.join(dict.fromkeys(row.source for row in rows))}; {_MEAN}",
    )
