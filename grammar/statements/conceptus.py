"""The conceptus: number, signs of life, landmarks, measurements, sex."""

from __future__ import annotations

from datetime import date

from grammar.findings import (
    Arrangement,
    Conceptus,
    FetalSex,
    Landmark,
    LandmarkName,
    Measurement,
    Membranes,
    Note,
    Quantity,
    Sex,
    Viability,
)
from grammar.numbers import cardinal, words_of
from grammar.statements.items import (
    Age,
    Content,
    GravidSide,
    Node,
    Readers,
    child,
    children,
    named,
)
from grammar.statements.places import spoken_side
from grammar.statements.sizes import millimetres, small_number

_COUNTS = {"single": 1, "twins": 2, "triplets": 3}


def _conceptus(node: Node, _: date | None) -> list[Content]:
    arrangement = child(node, "arrangement")
    if arrangement is not None:
        return [named(arrangement, Arrangement)]
    return [Conceptus(_COUNTS[str(children(children(node, "conceptus_count")[0])[0].data)])]


def _conceptus_aged(node: Node, visit_date: date | None) -> list[Content]:
    """ "Twins, about fifty": of a calf only an age can be meant."""
    days = cardinal(words_of(children(node, "n_age")[0]))
    return [*_conceptus(node, visit_date), Age(days, None, True, None)]


_LYING = {"both_on_one": Arrangement.SAME_HORN, "on_each": Arrangement.ONE_EACH_HORN}


def _twins_placed(node: Node, _: date | None) -> list[Content]:
    lie = next(c for c in children(node) if str(c.data) in _LYING)
    side = spoken_side(child(lie, "side"))
    twins: list[Content] = [Conceptus(2, _LYING[str(lie.data)])]
    return twins if side is None else [*twins, GravidSide(side)]


_SIGNS: dict[str, dict[str, bool | Membranes]] = {
    "heartbeat": {"heartbeat": True},
    "no_heartbeat": {"heartbeat": False},
    "movement": {"movement": True},
    "no_movement": {"movement": False},
    "membranes_attached": {"membranes": Membranes.ATTACHED},
    "membranes_detached": {"membranes": Membranes.DETACHED},
    "lost": {"loss": True},
    "viable": {"loss": False},
}


def _fetus(node: Node) -> int | None:
    spoken = child(node, "fetus")
    return None if spoken is None else (1 if child(spoken, "first_fetus") else 2)


def _viability(node: Node, _: date | None) -> list[Content]:
    if child(node, "weak_heartbeat") or node.data == "heart_rate":
        # that it was weak, and how fast, is kept in the words
        return [Viability(heartbeat=True), Note(" ".join(words_of(node)))]
    if node.data == "fetus_dead":
        return [Viability(loss=True, fetus=_fetus(node))]
    if node.data == "one_of_two_dead":
        return [Viability(loss=False, fetus=1), Viability(loss=True, fetus=2)]
    sign = _SIGNS[str(children(children(node, "sign")[0])[0].data)]
    return [Viability(fetus=_fetus(node), **sign)]  # type: ignore[arg-type]


def _landmark(node: Node, _: date | None) -> list[Content]:
    name = named(child(node, "landmark_name"), LandmarkName)
    return [Landmark(name, seen=node.data == "landmark", fetus=_fetus(node))]


def _landmark_placed(node: Node, _: date | None) -> list[Content]:
    name = LandmarkName.FREMITUS if child(node, "fremitus") else LandmarkName.MEMBRANE_SLIP
    return [Landmark(name), Note(" ".join(words_of(node)))]


_MEASURED = {
    LandmarkName.EMBRYO: Quantity.CROWN_RUMP_LENGTH,
    LandmarkName.PLACENTOMES: Quantity.PLACENTOME_LENGTH,
}


def _landmark_sized(node: Node, _: date | None) -> list[Content]:
    name = named(child(node, "sized_landmark"), LandmarkName)
    size = millimetres(small_number(children(node, "n_size")[0]), child(node, "size_unit"))
    fetus = _fetus(node)
    return [Landmark(name, fetus=fetus), Measurement(_MEASURED[name], size, fetus)]


def _measurement(node: Node, _: date | None) -> list[Content]:
    quantity = named(child(node, "quantity"), Quantity)
    size = node if node.data == "measured_before" else children(node, "fetal_size")[0]
    unit = child(size, "size_unit")
    number = small_number(children(size, "n_size")[0])
    return [Measurement(quantity, millimetres(number, unit), _fetus(node), unit is None)]


_BOTH = {
    "both_male": (Sex.MALE, Sex.MALE),
    "both_female": (Sex.FEMALE, Sex.FEMALE),
    "one_of_each": (Sex.MALE, Sex.FEMALE),
}


def _fetal_sex(node: Node, _: date | None) -> list[Content]:
    for name, (first, second) in _BOTH.items():
        if child(node, name):
            return [FetalSex(first, 1), FetalSex(second, 2)]
    bare = child(node, "bare_sex")
    if bare is not None:
        return [FetalSex(Sex.MALE if child(bare, "bare_male") else Sex.FEMALE, _fetus(node))]
    return [FetalSex(named(child(node, "sex"), Sex), _fetus(node))]


CONCEPTUS: Readers = {
    "conceptus": _conceptus,
    "conceptus_aged": _conceptus_aged,
    "twins_placed": _twins_placed,
    "viability": _viability,
    "heart_rate": _viability,
    "fetus_dead": _viability,
    "one_of_two_dead": _viability,
    "landmark": _landmark,
    "landmark_absent": _landmark,
    "landmark_placed": _landmark_placed,
    "landmark_not_seen": _landmark,
    "measurement": _measurement,
    "measured_before": _measurement,
    "landmark_sized": _landmark_sized,
    "fetal_sex": _fetal_sex,
}
