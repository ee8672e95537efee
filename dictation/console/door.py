"""How people get to a page that is served: by QR code, by its address, in a browser opened here."""

from __future__ import annotations

import os
import tempfile
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from html import escape
from pathlib import Path

import click
from rich.console import RenderableType
from rich.text import Text

from dictation.console.screen import render, two_columns
from dictation.console.terminal import sentence, width

HALVES = {(0, 0): " ", (1, 0): "\N{UPPER HALF BLOCK}", (0, 1): "\N{LOWER HALF BLOCK}"}
"""Two modules of a QR code, one above the other, as a character: dark on light."""

BOTH = "\N{FULL BLOCK}"
MARGIN = 2
"""Light modules around it. Four are asked for; a light page or screen around it does as well."""


def qr(text: str) -> Text:
    """A QR code, two modules a line, dark on light whatever the terminal's colours are."""
    import segno

    rows = [list(row) for row in segno.make_qr(text, error="l").matrix_iter(border=MARGIN)]
    pairs = zip(rows[::2], [*rows[1::2], [0] * len(rows[0])], strict=False)
    lines = ("".join(HALVES.get(pair, BOTH) for pair in zip(*two, strict=True)) for two in pairs)
    return Text("\n".join(lines), "black on bright_white", no_wrap=True)


def way_in(address: str, shared: bool, fingerprint: str) -> RenderableType:
    """The way in for the next browser: an address, and for a telephone its QR code."""
    words = [f"Opens in one browser, once:\n{address}"]
    if fingerprint:
        warns = "The browser warns once: the certificate was made for this run. Its fingerprint"
        words.append(f"{warns} (SHA-256) is\n{fingerprint}")
    told = Text("\n\n".join(words), overflow="fold")
    if not shared:
        return told
    beside = two_columns()
    beside.add_row(qr(address), told)
    return beside


def tell_way_in(address: str, shared: bool, fingerprint: str) -> None:
    """The same on standard error, before a screen is drawn; without a terminal in plain words."""
    if click.get_text_stream("stderr").isatty():
        parts = way_in(address, shared, fingerprint)
        click.echo(render(parts, width(), True), err=True, nl=False)
        return
    sentence(f"Opens in one browser, once: {address}")
    if fingerprint:
        sentence(f"SHA-256 fingerprint of its certificate: {fingerprint}")


@contextmanager
def browser_at(address: str, folder: Path) -> Iterator[None]:
    """Open the system's browser there, by way of a file that nobody else can read.

    Whoever lists the processes of this machine sees the name of that file, and no token.
    """
    handle, name = tempfile.mkstemp(".html", ".open-", folder)
    with os.fdopen(handle, "w", encoding="utf-8") as page:
        page.write(f'<meta http-equiv="refresh" content="0;url={escape(address)}">')
    try:
        webbrowser.open(Path(name).resolve().as_uri())
        yield
    finally:
        with suppress(OSError):
            Path(name).unlink()
