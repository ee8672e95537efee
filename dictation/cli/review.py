"""``hornsweep review``: the page of the spoken log, on this machine."""

from __future__ import annotations

import signal
from contextlib import ExitStack
from functools import partial
from pathlib import Path

import click

from dictation.console.door import browser_at, tell_way_in
from dictation.console.terminal import sentence
from dictation.decide.record import Record
from dictation.intake.forget import forget_talk_in_time
from dictation.intake.upgrade import brought_up
from dictation.records.visit_files import write_visit_files


@click.command(epilog="Example: hornsweep review visit-2026-11-18")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port; a free one if 0.")
@click.option("--no-browser", is_flag=True, help="Only print the address.")
@click.option("--who", default="", help="Name that the page starts with.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to serve on.")
@click.option("--tls-cert", type=click.Path(path_type=Path), help="Certificate (PEM).")
@click.option("--tls-key", type=click.Path(path_type=Path), help="Its key (PEM).")
def command(  # noqa: PLR0913, PLR0917 - one an option
    folder: Path,
    port: int,
    no_browser: bool,
    who: str,
    host: str,
    tls_cert: Path | None,
    tls_key: Path | None,
) -> None:
    """Hear the spoken log again and put it right, in a browser on this machine or a telephone.

    The address, with a token that lets one browser in, once, is the only line on standard output.
    With --host 0.0.0.0 others on the network can be let in, over TLS, with a certificate made at
    the start whose fingerprint is told; a QR code in the terminal opens the page on a telephone,
    and one on the page the next.
    """
    from dictation.review.access import Gate
    from dictation.review.serve import Wanted, serve

    wanted = Wanted(host, port, tls_cert, tls_key, who)
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):  # as Ctrl-C does: what was opened is closed, and taken away
            signal.signal(getattr(signal, name), signal.default_int_handler)
    brought_up(folder, sentence)
    forget_talk_in_time(folder, sentence)
    with ExitStack() as stack:
        record = stack.enter_context(Record.amend(folder, partial(write_visit_files, folder)))
        for line in record.journal.damage():
            sentence(line)

        def ready(gate: Gate) -> None:
            click.echo(gate.address)
            if gate.shared:
                tell_way_in(gate.address, gate.shared, gate.fingerprint)
            if not no_browser:
                stack.enter_context(browser_at(gate.address, folder))

        serve(record, wanted, ready)
