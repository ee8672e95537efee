"""``hornsweep review``: the page of the spoken log, on this machine."""

from __future__ import annotations

import webbrowser
from functools import partial
from pathlib import Path

import click

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
    """Hear the spoken log again and put it right, in a browser on this machine.

    The address, with the token that lets a browser in, is the only line on standard output. With
    --host 0.0.0.0 others on the network can use it; without a certificate what is said and heard
    then goes over the network unencrypted.
    """
    from dictation.review.serve import Wanted, serve

    wanted = Wanted(host, port, tls_cert, tls_key, who)

    def ready(address: str) -> None:
        click.echo(address)
        if not no_browser:
            webbrowser.open(address)

    if wanted.shared and tls_cert is None:
        sentence(
            f"{host} is open to the network and not encrypted: give --tls-cert and --tls-key,"
            " or keep to this machine."
        )
    brought_up(folder, sentence)
    forget_talk_in_time(folder, sentence)
    with Record.amend(folder, partial(write_visit_files, folder)) as record:
        for line in record.journal.damage():
            sentence(line)
        serve(record, wanted, ready)
