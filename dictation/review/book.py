"""The pages of a visit, drawn anew only where something changed, and who waits for news of it."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import AsyncIterator
from dataclasses import dataclass
from importlib import resources
from typing import Protocol

from jinja2 import Environment, FunctionLoader, select_autoescape

from dictation.decide.record import Flags
from dictation.records.one_line import one_line
from dictation.review.access import Browser, Gate
from dictation.review.lines import ExamSheet, Heading
from dictation.review.sheet import heading, sheets
from dictation.visit.inputs import By, Deed
from dictation.visit.state import Visit
from grammar.wording import differing, spaced

LOOK_EVERY_S = 0.4
"""How often the journal is asked for news while somebody looks. Longer: speech shows later."""

STILL_THERE_S = 15.0
"""Without news, a word is sent this often so that a dead line is noticed."""

PAGES = resources.files("dictation.review").joinpath("pages")


@dataclass(frozen=True, slots=True)
class Drawn:
    """An animal's sheet as HTML, and the entry at which it last changed."""

    sheet: ExamSheet
    html: str
    since: int


class Kept(Protocol):
    """A visit as it is kept: read, and put right, by whoever owns it."""

    @property
    def visit(self) -> Visit:
        """What it has come to."""

    @property
    def flags(self) -> Flags:
        """The flags of its exams."""

    def catch_up(self) -> object:
        """Take in what others have added."""

    def put_right(self, deed: Deed, by: By) -> object:
        """What a person does, as ``Record.put_right``."""


class Book:
    """All sheets of a visit as HTML."""

    def __init__(self, record: Kept) -> None:
        self.record = record
        self._pages = _environment()
        self._drawn: dict[int, Drawn] = {}
        self._heading: Heading | None = None
        self._visit: Visit | None = None
        self.draw()

    @property
    def seq(self) -> int:
        """Number of the last entry that the pages show."""
        return self.record.visit.last_seq

    def draw(self) -> None:
        """Bring the sheets up to the visit as it was last read."""
        visit, flags = self.record.visit, self.record.flags
        if visit is self._visit:
            return
        before, self._drawn = self._drawn, {}
        for sheet in sheets(visit, flags):
            drawn = before.get(sheet.number)
            if drawn is None or drawn.sheet != sheet:
                html = self._pages.get_template("exam.html").render(exam=sheet)
                drawn = Drawn(sheet, html, visit.last_seq)
            self._drawn[sheet.number] = drawn
        self._heading = heading(visit, flags)
        self._visit = visit

    def page(self, browser: Browser, gate: Gate) -> str:
        """The whole page, for a browser that was let in."""
        known = {"csrf": browser.csrf, "who": browser.who}
        return self._render("page.html", seq=self.seq, gate=gate, **known)

    def _render(self, name: str, **more: object) -> str:
        drawn = list(self._drawn.values())
        return self._pages.get_template(name).render(head=self._heading, drawn=drawn, **more)

    def changes(self, since: int) -> dict[str, object]:
        """What a page that shows the visit up to entry ``since`` must replace."""
        return {
            "seq": self.seq,
            "head": self._render("head.html"),
            "index": self._render("index.html"),
            "open": self._render("open.html"),
            "order": list(self._drawn),
            "exams": {n: d.html for n, d in self._drawn.items() if d.since > since},
        }

    def look(self) -> None:
        """Read what others have added."""
        self.record.catch_up()
        self.draw()

    async def news(self) -> AsyncIterator[str]:
        """Server-sent events: the number of the newest entry, whenever there is a newer one."""
        told, quiet_s = -1, 0.0
        while True:
            self.look()
            if self.seq != told:
                told, quiet_s = self.seq, 0.0
                yield f"data: {told}\n\n"
            elif quiet_s >= STILL_THERE_S:
                quiet_s = 0.0
                yield ": still there\n\n"
            await asyncio.sleep(LOOK_EVERY_S)
            quiet_s += LOOK_EVERY_S


def entrance() -> str:
    """The page that is shown for a moment once the token was given."""
    return rendered("enter.html")


def rendered(name: str, **fields: object) -> str:
    """A page that holds nothing of a visit."""
    return _environment().get_template(name).render(**fields)


def _environment() -> Environment:
    environment = Environment(
        loader=FunctionLoader(_source),
        autoescape=select_autoescape(default=True),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(line=one_line, spaced=spaced, differing=differing)
    # Pictures may be kept by the browser; another visit served at the same address has its own.
    environment.globals["edition"] = secrets.token_hex(4)
    return environment


def _source(name: str) -> str:
    return PAGES.joinpath(name).read_text(encoding="utf-8")
