"""What faces the person while listening: the screen with its keys, or JSON Lines."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime

import click
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import KeyPress
from rich.console import Console, Group, RenderableType
from rich.live import Live as LiveDisplay
from rich.text import Text

from dictation.audio.ear import Ear
from dictation.audio.microphone import Microphone
from dictation.console.keys import Keyboard, NoKeys, terminal_keys
from dictation.console.live import Live, live_screen
from dictation.console.live import Microphone as ShownMicrophone
from dictation.live.events import Event, Message, Partly, record_of
from dictation.live.keys import Wish, obey
from dictation.live.listening import Listening
from grammar.findings import SweepStructure

DRAWN_A_SECOND = 8
"""Often enough for words while speaking; each drawing takes a few milliseconds."""

ESCAPE_FLUSH_S = 0.1
"""A lone Esc is told from the beginning of an arrow key by nothing following it for so long."""


class JsonLines:
    """One event a line on standard output."""

    def __init__(self) -> None:
        self.done = False

    def show(self, happened: Sequence[Event]) -> None:
        """Write them, each at once."""
        for event in happened:
            click.echo(json.dumps(record_of(event), ensure_ascii=False))

    def act(self, desk: Listening) -> tuple[Event, ...]:
        """There are no keys."""
        return ()

    @contextmanager
    def drawn(self, desk: Listening, ear: Ear, microphone: Microphone) -> Iterator[None]:
        """Say that listening has begun, and on what."""
        name = microphone.device.name
        self.show((Message(f"Listening to '{name}'.", "listening", (ear.at_s, None)),))
        yield


class Screen:
    """The live screen, drawn several times a second, and the recorder's keys.

    ``way_in``: to the wall page, where one is served.
    """

    def __init__(self, order: tuple[SweepStructure, ...]) -> None:
        self.done = False
        self.way_in: Callable[[], RenderableType] = lambda: Text("Start with --wall for its page.")
        self._order = order
        self._keyboard = Keyboard()
        self._source: Input | NoKeys = NoKeys()
        self._console = Console()
        self._last_key = 0.0
        self._display: LiveDisplay | None = None

    def show(self, happened: Sequence[Event]) -> None:
        """The screen shows the visit itself; what is new there is drawn at once."""
        if self._display is not None and not all(isinstance(event, Partly) for event in happened):
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

    def act(self, desk: Listening) -> tuple[Event, ...]:
        """Do what the keys ask for."""
        happened: list[Event] = []
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
            desk.trouble,
            self._keyboard.view == "d",
        )
        session = desk.session
        size = self._console.size
        if self._keyboard.view == "w":
            return Group(self.way_in(), Text("w closes this; listening goes on."))
        return live_screen(session.visit, session.flags, live, size.width, size.height)
