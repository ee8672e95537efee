"""The tract of one animal, seen from above: ovaries and conceptus to scale, the uterus a sketch.

Left on the page is the animal's left. Printed at its own size one millimetre is one millimetre;
where something is too large for the page all of it is made smaller, and the bar shows how much.
"""

from __future__ import annotations

from textwrap import wrap

from dictation.records.ahead import settled
from dictation.records.farm_list.part import tag_of
from dictation.records.one_line import one_line
from dictation.records.pictures.drawing import svg, text
from dictation.records.pictures.ovary_drawing import OvaryDrawing, draw_ovary
from grammar.checks.sweep import not_seen_structures
from grammar.exam import Exam
from grammar.facts import ExamFacts, facts_of
from grammar.findings import (
    Arrangement,
    Conceptus,
    Finding,
    Measurement,
    Pregnancy,
    PregnancyStatus,
    Quantity,
    Seen,
    Side,
    SweepStructure,
    UterineState,
    Uterus,
)
from grammar.wording import written, written_without_side

WIDTH_MM = 176.0
MIDDLE_MM = WIDTH_MM / 2
HORNS_MM = 22.0
"""Half of the width kept for the horns in the middle of the picture."""

LINE_MM = 4.4
LETTER_MM = 3.5
LETTERS_A_LINE = 34
TOP_MM = 8.0
LONGEST_BEAN_MM = 38.0
"""A longer conceptus does not fit into the horn: it is drawn broken, at a length of its own."""

_FLUID = frozenset(
    {
        UterineState.FLUID,
        UterineState.CLOUDY_FLUID,
        UterineState.PYOMETRA,
        UterineState.MUCOMETRA,
        UterineState.ENDOMETRITIS,
        UterineState.METRITIS,
        UterineState.PUS,
        UterineState.DIRTY,
        UterineState.WHITES,
    }
)
_STATION = {Side.LEFT: SweepStructure.LEFT_OVARY, Side.RIGHT: SweepStructure.RIGHT_OVARY}


def can_be_drawn(exam: Exam) -> bool:
    """Whether anything was said of ovaries or uterus."""
    facts = facts_of(settled(exam))
    return bool(facts.ovaries or facts.absent or facts.of(Uterus))


def tract(exam: Exam) -> str:
    """The picture as SVG. What is still queried is not drawn."""
    facts = facts_of(settled(exam))
    ovaries = {side: _ovary(facts, side) for side in _STATION}
    widest = max(drawing.half_wide_mm for drawing, _ in ovaries.values())
    half = MIDDLE_MM - HORNS_MM
    scale = min(1.0, half / (2 * widest))
    high = max(drawing.half_high_mm for drawing, _ in ovaries.values()) * scale
    middle = TOP_MM + max(high, 14.0)
    under = middle + max(high, 14.0) + 6.0
    parts = [_uterus(facts, middle, scale)]
    lines = 0
    for side, (drawing, words) in ovaries.items():
        x = half / 2 if side is Side.LEFT else WIDTH_MM - half / 2
        parts.append(f'<g transform="translate({x:.1f} {middle:.1f}) scale({scale:.3f})">')
        parts.append(f"{drawing.svg}</g>")
        parts.append(text(x, TOP_MM - 3.5, f"{side} ovary", bold=True))
        shown = [line for word in words for line in wrap(word, LETTERS_A_LINE)]
        parts += [text(x, under + n * LINE_MM, row) for n, row in enumerate(shown)]
        lines = max(lines, len(shown))
    said = wrap(_of_the_uterus(facts), 90)
    below = max(under + lines * LINE_MM, middle + 38.0) + 1.0
    parts += [text(MIDDLE_MM, below + n * LINE_MM, row) for n, row in enumerate(said)]
    height = below + len(said) * LINE_MM + 6.0
    parts.append(_bar(height - 4.0, scale))
    return svg(f"Tract of {tag_of(exam)}", WIDTH_MM, height, LETTER_MM, parts)


