"""``hornsweep correct``: the recorder's corrections, in the console; also while ``listen`` runs."""

from __future__ import annotations

import getpass
import sys
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from dictation.audio.playback import play
from dictation.console.desk import LINES, Desk
from dictation.console.desk_view import desk_view
from dictation.console.safe import safe
from dictation.console.terminal import colour, sentence, width
from dictation.decide.record import Record
from dictation.errors import BadInputError, MissingError, WrongUseError
from dictation.intake.forget import forget_talk_in_time
from dictation.intake.upgrade import brought_up
from dictation.records.visit_files import write_visit_files
from dictation.visit.journal import AUDIO_FOLDER

if TYPE_CHECKING:
    from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

PROMPT = "put right> "
OFFERED = 8
"""Words offered at a time."""

Ask = Callable[[], str]
"""Gives the next line. Raises EOFError at the end."""


@click.command(epilog="Example: hornsweep correct visit-2026-11-18")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--who", help="Who corrects; your name on this machine if not given.")
def command(folder: Path, who: str | None) -> None:
    """Settle what is asked, and put right what was heard.

    What is asked comes first. A digit takes one of its answers; or type what is right, as it is
    spoken or in short: 'l ov cl 22' is left ovary, corpus luteum, 22 mm. Type /help for the rest.
    """
    brought_up(folder, sentence)
    forget_talk_in_time(folder, sentence)
    with Record.amend(folder, partial(write_visit_files, folder)) as record:
        for line in record.journal.damage():
            sentence(line)
        desk = Desk(record, who or _user(), lambda name: play(folder / AUDIO_FOLDER / name))
        if sys.stdin.isatty() and sys.stdout.isatty():
            work(desk, _asking(desk))
        else:
            work(desk, input)


def work(desk: Desk, ask: Ask) -> None:
    """Show a matter, take a line, until the person leaves."""
    while not desk.left:
        desk.refresh()
        click.echo(desk_view(desk, width(), colour()), nl=False)
        try:
            told = desk.take(ask())
        except EOFError:
            return
        except (WrongUseError, MissingError, BadInputError) as error:
            sentence(str(error))
            continue
        for line in told.splitlines():
            click.echo(safe(line))


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "recorder"


def _asking(desk: Desk) -> Ask:
    """Lines from a person at a terminal, with completion from the grammar and one-key answers."""
    from prompt_toolkit import PromptSession
    from prompt_toolkit.completion import CompleteEvent, Completer, Completion
    from prompt_toolkit.document import Document

    from grammar import completions

    class Next(Completer):
        """Orders behind a stroke, otherwise the next word of the grammar."""

        def get_completions(
            self, document: Document, complete_event: CompleteEvent
        ) -> Iterable[Completion]:
            text = document.text_before_cursor
            phrase = text.removeprefix("/insert ").removeprefix("/phrase ")
            if phrase.startswith("/"):
                for line in LINES:
                    name = f"/{line.name}"
                    if name.startswith(text):
                        yield Completion(name, -len(text), display_meta=line.help)
                return
            typed = "" if not phrase or phrase.endswith(" ") else phrase.rsplit(" ", 1)[-1]
            for word in completions(phrase)[:OFFERED]:
                yield Completion(word, -len(typed))

    session: PromptSession[str] = PromptSession(
        PROMPT,
        completer=Next(),
        complete_while_typing=True,
        complete_in_thread=True,
        key_bindings=_keys(desk),
    )
    return session.prompt


def _keys(desk: Desk) -> KeyBindings:
    """A digit on an empty line answers at once; Control-R plays, Control-Z takes back."""
    from prompt_toolkit.application import get_app
    from prompt_toolkit.filters import Condition
    from prompt_toolkit.key_binding import KeyBindings

    keys = KeyBindings()
    answering = Condition(lambda: not get_app().current_buffer.text and desk.asks)

    def line(event: KeyPressEvent, typed: str) -> None:
        event.app.current_buffer.reset()
        event.app.exit(result=typed)

    def answer(digit: str) -> Callable[[KeyPressEvent], None]:
        return lambda event: line(event, digit)

    for digit in "0123456789":
        keys.add(digit, filter=answering)(answer(digit))
    keys.add("c-r")(lambda event: line(event, "/play"))
    keys.add("c-z")(lambda event: line(event, "/undo"))
    return keys
