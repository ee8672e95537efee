"""One ovary as SVG shapes, in millimetres: every size that was said is drawn at its size."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from grammar.findings import OvarianStructure, Ovary, Wall

# An ovary of a cow is about 35 by 25 mm (general anatomy, from memory); the outline grows with what
# is in it and is drawn broken, because it was not measured.
OUTLINE_MM = (35.0, 25.0)
GAP_MM = 2.0
WIDEST_MM = 62.0
MOST_DRAWN = 6

# Where no size was said, a broken circle of about the usual size stands for the structure.
_USUAL_MM = {
    OvarianStructure.FOLLICLE: 10.0,
    OvarianStructure.SMALL_FOLLICLES: 4.0,
    OvarianStructure.CORPUS_HAEMORRHAGICUM: 15.0,
    OvarianStructure.REGRESSING_CORPUS_LUTEUM: 12.0,
}
_USUAL_OTHER_MM = 20.0
_WALL_MM = {Wall.THIN: 1.0, Wall.THICK: 4.0, None: 0.5}
_NOT_DRAWN = frozenset({OvarianStructure.STATIC, OvarianStructure.NONE, OvarianStructure.ADHESION})
_SOLID = {
    OvarianStructure.CORPUS_LUTEUM: "#b5b5b5",
    OvarianStructure.REGRESSING_CORPUS_LUTEUM: "#dcdcdc",
    OvarianStructure.CORPUS_HAEMORRHAGICUM: "#8a8a8a",
    OvarianStructure.TUMOUR: "#6a6a6a",
}
WALL = "#8f8f8f"


@dataclass(frozen=True, slots=True)
class Shape:
    """A structure as an ellipse: its diameters, and whether they were said."""

    finding: Ovary
    wide_mm: float
    high_mm: float
    sized: bool


@dataclass(frozen=True, slots=True)
class OvaryDrawing:
    """``svg`` is centred on 0, 0; the outline reaches ``half_wide_mm`` and ``half_high_mm``."""

    svg: str
    half_wide_mm: float
    half_high_mm: float


def draw_ovary(findings: tuple[Ovary, ...], *, seen: bool = True) -> OvaryDrawing:
    """The outline with every structure inside it. One not seen is empty and dotted."""
    rows = _rows([shape for finding in findings for shape in _shapes(finding)])
    width = max((_width(row) for row in rows), default=0.0)
    height = sum(_height(row) for row in rows) + GAP_MM * max(0, len(rows) - 1)
    # The outline is an ellipse around the rectangle that the structures fill.
    half_wide = max(OUTLINE_MM[0] / 2, width / 2 * sqrt(2) * 0.92 + GAP_MM)
    half_high = max(OUTLINE_MM[1] / 2, height / 2 * sqrt(2) * 0.92 + GAP_MM)
    dash = "2.5 1.5" if seen else "0.6 1.6"
    parts = [
        f'<ellipse rx="{half_wide:.1f}" ry="{half_high:.1f}" fill="#fff" stroke="#000"'
        f' stroke-width="0.6" stroke-dasharray="{dash}"/>'
    ]
    top = -height / 2
    for row in rows:
        parts += _draw_row(row, top + _height(row) / 2)
        top += _height(row) + GAP_MM
    return OvaryDrawing("".join(parts), half_wide, half_high)


def _shapes(finding: Ovary) -> list[Shape]:
    if finding.structure in _NOT_DRAWN or finding.count == 0:
        return []
    usual = _USUAL_MM.get(finding.structure, _USUAL_OTHER_MM)
    wide = finding.size_mm or usual
    high = finding.second_size_mm or wide
    few = 4 if finding.structure is OvarianStructure.SMALL_FOLLICLES else 1
    times = min(MOST_DRAWN, finding.count or few)
    return [Shape(finding, wide, high, finding.size_mm is not None)] * times


def _rows(shapes: list[Shape]) -> list[list[Shape]]:
    rows: list[list[Shape]] = []
    for shape in sorted(shapes, key=lambda s: -s.high_mm):
        if not rows or _width([*rows[-1], shape]) > WIDEST_MM:
            rows.append([])
        rows[-1].append(shape)
    return rows


def _width(row: list[Shape]) -> float:
    return sum(shape.wide_mm for shape in row) + GAP_MM * (len(row) - 1)


def _height(row: list[Shape]) -> float:
    return max(shape.high_mm for shape in row)


def _draw_row(row: list[Shape], middle: float) -> list[str]:
    parts = []
    left = -_width(row) / 2
    for shape in row:
        parts.append(_draw(shape, left + shape.wide_mm / 2, middle))
        left += shape.wide_mm + GAP_MM
    return parts


def _draw(shape: Shape, x: float, y: float) -> str:
    finding = shape.finding
    fill = _SOLID.get(finding.structure, "#fff")
    dash = "" if shape.sized else ' stroke-dasharray="1.2 1"'
    wall = finding.wall_mm or _WALL_MM[finding.wall]
    wall = min(wall, min(shape.wide_mm, shape.high_mm) / 2)
    drawn = _ellipse(x, y, shape.wide_mm, shape.high_mm)
    drawn += f' fill="{fill if wall < 1 else WALL}" stroke="#000" stroke-width="0.4"{dash}/>'
    if wall >= 1:
        # The wall belongs to the size: it lies inside the edge.
        inside = _ellipse(x, y, shape.wide_mm - 2 * wall, shape.high_mm - 2 * wall)
        drawn += f'{inside} fill="{fill}" stroke="#000" stroke-width="0.3"{dash}/>'
    if finding.cavity:
        cavity = finding.cavity_mm or min(shape.wide_mm, shape.high_mm) / 3
        cavity = min(cavity, shape.wide_mm, shape.high_mm)
        broken = "" if finding.cavity_mm else ' stroke-dasharray="1.2 1"'
        inner = _ellipse(x, y, cavity, cavity)
        drawn += f'{inner} fill="#fff" stroke="#000" stroke-width="0.3"{broken}/>'
    return drawn


def _ellipse(x: float, y: float, wide: float, high: float) -> str:
    return f'<ellipse cx="{x:.1f}" cy="{y:.1f}" rx="{wide / 2:.2f}" ry="{high / 2:.2f}"'
