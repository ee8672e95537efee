"""Who sends the events, and how an exam's animal and time are told apart from all others."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time, tzinfo
from typing import Any

from dictation.records.exam_rows import electronic_id
from dictation.records.herd.countries import official_number
from dictation.visit.journal_state import Origin
from grammar.exam import Exam

Json = dict[str, Any]

SOURCE = "urn:hornsweep"
"""Source of events where the practice gave none of its own."""

SCHEME = "hornsweep"
"""Scheme of our own identifiers within events."""

LARGEST_NATIONAL_NUMBER = 2**38 - 1
"""ISO 11784 gives the national number 38 bits."""


@dataclass(frozen=True, slots=True)
class Sender:
    """``source``: URI or reverse domain name of the practice. ``herd_id``: the herd's number.

    ``responsible``: the person who examined. ``zone``: of times that were recorded without one;
    None for that of this machine. ``location``: of the farm, a scheme and a number in it.
    ``standing``: who approved the visit; it goes with every remark.
    """

    origin: Origin
    source: str = SOURCE
    herd_id: str | None = None
    responsible: str | None = None
    zone: tzinfo | None = None
    location: tuple[str, str] | None = None
    standing: str = ""


def animal_identifier(exam: Exam, sender: Sender) -> Json | None:
    """The ear tag's number, else the electronic one, else the tag within the herd; or None."""
    official = None if exam.known is None else official_number(exam.known)
    if official is not None:
        scheme = "uk.cts.eartag" if official.startswith("UK") else "eu.bovine"
        return {"scheme": scheme, "id": official}
    number = iso_11784(electronic_id(exam))
    if number is not None:
        return {"scheme": "std.iso.11785", "id": number}
    if exam.tag is not None and sender.herd_id is not None:
        return {"scheme": "composite.withinherdid", "id": f"{sender.herd_id}.{exam.tag}"}
    return None


def iso_11784(text: str | None) -> str | None:
    """Fifteen digits that ISO 11784 allows, without spaces; None for anything else."""
    digits = re.sub(r"\s", "", text or "")
    if not re.fullmatch(r"[0-9]{15}", digits):
        return None
    return digits if int(digits[3:]) <= LARGEST_NATIONAL_NUMBER else None


def event_time(exam: Exam, sender: Sender) -> str:
    """When the exam began, in UTC. Noon of the day where no time of day was recorded."""
    if exam.started_at is None:
        local = datetime.combine(exam.on_date, time(12))
    else:
        local = datetime.fromisoformat(exam.started_at)
    if local.tzinfo is None:
        local = local.replace(tzinfo=sender.zone) if sender.zone else local.astimezone()
    return utc(local)


def utc(moment: datetime) -> str:
    """RFC 3339 with Z, whole seconds."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def event(kind: str, exam: Exam, sender: Sender, told: Json, *, deleted: bool = False) -> Json:
    """What every event has: whose, when, from where; then what is ``told``, where it is known.

    Its identity stays the same at each export.
    """
    identity = str(sender.origin.identifier(exam.number, kind))
    meta = {
        "source": sender.source,
        "sourceId": identity,
        "modified": utc(sender.origin.changed_at),
        "created": utc(sender.origin.opened_at),
        "isDeleted": deleted or None,
        "creator": sender.responsible,
    }
    scheme, number = sender.location or (None, None)
    if sender.standing and not deleted:
        signed = f"The visit: {sender.standing}."
        told = told | {"remark": " ".join(filter(None, (told.get("remark"), signed)))}
    record = {
        "resourceType": kind,
        "meta": known(meta),
        "location": {"scheme": scheme, "id": number} if sender.location else None,
        "id": identity,
        "animal": animal_identifier(exam, sender),
        "eventDateTime": event_time(exam, sender),
        "responsible": sender.responsible,
    }
    return known(record | told)


def known(record: Mapping[str, object]) -> Json:
    """Without what is unknown: no null is ever written."""
    return {name: value for name, value in record.items() if value is not None}
