"""A herd list in the open Animal Data Exchange standard's JSON: animals and their events.

Read are cows on the farm (icarAnimalCoreResource), inseminations with their sires, time with a
bull, calvings and earlier pregnancy checks, in one array, one collection, or a list of collections.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from dictation.errors import BadInputError
from dictation.gate import gate, in_letters
from dictation.records.herd.sheet import Mistakes
from grammar.dating.breeds import breeds_of_bull
from grammar.exam import KnownAnimal, Service

ANIMAL = "icarAnimalCoreResource"
INSEMINATION = "icarReproInseminationEventResource"
CALVING = "icarReproParturitionEventResource"
CHECK = "icarReproPregnancyCheckEventResource"
ELECTRONIC = "std.iso.11785"
WITHIN_HERD = "composite.withinherdid"

_RESULTS = {"Pregnant": "pregnant", "Multiple": "pregnant", "Empty": "open", "Unknown": "uncertain"}
_NO_SERVICE = frozenset({"Implantation"})
"""An embryo is days old when it is implanted: its day is no service day."""

Json = dict[str, Any]


_GONE = frozenset({"Dead", "OffFarm"})

Key = tuple[str, str]


@dataclass
class _Known:
    """An animal while its events are gathered. ``gone``: not on the farm, or no cow."""

    record: Json
    place: int
    gone: bool = False
    parity: int | None = None
    calved_on: date | None = None
    services: list[Service] = field(default_factory=list)
    checked_on: date | None = None
    last_status: str | None = None


def standard_animals(path: Path, content: bytes) -> tuple[KnownAnimal, ...]:
    """The animals of a file. Raises BadInputError; a mistake's place is the record, from 1."""
    mistakes = Mistakes(path, "record", "field")
    records = []
    for place, record in enumerate(_records(path, content), start=1):
        meta = record.get("meta")
        if not isinstance(meta, dict) or meta.get("isDeleted") is not True:
            records.append((place, record))
    animals: dict[Key, _Known] = {}
    for place, record in records:
        if record.get("resourceType") == ANIMAL:
            _meet(place, record, animals, mistakes)
    for place, record in records:
        if record.get("resourceType") in (INSEMINATION, CALVING, CHECK):
            _take(place, record, animals, mistakes)
    each_once = {id(known): known for known in animals.values()}.values()
    found = [(known.place, _animal(known, mistakes)) for known in each_once if not known.gone]
    first: dict[str, int] = {}
    for place, animal in found:
        if animal.tag and first.setdefault(animal.tag, place) != place:
            words = f"{animal.tag} is in record {first[animal.tag]} too"
            mistakes.add(place, "managementTag", words)
    mistakes.stop_if_any()
    return tuple(animal for _, animal in found)


def _meet(place: int, record: Json, animals: dict[Key, _Known], mistakes: Mistakes) -> None:
    gone = _text(record.get("status")) in _GONE or record.get("gender") == "Male"
    known = _Known(record, place, gone)
    keys = list(_identifiers(record))
    if not keys:
        mistakes.add(place, "identifier", "is missing, or has no scheme and id")
    for key in keys:
        if key in animals:
            mistakes.add(place, "identifier", f"{key[1]} is in record {animals[key].place} too")
        animals.setdefault(key, known)


def _records(path: Path, content: bytes) -> Iterator[Json]:
    with gate(path, "it is not JSON in UTF-8; export the list again"):
        data = json.loads(content.decode("utf-8-sig"))
        in_letters(json.dumps(data, ensure_ascii=False, allow_nan=False))
    found = list(_members(data))
    if not found or not all(isinstance(record, dict) for record in found):
        raise BadInputError(
            f"{path} holds no animals or events of the Animal Data Exchange standard:"
            " give an array of them, or a collection with 'member'."
        )
    yield from found


def _members(data: Any) -> Iterator[Any]:
    for each in data if isinstance(data, list) else [data]:
        if isinstance(each, dict) and isinstance(each.get("member"), list):
            yield from each["member"]
        else:
            yield each


