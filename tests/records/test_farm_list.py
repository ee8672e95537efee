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
from dictation.records.farm_list.page import page, parts_of, pdf, write_page
from dictation.records.farm_list.part import Line, Part
from dictation.visit.inputs import ExamApproved
from dictation.visit.state import Visit
from grammar.exam import KnownAnimal
from tests.decide.spoken import Phrase, Unsure
from tests.records.visits import LISTED, farm_visit, flags_of, heard

GOLDEN = Path(__file__).parent / "golden" / "list.txt"


def parts(visit: Visit) -> dict[str, Part]:
    """Parts by their names; those of the days are one."""
    found: dict[str, Part] = {}
    for part in parts_of(visit, flags_of(visit)):
        before = found.get(part.name)
        found[part.name] = (
            part if before is None else replace(part, lines=before.lines + part.lines)
        )
    return found


def tags(visit: Visit) -> dict[str, list[str]]:
    return {name: [line.tag for line in part.lines] for name, part in parts(visit).items()}


def said(*phrases: Phrase) -> dict[str, Part]:
    return parts(heard(*phrases))


def animal(*phrases: Phrase) -> Line:
    """The line of the only animal in the list by tag."""
    (line,) = said(*phrases)["animals"].lines
    return line


def as_text(visit: Visit) -> str:
    lines = []
    for part in parts_of(visit, flags_of(visit)):
        lines.append(f"{part.title} ({part.order})")
        for line in part.lines:
            cells = [" / ".join(re.split("[\n\v]", cell)) for cell in line.cells]
            box = "[ ]" if line.box else " ? " if line.doubt else "   "
            lines.append(f" {box} " + " | ".join((line.tag, *cells)))
            lines += [f"      DO NOT ACT: {line.doubt}"] * bool(line.doubt)
        lines += [f"  ! {words}" for words in part.heed]
    return "\n".join(lines) + "\n"


def test_the_whole_list_reads_as_expected(rewrite_golden: bool) -> None:
    text = as_text(farm_visit())
    if rewrite_golden:
        GOLDEN.write_text(text, encoding="utf-8")
    assert text == GOLDEN.read_text(encoding="utf-8")


def test_every_animal_stands_once_in_the_list_by_tag() -> None:
    found = tags(farm_visit())["animals"]
    assert sorted(found) == sorted(exam.tag or "" for exam in farm_visit().exams)
    visit = heard("cow one hundred", "open", "next cow nine", "open", "next cow eight two", "open")
    assert tags(visit)["animals"] == ["9", "82", "100"]


def test_a_cow_in_calf_has_her_age_its_error_and_her_days() -> None:
    line = next(li for li in parts(farm_visit())["animals"].lines if li.tag == "837")
    assert line.cells[:2] == (
        "IN CALF\v45 ± 5.2 days as said",
        "10 Jul 2027\v27 Jun to 23 Jul\vdry off 11 May 2027",
    )


def test_twins_and_the_calf_s_sex_are_told() -> None:
    part = parts(farm_visit())["animals"]
    line = next(li for li in part.lines if li.tag == "1146")
    assert "TWINS; 1: bull calf" in line.cells[2]
    assert any("Twins" in words for words in part.heed)


def test_what_is_to_be_done_comes_by_day() -> None:
    every = [
        part for part in parts_of(farm_visit(), flags_of(farm_visit())) if part.name == "to-do"
    ]
    assert [(part.title, [li.tag for li in part.lines]) for part in every] == [
        ("18 Nov 2026: the day of the visit, or no day was said", ["412"]),
        ("2 Dec 2026", ["906"]),
        ("16 Dec 2026", ["2605"]),
    ]


def test_within_a_day_it_comes_by_pen() -> None:
    mine = (KnownAnimal("73", pen="Pen 10"), KnownAnimal("412", pen="Pen 9"))
    pens = replace(LISTED, digest="e" * 64, animals=mine)
    visit = heard(
        pens, "cow seven three", "open", "prostaglandin", "next cow four one two", "breed"
    )
    (part,) = (part for part in parts_of(visit, flags_of(visit)) if part.name == "to-do")
    assert [(line.tag, line.cells[0]) for line in part.lines] == [
        ("412", "Pen 9"),
        ("73", "Pen 10"),
    ]


def test_why_a_cow_is_to_be_bred_is_told() -> None:
    line = said("cow four one two", "right ovary follicle sixteen", "on heat", "breed")[
        "to-do"
    ].lines[0]
    assert line.cells == ("breed", "on heat; right ovary follicle 16 mm")


def test_a_device_has_its_day_out_or_it_is_asked_for() -> None:
    told = said("cow four one two", "open", "progesterone device")["to-do"].lines
    assert "no day was said for taking it out" in told[0].cells[0]
    both = said("cow four one two", "open", "progesterone device", "device out in seven days")
    assert [line.cells[0] for line in both["to-do"].lines] == [
        "progesterone device",
        "take the progesterone device out",
    ]


