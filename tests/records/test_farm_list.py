"""The farm's list: who stands where, in which order, with which cautions; and hostile text."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from pypdf import PdfReader

from dictation.errors import MissingError
from dictation.records.farm_list.page import page, parts_of, pdf, write_list
from dictation.records.farm_list.part import Part
from dictation.visit.inputs import ExamApproved
from dictation.visit.state import Visit
from grammar.exam import KnownAnimal
from tests.decide.spoken import Phrase, Unsure
from tests.records.visits import farm_visit, flags_of, heard

GOLDEN = Path(__file__).parent / "golden" / "list.txt"


def parts(visit: Visit) -> dict[str, Part]:
    return {part.name: part for part in parts_of(visit, flags_of(visit))}


def tags(visit: Visit) -> dict[str, list[str]]:
    return {name: [line.tag for line in part.lines] for name, part in parts(visit).items()}


def said(*phrases: Phrase) -> dict[str, Part]:
    return parts(heard(*phrases))


def as_text(visit: Visit) -> str:
    lines = []
    for part in parts_of(visit, flags_of(visit)):
        lines.append(f"{part.title} ({part.order})")
        lines += [f"  ! {words}" for words in part.heed]
        for line in part.lines:
            cells = [" / ".join(re.split("[\n\v]", cell)) for cell in line.cells]
            lines.append("  " + " | ".join((line.tag, *cells)))
    return "\n".join(lines) + "\n"


def test_the_whole_list_reads_as_expected(rewrite_golden: bool) -> None:
    text = as_text(farm_visit())
    if rewrite_golden:
        GOLDEN.write_text(text, encoding="utf-8")
    assert text == GOLDEN.read_text(encoding="utf-8")


def test_every_animal_stands_in_one_of_the_main_parts() -> None:
    found = tags(farm_visit())
    main = [*found["pregnant"], *found["open"], *found["not-said"]]
    lost = set(found["losses"]) - set(main)
    assert sorted([*main, *lost]) == sorted(exam.tag or "" for exam in farm_visit().exams)


def test_cows_in_calf_come_by_their_day_with_age_error_and_dates() -> None:
    part = parts(farm_visit())["pregnant"]
    assert [line.tag for line in part.lines] == ["1146", "837", "2605"]
    assert part.lines[1].cells == (
        "45 ± 5.2\vas said",
        "10 Jul 2027\v27 Jun to 23 Jul",
        "11 May 2027",
        "",
    )


def test_twins_and_the_calf_s_sex_are_marked() -> None:
    line = parts(farm_visit())["pregnant"].lines[0]
    assert line.cells[3] == "TWINS\v1: bull"
    assert line.strong == (3,)
    assert any("Twins" in words for words in parts(farm_visit())["pregnant"].heed)


def test_tags_are_sorted_as_numbers() -> None:
    visit = heard("cow one hundred", "open", "next cow nine", "open", "next cow eight two", "open")
    assert tags(visit)["open"] == ["9", "82", "100"]


def test_rechecks_come_by_day() -> None:
    part = parts(farm_visit())["recheck"]
    assert [(line.tag, *line.cells[:2]) for line in part.lines] == [
        ("906", "2 Dec 2026", "14 days"),
        ("2605", "16 Dec 2026", "28 days"),
    ]


def test_prostaglandin_brings_its_caution_and_other_treatment_only_the_medicine_one() -> None:
    careful = said("cow four one two", "open", "prostaglandin")["plans"].heed
    assert "women of child-bearing age" in careful[0]
    assert "may be in calf" in careful[0]
    other = said("cow four one two", "open", "antibiotic")["plans"].heed
    assert not any("women" in words for words in other)
    assert any("medicine record" in words for words in other)


def test_without_a_treatment_there_is_no_caution_on_medicine() -> None:
    assert said("cow four one two", "open", "cull")["plans"].heed == ()


def test_a_stop_of_the_checks_waits_for_the_vet_until_it_is_approved() -> None:
    phrases: tuple[Phrase, ...] = (
        "cow eight three seven",
        "pregnant forty-five days",
        "prostaglandin",
    )
    assert "would end the pregnancy" in said(*phrases)["decision"].lines[0].cells[0]
    approved = said(*phrases, ExamApproved(1))
    assert "decision" not in approved


def test_a_condition_with_a_plan_does_not_wait_for_the_vet() -> None:
    assert "decision" in said("cow seven three", "open", "pyometra")
    assert "decision" not in said("cow seven three", "open", "pyometra", "recheck in two weeks")


def test_an_open_question_is_a_doubt_and_its_value_stands_nowhere_else() -> None:
    doubtful = Unsure("left ovary CL forty", ("left ovary CL fourteen",))
    found = said("cow four one two", doubtful, "open")
    assert "14 mm" in found["doubts"].lines[0].cells[0]
    assert "40" not in str(found["open"])


def test_a_status_that_is_asked_about_is_not_in_calf() -> None:
    doubtful = Unsure("pregnant forty days", ("pregnant fifty days",))
    found = said("cow four one two", doubtful)
    assert "pregnant" not in found
    assert found["not-said"].lines[0].cells[0] == "a question is open"


def test_ages_that_contradict_give_no_dates() -> None:
    found = said(
        "cow four one two", "pregnant seventy-five days", "crown rump twenty-two millimetres"
    )
    age, due, dry, _ = found["pregnant"].lines[0].cells
    assert age.startswith("not sure")
    assert due == "not to say yet"
    assert dry == ""


def test_a_cow_without_a_tag_is_named_by_her_exam() -> None:
    visit = heard("next cow", "left ovary follicle ten", "open")
    assert tags(visit)["open"] == ["no tag (exam 1)"]


def test_a_cow_past_her_day_to_dry_off_is_told() -> None:
    found = said("cow four one two", "pregnant two hundred and forty days")
    assert found["pregnant"].lines[0].cells[2].endswith("ALREADY PAST")


class Tags(HTMLParser):
    """Names of the elements, and the text of the page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.text: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        assert not [name for name, _ in attrs if name.startswith("on")]

    def handle_data(self, data: str) -> None:
        self.text.append(data)


