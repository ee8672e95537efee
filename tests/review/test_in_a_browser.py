"""The page in a real browser, on a visit that the real recogniser heard."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from dictation.cli.app import run
from dictation.decide.record import Record
from dictation.live.session import Session
from dictation.visit.apply import fold
from dictation.visit.inputs import By, PhraseInserted, TagChanged
from dictation.visit.journal import Journal
from dictation.visit.state import Act, Visit
from grammar.findings import Note, Said
from grammar.parse import parse
from tests.review.browser import PHONE, WIDE, axe, browser, failures, needs_chromium, opened, until
from tests.review.conftest import reviewing

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def context(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BrowserContext]:
    with browser(tmp_path_factory.mktemp("profile")) as started:
        yield started


@pytest.fixture(autouse=True)
def script_without_fault() -> Iterator[None]:
    failures.clear()
    yield
    assert failures == []


def folded(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.acts())


def done(folder: Path, back: int = 1) -> Act:
    """What was done last, or so many entries from the end."""
    visit = folded(folder)
    return visit.acts[visit.last_seq + 1 - back]


def phrase(page: Page, words: str) -> str:
    """Selector of the phrase in which these words were heard."""
    return f"#{page.locator('.phrase', has_text=words).first.get_attribute('id')}"


def rows(folder: Path, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((folder / name).read_text(encoding="utf-8").splitlines()))


def test_a_wrong_size_is_put_right_by_key_and_the_files_change(
    visit: Path, context: BrowserContext
) -> None:
    asked: list[str] = []
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address, asked)
        at = phrase(page, "with a cavity")
        page.locator(f"{at} .text").click()
        page.keyboard.press("c")
        page.locator("#text").fill("")
        page.keyboard.type("l ov c")
        expect(page.locator("#offered li").first).to_have_text("cl")
        page.keyboard.press("Tab")
        page.keyboard.type("24 cav")
        expect(page.locator("#reads")).to_have_text(
            "Tag 412: left ovary corpus luteum 22 mm cavity 6 mm"
            " became left ovary corpus luteum 24 mm with a cavity."
        )
        page.locator("#why").fill("said twenty-four")
        page.keyboard.press("Enter")
        expect(page.locator(f"{at} .findings li").first).to_contain_text("24 mm")
        expect(page.locator(f"{at} .findings li").first).to_contain_text("heard as left ovary")
        expect(page.locator("#told")).to_contain_text("became left ovary corpus luteum 24 mm with")
        sizes = [r["value"] for r in rows(visit, "findings.csv") if r["state"] == "corrected"]
        assert sizes == ["24"]
        assert "24 mm" in rows(visit, "exams.csv")[1]["left_ovary"]
        page.keyboard.press("u")
        expect(page.locator(f"{at} .findings li").first).not_to_contain_text("24 mm")
        assert "22 mm" in rows(visit, "exams.csv")[1]["left_ovary"]
        page.keyboard.press("r")
        expect(page.locator(f"{at} .findings li").first).to_contain_text("24 mm")
        expect(page.locator("#redo")).to_have_count(0)
        page.close()
    origin = address.split("/enter", maxsplit=1)[0]
    assert all(url.startswith(origin) for url in asked)
    change = done(visit, back=3)
    assert (change.who, change.why) == ("anna", "said twenty-four")


def test_a_value_nobody_asked_about_is_put_right_in_eight_keys_from_anywhere(
    visit: Path, context: BrowserContext
) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        place = page.locator(".exam[data-tag='412'] .findings li", has_text="luteum 22 mm")
        number = place.get_attribute("data-place") or ""
        for key in ("/", "4", "1", "2", number, "2", "4", "Enter"):
            page.keyboard.press(key)
        expect(page.locator("#told")).to_have_text(
            "Tag 412: left ovary corpus luteum 22 mm cavity 6 mm"
            " became left ovary corpus luteum 24 mm cavity 6 mm."
        )
        expect(page.locator("#index [aria-current]")).to_contain_text("412")
        place = page.locator(".exam[data-tag='412'] .findings li", has_text="luteum 24 mm")
        place.locator("[data-do=withdraw]").click()
        expect(page.locator("#told")).to_contain_text("Tag 412: withdrew left ovary")
        page.keyboard.press("u")
        expect(place).to_be_visible()
        page.close()


def test_retyping_a_phrase_says_first_what_it_takes_away(
    visit: Path, context: BrowserContext
) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        page.locator(phrase(page, "cervix normal") + " .text").first.click()
        page.keyboard.press("c")
        page.locator("#text").fill("r ov cl 26")
        page.keyboard.press("Enter")
        expect(page.locator("#asked")).to_contain_text("Takes away: cervix normal, body clear")
        before = folded(visit).last_seq
        page.keyboard.press("0")
        expect(page.locator("#ask")).to_be_hidden()
        assert folded(visit).last_seq == before
        page.close()


def test_a_name_is_asked_once_and_what_was_wanted_is_done_then(
    visit: Path, context: BrowserContext
) -> None:
    with reviewing(visit) as address:
        page = opened(context, address)
        page.evaluate("localStorage.clear()")
        page.reload()
        expect(page.locator("#arrive")).to_be_visible()
        page.keyboard.press("Escape")
        page.locator(".exam[data-tag='412'] > header [data-do=approve]").click()
        expect(page.locator("#arrive")).to_be_visible()
        page.keyboard.type("dora n n")
        page.keyboard.press("Enter")
        expect(page.locator("#told")).not_to_contain_text("who you are")
        assert page.locator("#me").inner_text() == "dora n n"
        page.evaluate("localStorage.clear()")
        page.close()


def test_ones_own_last_act_is_never_a_conflict(visit: Path, context: BrowserContext) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        page.locator(phrase(page, "with a cavity") + " .text").click()
        page.keyboard.press("e")
        page.keyboard.type("24")
        page.keyboard.press("Enter")
        page.keyboard.press("u")
        expect(page.locator("#told")).to_have_text("Taken back: what anna did.")
        page.close()


def test_a_phrase_is_played_by_key_and_by_click(visit: Path, context: BrowserContext) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        at = phrase(page, "right ovary follicle")
        page.locator(f"{at} .text").click()
        page.keyboard.press("p")
        expect(page.locator("#told")).to_contain_text("Plays 0:4")
        until(page, "document.querySelector('#player').currentTime > 0.2")
        page.keyboard.press("p")
        assert page.evaluate("document.querySelector('#player').paused")
        page.locator(f"{at} .wave").click()
        until(page, "document.querySelector('#player').dataset.ended")
        assert page.locator(".playing").count() == 0
        words = page.locator(f"{at} .said span")
        assert words.count() == len(page.locator(f"{at} .said").inner_text().split())
        wave = page.locator(f"{at} .wave img")
        wave.scroll_into_view_if_needed()
        until(page, f"document.querySelector('{at} .wave img').naturalWidth > 0")
        page.close()


def test_questions_are_answered_and_refused_speech_taken_up_by_key_alone(
    visit: Path, tmp_path: Path, context: BrowserContext
) -> None:
    doubtful = tmp_path / "doubtful.txt"
    doubtful.write_text("left ovary CL ninety\n", encoding="utf-8")
    assert run(["replay", str(doubtful), "--out", str(visit)]) == 0
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        before = len(folded(visit).open_queries)
        page.locator(".matters a", has_text="Left ovary").click()
        page.keyboard.press("1")
        expect(page.locator("#told")).to_contain_text("Enter takes: ")
        assert len(folded(visit).open_queries) == before
        page.keyboard.press("Enter")
        expect(page.locator("#told")).not_to_contain_text("Enter takes")
        assert len(folded(visit).open_queries) == before - 1
        page.locator("label", has_text="Not for us").click()
        assert page.locator(".phrase:visible").count() == page.locator(".phrase.refused").count()
        page.locator(".exam[data-tag='412'] .phrase.refused .text").click()
        page.keyboard.press("c")
        page.keyboard.type("r ov cl 18")
        page.keyboard.press("Enter")
        expect(page.locator("#told")).to_have_text(
            "Tag 412: added right ovary corpus luteum 18 mm."
        )
        page.locator("label", has_text="All").click()
        taken = page.locator(".phrase", has_text="not for us, then used")
        expect(taken.locator(".findings")).to_contain_text("corpus luteum 18 mm")
        page.close()
    added = folded(visit).exams[1].standing[-1]
    assert added.at_s is not None


def test_an_animal_and_the_visit_are_approved_and_shown_as_approved(
    visit: Path, context: BrowserContext
) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        sheet = page.locator(".exam[data-tag='412']")
        sheet.locator("> header [data-do=approve]").click()
        expect(sheet.locator(".stamp", has_text="approved by anna")).to_be_visible()
        page.locator(phrase(page, "right ovary follicle") + " .text").click()
        page.keyboard.press("Shift+A")
        asked = page.locator("#ask button").first
        stamp = page.locator("#head .stamp", has_text="approved by anna")
        expect(asked.or_(stamp)).to_be_visible()
        if asked.is_visible():
            asked.click()
        expect(stamp).to_be_visible()
        page.close()
    assert folded(visit).visit_approved


def test_each_change_of_an_animal_is_taken_back_and_done_again_where_it_stands(
    visit: Path, context: BrowserContext
) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        sheet = page.locator(".exam[data-exam='2']")
        sheet.locator("> header [data-do=approve]").click()
        expect(sheet.locator(".stamp", has_text="approved by anna")).to_be_visible()
        page.locator("#me").click()
        page.locator("#who").fill("ben")
        page.keyboard.press("Enter")
        for action, typed in (("tag", "413"), ("insert", "left ovary not seen")):
            sheet.locator(f"> header [data-do={action}]").click()
            page.locator("#text").fill(typed)
            page.keyboard.press("Enter")
            expect(page.locator("#editor")).to_be_hidden()
        expect(sheet.locator(".mark.since")).to_contain_text("changed since by ben")
        sheet.locator(".acts summary").click()
        line = sheet.locator(".acts li", has_text="413").first
        line.locator("button", has_text="Take back").click()
        expect(sheet.locator("h3 .tag")).to_have_text("Tag 412")
        expect(line.locator(".mark")).to_have_text("taken back by ben")
        expect(sheet.locator(".acts")).to_have_attribute("open", "")
        sheet.locator(".acts button", has_text="Do again").click()
        expect(sheet.locator("h3 .tag")).to_have_text("Tag 413")
        typed_in = sheet.locator(".phrase", has_text="typed in")
        typed_in.hover()
        typed_in.locator("[data-do=withdraw]").first.click()
        expect(typed_in.locator(".findings .gone")).to_be_visible()
        page.close()


def test_two_reviewers_at_once_the_second_is_told_and_keeps_what_was_typed(
    visit: Path, context: BrowserContext
) -> None:
    with reviewing(visit) as address:
        ben, anna = opened(context, address), opened(context, address)
        at = phrase(ben, "with a cavity")
        for page, size in ((ben, "24"), (anna, "26")):
            if not page.locator("#arrive").is_visible():
                page.locator("#me").click()
            page.locator("#who").fill("ben" if page is ben else "anna")
            page.keyboard.press("Enter")
            page.locator(f"{at} .text").click()
            page.keyboard.press("c")
            page.locator("#text").fill(f"l ov cl {size}")
        ben.keyboard.press("Enter")
        expect(ben.locator("#told")).to_contain_text("became left ovary")
        expect(anna.locator("#told")).to_contain_text("has just changed")
        anna.locator("#text").press("Enter")
        expect(anna.locator("#told")).to_contain_text("by ben; nothing of yours")
        expect(anna.locator(f"{at} .findings li").first).to_contain_text("24 mm")
        expect(anna.locator("#text")).to_have_value("l ov cl 26")
        anna.locator("#text").press("Enter")
        expect(anna.locator("#told")).to_contain_text("became left ovary")
        expect(ben.locator(f"{at} .findings li").first).to_contain_text("26 mm")
        ben.close()
        anna.close()
    assert [done(visit, back=2).who, done(visit).who] == ["ben", "anna"]


def test_it_follows_a_visit_that_is_being_spoken(visit: Path, context: BrowserContext) -> None:
    with reviewing(visit, "--who", "anna") as address, Journal.write(visit) as journal:
        page = opened(context, address)
        session = Session(journal, parse)
        session.type("cow nine nine one")
        session.type("left ovary CL nineteen")
        sheet = page.locator(".exam[data-tag='991']")
        expect(sheet.locator(".findings").last).to_contain_text("corpus luteum 19 mm")
        expect(page.locator("#index")).to_contain_text("991")
        sheet.locator("[data-do=tag]").click()
        page.locator("#text").fill("992")
        page.keyboard.press("Enter")
        expect(page.locator(".exam[data-tag='992']")).to_be_visible()
        session.type("twins")
        assert session.visit.exams[-1].tag == "992"
        expect(page.locator(".exam[data-tag='992'] .findings").last).to_contain_text("twins")
        page.close()


def test_only_one_kind_is_shown_when_asked_for(visit: Path, context: BrowserContext) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        page.locator("#filter [name=kind]").select_option("ovary")
        shown = page.locator(".phrase:visible")
        kinds = [shown.nth(i).get_attribute("data-kinds") or "" for i in range(shown.count())]
        assert kinds
        assert all("ovary" in kind.split() for kind in kinds)
        page.close()


def test_hostile_words_do_nothing_in_a_browser(visit: Path, context: BrowserContext) -> None:
    markup = "<img src=x onerror=\"document.title='bad'\"><script>document.title='bad'</script>"
    said = (Said(Note(markup), 0, 1, markup),)
    with Journal.write(visit) as journal:
        record = Record(journal)
        for deed in (TagChanged(1, markup), PhraseInserted(1, markup, said)):
            record.take(deed, By(markup, markup))
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        assert "<script>" in page.locator("#log").inner_text()
        page.locator("#undo").click()
        expect(page.locator("#told")).to_contain_text("Taken back: what <img")
        assert page.title().startswith("Spoken log")
        assert page.locator("#log img[src=x]").count() == 0
        page.close()


@pytest.fixture(scope="module")
def axe_script() -> str:
    return axe()


def faults(page: Page) -> list[str]:
    """What axe finds against the page as it is now."""
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = page.evaluate("tags => axe.run({runOnly: tags})", tags)
    assert len(found["passes"]) > 10
    return [f"{v['id']}: {[n['html'][:120] for n in v['nodes']]}" for v in found["violations"]]


@pytest.mark.parametrize("size", [WIDE, PHONE], ids=["wide", "phone"])
def test_it_meets_wcag(
    visit: Path, context: BrowserContext, axe_script: str, size: tuple[int, int]
) -> None:
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        # So tall that nothing lies beneath the bars that stay in place.
        page.set_viewport_size({"width": size[0], "height": 6000})
        page.locator(phrase(page, "with a cavity") + " .text").click()
        page.keyboard.press("c")
        page.locator("#text").fill("l ov ")
        expect(page.locator("#offered li").first).to_be_visible()
        page.evaluate(axe_script)
        assert faults(page) == []
        page.locator("#editor-close").click()
        page.locator("#me").click()
        assert faults(page) == []
        page.keyboard.press("Escape")
        page.locator(phrase(page, "cervix normal") + " .text").first.click()
        page.keyboard.press("c")
        page.locator("#text").fill("r ov cl 26")
        page.keyboard.press("Enter")
        expect(page.locator("#ask")).to_be_visible()
        assert faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.keyboard.press("Escape")
        page.close()


def test_the_code_for_a_telephone_is_on_the_page_that_others_can_reach(
    visit: Path, context: BrowserContext
) -> None:
    with reviewing(visit, "--who", "anna", "--host", "0.0.0.0") as address:
        page = context.new_page()
        # As a person does who has compared the fingerprint.
        trust = context.new_cdp_session(page)
        trust.send("Security.setIgnoreCertificateErrors", {"ignore": True})
        page.goto(address)
        expect(page.locator("#shown")).to_contain_text("phrases")
        page.get_by_role("button", name="Telephone").click()
        until(page, "document.querySelector('#code').naturalWidth > 100")
        expect(page.locator("#phone")).to_contain_text("fingerprint")
        page.locator("#phone").get_by_role("button", name="Close").click()
        page.close()
    with reviewing(visit, "--who", "anna") as address:
        page = opened(context, address)
        expect(page.get_by_role("button", name="Telephone")).to_have_count(0)
        page.close()
