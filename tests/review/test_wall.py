"""The wall page in a real browser, on a visit that is being spoken."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest
from playwright.sync_api import BrowserContext, Page, expect

from dictation.visit.inputs import INPUTS, FindingChanged, QueryAnswered, TagChanged
from grammar.findings import Measurement
from tests.decide.spoken import Unsure
from tests.review.browser import axe, browser, failures, needs_chromium
from tests.review.crush import Crush, at_the_crush

SIZES = [(390, 844), (844, 390), (768, 1024), (1024, 768), (1920, 1080), (2560, 1440)]
SWEPT = (
    "cow nine five four",
    "cervix normal, body clear, left horn clear",
    "right horn, pregnant seventy-five days, crown rump twenty-two millimetres",
)
DOUBTFUL = Unsure("right ovary CL forty", ("right ovary CL fourteen",))


@pytest.fixture(scope="module")
def context(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BrowserContext]:
    with browser(tmp_path_factory.mktemp("profile")) as started:
        yield started


@pytest.fixture(autouse=True)
def script_without_fault() -> Iterator[None]:
    failures.clear()
    yield
    assert failures == []


@pytest.fixture
def crush(tmp_path: Path) -> Iterator[Crush]:
    with at_the_crush(tmp_path / "visit") as spoken:
        yield spoken


def wall_of(context: BrowserContext, crush: Crush, asked: list[str] | None = None) -> Page:
    """The wall page, with what is shown already there; requests are noted in ``asked``."""
    assert crush.gate is not None
    page = context.new_page()
    page.on("pageerror", lambda error: failures.append(str(error)))
    if asked is not None:
        page.on("request", lambda request: asked.append(request.url))
    page.goto(crush.gate.address)
    expect(page.locator("#state")).to_have_text("listening")
    return page


@needs_chromium
def test_it_shows_tag_status_what_was_taken_and_the_sweep(
    crush: Crush, context: BrowserContext
) -> None:
    asked: list[str] = []
    page = wall_of(context, crush, asked)
    expect(page.locator("#tag")).to_have_text("NO ANIMAL")
    crush.say(*SWEPT)
    expect(page.locator("#tag")).to_have_text("954")
    expect(page.locator("#status")).to_have_text("PREGNANT")
    expect(page.locator("#detail")).to_have_text("75 days right horn")
    expect(page.locator("#became")).to_have_text("RECORDED")
    expect(page.locator("#words")).to_contain_text("crown rump length 22 mm")
    said = page.locator("#marks li.said")
    assert said.all_inner_texts() == ["cervix", "body", "left horn", "right horn"]
    assert page.locator("#marks li").count() == 6
    expect(page.locator("#question")).to_be_hidden()
    crush.now.words = "left ovary"
    expect(page.locator("#became")).to_have_text("HEARING")
    expect(page.locator("#words")).to_have_text("left ovary …")
    page.close()
    assert crush.gate is not None
    assert {url for url in asked if not url.startswith(crush.gate.origin)} == set()


@needs_chromium
def test_a_doubtful_status_is_shown_as_one(crush: Crush, context: BrowserContext) -> None:
    page = wall_of(context, crush)
    crush.say("cow 412", Unsure("pregnant forty days", ("pregnant fourteen days",)))
    expect(page.locator("#status")).to_have_text("PREGNANT?")
    page.close()


@needs_chromium
def test_an_answer_is_touched_and_goes_through_the_session(
    crush: Crush, context: BrowserContext
) -> None:
    page = wall_of(context, crush)
    crush.say("cow 412", DOUBTFUL)
    expect(page.locator("#asked")).to_contain_text("ASKED")
    answers = page.locator("#answers button")
    assert [each.split("\xa0")[0] for each in answers.all_inner_texts()[:2]] == ["140", "214"]
    answers.nth(1).click()
    expect(page.locator("#told")).to_have_text(
        "Tag 412: right ovary corpus luteum 40 mm became right ovary corpus luteum 14 mm."
    )
    expect(page.locator("#question")).to_be_hidden()
    page.close()
    act = crush.visit.acts[crush.visit.last_seq]
    assert (act.kind, act.who) == (INPUTS[QueryAnswered], "recorder")
    assert any(type(event).__name__ == "Questioned" for event in crush.events)


@needs_chromium
def test_a_value_is_put_right_where_it_stands(crush: Crush, context: BrowserContext) -> None:
    page = wall_of(context, crush)
    crush.say(*SWEPT)
    page.locator("#standing button", has_text="crown rump").click()
    expect(page.locator("#text")).to_have_value("22")
    page.keyboard.type("24")
    page.keyboard.press("Enter")
    expect(page.locator("#told")).to_have_text(
        "Tag 954: crown rump length 22 mm became crown rump length 24 mm."
    )
    expect(page.locator("#standing")).to_contain_text("crown rump length 24 mm")
    act = crush.visit.acts[crush.visit.last_seq]
    assert act.kind == INPUTS[FindingChanged]
    sizes = [f.size_mm for f in crush.visit.exams[0].findings if isinstance(f, Measurement)]
    assert sizes == [24.0]
    page.locator("#standing button", has_text="crown rump").click()
    page.locator("#whole").click()
    page.locator("#text").fill("tractor")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#told")).to_contain_text("is not read")
    page.locator("#standing button", has_text="crown rump").click()
    page.locator("#withdraw").click()
    expect(page.locator("#standing")).not_to_contain_text("crown rump")
    page.locator("#tag").click()
    page.locator("#text").fill("945")
    page.keyboard.press("Enter")
    expect(page.locator("#tag")).to_have_text("945")
    assert crush.visit.acts[crush.visit.last_seq].kind == INPUTS[TagChanged]
    page.close()


@needs_chromium
def test_who_touches_what_was_just_settled_by_voice_is_told(
    crush: Crush, context: BrowserContext
) -> None:
    page = wall_of(context, crush)
    crush.say("cow 412", DOUBTFUL)
    expect(page.locator("#answers button").first).to_be_visible()
    seen = page.evaluate("shown.seq")
    crush.say("second one")
    before = crush.visit.last_seq
    status, told = page.evaluate(
        """async ([query, seen]) => {
          const form = new URLSearchParams({ action: "answer", query, text: 1,
            csrf: document.body.dataset.csrf, based_on: seen });
          const answer = await fetch("/act", { method: "POST", body: form });
          return [answer.status, (await answer.json()).told];
        }""",
        [next(iter(crush.visit.all_queries)), seen],
    )
    assert (status, crush.visit.last_seq) == (409, before)
    assert "settled meanwhile" in told
    page.close()


@needs_chromium
def test_a_stop_is_red_and_says_so_and_nothing_else_is_red(
    crush: Crush, context: BrowserContext
) -> None:
    page = wall_of(context, crush)
    crush.say(*SWEPT, DOUBTFUL, "prostaglandin")
    stop = page.locator("#stops li")
    expect(stop).to_contain_text("STOP")
    crush.microphone.lost = True
    expect(page.locator("#state")).to_have_text("microphone lost")
    reds = page.evaluate(
        """() => [...document.querySelectorAll("body, body *")].filter((node) => {
          const style = getComputedStyle(node);
          return [style.backgroundColor, style.color, style.borderTopColor].some((colour) => {
            const [r, g, b] = colour.match(/[0-9.]+/g).map(Number);
            return r > 100 && r > 2 * g && r > 2 * b;
          });
        }).map((node) => node.closest("#stops") ? "stop" : node.outerHTML)"""
    )
    assert set(reds) == {"stop"}
    page.close()


@needs_chromium
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_it_fits_every_screen_and_is_as_large_as_that_allows(
    crush: Crush, context: BrowserContext, size: tuple[int, int]
) -> None:
    page = wall_of(context, crush)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    crush.say(*SWEPT)
    expect(page.locator("#status")).to_have_text("PREGNANT")
    page.wait_for_timeout(200)
    boxes = {name: page.locator(name).bounding_box() for name in ("#tag", "#status", "#marks")}
    for name, box in boxes.items():
        assert box is not None, name
        assert box["x"] >= 0, name
        assert box["x"] + box["width"] <= size[0] + 1, name
        assert box["y"] + box["height"] <= size[1] + 1, name
    letters = page.evaluate("parseFloat(getComputedStyle(document.querySelector('#tag')).fontSize)")
    widest = size[0] / (0.8 * len("954"))
    assert letters >= min(0.24 * size[1], 0.8 * widest) or size[0] < size[1]
    assert letters >= 0.12 * min(size)
    page.evaluate(axe())
    rules = {"runOnly": ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21aa", "wcag22aa"]}
    found = page.evaluate(f"axe.run(document, {json.dumps(rules)})")
    assert [(v["id"], v["nodes"][0]["html"]) for v in found["violations"]] == []
    page.close()


@needs_chromium
def test_a_lost_microphone_and_a_dead_line_are_shown_and_a_reload_goes_on(
    tmp_path: Path, context: BrowserContext, monkeypatch: pytest.MonkeyPatch
) -> None:
    with at_the_crush(tmp_path / "visit") as crush:
        page = wall_of(context, crush)
        crush.say("cow 412")
        crush.microphone.lost = True
        expect(page.locator("body")).to_have_class(re.compile("deaf"))
        crush.microphone.lost = False
        expect(page.locator("#state")).to_have_text("listening")
        monkeypatch.setattr("dictation.review.wall.BEAT_EVERY_S", 1e9)
        expect(page.locator("#state")).to_contain_text("no connection")
        monkeypatch.undo()
        expect(page.locator("#state")).to_have_text("listening")
        page.reload()
        expect(page.locator("#tag")).to_have_text("412")
    expect(page.locator("#state")).to_have_text("listening has ended")
    expect(page.locator("#tag")).to_have_text("412")
    page.close()


def test_what_is_touched_after_the_end_is_refused_in_a_sentence(tmp_path: Path) -> None:
    with at_the_crush(tmp_path / "visit") as crush:
        assert crush.gate is not None
        with httpx2.Client(base_url=crush.gate.origin) as client:
            client.get(crush.gate.address)
            csrf = client.get("/").text.split('data-csrf="')[1].split('"')[0]
            form = {"action": "tag", "exam": "1", "text": "9", "based_on": "0", "csrf": csrf}
            headers = {"origin": crush.gate.origin}
            answer = client.post("/act", data=form, headers=headers)
            assert answer.status_code == 422
            assert "No animal is meant" in answer.json()["told"]
            crush.say("cow 412")
            crush.shared.over()
            answer = client.post("/act", data=form, headers=headers)
            assert (answer.status_code, crush.visit.exams[0].tag) == (422, "412")
            assert "Listening has ended" in answer.json()["told"]


@pytest.mark.parametrize("address", ["/", "/events", "/wall.js", "/act", "/changes", "/sound/1"])
def test_nothing_of_the_wall_is_shown_without_its_address(tmp_path: Path, address: str) -> None:
    with at_the_crush(tmp_path / "visit") as crush:
        assert crush.gate is not None
        assert httpx2.get(crush.gate.origin + address).status_code == 403
