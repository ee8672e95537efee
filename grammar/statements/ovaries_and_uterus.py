"""Structures on the ovaries, states of the uterus."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from grammar.findings import Note, OvarianStructure, Ovary, Side, UterineState, Uterus, Wall
from grammar.numbers import cardinal, words_of
from grammar.statements.items import Content, Place, Readers
from grammar.statements.places import PLACES
from grammar.statements.sizes import millimetres, optional_mm, said_size, sizes, small_number
from grammar.statements.tree import Node, child, children, named

_SEVERAL = {
    "corpora_lutea": OvarianStructure.CORPUS_LUTEUM,
    "follicles": OvarianStructure.FOLLICLE,
    "cysts": OvarianStructure.CYST,
}


def _ovary(node: Node, _: date | None) -> list[Content]:
    if child(node, "static_ovaries"):
        return [Ovary(Side.BOTH, OvarianStructure.STATIC)]
    place = child(node, "side_place") or child(node, "ovary_place")
    head = child(node, "ovary_head") or node
    many = child(head, "structures")
    structure = (
        _SEVERAL[str(children(many)[0].data)]
        if many is not None
        else named(child(head, "structure"), OvarianStructure)
    )
    assert structure is not None  # the grammar always has one here
    found = _detailed(node, structure, None)
    count = child(head, "count")
    if count is not None:
        found = replace(found, count=cardinal(words_of(count)))
    if place is None:
        return [found]
    # "CL on the left twenty-two": the side stands between
    within = PLACES[str(place.data)](place, None)[0]
    assert isinstance(within, Place)
    return [replace(found, side=within.side)]


def _walled_cyst(node: Node, _: date | None) -> list[Content]:
    wall = named(child(node, "wall"), Wall)
    kind = OvarianStructure.FOLLICULAR_CYST if wall is Wall.THIN else OvarianStructure.LUTEAL_CYST
    return [_detailed(node, kind, wall)]


def _detailed(node: Node, structure: OvarianStructure, wall: Wall | None) -> Ovary:
    size: float | None = None
    second: float | None = None
    assumed = False
    cavity: bool | None = None
    cavity_mm: float | None = None
    wall_mm: float | None = None
    before = child(node, "small_size")
    if before is not None:
        size = millimetres(small_number(before), child(node, "size_unit"))
    for detail in children(node):
        sized = said_size(detail)
        if sized is not None:
            size, second, assumed = sizes(sized)
        elif detail.data == "cavity_plain":
            cavity = True
        elif detail.data == "cavity":
            cavity = child(detail, "no_cavity") is None
            cavity_mm, bare = optional_mm(detail)
            assumed = assumed or bare
        elif detail.data == "wall_said":
            wall = named(child(detail, "wall"), Wall) or wall
            measured, bare = optional_mm(detail)
            wall_mm = measured if measured is not None else wall_mm
            assumed = assumed or bare
    return Ovary(
        side=None,
        structure=structure,
        size_mm=size,
        second_size_mm=second,
        cavity=cavity,
        cavity_mm=cavity_mm,
        wall=wall,
        wall_mm=wall_mm,
        unit_assumed=assumed,
    )


def _ovary_absent(node: Node, _: date | None) -> list[Content]:
    structure = named(child(node, "absent_structure"), OvarianStructure)
    assert structure is not None
    return [Ovary(side=None, structure=structure, count=0)]


def _uterus(node: Node, _: date | None) -> list[Content]:
    state = named(child(node, "uterine_state") or child(node, "fluid_state"), UterineState)
    assert state is not None
    depth, assumed = optional_mm(node)
    place = child(node, "uterus_place")
    within = None if place is None else PLACES["uterus_place"](place, None)[0]
    side = within.side if isinstance(within, Place) else None
    return [Uterus(side=side, state=state, depth_mm=depth, unit_assumed=assumed)]


def _graded(node: Node, _: date | None) -> list[Content]:
    """A degree is kept in the words that were said: scales differ, and we convert none."""
    return [Uterus(side=None, state=UterineState.ENDOMETRITIS), Note(" ".join(words_of(node)))]


STRUCTURES: Readers = {
    "ovary": _ovary,
    "walled_cyst": _walled_cyst,
    "ovary_absent": _ovary_absent,
    "placed_ovary": _ovary,
    "uterus": _uterus,
    "placed_fluid": _uterus,
    "graded": _graded,
}
