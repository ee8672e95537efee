"""Who gets in, and who does not: tokens, hosts, origins, forms, and words that would be markup."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote, urlencode

import httpx2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from dictation.decide.people.orders import ORDERS
from dictation.decide.record import Record
from dictation.review.access import LONGEST_BODY, Gate
from dictation.review.app import MOST_FIELDS, application
from dictation.visit.inputs import By, PhraseInserted, TagChanged
from grammar.findings import Note, Said
from tests.decide.spoken import Chatter, Unsure
from tests.review.written import Said as Spoken
from tests.review.written import visit_in

PORT = 8123
HERE = f"http://127.0.0.1:{PORT}"
TOKEN = "the-token-of-this-visit"

SPOKEN: tuple[Spoken, ...] = (
    "cow eight three seven",
    "left ovary CL twenty-two",
    Unsure("pregnant forty days", ("pregnant fifty days",)),
    Chatter("shut that gate"),
)


class Served:
    """The page of a visit, asked without a network."""

    def __init__(self, folder: Path, secure: bool = False) -> None:
        self.waits: list[float] = []
        self.record = Record.amend(folder)
        names = frozenset({"localhost"})
        gate = Gate(TOKEN, PORT, names, secure, "anna", sleep=self._sleep)
        scheme = "https" if secure else "http"
        self.client = TestClient(
            application(self.record, gate), base_url=f"{scheme}://127.0.0.1:{PORT}"
        )

    async def _sleep(self, seconds: float) -> None:
        self.waits.append(seconds)

    def enter(self, token: str = TOKEN) -> httpx2.Response:
        return self.client.get("/enter", params={"token": token})

    def act(self, origin: str = HERE, **fields: str | int) -> httpx2.Response:
        """A correction as the page sends it; fields may leave out or replace what it sends."""
        page = self.client.get("/").text
        csrf = page.split('data-csrf="')[1].split('"')[0]
        seq = self.record.visit.last_seq
        form = {"csrf": csrf, "based_on": seq, "who": "anna", **fields}
        return self.client.post("/act", data=form, headers={"origin": origin})


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    page = Served(visit_in(tmp_path, *SPOKEN))
    yield page
    page.record.close()


ADDRESSES = ("/", "/changes?since=0", "/events", "/wave/1.svg", "/sound/1.flac", "/review.js",
             "/completions?prefix=l", "/reading?text=open", "/nothing")  # fmt: skip


@pytest.mark.parametrize("address", ADDRESSES)
def test_nothing_is_shown_without_the_token(served: Served, address: str) -> None:
    answer = served.client.get(address)
    assert answer.status_code == 403
    assert "837" not in answer.text


def test_the_token_is_exchanged_for_a_cookie_that_scripts_and_other_sites_do_not_get(
    served: Served,
) -> None:
    answer = served.enter()
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert TOKEN not in cookie
    page = served.client.get("/")
    assert page.status_code == 200
    assert "837" in page.text
    assert TOKEN not in page.text


def test_over_tls_the_cookie_stays_on_tls(tmp_path: Path) -> None:
    page = Served(visit_in(tmp_path, *SPOKEN), secure=True)
    assert "secure" in page.enter().headers["set-cookie"].lower()
    page.record.close()


def test_wrong_tokens_are_answered_ever_more_slowly(served: Served) -> None:
    for _ in range(7):
        assert served.enter("guess").status_code == 403
    assert served.waits == [0.5, 1.0, 2.0, 4.0, 8.0, 8.0, 8.0]
    assert served.enter().status_code == 200
    assert len(served.waits) == 7


def test_a_guessed_cookie_is_a_wrong_token_too(served: Served) -> None:
    name = f"hornsweep-{PORT}"
    for guess in ("a", "b"):
        answer = served.client.get("/", headers={"cookie": f"{name}={guess}"})
        assert answer.status_code == 403
    assert served.waits == [0.5, 1.0]


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"127.0.0.1.evil:{PORT}",
     "", f"localhost.evil:{PORT}", f"user@evil:{PORT}"],
)  # fmt: skip
def test_a_name_that_was_made_to_point_here_is_refused(served: Served, host: str) -> None:
    served.enter()
    answer = served.client.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert served.client.get(f"/enter?token={TOKEN}", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"[::1]:{PORT}"])
def test_our_own_names_are_served(served: Served, host: str) -> None:
    served.enter()
    assert served.client.get("/review.css", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "", f"http://127.0.0.1:{PORT + 1}",
               f"https://127.0.0.1:{PORT}", f"http://localhost:{PORT}"]
)  # fmt: skip
def test_another_origin_cannot_act(served: Served, origin: str) -> None:
    served.enter()
    before = served.record.visit.last_seq
    answer = served.act(origin, action="approve", exam=1)
    assert answer.status_code == 403
    assert served.record.visit.last_seq == before


def test_a_form_of_another_page_is_refused_even_with_the_cookie(served: Served) -> None:
    served.enter()
    assert served.act(csrf="guess", action="approve", exam=1).status_code == 403
    assert served.act(csrf="", action="approve", exam=1).status_code == 403


def test_what_the_page_itself_sends_is_done(served: Served) -> None:
    served.enter()
    answer = served.act(action="phrase", exam=1, phrase=2, text="l ov cl 24", why="misheard")
    told = "Tag 837: left ovary corpus luteum 22 mm became left ovary corpus luteum 24 mm."
    assert (answer.status_code, answer.json()["told"]) == (200, told)
    act = served.record.visit.acts[served.record.visit.last_seq]
    assert (act.who, act.why) == ("anna", "misheard")
    assert "corpus luteum 24 mm" in served.client.get("/").text


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("multipart/form-data; boundary=x", b"--x\r\n\r\n--x--", 415),
        ("application/json", b"{}", 415),
        ("text/plain", b"a=b", 415),
        ("application/x-www-form-urlencoded", b"a=" + b"x" * LONGEST_BODY, 413),
        ("application/x-www-form-urlencoded", b"action=approve", 403),
    ],
)
def test_nothing_but_a_short_form_is_taken(
    served: Served, kind: str, body: bytes, status: int
) -> None:
    served.enter()
    headers = {"origin": HERE, "content-type": kind}
    assert served.client.post("/act", content=body, headers=headers).status_code == status


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_no_other_method_is_known(served: Served, method: str) -> None:
    served.enter()
    assert served.client.request(method, "/").status_code == 405


@pytest.mark.parametrize(
    "address",
    ["/../../etc/passwd", "/%2e%2e/app.py", "/page.html", "/sound/..%2f..%2fvisit.sqlite",
     "/sound/99.flac", "/wave/99.svg", "/app.py", "/sound/\u00b2.flac",
     f"/sound/{'9' * 5000}.flac", f"/wave/{'9' * 5000}.svg", "/sound/-1.flac"],
)  # fmt: skip
def test_only_what_the_page_needs_is_served(served: Served, address: str) -> None:
    served.enter()
    assert served.client.get(address).status_code == 404


def test_a_sound_file_outside_the_visit_is_not_served(served: Served, tmp_path: Path) -> None:
    served.enter()
    audio = tmp_path / "audio" / "0003.flac"
    audio.symlink_to("/etc/hostname")
    assert served.client.get("/sound/3.flac").status_code == 404


@pytest.mark.parametrize("address", ["/", "/enter", "/nothing", "/review.js"])
def test_every_answer_says_what_the_page_may_do(served: Served, address: str) -> None:
    served.enter()
    headers = served.client.get(address).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert "access-control-allow-origin" not in headers


def test_the_page_asks_nobody_else_for_anything() -> None:
    pages = Path(__file__).parents[2] / "dictation" / "review" / "pages"
    for path in pages.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http:" not in text, path
        assert "https:" not in text, path
        assert "//cdn" not in text, path
        if path.suffix == ".html":
            assert "style=" not in text, path
            assert "<script>" not in text, path
            assert " onclick" not in text, path


MARKUP = '<img src=x onerror="document.title=1">\u202e\x1b[31m</li></ol>'


def test_hostile_words_are_shown_as_words(tmp_path: Path) -> None:
    said = (Said(Note(MARKUP), 0, 1, MARKUP),)
    by = By(MARKUP, MARKUP)
    hostile = ((TagChanged(1, MARKUP), by), (PhraseInserted(1, MARKUP, said), by))
    page = Served(visit_in(tmp_path, *SPOKEN, Chatter(MARKUP), *hostile))
    page.enter()
    shown = page.client.get("/").text
    changed = page.client.get("/changes?since=0").text
    for text in (shown, changed):
        assert "<img src=x" not in text
        assert "\x1b" not in text
        assert "\u202e" not in text
    assert "&lt;img src=x onerror=&#34;" in shown
    page.record.close()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"action": "phrase", "exam": 1, "phrase": 2, "text": "tractor"}, "no word of the exam"),
        ({"action": "phrase", "exam": 1, "phrase": 2, "text": "scratch that"}, "spoken command"),
        ({"action": "phrase", "exam": 1, "phrase": 2, "text": ""}, "Nothing was typed"),
        ({"action": "phrase", "exam": 1, "phrase": 2, "text": "open " * 200}, "longer than"),
        ({"action": "tag", "exam": 1, "text": "<b>"}, "is no tag"),
        ({"action": "tag", "exam": 9, "text": "12"}, "not there any more"),
        ({"action": "move", "phrase": 2, "text": "999"}, "no animal '999'"),
        ({"action": "move", "phrase": 99, "text": "837"}, "not there any more"),
        ({"action": "burn"}, "nothing that is known here"),
        ({"action": "answer", "query": "u99", "text": 1}, "not any more"),
        ({"action": "answer", "query": "u3", "text": "\u00b2"}, "no answer"),
        ({"action": "undo"}, "no correction to take back"),
        ({"action": "undo", "entry": 99}, "no correction to take back"),
        ({"action": "undo", "entry": "\u00b2"}, "did not say which"),
        ({"action": "redo"}, "Nothing was taken back"),
        ({"action": "withdraw", "phrase": "2; drop"}, "did not say which"),
        ({"action": "approve", "exam": "\u0661"}, "did not say which"),
        ({"action": "approve", "exam": 1, "based_on": "x"}, "load it again"),
        ({"action": "approve", "exam": 1, "based_on": "\u00b2"}, "load it again"),
        ({str(field): field for field in range(MOST_FIELDS)}, "more fields"),
        ({"action": "merge", "exam": 1, "text": "837"}, "change nothing"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(
    served: Served, fields: dict[str, str | int], words: str
) -> None:
    served.enter()
    before = served.record.visit.last_seq
    answer = served.act(HERE, **fields)
    assert answer.status_code == 422
    assert words in answer.json()["told"]
    assert served.record.visit.last_seq == before


def test_the_second_of_two_is_told_and_the_first_stands(served: Served) -> None:
    served.enter()
    seen = served.record.visit.last_seq
    first = served.act(action="phrase", exam=1, phrase=2, text="l ov cl 24", who="ben")
    second = served.act(action="phrase", exam=1, phrase=2, text="l ov cl 26", based_on=seen)
    assert (first.status_code, second.status_code) == (200, 409)
    assert "by ben" in second.json()["told"]
    assert "corpus luteum 24 mm" in second.json()["told"]


def test_what_does_more_than_was_seen_is_asked_first_and_done_when_chosen(served: Served) -> None:
    """An approval with something open, and its choice; nothing is done until one is made."""
    served.enter()
    before = served.record.visit.last_seq
    asked = served.act(action="approve", text="visit").json()
    assert asked["asks"].startswith("1 open: ")
    assert asked["choices"] == ["Approve as it is"]
    assert served.act(action="approve", text="visit", choice=3).status_code == 422
    assert served.record.visit.last_seq == before
    done = served.act(action="approve", text="visit", choice=1).json()
    assert done["told"] == "The visit is approved, 1 animals, 1 left open."
    assert done["changes"]["seq"] == before + 1


def test_one_value_is_read_before_it_is_sent_and_said_with_its_animal(served: Served) -> None:
    served.enter()
    fields = {"action": "value", "exam": 1, "finding": 2}
    read = served.client.get(f"/reading?{urlencode({**fields, 'text': '26'})}").json()
    told = "Tag 837: left ovary corpus luteum 22 mm became left ovary corpus luteum 26 mm."
    assert read == {"read": True, "words": told}
    assert served.act(action="value", exam=1, finding=2, text="26").json()["told"] == told


@pytest.mark.parametrize("since", ["", "x", "\u00b2", "\u0661", "-1", "9" * 5000])
def test_changes_since_no_entry_at_all_are_not_asked_for(served: Served, since: str) -> None:
    served.enter()
    answer = served.client.get("/changes", params={"since": since})
    assert answer.status_code == 400
    assert "Load the page again" in answer.text


def test_what_the_page_shows_as_the_last_correction_is_what_is_taken_back(served: Served) -> None:
    served.enter()
    served.act(action="tag", exam=1, text="838", who="ben")
    shown = served.record.visit.last_seq
    served.act(action="insert", exam=1, phrase=2, text="lov ns", who="carl")
    undone = served.act(action="undo", entry=shown, based_on=shown).json()
    assert undone["told"] == "Taken back: what ben did."
    (exam,) = served.record.visit.exams
    assert exam.tag == "837"
    assert len(exam.standing) == 4
    entry = served.record.visit.last_seq
    assert served.act(action="redo", entry=shown).status_code == 422
    assert served.act(action="redo", entry=entry).status_code == 200
    assert served.record.visit.exams[0].tag == "838"


def test_only_what_changed_is_sent_to_a_page_that_follows(tmp_path: Path) -> None:
    page = Served(visit_in(tmp_path, *SPOKEN, "next cow four one two", "open"))
    page.enter()
    page.client.get("/")
    seen = page.record.visit.last_seq
    assert page.client.get(f"/changes?since={seen}").json()["exams"] == {}
    assert page.act(action="tag", exam=2, text="413").status_code == 200
    news = page.client.get(f"/changes?since={seen}").json()
    assert list(news["exams"]) == ["2"]
    assert news["seq"] == seen + 1
    assert "Tag 413" in news["exams"]["2"]
    page.record.close()


def test_completion_and_reading_use_the_grammar(served: Served) -> None:
    served.enter()
    query = urlencode({"prefix": "l ov c"})
    assert served.client.get(f"/completions?{query}").json()[0] == "cl"
    typed = {"action": "insert", "exam": 1, "text": "l ov f 9"}
    read = served.client.get(f"/reading?{urlencode(typed)}").json()
    assert read == {"read": True, "words": "Tag 837: added left ovary follicle 9 mm."}
    typed["text"] = "tractor"
    assert not served.client.get(f"/reading?{urlencode(typed)}").json()["read"]


ODD = st.one_of(
    st.text(max_size=40),
    st.sampled_from(
        ["\u00b2", "9" * 5000, "-1", "\u0661", "%ff", "..", "\ud800", "0", "1", "visit"]
    ),
)
NAMES = st.sampled_from(
    ["action", "exam", "phrase", "finding", "query", "entry", "text", "why", "who", "based_on",
     "csrf", "since", "prefix", "token"]
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    path=st.sampled_from([*ADDRESSES, "/enter", "/act", "/next.svg", "/sound/{}.flac", "/{}"]),
    odd=ODD,
    fields=st.dictionaries(NAMES, ODD, max_size=6),
    action=st.sampled_from(sorted(ORDERS)),
)
def test_whatever_is_asked_is_answered_and_never_by_a_mistake_of_ours(
    served: Served, path: str, odd: str, fields: dict[str, str], action: str
) -> None:
    """The client raises what the page raises."""
    if not served.client.cookies:
        served.enter()
    if path == "/events":
        return
    asked = urlencode(fields, errors="surrogatepass")
    address = path.replace("{}", quote(odd, safe="", errors="surrogatepass"))
    if "?" not in address:
        address += f"?{asked}"
    assert served.client.get(address).status_code < 500
    page = served.client.get("/").text
    csrf = page.split('data-csrf="')[1].split('"')[0]
    form = {"csrf": csrf, "based_on": "1", "action": action, **fields}
    body = urlencode(form, errors="surrogatepass").encode()
    headers = {"origin": HERE, "content-type": "application/x-www-form-urlencoded"}
    assert served.client.post("/act", content=body, headers=headers).status_code < 500


def test_an_address_that_was_used_lets_nobody_else_in(served: Served) -> None:
    assert served.enter().status_code == 200
    assert served.enter().status_code == 200, "the same browser goes on"
    served.client.cookies.clear()
    assert served.enter().status_code == 403
    assert "somebody has used it" in served.enter().text


def test_a_look_at_the_head_of_an_address_does_not_spend_it(served: Served) -> None:
    assert served.client.head("/enter", params={"token": TOKEN}).status_code == 403
    assert served.enter().status_code == 200


def test_the_cookie_outlasts_the_browser_window(served: Served) -> None:
    assert "max-age=86400" in served.enter().headers["set-cookie"].lower()
