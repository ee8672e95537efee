"""What the structures seen say of the age: not before a day, and expected by a day.

First-sight days are of daily scans of heifers counted from ovulation, about a day after service,
so a landmark speaks against an age only with an allowance. A structure looked for and not seen
gives no greatest age: depth, position and the probe hide structures too. It is worth a note where
the age lies past the day by which the structure is expected.
"""

from __future__ import annotations

from dataclasses import dataclass

from grammar.findings import LandmarkName, Viability

# Our allowance: ovulation is counted a day later than service, and heifers were scanned daily.
ALLOWANCE_DAYS = 3

_CURRAN = (
    "Curran, Pierson & Ginther 1986, J Am Vet Med Assoc 189:1289-1302 (range from memory; means "
    "agree with the Univ. Pennsylvania New Bolton Center teaching page)"
)
_FISSORE = "Fissore et al. 1986, Anim Reprod Sci 12:167-177"
_TUBERCLE = "ultrasonic fetal sexing by the genital tubercle, 68 cows (abstract)"
_PENN = "Univ. Pennsylvania New Bolton Center, dairy reproduction ultrasound teaching page"


@dataclass(frozen=True, slots=True)
class FirstSeen:
    """Days of pregnancy: earliest published first sight, and the day by which it is expected.

    Either may be None where nobody says.
    """

    not_before: int | None
    expected_by: int | None
    source: str


HEARTBEAT = FirstSeen(
    19, 30, f"{_CURRAN}: from day 19 to 24; another teaching page: first sight at days 19 to 30"
)

FIRST_SEEN: dict[LandmarkName, FirstSeen] = {
    LandmarkName.EMBRYO: FirstSeen(19, 24, _CURRAN),
    LandmarkName.PREGNANCY_FLUID: FirstSeen(22, None, _FISSORE),
    LandmarkName.ALLANTOIS: FirstSeen(22, 25, _CURRAN),
    LandmarkName.SPINAL_CORD: FirstSeen(26, 33, _CURRAN),
    LandmarkName.FORELIMB_BUDS: FirstSeen(28, 31, _CURRAN),
    # Limb buds without fore or hind: the earlier of the two, distinct by day 35.
    LandmarkName.LIMB_BUDS: FirstSeen(28, 35, f"{_CURRAN}; distinct by 35 d: {_PENN}"),
    LandmarkName.AMNION: FirstSeen(28, 33, _CURRAN),
    LandmarkName.EYE_ORBIT: FirstSeen(29, 33, _CURRAN),
    LandmarkName.HINDLIMB_BUDS: FirstSeen(30, 33, _CURRAN),
    LandmarkName.PLACENTOMES: FirstSeen(33, 38, _CURRAN),
    LandmarkName.UMBILICAL_CORD: FirstSeen(None, 40, _PENN),
    LandmarkName.SPLIT_HOOVES: FirstSeen(42, 49, _CURRAN),
    LandmarkName.MOVEMENT: FirstSeen(42, 50, _CURRAN),
    LandmarkName.RIBS: FirstSeen(51, 55, _CURRAN),
    LandmarkName.GENITAL_TUBERCLE: FirstSeen(45, None, _TUBERCLE),
    LandmarkName.MEMBRANE_SLIP: FirstSeen(
        30, None, "Drost, Bovine Reproduction visual guide, Univ. Florida (30 d heifer, 35 d cow)"
    ),
    LandmarkName.FREMITUS: FirstSeen(90, None, "Roberts 1986; Zemjanis 1970 (from memory)"),
}


def signs_seen(sign: Viability) -> tuple[tuple[str, FirstSeen], ...]:
    """Heartbeat and movement as landmarks: what was seen, in words, and from when it is seen."""
    beat = (("heartbeat", HEARTBEAT),) if sign.heartbeat else ()
    moved = (("movement", FIRST_SEEN[LandmarkName.MOVEMENT]),) if sign.movement else ()
    return (*beat, *moved)
