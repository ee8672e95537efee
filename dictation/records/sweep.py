"""The stations of the sweep, and what was said of each."""

from __future__ import annotations

from grammar.checks.sweep import unspoken_structures
from grammar.exam import Exam, FindingState, RecordedFinding
from grammar.findings import (
    Ovary,
    Pregnancy,
    Seen,
    SeenRemark,
    Side,
    SweepStructure,
    Uterus,
)
from grammar.wording import spaced, written_without_side

_HORNS = {SweepStructure.LEFT_HORN: Side.LEFT, SweepStructure.RIGHT_HORN: Side.RIGHT}
_OVARIES = {SweepStructure.LEFT_OVARY: Side.LEFT, SweepStructure.RIGHT_OVARY: Side.RIGHT}


def said_of(exam: Exam, station: SweepStructure) -> tuple[str, ...]:
    """What was said of a station; empty where nothing was."""
    lines = [_doubt(r) + words for r in exam.standing if (words := _words(r, station)) is not None]
    if not lines and station not in unspoken_structures(exam):
        return ("spoken of",)
    return tuple(lines)


def _doubt(recorded: RecordedFinding) -> str:
    return "asked: " if recorded.state is FindingState.QUERIED else ""


def _words(recorded: RecordedFinding, station: SweepStructure) -> str | None:
    finding = recorded.finding
    if isinstance(finding, Seen) and finding.structure is station:
        if finding.remark is SeenRemark.COULD_NOT_REACH:
            return "not reached"
        return "seen" if finding.remark is None else spaced(finding.remark)
    if isinstance(finding, Ovary) and station in _OVARIES:
        on_side = finding.side in (_OVARIES[station], Side.BOTH)
        return written_without_side(finding) if on_side else None
    if isinstance(finding, Uterus):
        return _uterine(finding, station)
    if isinstance(finding, Pregnancy) and station in _HORNS:
        return "pregnancy here" if finding.side in (_HORNS[station], Side.BOTH) else None
    return None


def _uterine(finding: Uterus, station: SweepStructure) -> str | None:
    horn = _HORNS.get(station)
    here = {
        None: station is SweepStructure.BODY,
        Side.BODY: station is SweepStructure.BODY,
        Side.BOTH: horn is not None,
    }.get(finding.side, horn is finding.side)
    if not here:
        return None
    depth = "" if finding.depth_mm is None else f" {finding.depth_mm:g} mm"
    whole = "uterus " if finding.side is None else ""
    return f"{whole}{spaced(finding.state)}{depth}"
