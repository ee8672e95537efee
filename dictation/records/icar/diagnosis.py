"""Which findings are diagnoses in the standard, and how one is written.

Only what the vet named as a condition is one; a size, a wall or fluid is not. No code of any
scheme is given: a practice maps our names to its own table.
"""

from __future__ import annotations

from dictation.records.icar.sender import Json
from grammar.facts import ExamFacts
from grammar.findings import OvarianStructure, Ovary, Side, UterineState, Uterus, Viability
from grammar.wording import spaced, written

_OF_AN_OVARY = {
    OvarianStructure.FOLLICULAR_CYST: "Follicular cyst",
    OvarianStructure.LUTEAL_CYST: "Luteal cyst",
    OvarianStructure.CYST: "Ovarian cyst",
    OvarianStructure.PARAOVARIAN_CYST: "Paraovarian cyst",
    OvarianStructure.ADHESION: "Ovarian adhesion",
    OvarianStructure.TUMOUR: "Ovarian tumour",
}

_OF_THE_UTERUS = {
    UterineState.PYOMETRA: "Pyometra",
    UterineState.ENDOMETRITIS: "Endometritis",
    UterineState.METRITIS: "Metritis",
    UterineState.MUCOMETRA: "Mucometra",
    UterineState.ADHESION: "Uterine adhesion",
    UterineState.RETAINED_MEMBRANES: "Retained fetal membranes",
    UterineState.MUMMIFIED: "Mummified fetus",
    UterineState.MACERATED: "Macerated fetus",
    UterineState.SEGMENT_MISSING: "Missing segment of the tract",
    UterineState.FREEMARTIN: "Freemartin",
}

_POSITIONS = {
    Side.LEFT: ("OvariesLeft",),
    Side.RIGHT: ("OvariesRight",),
    Side.BOTH: ("OvariesLeft", "OvariesRight"),
}


def diagnoses(facts: ExamFacts) -> list[Json]:
    """The conditions named in an exam, ovaries first."""
    found = [_of_an_ovary(told.finding) for told in facts.ovaries if is_condition(told.finding)]
    found += [_of_the_uterus(t.finding) for t in facts.of(Uterus) if is_condition(t.finding)]
    if any(told.finding.loss for told in facts.of(Viability)):
        found.append({"name": "Loss of pregnancy", "site": "Uterus"})
    return found


def is_condition(finding: Ovary | Uterus) -> bool:
    """Whether a finding names a condition."""
    if isinstance(finding, Ovary):
        return finding.structure in _OF_AN_OVARY
    return finding.state in _OF_THE_UTERUS


def positions(side: Side | None) -> list[Json]:
    """The standard's position words of an ovary."""
    return [{"position": word} for word in _POSITIONS.get(side or Side.BODY, ("OvariesUnknown",))]


def _of_an_ovary(finding: Ovary) -> Json:
    site = {Side.BOTH: "Both ovaries", None: "Ovary"}.get(finding.side, f"{finding.side} ovary")
    return {
        "name": _OF_AN_OVARY[finding.structure],
        "description": sentence(written(finding)),
        "site": site.capitalize(),
        "positions": positions(finding.side),
    }


def _of_the_uterus(finding: Uterus) -> Json:
    part = {None: "uterus", Side.BODY: "body of the uterus", Side.BOTH: "both horns"}
    site = part.get(finding.side, f"{finding.side} horn")
    return {
        "name": _OF_THE_UTERUS[finding.state],
        "description": sentence(written(finding)),
        "site": spaced(site).capitalize(),
    }


def sentence(words: str) -> str:
    """Words as a sentence, with a capital and a full stop."""
    words = words.strip().rstrip(".")
    return f"{words[:1].upper()}{words[1:]}."
