"""What time it is, as something that can be passed in."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """Tells the time of day."""

    def now(self) -> datetime:
        """The present moment in UTC."""
        ...


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The present moment in UTC."""
        return datetime.now(UTC)