HOSTILE = (
    '<script>alert(1)</script>{{ 7 * 7 }}<img src="http://example.org/x" onerror=a>\x00\u202e&'
)


def hostile_visit() -> Visit:
    visit = heard("cow five", "open", "take a note", "=1+1")
    exam = replace(visit.exams[0], tag=HOSTILE, known=KnownAnimal(HOSTILE, breed=HOSTILE))
    asked = replace(exam, open_queries=(HOSTILE,))
    return replace(visit, exams=(asked,), farm=HOSTILE)


def test_hostile_text_stays_text() -> None:
    visit = hostile_visit()
    text = page(visit, flags_of(visit))
    seen = Tags(text)
    assert not seen.names & {"script", "img", "iframe", "object", "link"}
    assert "49" not in text
    assert "\x00" not in text
    assert "\u202e" not in text
    assert html.escape("<script>alert(1)</script>") in text


def test_the_page_asks_for_nothing_from_outside() -> None:
    text = page(farm_visit(), flags_of(farm_visit()))
    assert not re.search(r"""(src|href)\s*=|url\(|@import""", text)


def test_the_page_counts_each_animal_once() -> None:
    text = " ".join("".join(Tags(page(farm_visit(), flags_of(farm_visit()))).text).split())
    assert "8 looked at 3 in calf 2 open 1 lost 2 not known" in text


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    try:
        import weasyprint  # noqa: F401
    except OSError:
        pytest.skip("PDF: the library Pango is not on this machine")
    path = tmp_path_factory.mktemp("list") / "list.pdf"
    visit = hostile_visit()
    content = pdf(page(visit, flags_of(visit)))
    assert content is not None
    path.write_bytes(content)
    return path


def test_the_pdf_is_a4_and_says_what_the_page_says(printed: Path) -> None:
    reader = PdfReader(printed)
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == (595, 842)
    text = "".join(each.extract_text() for each in reader.pages)
    assert "<script>alert(1)</script>" in re.sub(r"\s", "", text)
    assert "does not diagnose" in " ".join(text.split())


def test_the_pdf_runs_nothing(printed: Path) -> None:
    content = printed.read_bytes()
    assert b"/JavaScript" not in content
    assert b"/Launch" not in content


def test_the_html_is_written_even_where_the_pdf_cannot_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    class NoPango:
        def find_spec(self, name: str, path: object, target: object = None) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])
    with pytest.raises(MissingError, match=r"print list\.html"):
        write_list(tmp_path, page(farm_visit(), flags_of(farm_visit())))
    assert (tmp_path / "list.html").stat().st_size > 1000


def test_without_the_extra_the_page_is_written_and_no_older_pdf_stays_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    (tmp_path / "list.pdf").write_bytes(b"%PDF-1.7 of an earlier visit")
    html = page(farm_visit(), flags_of(farm_visit()))
    assert write_list(tmp_path, html) == (tmp_path / "list.html",)
    assert [path.name for path in tmp_path.iterdir()] == ["list.html"]
    assert (tmp_path / "list.html").read_text(encoding="utf-8") == html