def _identifiers(record: Json) -> Iterator[Key]:
    others = record.get("alternativeIdentifiers")
    every = [record.get("identifier"), record.get("animal")]
    for each in [*every, *(others if isinstance(others, list) else [])]:
        scheme, number = _part(each, "scheme"), _part(each, "id")
        if scheme is not None and number is not None:
            yield scheme, number


def _take(place: int, record: Json, animals: dict[Key, _Known], mistakes: Mistakes) -> None:
    kind = record["resourceType"]
    keys = list(_identifiers(record))
    known = next((animals[key] for key in keys if key in animals), None)
    if known is None:
        if not keys:
            mistakes.add(place, "animal", "is missing, or has no scheme and id")
            return
        # An event of an animal that has no record of its own still names her.
        scheme, number = keys[0]
        known = _Known({"identifier": {"scheme": scheme, "id": number}}, place)
        animals[keys[0]] = known
    on = _day(place, "eventDateTime", record, mistakes)
    if on is None:
        return
    if kind == INSEMINATION:
        _serve(place, record, on, known, mistakes)
    elif kind == CALVING:
        if known.calved_on is None or on > known.calved_on:
            known.calved_on = on
            known.parity = record.get("damParity", known.parity)
    elif known.checked_on is None or on > known.checked_on:
        known.checked_on = on
        known.last_status = _RESULTS.get(str(record.get("result")))


def _serve(place: int, record: Json, on: date, known: _Known, mistakes: Mistakes) -> None:
    if _text(record.get("inseminationType")) in _NO_SERVICE:
        return
    last = None
    if record.get("eventEndDateTime") is not None:
        last = _day(place, "eventEndDateTime", record, mistakes)
        if last is not None and last < on:
            mistakes.add(place, "eventEndDateTime", f"{last} is before {on}")
            return
    # A bull who nobody took out again; a natural service is one day.
    natural = (last is None and record.get("inseminationType") == "RunWithBull") or None
    sires = record.get("sireIdentifiers")
    number = _part(sires[0] if isinstance(sires, list) and sires else None, "id")
    sire = _text(record.get("sireOfficialName")) or number
    breed = " x ".join(breeds_of_bull(number) or ()) or None
    who = _text(record.get("responsible"))
    known.services.append(Service(on, last, sire, who, natural, breed))


def _animal(known: _Known, mistakes: Mistakes) -> KnownAnimal:
    record = known.record
    identifiers = list(_identifiers(record))
    electronic = next((number for scheme, number in identifiers if scheme == ELECTRONIC), None)
    within = next((n.rpartition(".")[2] for s, n in identifiers if s == WITHIN_HERD), None)
    tag = _text(record.get("managementTag")) or within or next((n for _, n in identifiers), None)
    if tag is None:
        mistakes.add(known.place, "identifier", "is missing")
    parity = known.parity
    if parity is not None and (isinstance(parity, bool) or not isinstance(parity, int)):
        mistakes.add(known.place, "damParity", f"{parity!r} is no whole number")
        parity = None
    return KnownAnimal(
        tag=tag or "",
        electronic_id=electronic,
        breed=_part(record.get("primaryBreed"), "id"),
        parity=parity,
        calved_on=known.calved_on,
        services=tuple(sorted(known.services, key=lambda s: s.first_day)),
        last_status=known.last_status,
    )


def _day(place: int, name: str, record: Json, mistakes: Mistakes) -> date | None:
    text = str(record.get(name, ""))
    return mistakes.made(place, name, text, _day_of, "is no date and time")


def _day_of(text: str) -> date:
    moment = datetime.fromisoformat(text)
    # A UTC time does not say which day it was on the farm: this machine's zone is taken.
    return (moment.astimezone() if moment.tzinfo is not None else moment).date()


def _part(value: object, name: str) -> str | None:
    return _text(value.get(name)) if isinstance(value, dict) else None


def _text(value: object) -> str | None:
    """Words, or a number that was not put in quotes; anything else is nothing of the kind."""
    if isinstance(value, bool) or not isinstance(value, str | int):
        return None
    return str(value).strip() or None
