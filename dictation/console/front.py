"""What faces the person while listening: the screen with its keys, or JSON Lines."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from typing import Protocol

import click
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import KeyPress
from rich.console import Console, RenderableType
from rich.live import Live as LiveDisplay

from dictation.audio.ear import Ear
from dictation.audio.microphone import Microphone
from dictation.console.keys import Keyboard, NoKeys, Pressed, Wish, terminal_keys
from dictation.console.live import Live, live_screen
from dictation.console.live import Microphone as ShownMicrophone
from dictation.session.events import Choice, QueryAnswered
from dictation.session.happenings import Happening
from dictation.session.listening import Listening
from grammar.findings import SweepStructure

DRAWN_A_SECOND = 8
"""Often enough for words while speaking; each drawing takes a few milliseconds."""

ESCAPE_FLUSH_S = 0.1
"""A lone Esc is told from the beginning of an arrow key by nothing following it for so long."""

RECORDER = "recorder"


class Front(Protocol):
    """What faces the person. ``done``: they want to stop."""

    done: bool

    def show(self, happened: Sequence[Happening]) -> None:
        """Show what happened."""
        ...

    def act(self, desk: Listening) -> tuple[Happening, ...]:
        """Do what was asked for by key since the last time."""
        ...

    def drawn(
        self, desk: Listening, ear: Ear, microphone: Microphone
    ) -> AbstractContextManager[None]:
        """While this holds, the front is there."""
        ...


class JsonLines:
    """One event a line on standard output."""

    def __init__(self) -> None:
        self.done = False

    def show(self, happened: Sequence[Happening]) -> None:
        """Write them, each at once."""
        for happening in happened:
            click.echo(json.dumps(happening.record(), ensure_ascii=False))

    def act(self, desk: Listening) -> tuple[Happening, ...]:
        """There are no keys."""
        return ()

    @contextmanager
    def drawn(self, desk: Listening, ear: Ear, microphone: Microphone) -> Iterator[None]:
        """Say that listening has begun, and on what."""
        name = microphone.device.name
        told = Happening("microphone", f"Listening to '{name}'.", ear.at_s)
        told.more["state"] = "listening"
        self.show((told,))
        yield


class Screen:
    """The live screen, drawn several times a second, and the recorder's keys."""

    def __init__(self, order: tuple[SweepStructure, ...]) -> None:
        self.done = False
        self._order = order
        self._keyboard = Keyboard()
        self._source: Input | NoKeys = NoKeys()
        self._console = Console()
        self._last_key = 0.0
        self._display: LiveDisplay | None = None

    def show(self, happened: Sequence[Happening]) -> None:
        """The screen shows the visit itself; what is new there is drawn at once."""
        if self._display is not None and any(h.kind != "partial" for h in happened):
            self._display.refresh()

    @contextmanager
    def drawn(self, desk: Listening, ear: Ear, microphone: Microphone) -> Iterator[None]:
        """The whole terminal is the screen until the end."""

        def draw() -> RenderableType:
            return self._parts(desk, ear, microphone)

        with (
            terminal_keys() as self._source,
            LiveDisplay(
                get_renderable=draw,
                console=self._console,
                screen=self._console.is_terminal,
                refresh_per_second=DRAWN_A_SECOND,
                redirect_stderr=False,
                redirect_stdout=False,
            ) as display,
        ):
            self._display = display
            try:
                yield
            finally:
                self._display = None

    def act(self, desk: Listening) -> tuple[Happening, ...]:
        """Do what the keys ask for."""
        happened: list[Happening] = []
        for key in self._keys():
            pressed = self._keyboard.press(key)
            if pressed is not None and pressed.wish is Wish.QUIT:
                self.done = True
            elif pressed is not None:
                happened += obey(desk, pressed)
        return tuple(happened)

    def _keys(self) -> Sequence[KeyPress]:
        keys = self._source.read_keys()
        if keys:
            self._last_key = time.monotonic()
        elif time.monotonic() - self._last_key > ESCAPE_FLUSH_S:
            keys = self._source.flush_keys()
        return keys

    def _parts(self, desk: Listening, ear: Ear, microphone: Microphone) -> RenderableType:
        level = ear.meter.level
        shown = ShownMicrophone(
            microphone.device.name,
            level.rms_dbfs,
            str(level.verdict),
            microphone.lost,
            microphone.overruns,
        )
        live = Live(
            shown,
            datetime.now().strftime("%H:%M:%S"),
            self._order,
            desk.now.words,
            desk.now.told,
            self._keyboard.typing,
            desk.now.behind,
        )
        session = desk.session
        size = self._console.size
        return live_screen(session.visit, session.flags, live, size.width, size.height)


def obey(desk: Listening, pressed: Pressed) -> tuple[Happening, ...]:
    """What a key does: to the question that is open, or as if its words had been said."""
    match pressed.wish:
        case Wish.ACCEPT | Wish.TAKE | Wish.NONE:
            return _answer(desk, pressed)
        case Wish.UNDO:
            return desk.typed("scratch that")
        case Wish.NEXT:
            return desk.typed("next animal")
        case Wish.PAUSE:
            return desk.typed("resume" if desk.session.visit.paused else "pause")
        case Wish.TYPED:
            return _retyped(desk, pressed.text)
        case _:
            return ()


def _answer(desk: Listening, pressed: Pressed) -> tuple[Happening, ...]:
    query = desk.session.visit.asked
    if query is None:
        return ()
    if pressed.wish is Wish.NONE:
        return desk.take(QueryAnswered(query.id, Choice.NONE_OF_THEM, who=RECORDER))
    if pressed.wish is Wish.ACCEPT and not query.alternatives:
        return desk.take(QueryAnswered(query.id, Choice.SETTLED, who=RECORDER))
    number = 1 if pressed.wish is Wish.ACCEPT else pressed.number
    if number > len(query.alternatives):
        return ()
    return desk.take(QueryAnswered(query.id, Choice.TAKE, number, RECORDER))


def _retyped(desk: Listening, text: str) -> tuple[Happening, ...]:
    """A typed phrase stands in the place of one that was not understood."""
    visit = desk.session.visit
    query = visit.asked
    settled: tuple[Happening, ...] = ()
    if query is not None and visit.utterances and query.utterance == visit.utterances[-1].number:
        settled = desk.take(QueryAnswered(query.id, Choice.NONE_OF_THEM, who=RECORDER))
    return (*settled, *desk.typed(text))
