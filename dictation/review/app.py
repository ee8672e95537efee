"""The page's addresses, as a Starlette application behind its guard."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from pathlib import Path
from urllib.parse import parse_qsl

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    Response,
    StreamingResponse,
)
from starlette.routing import Route

from dictation.errors import BadInputError, HornsweepError, WrongUseError
from dictation.records.one_line import one_line
from dictation.review.access import Browser, Gate, Guard, client_of, same_csrf
from dictation.review.actions import correction
from dictation.review.book import PAGES, Book, entrance
from dictation.review.waveform import waveform
from dictation.session.corrections import ChangedMeanwhileError, Corrections
from dictation.session.journal import AUDIO_FOLDER
from dictation.session.typed_phrase import findings_typed
from grammar import completions
from grammar.wording import written

KINDS = {"review.js": "text/javascript", "review.css": "text/css", "mark.svg": "image/svg+xml"}
"""Files that the page loads, and what they are."""

OFFERED = 8
"""Words offered at a time."""

LONGEST_NAME = 60
LONGEST_PREFIX = 400

_AUDIO_NAME = re.compile(r"[0-9]{4,9}(-[0-9]{1,4})?\.flac")
KEPT = {"cache-control": "private, max-age=86400, immutable"}
NOT_KEPT = {"cache-control": "no-store"}


class Page:
    """Answers of the page for one visit."""

    def __init__(self, corrections: Corrections, gate: Gate) -> None:
        self.book = Book(corrections)
        self._corrections = corrections
        self._gate = gate
        self._waves: dict[int, bytes] = {}

    def routes(self) -> list[Route]:
        """What is served where."""
        return [
            Route("/enter", self.enter),
            Route("/", self.whole),
            Route("/changes", self.changes),
            Route("/events", self.events),
            Route("/wave/{utterance:int}.svg", self.wave),
            Route("/sound/{utterance:int}.flac", self.sound),
            Route("/completions", self.completions),
            Route("/reading", self.reading),
            Route("/act", self.act, methods=["POST"]),
            Route("/{name}", self.file),
        ]

    async def enter(self, request: Request) -> Response:
        """Exchange the token for a cookie; then a hop of our own, so that the cookie is sent."""
        client = client_of(request.scope)
        if not self._gate.right(request.query_params.get("token", ""), client):
            return await self._gate.wrong(client)
        response = HTMLResponse(entrance(), headers=NOT_KEPT)
        if self._gate.browser(request.headers.get("cookie", "")) is not None:
            return response
        response.set_cookie(
            self._gate.cookie,
            self._gate.admit(),
            httponly=True,
            samesite="strict",
            secure=self._gate.secure,
            path="/",
        )
        return response

    async def whole(self, request: Request) -> Response:
        """The page."""
        self.book.look()
        browser = _browser(request)
        return HTMLResponse(self.book.page(browser.csrf, browser.who), headers=NOT_KEPT)

    async def changes(self, request: Request) -> Response:
        """What changed since the page was drawn."""
        since = request.query_params.get("since", "")
        if not since.isdigit() or len(since) > 12:
            return PlainTextResponse("Which event?\n", 400, NOT_KEPT)
        self.book.look()
        return JSONResponse(self.book.changes(int(since)), headers=NOT_KEPT)

    async def events(self, request: Request) -> Response:
        """Server-sent events for a page that follows."""
        return StreamingResponse(self.book.news(), media_type="text/event-stream", headers=NOT_KEPT)

    async def wave(self, request: Request) -> Response:
        """The wave form of an utterance."""
        number = request.path_params["utterance"]
        if number not in self._waves:
            path = self._audio(number)
            try:
                self._waves[number] = waveform(path) if path is not None else b""
            except BadInputError:
                self._waves[number] = b""
        picture = self._waves[number]
        if not picture:
            return PlainTextResponse("There is no sound of it.\n", 404, NOT_KEPT)
        return Response(picture, media_type="image/svg+xml", headers=KEPT)

    async def sound(self, request: Request) -> Response:
        """The sound of an utterance."""
        path = self._audio(request.path_params["utterance"])
        if path is None:
            return PlainTextResponse("There is no sound of it.\n", 404, NOT_KEPT)
        return FileResponse(path, media_type="audio/flac", headers=KEPT)

    async def completions(self, request: Request) -> Response:
        """Words that may come next in what is typed."""
        prefix = request.query_params.get("prefix", "")[:LONGEST_PREFIX]
        offered = await run_in_threadpool(completions, prefix)
        return JSONResponse(list(offered[:OFFERED]), headers=NOT_KEPT)

    async def reading(self, request: Request) -> Response:
        """How what is typed is read, before it is sent."""
        text = request.query_params.get("text", "")[:LONGEST_PREFIX]
        try:
            said = findings_typed(text, self._corrections.visit.on_date)
        except WrongUseError as error:
            return JSONResponse({"read": False, "words": one_line(str(error))}, headers=NOT_KEPT)
        words = "; ".join(written(s.what) for s in said)  # type: ignore[arg-type]
        return JSONResponse({"read": True, "words": one_line(words)}, headers=NOT_KEPT)

    async def act(self, request: Request) -> Response:
        """A correction."""
        browser = _browser(request)
        form = dict(parse_qsl((await request.body()).decode("utf-8", "replace"), max_num_fields=20))
        if not same_csrf(browser, form.get("csrf", "")):
            return _told(403, "This form is not from this page: load it again.")
        browser.who = " ".join(form.get("who", "").split())[:LONGEST_NAME] or browser.who
        if not browser.who:
            return _told(422, "Say who you are first, at the top of the page.")
        based_on = form.get("based_on", "")
        if not based_on.isdigit() or len(based_on) > 12:
            return _told(422, "The page did not say what it shows: load it again.")
        try:
            seen = self._corrections.seen_at(int(based_on))
            event = correction(seen, form, one_line(browser.who))
            self._corrections.put(event, int(based_on))
        except ChangedMeanwhileError as error:
            self.book.draw()
            return _told(409, str(error))
        except HornsweepError as error:
            return _told(422, str(error))
        self.book.draw()
        return _told(200, "Done.")

    async def file(self, request: Request) -> Response:
        """Script, style and mark."""
        name = request.path_params["name"]
        if name not in KINDS:
            return PlainTextResponse("There is nothing here.\n", 404, NOT_KEPT)
        return Response(_file(name), media_type=KINDS[name], headers=NOT_KEPT)

    def _audio(self, number: int) -> Path | None:
        utterance = self._corrections.visit.utterance(number)
        name = None if utterance is None else utterance.audio
        if name is None or _AUDIO_NAME.fullmatch(name) is None:
            return None
        path = self._corrections.folder / AUDIO_FOLDER / name
        return path if path.is_file() and not path.is_symlink() else None


def application(corrections: Corrections, gate: Gate) -> Starlette:
    """The page of one visit. Only what passes ``gate`` is answered."""
    page = Page(corrections, gate)
    guard = Middleware(_guard(gate))
    return Starlette(routes=page.routes(), middleware=[guard])


def _guard(gate: Gate) -> Callable[..., Guard]:
    return functools.partial(Guard, gate=gate)


def _browser(request: Request) -> Browser:
    browser: Browser = request.scope["browser"]
    return browser


def _told(status: int, sentence: str) -> Response:
    return JSONResponse({"told": one_line(sentence)}, status, NOT_KEPT)


@functools.cache
def _file(name: str) -> bytes:
    return PAGES.joinpath(name).read_bytes()
