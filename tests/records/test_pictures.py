"""Charts: well-formed, to scale, silent on what is in doubt."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from dictation.records.pictures import charts
from dictation.records.pictures.charts import pictures
from dictation.records.pictures.drawing import Picture, steps
from dictation.visit.state import Visit
from tests.decide.spoken import Unsure
from tests.records.visits import farm_visit, heard

SVG = "{http://www.w3.org/2000/svg}"


def words(svg: ElementTree.Element | str) -> str:
    root = ElementTree.fromstring(svg) if isinstance(svg, str) else svg
    return " | ".join("".join(each.itertext()) for each in root.iter(f"{SVG}text"))


def every(visit: Visit) -> tuple[Picture, ...]:
    return pictures(visit)


def test_a_visit_has_its_charts_and_all_are_well_formed() -> None:
    made = every(farm_visit())
    assert [p.name for p in made] == ["ages", "calvings", "open"]
    for picture in made:
        ElementTree.fromstring(picture.svg)
        assert not re.search(r"<script|<image|<foreignObject| on[a-z]+=", picture.svg)


def test_the_same_visit_gives_the_same_pictures() -> None:
    assert every(farm_visit()) == every(farm_visit())


def test_an_empty_visit_has_no_pictures() -> None:
    assert every(heard("cow five")) == ()


def test_every_cow_in_calf_stands_with_her_tag_and_error() -> None:
    chart = charts.ages(farm_visit().exams)
    assert chart is not None
    assert {"837", "1146", "2605"} <= set(words(chart.svg).split(" | "))


def test_calvings_are_counted_by_the_week_from_monday() -> None:
    chart = charts.calvings(heard("cow eight three seven", "pregnant forty-five days").exams)
    assert chart is not None
    assert "5 Jul" in words(chart.svg)


def test_a_column_is_as_high_as_its_count_says() -> None:
    visit = heard(
        "cow five", "pregnant forty-five days", "next cow six", "pregnant forty-six days",
        "next cow seven", "pregnant sixty days",
    )  # fmt: skip
    chart = charts.calvings(visit.exams)
    assert chart is not None
    root = ElementTree.fromstring(chart.svg)
    highs = [float(each.get("height") or 0) for each in root.iter(f"{SVG}rect")]
    assert highs == pytest.approx([20.0, 40.0])
    assert {"0", "1", "2"} <= set(words(root).split(" | "))


@pytest.mark.parametrize("count", [1, 3, 7, 26, 140])
def test_all_of_a_chart_lies_within_its_picture(count: int) -> None:
    exam = farm_visit().exams[0]
    many = tuple(replace(exam, number=n + 1, tag="9" * 40) for n in range(count))
    for chart in (charts.ages(many), charts.calvings(many)):
        assert chart is not None
        root = ElementTree.fromstring(chart.svg)
        _, _, wide, high = (float(number) for number in (root.get("viewBox") or "").split())
        for each in root.iter(f"{SVG}line"):
            assert 0 <= float(each.get("x1") or -1) <= float(each.get("x2") or -1) <= wide
            assert 0 <= float(each.get("y1") or -1) <= float(each.get("y2") or -1) <= high


@pytest.mark.parametrize(
    ("last", "marks"),
    [(0, (0,)), (1, (0, 1)), (5, (0, 1, 2, 3, 4, 5)), (6, (0, 2, 4, 6)), (70, (0, 20, 40, 60))],
)
def test_an_axis_has_few_round_numbers(last: int, marks: tuple[int, ...]) -> None:
    assert steps(0, last, 6) == marks


def test_a_cow_with_no_calving_date_is_counted_in_words() -> None:
    visit = heard("cow five", "open", "next cow seven three", "open")
    chart = charts.open_since_calving(visit.exams)
    assert chart is not None
    assert chart.words == "1 more with no calving date known."


def test_hostile_text_stays_text_in_a_picture() -> None:
    hostile = "$x_{<b>$\\frac{]]><script>alert(1)</script>&\x00\u202e"
    exam = replace(farm_visit().exams[0], tag=hostile)
    for picture in (charts.ages((exam,)),):
        assert picture is not None
        ElementTree.fromstring(picture.svg)
        assert "<script" not in picture.svg
        assert "\u202e" not in picture.svg
    assert "$x_{<b>$" in words(charts.ages((exam,)).svg)  # type: ignore[union-attr]


def test_what_is_asked_about_is_in_no_picture() -> None:
    exam = heard("cow five", Unsure("pregnant forty days", ("pregnant fifty days",))).exams[0]
    assert charts.ages((exam,)) is None
    assert charts.calvings((exam,)) is None
