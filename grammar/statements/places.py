"""Where in the tract, and remarks that need a place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from grammar.findings import Note, OvarianStructure, Ovary, Side
from grammar.numbers import words_of
from grammar.statements.items import Content, Place, PlaceKind, Readers, Remark, RemarkKind
from grammar.statements.tree import Node, child, children, named


def spoken_side(node: Node | None) -> Side | None:
    """The side under a node; of "left, no, right" the last counts."""
    if node is None:
        return None
    spoken = list(node.find_data("side_word")) if node.data != "side_word" else [node]
    # of "left, no, right" the last counts
    ordered = sorted(spoken, key=lambda s: int(s.meta.start_pos))
    return named(ordered[-1], Side) if ordered else None


def ovary_place(node: Node, _: date | None) -> list[Content]:
    """One ovary or both."""
    if child(node, "both_ovaries"):
        side: Side | None = Side.BOTH
    elif child(node, "left_ovary_short"):
        side = Side.LEFT
    elif child(node, "right_ovary_short"):
        side = Side.RIGHT
    else:
        side = spoken_side(child(node, "side"))
    return [Place(PlaceKind.OVARY, side)]


def side_place(node: Node, _: date | None) -> list[Content]:
    """A side alone: what it is the side of, the rest of the breath says."""
    side = Side.BOTH if child(node, "both_sides") else spoken_side(child(node, "side"))
    return [Place(PlaceKind.SIDE, side)]


def uterus_place(node: Node, _: date | None) -> list[Content]:
    """A horn, both, the body, or the whole uterus (side None)."""
    if child(node, "both_horns"):
        side: Side | None = Side.BOTH
    elif child(node, "body_place"):
        side = Side.BODY
    else:
        side = spoken_side(child(node, "side"))
    return [Place(PlaceKind.UTERUS, side)]


def cervix_place(_: Node, __: date | None) -> list[Content]:
    """The cervix."""
    return [Place(PlaceKind.CERVIX, None)]


def _station_remark(node: Node, _: date | None) -> list[Content]:
    return [Remark(RemarkKind(str(children(node)[0].data)))]


def _remark_with_place(kind: RemarkKind) -> Callable[[Node, date | None], list[Content]]:
    def read(node: Node, visit_date: date | None) -> list[Content]:
        place = next(c for c in children(node) if str(c.data).endswith("_place"))
        content = PLACES[str(place.data)](place, visit_date)[0]
        return [Remark(kind, content if isinstance(content, Place) else None)]

    return read


def _station_empty(node: Node, visit_date: date | None) -> list[Content]:
    place = child(node, "ovary_place")
    if place is not None:
        content = ovary_place(place, visit_date)[0]
        assert isinstance(content, Place)
    else:
        content = Place(PlaceKind.UTERUS, spoken_side(child(node, "side_horn")))
    return [Remark(RemarkKind.NOTHING, content)]


def _quiet_ovary(node: Node, _: date | None) -> list[Content]:
    place = ovary_place(children(node, "ovary_place")[0], None)[0]
    assert isinstance(place, Place)
    return [Ovary(place.side, OvarianStructure.STATIC)]


def _cervix_remark(node: Node, _: date | None) -> list[Content]:
    """ "Cervix open": kept as words. The cervix is then a place of which nothing else is said, so
    that this reading is no better than "cervix; she is open", and both are shown."""
    return [Place(PlaceKind.CERVIX, None), Note(" ".join(words_of(node)))]


PLACES: Readers = {
    "station_empty": _station_empty,
    "quiet_ovary": _quiet_ovary,
    "cervix_remark": _cervix_remark,
    "ovary_place": ovary_place,
    "side_place": side_place,
    "uterus_place": uterus_place,
    "cervix_place": cervix_place,
    "station_remark": _station_remark,
    "not_seen_place": _remark_with_place(RemarkKind.NOT_SEEN),
    "not_reached_place": _remark_with_place(RemarkKind.COULD_NOT_REACH),
}
