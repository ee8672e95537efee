"""Which visit a journal is, and when it was last changed: what an export needs to be repeated."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import NAMESPACE_URL, UUID, uuid5

from dictation.visit.journal_state import journal_state


@dataclass(frozen=True, slots=True)
class Origin:
    """A visit among all visits. ``opened_at``, ``changed_at``: UTC of its first and last entry.

    ``revision``: number of its last entry; it only ever grows.
    """

    opened_at: datetime
    changed_at: datetime
    revision: int

    def identifier(self, *parts: object) -> UUID:
        """The same for the same visit and parts, wherever and whenever it is asked for."""
        name = "/".join((self.opened_at.isoformat(), *(str(part) for part in parts)))
        return uuid5(NAMESPACE_URL, f"hornsweep:{name}")


def origin_of(folder: Path) -> Origin:
    """The origin of the visit in a folder. Raises BadInputError where there is none."""
    state = journal_state(folder)
    return Origin(_moment(state.opened_at), _moment(state.changed_at), state.last_seq)


def _moment(at: str) -> datetime:
    moment = datetime.fromisoformat(at)
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
