"""Structures on the ovaries, states of the uterus."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from grammar.findings import Note, OvarianStructure, Ovary, Side, UterineState, Uterus, Wall
from grammar.numbers import cardinal, words_of
from grammar.statements.items import Content, Node, Readers, child, children, named, named_if
from grammar.statements.places import place_within, spoken_side
from grammar.statements.sizes import millimetres, optional_mm, said_size, sizes, small_number

_SEVERAL = {
    "corpora_lutea": OvarianStructure.CORPUS_LUTEUM,
    "follicles": OvarianStructure.FOLLICLE,
    "cysts": OvarianStructure.CYST,
}


def _ovary(node: Node, _: date | None) -> list[Content]:
    if child(node, "static_ovaries"):
        return [Ovary(Side.BOTH, OvarianStructure.STATIC)]
    head = child(node, "ovary_head") or node
    many = child(head, "structures")
    structure = (
        _SEVERAL[str(children(many)[0].data)]
        if many is not None
        else named(child(head, "structure"), OvarianStructure)
    )
    found = _detailed(node, structure, None)
    count = child(head, "count")
    if count is not None:
        found = replace(found, count=cardinal(words_of(count)))
    place = place_within(node)  # "CL on the left twenty-two": the side stands between
    return [found if place is None else replace(found, side=place.side)]


def _walled_cyst(node: Node, _: date | None) -> list[Content]:
    wall = named_if(child(node, "wall"), Wall)
    kind = OvarianStructure.FOLLICULAR_CYST if wall is Wall.THIN else OvarianStructure.LUTEAL_CYST
    place = place_within(node)
    return [replace(_detailed(node, kind, wall), side=None if place is None else place.side)]


def _one_on_each(node: Node, _: date | None) -> list[Content]:
    return [Ovary(side, _one_of(node)) for side in (Side.LEFT, Side.RIGHT)]


def _one_of(node: Node) -> OvarianStructure:
    """What each of several structures is."""
    head = child(node, "ovary_head") or node
    many = child(head, "structures")
    if many is not None:
        return _SEVERAL[str(children(many)[0].data)]
    return named(child(head, "structure") or child(head, "absent_structure"), OvarianStructure)


def _two_sized(node: Node, _: date | None) -> list[Content]:
    """ "Two follicles on the right, eight and twelve"; of both sides it is not said which size is
    whose, so that either order is a reading."""
    numbers = children(children(node, "two_sizes")[0])
    unit = child(children(node, "two_sizes")[0], "size_unit")
    place, structure = place_within(node), _one_of(node)
    sides = [None if place is None else place.side] * 2
    if node.data != "two_sized":
        sides = [Side.LEFT, Side.RIGHT] if node.data == "left_first" else [Side.RIGHT, Side.LEFT]
    found = (millimetres(small_number(n), unit) for n in numbers if n.data == "small_size")
    return [
        Ovary(side, structure, size_mm=size, unit_assumed=unit is None)
        for side, size in zip(sides, found, strict=True)
    ]


def _detailed(node: Node, structure: OvarianStructure, wall: Wall | None) -> Ovary:
    found = Ovary(side=None, structure=structure, wall=wall)
    before = child(node, "small_size")
    if before is not None:
        size = millimetres(small_number(before), child(node, "size_unit"))
        found = replace(found, size_mm=size)
    for detail in children(node):
        sized = said_size(detail)
        measured, bare = optional_mm(detail)
        bare = found.unit_assumed or bare
        if sized is not None:
            size, second, bare = sizes(sized)
            found = replace(found, size_mm=size, second_size_mm=second, unit_assumed=bare)
        elif detail.data == "cavity_plain":
            found = replace(found, cavity=True)
        elif detail.data == "cavity":
            cavity = child(detail, "no_cavity") is None
            found = replace(found, cavity=cavity, cavity_mm=measured, unit_assumed=bare)
        elif detail.data in {"wall_said", "wall_plain"}:
            wall = named_if(child(detail, "wall"), Wall) or found.wall
            wall_mm = measured if measured is not None else found.wall_mm
            found = replace(found, wall=wall, wall_mm=wall_mm, unit_assumed=bare)
    return found


def _ovary_absent(node: Node, _: date | None) -> list[Content]:
    structure = named(child(node, "absent_structure"), OvarianStructure)
    return [Ovary(side=None, structure=structure, count=0)]


def _uterus(node: Node, _: date | None) -> list[Content]:
    state = named(child(node, "uterine_state") or child(node, "fluid_state"), UterineState)
    depth, assumed = optional_mm(node)
    place = place_within(node)
    side = None if place is None else place.side
    return [Uterus(side=side, state=state, depth_mm=depth, unit_assumed=assumed)]


def _graded(node: Node, _: date | None) -> list[Content]:
    """A degree is kept in the words that were said: scales differ, and we convert none."""
    state = named_if(child(node, "graded_state"), UterineState) or UterineState.ENDOMETRITIS
    return [Uterus(side=None, state=state), Note(" ".join(words_of(node)))]


def _larger_horn(node: Node, _: date | None) -> list[Content]:
    return [Uterus(spoken_side(child(node, "side")), UterineState.LARGER)]


STRUCTURES: Readers = {
    "ovary": _ovary,
    "walled_cyst": _walled_cyst,
    "ovary_absent": _ovary_absent,
    "placed_ovary": _ovary,
    "uterus": _uterus,
    "placed_fluid": _uterus,
    "graded": _graded,
    "larger_horn": _larger_horn,
    "one_on_each": _one_on_each,
    "two_sized": _two_sized,
    "left_first": _two_sized,
    "right_first": _two_sized,
}