def test_what_is_in_doubt_has_no_box_and_says_why_in_the_same_place() -> None:
    doubtful = Unsure("left ovary CL forty", ("left ovary CL fourteen",))
    found = said("cow four one two", doubtful, "open", "prostaglandin")
    for name in ("to-do", "animals"):
        line = found[name].lines[0]
        assert "14 mm" in line.doubt
        assert not line.box
        assert "40 mm" not in str(line.cells)
    sure = said("cow four one two", "left ovary CL twenty", "open", "prostaglandin")["to-do"]
    assert sure.lines[0].box


def test_a_stop_of_the_checks_bars_a_plan_until_it_is_approved() -> None:
    phrases: tuple[Phrase, ...] = (
        "cow eight three seven", "pregnant forty-five days", "prostaglandin",
    )  # fmt: skip
    line = said(*phrases)["to-do"].lines[0]
    assert "would end the pregnancy" in line.doubt
    assert not line.box
    assert said(*phrases, ExamApproved(1))["to-do"].lines[0].box


def test_prostaglandin_brings_its_caution_and_other_treatment_only_the_medicine_one() -> None:
    careful = said("cow four one two", "open", "prostaglandin")["to-do"].heed
    assert "women of child-bearing age" in careful[0]
    assert "may be in calf" in careful[0]
    other = said("cow four one two", "open", "antibiotic")["to-do"].heed
    assert not any("women" in words for words in other)
    assert any("medicine record" in words for words in other)
    assert said("cow four one two", "open", "cull")["to-do"].heed == ()


def test_a_condition_with_a_plan_does_not_wait_for_the_vet() -> None:
    assert "decision" in said("cow seven three", "open", "pyometra")
    assert "decision" not in said("cow seven three", "open", "pyometra", "recheck in two weeks")


def test_a_status_that_is_asked_about_is_not_in_calf() -> None:
    doubtful = Unsure("pregnant forty days", ("pregnant fifty days",))
    line = animal("cow four one two", doubtful)
    assert line.cells[:2] == ("not known\va question is open", "")


def test_ages_that_contradict_give_no_dates() -> None:
    line = animal("cow four one two", "pregnant seventy-five days", "crown rump twenty-two")
    assert "said and measured differ" in line.cells[0]
    assert line.cells[1] == "not to say yet"


def test_a_cow_without_a_tag_is_named_by_her_exam() -> None:
    assert animal("next cow", "left ovary follicle ten", "open").tag == "no tag (exam 1)"


def test_a_cow_past_her_day_to_dry_off_is_told() -> None:
    line = animal("cow four one two", "pregnant two hundred and forty days")
    assert line.cells[1].endswith("ALREADY PAST")


def test_of_a_long_number_the_end_is_large_and_the_rest_small() -> None:
    listed = replace(LISTED, digest="e" * 64, animals=(KnownAnimal("DE 01 234 56837"),))
    visit = heard(listed, "cow eight three seven", "open")
    (line,) = parts(visit)["animals"].lines
    assert (line.before, line.tag) == ("DE 01 234 5", "6837")


def test_the_page_says_whether_it_is_a_draft_or_who_stands_for_it() -> None:
    draft = heard("cow four one two", Unsure("open", ("pregnant",)))
    assert "draft, 1 open" in page(draft, flags_of(draft))
    signed = heard("cow four one two", "open", ExamApproved(None))
    assert "approved by anna, 2026-11-18" in page(signed, flags_of(signed))


def test_fifteen_animals_need_two_pages_and_no_chart(tmp_path: Path) -> None:
    phrases: list[Phrase] = []
    for number in range(100, 115):
        plan = ("prostaglandin", "recheck in two weeks")[number % 2]
        phrases += [f"next cow {number}", "left ovary follicle sixteen, right ovary CL twenty"]
        phrases += ["open", plan] if number % 3 else ["pregnant forty-five days"]
    visit = heard(*phrases, ExamApproved(None))
    html = page(visit, flags_of(visit))
    assert "<svg" not in html
    content = pdf(html)
    assert content is not None
    (tmp_path / "list.pdf").write_bytes(content)
    assert len(PdfReader(tmp_path / "list.pdf").pages) == 2


def test_nothing_is_printed_smaller_than_ten_points() -> None:
    fonts = re.findall(r"font(?:-size)?: ([0-9.]+)pt", page(farm_visit(), flags_of(farm_visit())))
    assert min(map(float, fonts)) >= 10


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
    with pytest.raises(MissingError, match="print the HTML"):
        write_page(tmp_path, page(farm_visit(), flags_of(farm_visit())))
    assert (tmp_path / "list.html").stat().st_size > 1000


def test_without_the_extra_the_page_is_written_and_no_older_pdf_stays_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    (tmp_path / "list.pdf").write_bytes(b"%PDF-1.7 of an earlier visit")
    html = page(farm_visit(), flags_of(farm_visit()))
    assert write_page(tmp_path, html) == (tmp_path / "list.html",)
    assert [path.name for path in tmp_path.iterdir()] == ["list.html"]
    assert (tmp_path / "list.html").read_text(encoding="utf-8") == html
