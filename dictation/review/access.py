"""Who may see and act: the token, sessions, the Host and Origin headers, and what pages may do.

A token comes in the address, lets one browser in, once, and is exchanged for a cookie that scripts
cannot read and other sites do not send; the next browser needs the next token. A wrong one is
answered ever more slowly. Requests under a name that is not
ours are refused (a foreign name may be made to point here), and so is every change that another
site's page asks for.
"""

from __future__ import annotations

import asyncio
import hmac
import ipaddress
import secrets
from collections import defaultdict
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders, QueryParams
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE_NAME = "hornsweep"
LONGEST_BODY = 16_384
"""Bytes of a form; no correction is longer, and nothing can be uploaded."""

LONGEST_NUMBER = 12
"""Digits of a number in an address or a form."""

FIRST_WAIT_S, LONGEST_WAIT_S = 0.5, 8.0
"""A wrong token is answered after this long, doubled each time, up to the second."""

MOST_WAITING = 8
"""Wrong tokens answered slowly at a time; more are turned away at once."""

COOKIE_FOR_S = 24 * 3600
"""The cookie outlasts a visit: a reload, and a screen that was switched off, go on with it."""

MOST_SESSIONS = 64
"""Browsers known at a time; the oldest is forgotten, and needs the address again."""

HEADERS: dict[str, str] = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self';"
        " media-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none';"
        " frame-ancestors 'none'"
    ),
    "cache-control": "no-store",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}
"""Sent with every answer: the page may load only what comes from here, and nobody may frame it.

Nothing is kept but what says so itself."""

Sleep = Callable[[float], Awaitable[None]]


@dataclass(slots=True)
class Browser:
    """One browser that gave the token. ``csrf``: what its forms must carry; ``who``: its user."""

    csrf: str
    who: str


@dataclass(slots=True)
class Gate:
    """The token that lets the next browser in, and the browsers that gave one.

    ``names``: host names that are ours. ``origin``: under which the pages are given out;
    ``shared``: whether a telephone can come in; ``fingerprint``: SHA-256 of a certificate made for
    it.
    """

    token: str
    port: int
    names: frozenset[str]
    secure: bool = False
    who: str = ""
    origin: str = ""
    shared: bool = False
    fingerprint: str = ""
    sleep: Sleep = asyncio.sleep
    browsers: dict[str, Browser] = field(default_factory=dict)
    _wrong: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    _waiting: int = 0

    @property
    def address(self) -> str:
        """What lets the next browser in, once."""
        return f"{self.origin}/enter?token={self.token}"

    @property
    def cookie(self) -> str:
        """Its name carries the port: cookies do not tell ports apart."""
        return f"{COOKIE_NAME}-{self.port}"

    def ours(self, host: str) -> bool:
        """Whether a Host header names this page: one of our names or a bare address, and our port.

        An address cannot be made to point elsewhere, so it is safe whichever it is.
        """
        name, _, port = host.rpartition(":")
        if not name or port != str(self.port):
            return False
        if name.lower() in self.names:
            return True
        try:
            ipaddress.ip_address(name.removeprefix("[").removesuffix("]"))
        except ValueError:
            return False
        return True

    def admit(self) -> str:
        """Remember a browser that gave the token; what its cookie is to say."""
        known = secrets.token_urlsafe(32)
        if len(self.browsers) >= MOST_SESSIONS:
            del self.browsers[next(iter(self.browsers))]
        self.browsers[known] = Browser(secrets.token_urlsafe(32), self.who)
        return known

    def browser(self, cookies: str) -> Browser | None:
        """The browser of a Cookie header, if it is known."""
        try:
            morsel = SimpleCookie(cookies).get(self.cookie)
        except CookieError:
            return None
        return None if morsel is None else self.browsers.get(morsel.value)

    async def wrong(self, client: str) -> Response:
        """Answer a wrong token, the slower the more of them came."""
        if self._waiting >= MOST_WAITING:
            return _refusal(429, "Too many wrong tokens: wait a little.")
        self._wrong[client] += 1
        wait_s = min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** (self._wrong[client] - 1))
        self._waiting += 1
        try:
            await self.sleep(wait_s)
        finally:
            self._waiting -= 1
        return _refusal(
            403,
            "That address is not of this page, or somebody has used it: take the new one from"
            " where hornsweep runs.",
        )

    def take(self, token: str, client: str) -> bool:
        """Whether a token lets in, compared in the same time whatever it is; then it is spent."""
        same = hmac.compare_digest(token.encode(), self.token.encode())
        if same:
            self._wrong.pop(client, None)
            self.token = new_token()
        return same


class Guard:
    """Lets a request through to the page, or refuses it."""

    def __init__(self, app: ASGIApp, gate: Gate) -> None:
        self._app = app
        self._gate = gate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request; the browser it comes from is put into the scope."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = await self._refusal(scope)
        await (refusal or self._app)(scope, receive, sent)

    async def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if not self._gate.ours(headers.get("host", "")):
            return _refusal(421, "This page is not served under that name: use its address.")
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return _refusal(405, "This page is only read, or sent corrections.")
        browser = self._gate.browser(headers.get("cookie", ""))
        if scope["path"] == "/enter":
            return await self._refused_entry(scope, browser)
        if browser is None:
            if headers.get("cookie"):
                return await self._gate.wrong(client_of(scope))
            return _refusal(403, "This page needs its token: use the address as it was given.")
        scope["browser"] = browser
        return self._refused_change(headers) if scope["method"] == "POST" else None

    async def _refused_entry(self, scope: Scope, browser: Browser | None) -> Response | None:
        """Who is in already needs no token; a look at the head alone spends none."""
        client = client_of(scope)
        token = QueryParams(scope["query_string"]).get("token", "")
        if browser is not None or (scope["method"] == "GET" and self._gate.take(token, client)):
            return None
        return await self._gate.wrong(client)

    def _refused_change(self, headers: Headers) -> Response | None:
        scheme = "https" if self._gate.secure else "http"
        if headers.get("origin") != f"{scheme}://{headers['host']}":
            return _refusal(403, "Another page cannot change this visit.")
        kind = headers.get("content-type", "").split(";")[0].strip().lower()
        if kind != "application/x-www-form-urlencoded":
            return _refusal(415, "Only forms are taken; nothing can be uploaded.")
        length = whole_number(headers.get("content-length", ""))
        if length is None or length > LONGEST_BODY:
            return _refusal(413, "That is too long for a correction.")
        return None


def new_token() -> str:
    """What nobody guesses."""
    return secrets.token_urlsafe(24)


def whole_number(text: str) -> int | None:
    """The number that a browser sent; None for what is none, or longer than any that is meant."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= LONGEST_NUMBER else None


def same_csrf(browser: Browser, given: str) -> bool:
    """Whether a form carries what its browser was given."""
    return hmac.compare_digest(browser.csrf.encode(), given.encode())


def client_of(scope: Scope) -> str:
    """Address of the other end."""
    return str((scope.get("client") or ("?",))[0])


def _refusal(status: int, sentence: str) -> Response:
    return PlainTextResponse(sentence + "\n", status)
