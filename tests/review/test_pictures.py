"""The pictures in README: of the page as it is. --rewrite-golden takes them anew."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.console.test_picture import SPOKEN
from tests.review.browser import PHONE, browser, needs_chromium, opened
from tests.review.conftest import reviewing
from tests.review.crush import at_the_crush

PICTURES = Path(__file__).parents[1] / "pictures"
SIZES = {"review_wide": (1360, 860), "review_phone": PHONE}
WALL = {"wall": (1280, 800)}
LARGEST_BYTES = 150_000


@pytest.mark.parametrize("name", [*SIZES, *WALL])
def test_there_is_a_picture_of_the_page(name: str) -> None:
    content = (PICTURES / f"{name}.png").read_bytes()
    assert content.startswith(b"\x89PNG")
    assert struct.unpack(">II", content[16:24]) == (SIZES | WALL)[name]
    assert len(content) < LARGEST_BYTES


@needs_chromium
def test_pictures_are_taken_when_asked_for(
    visit: Path, tmp_path: Path, rewrite_golden: bool
) -> None:
    if not rewrite_golden:
        pytest.skip("--rewrite-golden was not given")
    with (
        reviewing(visit, "--who", "Robin") as address,
        browser(tmp_path / "profile") as context,
    ):
        page = opened(context, address)
        at = page.locator(".phrase", has_text="with a cavity")
        at.locator(".value").first.click()
        page.locator("#text").fill("24")
        page.locator("#why").fill("said twenty-four")
        page.locator("#why").press("Enter")
        expect(page.locator("#told")).to_contain_text("became left ovary")
        for name, (width, height) in SIZES.items():
            page.set_viewport_size({"width": width, "height": height})
            top = ".exam[data-tag='412']" if name == "review_phone" else "body"
            page.locator(top).evaluate("node => node.scrollIntoView()")
            page.wait_for_timeout(500)
            page.screenshot(path=PICTURES / f"{name}.png")


@needs_chromium
def test_the_wall_is_taken_when_asked_for(tmp_path: Path, rewrite_golden: bool) -> None:
    if not rewrite_golden:
        pytest.skip("--rewrite-golden was not given")
    with at_the_crush(tmp_path / "visit") as crush, browser(tmp_path / "profile") as context:
        assert crush.gate is not None
        page = context.new_page()
        page.goto(crush.gate.address)
        crush.say(*SPOKEN)
        expect(page.locator("#question")).to_be_visible()
        for name, (width, height) in WALL.items():
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(500)
            page.screenshot(path=PICTURES / f"{name}.png")
