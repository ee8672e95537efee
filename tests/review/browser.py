"""A real browser on the page: Debian's chromium, driven by playwright."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect, sync_playwright

CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
)
WIDE, PHONE = (1360, 900), (400, 860)

needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")

LONGEST_WAIT_MS = 20_000
LOOK_EVERY_MS = 50

failures: list[str] = []
"""What went wrong in the page's script, to be looked at behind each test."""


@contextmanager
def browser(profile: Path) -> Iterator[BrowserContext]:
    """A browser with a profile of its own. Every request that leaves the page's origin fails."""
    expect.set_options(timeout=LONGEST_WAIT_MS)
    with sync_playwright() as playwright:
        context = playwright.chromium.launch_persistent_context(
            profile,
            executable_path=CHROMIUM,
            headless=True,
            args=list(FLAGS),
            viewport={"width": WIDE[0], "height": WIDE[1]},
        )
        context.set_default_timeout(LONGEST_WAIT_MS)
        yield context
        context.close()


def opened(context: BrowserContext, address: str, asked: list[str] | None = None) -> Page:
    """The page behind an address, with all of it there; requests are noted in ``asked``."""
    page = context.new_page()
    page.on("pageerror", lambda error: failures.append(str(error)))
    if asked is not None:
        page.on("request", lambda request: asked.append(request.url))
    page.goto(address)
    expect(page.locator("#shown")).to_contain_text("phrases")
    return page


def until(page: Page, condition: str) -> None:
    """Wait until an expression is true; the page's policy forbids playwright's own way."""
    for _ in range(LONGEST_WAIT_MS // LOOK_EVERY_MS):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(LOOK_EVERY_MS)
    pytest.fail(f"never came true: {condition}")


def axe() -> str:
    """The script of axe-core, which a package of the tests brings along."""
    return (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
