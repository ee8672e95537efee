"""``hornsweep listen``: the microphone, live."""

from __future__ import annotations

import queue
import signal
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import click

from dictation.audio.devices import without_driver_talk
from dictation.audio.ear import Ear, EarEvent, Hints
from dictation.audio.microphone import Microphone
from dictation.audio.spool import Spool
from dictation.cli.console import bar, colour, sentence, width
from dictation.cli.live_front import Front, JsonLines, Screen
from dictation.cli.visits import folder_for, read_visit, session_in, values_of
from dictation.console.summary import summary
from dictation.reader.port import ReaderPort
from dictation.recognition.ahead import AheadRecogniser
from dictation.recognition.answers import AnsweringRecogniser
from dictation.recognition.engines import engine as load_engine
from dictation.recognition.glimpse import Glimpser, GlimpsingThread
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.protocol import Recogniser, Streaming
from dictation.session.after_a_crash import go_on_from_s, hear_the_rest
from dictation.session.answering_aloud import AnsweringAloud, Speak
from dictation.session.guide import ORDERS, Guide
from dictation.session.journal import BusyError
from dictation.session.listening import Listening
from dictation.session.reader_lines import take_read
from dictation.session.session import Session
from dictation.session.understanding import Understanding, answers_of
from grammar.constraint import constraint
from grammar.parse import parse

