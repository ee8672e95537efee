"""The page's addresses, as a Starlette application behind its guard."""

from __future__ import annotations

import asyncio
import functools
import io
import re
import threading
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from pathlib import Path
from typing import TypeVar
from urllib.parse import parse_qsl

import segno
from starlette.applications import Starlette
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

from dictation.audio.keep import stop_at_damaged_sound
from dictation.decide.people.orders import About, Order, order
from dictation.decide.record import ChangedMeanwhileError, Record
from dictation.errors import BadInputError, HornsweepError, WrongUseError
from dictation.records.one_line import one_line
from dictation.review.access import COOKIE_FOR_S, Browser, Gate, Guard, same_csrf, whole_number
from dictation.review.book import PAGES, Book, Kept, entrance
from dictation.review.drawing import waveform
from dictation.visit.inputs import By, PhraseHeard
from dictation.visit.journal import Journal
from dictation.visit.state import Visit
from grammar import completions

KINDS = {
    "review.js": "text/javascript",
    "review.css": "text/css",
    "wall.js": "text/javascript",
    "wall.css": "text/css",
    "mark.svg": "image/svg+xml",
}
"""Files that the page loads, and what they are."""

OFFERED = 8
"""Words offered at a time."""

LONGEST_NAME = 60
LONGEST_TEXT = 400
"""Characters of a phrase or reason; no breath is longer."""

MOST_FIELDS = 20

_AUDIO_NAME = re.compile(r"[0-9]{4,9}(-[0-9]{1,4})?\.flac")
KEPT = {"cache-control": "private, max-age=86400, immutable"}


TYPED = frozenset({"phrase", "value", "insert", "move", "merge", "tag", "add"})
"""Orders for which something must have been typed."""

Form = Mapping[str, str]

Result = TypeVar("Result")

_COMPLETING = threading.Lock()


def offered(prefix: str) -> list[str]:
    """Words that may come next. One call at a time: the first builds the grammar, for all."""
    with _COMPLETING:
        return list(completions(prefix)[:OFFERED])


async def beside(work: Callable[[], Result]) -> Result:
    """What work comes to, in a thread that nobody waits for when the page is stopped."""
    done: Future[Result] = Future()
    done.set_running_or_notify_cancel()

    def run() -> None:
        try:
            done.set_result(work())
        except Exception as error:
            done.set_exception(error)

    threading.Thread(target=run, daemon=True).start()
    return await asyncio.wrap_future(done)


