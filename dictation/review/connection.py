"""A connection that is ended where its request does not come whole in time."""

from __future__ import annotations

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

WHOLE_WITHIN_S = 10.0
"""From the first byte, or the connecting, to the end of the request."""


class WholeInTime(H11Protocol):
    """HTTP in which nobody holds a line by saying half of something."""

    _ending: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Somebody is there; a request is to come."""
        super().connection_made(transport)
        self._expect()

    def data_received(self, data: bytes) -> None:
        """Part of a request, or all of it."""
        super().data_received(data)
        self._expect()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is to come any more."""
        if self._ending is not None:
            self._ending.cancel()
        super().connection_lost(exc)

    def _expect(self) -> None:
        incomplete = self.conn.their_state in (h11.IDLE, h11.SEND_BODY)
        if incomplete and self._ending is None:
            self._ending = self.loop.call_later(WHOLE_WITHIN_S, self.transport.abort)
        elif not incomplete and self._ending is not None:
            self._ending.cancel()
            self._ending = None
