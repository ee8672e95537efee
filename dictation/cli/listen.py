"""``hornsweep listen``: the microphone, live."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from datetime import date
from functools import partial
from pathlib import Path

import click

from dictation.audio.devices import without_driver_talk
from dictation.audio.microphone import Microphone
from dictation.cli.dates import WRITTEN, folder_for
from dictation.console.door import tell_way_in, way_in
from dictation.console.front import JsonLines, Screen
from dictation.console.summary import summary
from dictation.console.terminal import bar, colour, sentence, width
from dictation.errors import WrongUseError
from dictation.intake.reading import read_visit
from dictation.live.answering_aloud import Speak
from dictation.live.guide import ORDERS
from dictation.live.keys import RECORDER
from dictation.live.loop import Wanted, listen
from dictation.live.shared import Shared
from dictation.recognition.engines import load_engine
from dictation.records.farms import farm_named
from dictation.visit.journal import BusyError

LOOPBACK = "127.0.0.1"


@click.command(epilog="Example: hornsweep listen --herd herd.csv --out visit-larkmoor")
@click.option("--farm", help="A farm of 'hornsweep farm': its herd list, and where it goes.")
@click.option("--herd", type=click.Path(path_type=Path), help="Herd list: CSV, XLSX, ODS, JSON.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder of the visit.")
@click.option(
    "--copy",
    type=click.Path(path_type=Path),
    help="Folder of a second copy, on a stick: whole after each animal.",
)
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
@click.option("--headset", is_flag=True, help="Speak into a headset, and listen meanwhile.")
@click.option(
    "--order",
    type=click.Choice(list(ORDERS)),
    default="left-first",
    show_default=True,
    help="Which side is swept first.",
)
@click.option("--reader", help="Serial port of a tag reader, such as /dev/ttyUSB0 or COM3@9600.")
@click.option("--wall", is_flag=True, help="Serve a page to be read from two metres and touched.")
@click.option("--host", default=LOOPBACK, show_default=True, help="Address of that page.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port; a free one if 0.")
@click.option("--for", "for_s", type=float, help="Stop by itself after so many seconds.")
def command(  # noqa: PLR0913, PLR0917 - one an option
    farm: str | None,
    herd: Path | None,
    out: Path | None,
    copy: Path | None,
    engine: str,
    model: Path | None,
    device: str | None,
    as_json: bool,
    speak: str,
    headset: bool,
    order: str,
    reader: str | None,
    wall: bool,
    host: str,
    port: int,
    for_s: float | None,
) -> int:
    """Listen to the microphone: what is said becomes checked exams while it is spoken.

    All sound is kept beside the journal. After a crash the same command goes on with the visit and
    hears the last words again from their sound. A short high tone says taken, two that rise asked,
    a low one not for us. While it speaks from a loudspeaker nothing is heard, only kept; with
    --headset who speaks makes it stop. Keys: a accept, 1-3 take that alternative, 0 none
    of them, u undo, y redo, r type a phrase, n next animal, p pause, d details, w the way to the
    wall page, q quit.

    --wall serves a page for a tablet or screen at the crush; with --host 0.0.0.0 over TLS, to any
    that is given the address or reads the QR code.
    """
    if not wall and (port or host != LOOPBACK):
        raise WrongUseError("--host and --port are of the wall page: give --wall too.")
    known = None if farm is None else farm_named(farm)
    folder = folder_for(out, date.today(), known)
    herd = herd or (None if known is None else known.herd)
    called = None if known is None else known.called
    wanted = Wanted(folder, herd, Speak(speak), headset, order, for_s, reader, copy, called)
    with without_driver_talk():
        microphone = Microphone(device)
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), lambda number, frame: microphone.stop())
    front = JsonLines() if as_json else Screen(ORDERS[order])
    try:
        with _wall(front, order, host, port) if wall else nullcontext() as page:
            load = partial(load_engine, engine, model)
            listen(wanted, microphone, front, load, bar, sentence, page)
    except BusyError as error:
        visit, flags = read_visit(folder)
        sentence(f"{error} Here it is only read.")
        click.echo(summary(visit, flags, width(), colour()), nl=False)
        return error.exit_code
    finally:
        microphone.stop()
    sentence(WRITTEN.format(folder))
    return 0


@contextmanager
def _wall(front: JsonLines | Screen, order: str, host: str, port: int) -> Iterator[Shared]:
    """The visit as the wall page sees it, which is served while the model is loaded already."""
    from dictation.review.serve import Wanted as WantedPages
    from dictation.review.serve import serving
    from dictation.review.wall import wall

    page = Shared()
    wanted = WantedPages(host, port, who=RECORDER.who)
    with serving(lambda gate: wall(page, gate, ORDERS[order]), wanted, page.over) as gate:
        tell_way_in(gate.address, gate.shared, gate.fingerprint)
        if isinstance(front, Screen):
            front.way_in = lambda: way_in(gate.address, gate.shared, gate.fingerprint)
        yield page