class Page:
    """Answers of the page for one visit."""

    def __init__(self, record: Kept, gate: Gate, journal: Journal | None = None) -> None:
        self._record = record
        self._journal = journal
        self._gate = gate
        self._waves: dict[Path, bytes] = {}
        self._words: dict[int, list[tuple[float, float]]] = {}

    @functools.cached_property
    def book(self) -> Book:
        """Its sheets."""
        return Book(self._record)

    def routes(self) -> list[Route]:
        """What is served where."""
        return [
            Route("/enter", self.enter),
            Route("/", self.whole),
            Route("/changes", self.changes),
            Route("/events", self.events),
            Route("/wave/{phrase}.svg", self.wave),
            Route("/sound/{phrase}.flac", self.sound),
            Route("/words/{phrase}", self.words),
            Route("/completions", self.completions),
            Route("/reading", self.reading),
            Route("/next.svg", self.next_door),
            Route("/act", self.act, methods=["POST"]),
            Route("/{name}", self.file),
        ]

    async def enter(self, request: Request) -> Response:
        """Who gave the token gets a cookie; then a hop of our own, so that the cookie is sent."""
        response = HTMLResponse(entrance())
        if self._gate.browser(request.headers.get("cookie", "")) is not None:
            return response
        response.set_cookie(
            self._gate.cookie,
            self._gate.admit(),
            max_age=COOKIE_FOR_S,
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
        return HTMLResponse(self.book.page(browser, self._gate))

    async def changes(self, request: Request) -> Response:
        """What changed since the page was drawn."""
        since = whole_number(request.query_params.get("since", ""))
        if since is None:
            return PlainTextResponse("Since which entry? Load the page again.\n", 400)
        self.book.look()
        return JSONResponse(self.book.changes(since))

    async def events(self, request: Request) -> Response:
        """Server-sent events for a page that follows."""
        return StreamingResponse(self.book.news(), media_type="text/event-stream")

    async def wave(self, request: Request) -> Response:
        """The wave form of a phrase."""
        path = self._audio(request)
        if path is not None and path not in self._waves:
            try:
                self._waves[path] = waveform(path)
            except BadInputError:
                path = None
        if path is None:
            return PlainTextResponse("There is no sound of it.\n", 404)
        return Response(self._waves[path], media_type="image/svg+xml", headers=KEPT)

    async def sound(self, request: Request) -> Response:
        """The sound of a phrase."""
        path = self._audio(request)
        if path is None:
            return PlainTextResponse("There is no sound of it.\n", 404)
        phrase = self._record.visit.phrase(whole_number(request.path_params["phrase"]))
        try:
            stop_at_damaged_sound(path, None if phrase is None else phrase.audio_digest)
        except BadInputError as error:
            return PlainTextResponse(f"{error}\n", 410)
        return FileResponse(path, media_type="audio/flac", headers=KEPT)

    async def completions(self, request: Request) -> Response:
        """Words that may come next in what is typed."""
        prefix = request.query_params.get("prefix", "")[:LONGEST_TEXT]
        return JSONResponse(await beside(lambda: offered(prefix)))

    async def reading(self, request: Request) -> Response:
        """What would become of what is typed, before it is sent."""
        try:
            asked_for = _ordered(self._record.visit, request.query_params)
        except HornsweepError as error:
            return JSONResponse({"read": False, "words": one_line(str(error))})
        return JSONResponse({"read": True, "words": one_line(asked_for.asks or asked_for.told)})

    async def words(self, request: Request) -> Response:
        """The words of a phrase with their times in its sound, as they were heard."""
        number = whole_number(request.path_params["phrase"]) or 0
        if number not in self._words and self._journal is not None:
            for _, heard in self._journal.evidence(PhraseHeard):
                if isinstance(heard, PhraseHeard):
                    best = heard.hypotheses[0].words if heard.hypotheses else ()
                    self._words[heard.phrase] = [(word.at_s, word.until_s) for word in best]
        return JSONResponse(self._words.get(number, []))

    async def next_door(self, request: Request) -> Response:
        """The address that lets the next telephone in, as a QR code."""
        if not self._gate.shared:
            return PlainTextResponse("No telephone can come in here: start with --host.\n", 404)
        picture = io.BytesIO()
        code = segno.make_qr(self._gate.address, error="l")
        code.save(picture, kind="svg", scale=6, light="#fff")
        return Response(picture.getvalue(), media_type="image/svg+xml")

    async def act(self, request: Request) -> Response:
        """Something that is to be corrected, answered or approved."""
        browser = _browser(request)
        body = (await request.body()).decode("utf-8", "replace")
        try:
            form = dict(parse_qsl(body, max_num_fields=MOST_FIELDS))
        except ValueError:
            return _told(422, "That has more fields than any form of this page: load it again.")
        if not same_csrf(browser, form.get("csrf", "")):
            return _told(403, "This form is not from this page: load it again.")
        browser.who = _line(form, "who")[:LONGEST_NAME] or browser.who
        if not browser.who:
            return _told(422, "Say who you are first, at the top of the page.")
        return await self._done(form, one_line(browser.who))

    async def _done(self, form: Form, who: str) -> Response:
        return self._put_right(form, who)

    def _taken(self, told: str, based_on: int) -> Response:
        """What changed is in the answer."""
        self.book.draw()
        return JSONResponse({"told": one_line(told), "changes": self.book.changes(based_on)})

    def _put_right(self, form: Form, who: str) -> Response:
        """Do it, unless a person is to be asked first; what changed is in the answer."""
        based_on, choice = (whole_number(form.get(name, "")) for name in ("based_on", "choice"))
        if based_on is None:
            return _told(422, "The page did not say what it shows: load it again.")
        try:
            self._record.catch_up()
            asked_for = _ordered(self._record.visit, form)
            if asked_for.asks and choice is None:
                offered = [one_line(each.does) for each in asked_for.choices]
                return JSONResponse({"asks": one_line(asked_for.asks), "choices": offered})
            asked_for = asked_for.chosen(choice or 1)
            why = _line(form, "why")[:LONGEST_TEXT]
            self._record.put_right(asked_for.deed, By(who, why, based_on))
        except ChangedMeanwhileError as error:
            return _told(409, str(error))
        except HornsweepError as error:
            return _told(422, str(error))
        return self._taken(asked_for.told, based_on)

    async def file(self, request: Request) -> Response:
        """Script, style and mark."""
        name = request.path_params["name"]
        if name not in KINDS:
            return PlainTextResponse("There is nothing here.\n", 404)
        return Response(_file(name), media_type=KINDS[name])

    def _audio(self, request: Request) -> Path | None:
        phrase = self._record.visit.phrase(whole_number(request.path_params["phrase"]))
        if self._journal is None or phrase is None or phrase.audio is None:
            return None
        if not _AUDIO_NAME.fullmatch(phrase.audio):
            return None
        path = self._journal.audio / phrase.audio
        return path if path.is_file() and not path.is_symlink() else None


def application(record: Record, gate: Gate) -> Starlette:
    """The page of one visit. Only what passes ``gate`` is answered."""
    return guarded(Page(record, gate, record.journal).routes(), gate)


def guarded(routes: list[Route], gate: Gate) -> Starlette:
    """Pages behind their guard; what cannot be read or written meanwhile is told in a sentence."""
    return Starlette(
        routes=routes,
        middleware=[Middleware(Guard, gate=gate)],
        exception_handlers={HornsweepError: _failed},
    )


async def _failed(request: Request, error: Exception) -> Response:
    return PlainTextResponse(f"{one_line(str(error))}\n", 503)


def _ordered(visit: Visit, form: Form) -> Order:
    """What a form asks for: everything in it is checked, nothing trusted. Raises WrongUseError."""
    name, text = form.get("action", ""), _line(form, "text")
    if name in TYPED and not text:
        raise WrongUseError("Nothing was typed.")
    if len(text) > LONGEST_TEXT:
        raise WrongUseError(f"That is longer than {LONGEST_TEXT} characters: type it in parts.")
    exam, phrase, finding, entry = (
        _number(form, n) for n in ("exam", "phrase", "finding", "entry")
    )
    return order(visit, name, About(exam, phrase, form.get("query"), finding, entry), text)


def _line(form: Form, name: str) -> str:
    return " ".join(form.get(name, "").split())


def _number(form: Form, name: str) -> int | None:
    text = form.get(name, "")
    number = whole_number(text)
    if text and number is None:
        raise WrongUseError(f"The page did not say which {name}: load it again.")
    return number


def _browser(request: Request) -> Browser:
    browser: Browser = request.scope["browser"]
    return browser


def _told(status: int, sentence: str) -> Response:
    return JSONResponse({"told": one_line(sentence)}, status)


@functools.cache
def _file(name: str) -> bytes:
    return PAGES.joinpath(name).read_bytes()