def _ovary(facts: ExamFacts, side: Side) -> tuple[OvaryDrawing, list[str]]:
    every = [told.finding for told in facts.ovaries]
    every += [told.finding for told in facts.absent]
    here = tuple(finding for finding in every if finding.side in (side, Side.BOTH))
    words = [one_line(written_without_side(finding)) for finding in here]
    if _STATION[side] in not_seen_structures(facts.exam):
        words.append("not seen")
    elif not words:
        normal = any(told.finding.structure is _STATION[side] for told in facts.of(Seen))
        words.append("normal" if normal else "nothing said")
    return draw_ovary(here, seen="not seen" not in words), words


def _of_the_uterus(facts: ExamFacts) -> str:
    kinds: tuple[type[Finding], ...] = (Uterus, Pregnancy, Conceptus, Measurement)
    words = [written(told.finding) for kind in kinds for told in facts.of(kind)]
    words += [written(t.finding) for t in facts.ovaries if t.finding.side is None]
    return one_line("; ".join(words)) or "of the uterus nothing was said"


def _uterus(facts: ExamFacts, middle: float, scale: float) -> str:
    """Body and horns as a sketch: fluid grey, a conceptus a bean as long as it was measured."""

    def fill(*sides: Side | None) -> str:
        states = [t.finding.state for t in facts.of(Uterus) if t.finding.side in sides]
        return "#fff" if _FLUID.isdisjoint(states) else "#cfcfcf"

    return (
        _horn(-1, middle, fill(Side.LEFT, Side.BOTH, None))
        + _horn(1, middle, fill(Side.RIGHT, Side.BOTH, None))
        + f'<rect x="{MIDDLE_MM - 5:.1f}" y="{middle + 23:.1f}" width="10" height="11" rx="3"'
        f' fill="{fill(Side.BODY, None)}" stroke="#000" stroke-width="0.6"/>'
        + _conceptus(facts, middle, scale)
    )


def _horn(way: int, middle: float, fill: str) -> str:
    """One horn from the body out to its tip; ``way`` is -1 for the left and 1 for the right."""

    def at(x: float, y: float) -> str:
        return f"{MIDDLE_MM + way * x:.1f} {middle + y:.1f}"

    outer = f"C {at(4, 0)}, {at(8, -14)}, {at(15, -12)}"
    inner = f"C {at(22, -10)}, {at(16, 12)}, {at(5, 26)}"
    return (
        f'<path d="M {at(0, 24)} {outer} {inner} Z" fill="{fill}" stroke="#000"'
        ' stroke-width="0.6"/>'
    )


def _conceptus(facts: ExamFacts, middle: float, scale: float) -> str:
    if PregnancyStatus.PREGNANT not in facts.statuses:
        return ""
    sizes = [told.finding for told in facts.of(Measurement)]
    lengths = [m.size_mm for m in sizes if m.quantity is Quantity.CROWN_RUMP_LENGTH]
    sides: list[Side | None] = [*sorted(facts.gravid_sides)]
    if not sides:
        arrangements = {told.finding.arrangement for told in facts.of(Conceptus)}
        sides = [Side.LEFT, Side.RIGHT] if Arrangement.ONE_EACH_HORN in arrangements else [None]
    drawn = []
    for place, side in enumerate(sides):
        size = lengths[min(place, len(lengths) - 1)] if lengths else None
        x = MIDDLE_MM + {Side.LEFT: -11.0, Side.RIGHT: 11.0, None: 0.0}[side]
        fits = size is not None and size * scale <= LONGEST_BEAN_MM
        long = size * scale if size is not None and fits else 12.0 if size is None else 34.0
        dash = "" if fits else ' stroke-dasharray="1.2 1"'
        drawn.append(
            f'<ellipse cx="{x:.1f}" cy="{middle:.1f}" rx="{long / 4:.2f}" ry="{long / 2:.2f}"'
            f' fill="#777" stroke="#000" stroke-width="0.4"{dash}/>'
        )
    return "".join(drawn)


def _bar(y: float, scale: float) -> str:
    long = 20.0 * scale
    return (
        f'<path d="M 4 {y - 1.2:.1f} v 2.4 m 0 -1.2 h {long:.1f} m 0 -1.2 v 2.4" fill="none"'
        ' stroke="#000" stroke-width="0.5"/>'
        f'<text x="{long + 6:.1f}" y="{y + 1.2:.1f}">20 mm; the uterus is a sketch,'
        " broken lines are not to scale</text>"
    )
