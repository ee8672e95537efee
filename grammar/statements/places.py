"""Where in the tract, and remarks that need a place."""

from __future__ import annotations

from datetime import date

from grammar.findings import (
    Command,
    CommandName,
    Lie,
    Note,
    OvarianStructure,
    Ovary,
    Seen,
    SeenRemark,
    Side,
    SweepStructure,
    TractLie,
    TractScore,
)
from grammar.numbers import cardinal, words_of
from grammar.statements.items import (
    Content,
    Node,
    Place,
    PlaceKind,
    Reader,
    Readers,
    Remark,
    RemarkKind,
    child,
    children,
    named,
    named_if,
)

_KINDS = {f"{kind}_place": kind for kind in PlaceKind}
_SIDES = {
    "left_ovary_short": Side.LEFT,
    "right_ovary_short": Side.RIGHT,
    "both_ovaries": Side.BOTH,
    "both_sides": Side.BOTH,
    "both_horns": Side.BOTH,
    "body_place": Side.BODY,
}


def spoken_side(node: Node | None) -> Side | None:
    """The side under a node; of "left, no, right" the last counts."""
    spoken = () if node is None else node.find_data("side_word")
    ordered = sorted(spoken, key=lambda s: int(s.meta.start_pos))
    return named_if(ordered[-1] if ordered else None, Side)


def place_of(node: Node) -> Place:
    """The place of a node: ovary, uterus or a part of it (side None is all of it), cervix, or a
    side alone, of which the rest of the breath says what it is the side of."""
    short = next((side for name, side in _SIDES.items() if child(node, name)), None)
    return Place(_KINDS[str(node.data)], short or spoken_side(child(node, "side")))


def place_within(node: Node) -> Place | None:
    """The place that a statement names, if it does."""
    return next((place_of(c) for c in children(node) if str(c.data) in _KINDS), None)


def _place(node: Node, _: date | None) -> list[Content]:
    return [place_of(node)]


def _lie(node: Node, _: date | None) -> list[Content]:
    return [Lie(named(child(node, "lies"), TractLie))]


def _tract_score(node: Node, _: date | None) -> list[Content]:
    return [TractScore(cardinal(words_of(children(node, "tract_degree")[0])))]


def _station_remark(node: Node, _: date | None) -> list[Content]:
    return [Remark(named(node, RemarkKind))]


def _remark_with_place(kind: RemarkKind) -> Reader:
    return lambda node, _: [Remark(kind, place_within(node))]


def _station_empty(node: Node, _: date | None) -> list[Content]:
    horn = Place(PlaceKind.UTERUS, spoken_side(child(node, "side_horn")))
    return [Remark(RemarkKind.NOTHING, place_within(node) or horn)]


def _quiet_ovary(node: Node, _: date | None) -> list[Content]:
    return [Ovary(place_of(children(node, "ovary_place")[0]).side, OvarianStructure.STATIC)]


def _cervix_remark(node: Node, _: date | None) -> list[Content]:
    """ "Cervix open": kept as words. The cervix is then a place of which nothing else is said, so
    that this reading is no better than "cervix; she is open", and both are shown."""
    return [Place(PlaceKind.CERVIX, None), Note(" ".join(words_of(node)))]


def _station_alone(node: Node) -> SweepStructure:
    return SweepStructure(f"{spoken_side(child(node, 'side'))}_ovary")


def _place_corrected(node: Node, _: date | None) -> list[Content]:
    return [Command(CommandName.CHANGE), Seen(_station_alone(node))]


def _ovary_not_found(node: Node, _: date | None) -> list[Content]:
    return [Seen(_station_alone(node), SeenRemark.NOT_SEEN)]


PLACES: Readers = {
    **dict.fromkeys(_KINDS, _place),
    "station_empty": _station_empty,
    "quiet_ovary": _quiet_ovary,
    "cervix_remark": _cervix_remark,
    "station_remark": _station_remark,
    "place_corrected": _place_corrected,
    "ovary_not_found": _ovary_not_found,
    "lie": _lie,
    "tract_score": _tract_score,
    "not_seen_place": _remark_with_place(RemarkKind.NOT_SEEN),
    "not_reached_place": _remark_with_place(RemarkKind.COULD_NOT_REACH),
}
