"""The wall page: a visit while it is spoken, to be read from two metres and touched."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import asdict
from typing import Protocol

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from dictation.records.glance import glance
from dictation.records.one_line import one_line
from dictation.review.access import Browser, Gate
from dictation.review.app import Form, Page, beside, guarded
from dictation.review.book import Kept, rendered
from dictation.visit.state import Visit
from grammar.findings import SweepStructure

LOOK_EVERY_S = 0.05
"""How often a wall looks whether there is anything new: it is there within a tenth of a second."""

BEAT_EVERY_S = 1.0
"""Without news, a word is sent this often, so that a wall knows at once that nobody is there."""

ENDED = "listening has ended"
NOT_HEARD = frozenset({"microphone lost", "not kept", ENDED})
"""States in which nothing that is said is kept."""


class Spoken(Kept, Protocol):
    """A visit that is being spoken."""

    @property
    def now(self) -> tuple[str, str, str]:
        """Whether what is said is taken up, the words under way, and the last notice."""


class WallPage(Page):
    """Answers of the wall page. ``order``: in which the stations are swept."""

    def __init__(self, spoken: Spoken, gate: Gate, order: tuple[SweepStructure, ...]) -> None:
        super().__init__(spoken, gate)
        self._spoken = spoken
        self._order = order

    def routes(self) -> list[Route]:
        """What is served where."""
        return [
            Route("/enter", self.enter),
            Route("/", self.whole),
            Route("/events", self.events),
            Route("/act", self.act, methods=["POST"]),
            Route("/{name}", self.file),
        ]

    async def whole(self, request: Request) -> Response:
        """The page; what it shows comes as the first event."""
        browser: Browser = request.scope["browser"]
        return HTMLResponse(rendered("wall.html", csrf=browser.csrf))

    async def events(self, request: Request) -> Response:
        """Server-sent events for a wall that follows."""
        return StreamingResponse(self._news(), media_type="text/event-stream")

    async def _done(self, form: Form, who: str) -> Response:
        """In a thread: the phrase that is being heard comes first, and others go on looking."""
        return await beside(lambda: self._put_right(form, who))

    def _taken(self, told: str, based_on: int) -> Response:
        return JSONResponse({"told": one_line(told)})

    async def _news(self) -> AsyncIterator[str]:
        shown: tuple[Visit, tuple[str, str, str]] | None = None
        quiet_s = 0.0
        while True:
            visit, now = self._spoken.visit, self._spoken.now
            # Each entry makes another visit, too large to be compared by what is in it.
            if shown is None or shown[0] is not visit or shown[1] != now:
                shown, quiet_s = (visit, now), 0.0
                yield f"data: {self._shown(visit, *now)}\n\n"
                if now[0] == ENDED:
                    return
            elif quiet_s >= BEAT_EVERY_S:
                quiet_s = 0.0
                yield "event: beat\ndata:\n\n"
            await asyncio.sleep(LOOK_EVERY_S)
            quiet_s += LOOK_EVERY_S

    def _shown(self, visit: Visit, state: str, words: str, told: str) -> str:
        """What a wall draws, as one line of JSON; words from outside are visible characters."""
        seen = glance(visit, self._spoken.flags, self._order)
        asked = seen.question
        question = asked and {
            "id": asked.id,
            "words": asked.question,
            "answers": _apart([each.words for each in asked.alternatives]),
        }
        shown = {
            **asdict(seen),
            "question": question,
            "seq": visit.last_seq,
            "animals": len(visit.exams),
            "state": state,
            "heard": state not in NOT_HEARD,
            "saying": words,
            "told": told,
        }
        return one_line(json.dumps(shown, ensure_ascii=False))


def _apart(answers: list[str]) -> list[str]:
    """Answers from the word on in which they differ."""
    words = [each.split() for each in answers]
    places = enumerate(zip(*words, strict=False))
    first = next((place for place, each in places if len(set(each)) > 1), 0)
    return [" ".join(each[first:]) for each in words]


def wall(spoken: Spoken, gate: Gate, order: tuple[SweepStructure, ...]) -> Starlette:
    """The wall page of a visit. Only what passes ``gate`` is answered."""
    return guarded(WallPage(spoken, gate, order).routes(), gate)