TURN_S = 0.03
"""How long the desk waits for the ear before it looks at the keys again."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """The options of ``listen``."""

    herd: Path | None
    out: Path | None
    engine: str
    device: str | None
    as_json: bool
    speak: Speak
    order: str
    for_s: float | None
    reader: str | None = None
    model: Path | None = None


@click.command(epilog="Example: hornsweep listen --herd herd.csv --out visit-larkmoor")
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list in CSV.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder of the visit.")
@click.option("--engine", default="guided", show_default=True, help="Recogniser.")
@click.option("--model", type=click.Path(path_type=Path), help="Folder of the engine's model.")
@click.option("--device", help="Part of the microphone's name; the system's own if not given.")
@click.option("--json", "as_json", is_flag=True, help="JSON Lines instead of the screen.")
@click.option(
    "--speak",
    type=click.Choice([s.value for s in Speak]),
    default="off",
    show_default=True,
    help="What is said aloud: nothing, values and questions, or all.",
)
@click.option(
    "--order",
    type=click.Choice(list(ORDERS)),
    default="left-first",
    show_default=True,
    help="Which side is swept first.",
)
@click.option("--reader", help="Serial port of a tag reader, such as /dev/ttyUSB0 or COM3@9600.")
@click.option("--for", "for_s", type=float, help="Stop by itself after so many seconds.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    herd: Path | None,
    out: Path | None,
    engine: str,
    model: Path | None,
    device: str | None,
    as_json: bool,
    speak: str,
    order: str,
    reader: str | None,
    for_s: float | None,
) -> int:
    """Listen to the microphone: what is said becomes checked exams while it is spoken.

    All sound is kept beside the journal. After a crash the same command goes on with the visit and
    hears the last words again from their sound. Keys: a accept, 1-3 take that alternative, 0 none
    of them, u undo, r type a phrase, n next animal, p pause, q quit.
    """
    return perform(
        Wanted(herd, out, engine, device, as_json, Speak(speak), order, for_s, reader, model)
    )


def perform(wanted: Wanted) -> int:
    """Listen until the recorder or the time ends it; the exit code."""
    folder = folder_for(wanted.out, date.today())
    with without_driver_talk():
        microphone = Microphone(wanted.device)
    for each in (signal.SIGINT, signal.SIGTERM):
        signal.signal(each, lambda number, frame: microphone.stop())
    try:
        _listen(wanted, folder, microphone)
    except BusyError as error:
        visit, flags = read_visit(folder)
        sentence(f"{error} Here it is only read.")
        click.echo(summary(visit, flags, width(), colour()), nl=False)
        return error.exit_code
    finally:
        microphone.stop()
    sentence(f"Written to {folder}: exams.csv, findings.csv, visit.sqlite and audio.")
    return 0


def _listen(wanted: Wanted, folder: Path, microphone: Microphone) -> None:
    with ExitStack() as stack:
        understanding = Understanding(parse, lambda: session.visit)
        hearing = _hearing(wanted)
        stack.callback(hearing.close)
        session = stack.enter_context(
            session_in(folder, None, wanted.herd, hearing, understand=understanding)
        )
        front: Front = JsonLines() if wanted.as_json else Screen(ORDERS[wanted.order])
        with bar("hearing the last words again"):
            front.show(hear_the_rest(session, understanding))
        found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
        spool = Spool(folder, go_on_from_s(session))
        hints = Hints(ahead=hearing.begin)
        ear = Ear(microphone, spool, found.put, hints)
        guide = Guide(session, understanding, ORDERS[wanted.order])
        aloud = AnsweringAloud(session, ear, wanted.speak)
        stack.callback(aloud.stop)
        desk = Listening(session, ear, found, understanding, guide, aloud)
        stack.enter_context(_glimpses(hearing, hints, desk))
        reader = stack.enter_context(ReaderPort(wanted.reader)) if wanted.reader else None
        stack.enter_context(without_driver_talk())
        stack.enter_context(front.drawn(desk, ear, microphone))
        ear.thread.start()
        _run(desk, front, microphone, hearing, wanted.for_s, reader)
        ear.thread.join(5.0)
        desk.finish()


def _run(  # noqa: PLR0913, PLR0917 - the parts of a live visit
    desk: Listening,
    front: Front,
    microphone: Microphone,
    hearing: Hearing,
    for_s: float | None,
    reader: ReaderPort | None,
) -> None:
    end = None if for_s is None else time.monotonic() + for_s
    while not desk.over:
        front.show(desk.turn(TURN_S))
        front.show((*front.act(desk), *take_read(desk, reader)))
        hearing.ask(desk.session)
        if front.done or (end is not None and time.monotonic() > end):
            microphone.stop()
        if microphone.stopped and desk.stuck:
            break  # the last words lie in the stream, and are heard at the next start


class Hearing(AheadRecogniser):
    """The recogniser of a live visit: hears ahead, and answers where something is asked.

    ``model``: that of a guided engine, for the words while they are spoken; None with another.
    """

    def __init__(self, recogniser: Recogniser) -> None:
        self.model = recogniser.model if isinstance(recogniser, GuidedRecogniser) else None
        self._answering = (
            AnsweringRecogniser(recogniser, values_of)
            if isinstance(recogniser, GuidedRecogniser)
            else None
        )
        self.streaming = recogniser if isinstance(recogniser, Streaming) else None
        super().__init__(self._answering or recogniser)

    def ask(self, session: Session) -> None:
        """Listen for what would answer the question that is open now."""
        if self._answering is not None:
            query = session.visit.asked
            self._answering.ask(() if query is None else answers_of(query, session.visit))


def _hearing(wanted: Wanted) -> Hearing:
    with bar("loading the recogniser"):
        named = wanted.model
        return Hearing(load_engine(wanted.engine, constraint(), values_of, model_dir=named))


@contextmanager
def _glimpses(hearing: Hearing, hints: Hints, desk: Listening) -> Iterator[None]:
    """Words while they are spoken: with the model of the final hearing, or an engine's stream."""
    if hearing.streaming is not None:
        glimpse = hearing.streaming.glimpse
    elif hearing.model is not None:
        glimpse = Glimpser(constraint(), hearing.model).glimpse
    else:
        yield
        return
    thread = GlimpsingThread(glimpse, desk.glimpsed, hearing.busy)
    hints.glimpse = thread.offer
    try:
        yield
    finally:
        thread.stop()
