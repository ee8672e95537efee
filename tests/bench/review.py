"""``python -m tests.bench review``: how fast a long visit opens and scrolls."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from dictation.console.terminal import bar
from dictation.decide.record import Record
from dictation.errors import MissingError
from dictation.review.access import Browser, Gate
from dictation.review.book import Book
from dictation.visit.inputs import By, TagChanged
from tests.bench import machine
from tests.bench.figures import milliseconds, show, table
from tests.bench.long_visit import make_long_visit

OPENINGS = 5
"""How often the page is opened; the table shows the middle and the longest."""

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

SCROLL = """async ([step, most]) => {
  const gaps = [];
  let before = await new Promise(requestAnimationFrame);
  while (gaps.length < most && scrollY + innerHeight < document.documentElement.scrollHeight - 1) {
    scrollBy(0, step);
    const now = await new Promise(requestAnimationFrame);
    gaps.push(now - before);
    before = now;
  }
  return gaps;
}"""
"""Scrolls down a frame at a time; gives the ms between frames."""

STEP_PX, FRAMES = 150, 600
"""Scrolled each frame, 9,000 pixels a second: a brisk flick; and for how long."""


@click.command(epilog="Example: python -m tests.bench review --cows 300")
@click.option("--cows", type=click.IntRange(1), default=300, show_default=True, help="Animals.")
def command(cows: int) -> None:
    """Open a visit of so many cows, correct one, and scroll in chromium."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "visit"
        with bar("making the visit"):
            phrases = make_long_visit(folder, cows)
        _served(folder, cows, phrases)
        _in_a_browser(folder)


def _served(folder: Path, cows: int, phrases: int) -> None:
    began = time.perf_counter()
    with Record.amend(folder) as record:
        folded_s = time.perf_counter() - began
        began = time.perf_counter()
        book = Book(record)
        drawn_s = time.perf_counter() - began
        times_s = []
        for _ in range(OPENINGS):
            began = time.perf_counter()
            page = book.page(Browser("", ""), Gate("", 0, frozenset()))
            times_s.append(time.perf_counter() - began)
        began = time.perf_counter()
        deed = TagChanged(record.visit.exams[0].number, "77")
        record.put_right(deed, By("bench", based_on=record.visit.last_seq))
        book.draw()
        corrected_s = time.perf_counter() - began
    columns = ("cows", "phrases", "read and fold ms", "draw ms", "page ms", "MB", "correct ms")
    shown = table(f"The page as it is made\n{machine.head()}", columns)
    shown.add_row(
        str(cows),
        str(phrases),
        f"{folded_s * 1000:.0f}",
        f"{drawn_s * 1000:.0f}",
        milliseconds(times_s)[0],
        f"{len(page.encode()) / 1e6:.1f}",
        f"{corrected_s * 1000:.0f}",
    )
    show(shown)


@contextmanager
def _reviewing(folder: Path) -> Iterator[str]:
    command_line = [sys.executable, "-m", "dictation", "review", str(folder), "--no-browser"]
    process = subprocess.Popen(command_line, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        yield process.stdout.readline().strip()
    finally:
        process.terminate()
        process.communicate()


def _in_a_browser(folder: Path) -> None:
    chromium = shutil.which("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError as error:
        raise MissingError("playwright is not installed: install hornsweep[bench].") from error
    if chromium is None:
        raise MissingError("chromium is not installed: the page was not opened in a browser.")
    opened_s: list[float] = []
    with (
        _reviewing(folder) as address,
        tempfile.TemporaryDirectory() as profile,
        sync_playwright() as playwright,
    ):
        context = playwright.chromium.launch_persistent_context(
            profile,
            executable_path=chromium,
            args=list(FLAGS),
            viewport={"width": 1360, "height": 900},
        )
        page = context.new_page()
        page.goto(address)
        page.wait_for_selector(".phrase")
        for _ in range(OPENINGS):
            began = time.perf_counter()
            page.goto(address.split("/enter", maxsplit=1)[0] + "/", wait_until="load")
            page.locator("#shown", has_text="phrases").wait_for()
            opened_s.append(time.perf_counter() - began)
        gaps_ms: list[float] = page.evaluate(SCROLL, [STEP_PX, FRAMES])
        context.close()
    columns = ("open p50 ms", "open max ms", "frames", "gap p50 ms", "gap p95 ms", "gap max ms")
    shown = table("The page in chromium: opened, then scrolled", columns)
    middle, _, longest = milliseconds(opened_s)
    gaps = milliseconds([gap / 1000 for gap in gaps_ms])
    shown.add_row(middle, longest, str(len(gaps_ms)), *gaps)
    show(shown)
