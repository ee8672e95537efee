"""Of a phrase that cannot be read whole, the part that can is kept, and the rest as words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grammar import parse
from grammar.findings import Finding, Plan, PlanAction
from grammar.partly import part_of
from grammar.wording import written
from tests.grammar.strategies import VISIT


def part(phrase: str) -> tuple[str, str] | None:
    """The findings of the part as they are written, and the rest."""
    found = part_of(parse(phrase, VISIT), VISIT)
    if found is None:
        return None
    words = (written(s.what) for s in found.said if isinstance(s.what, Finding))
    return "; ".join(words), found.rest


@pytest.mark.parametrize(
    ("phrase", "findings", "rest"),
    [
        ("left ovary CL twenty mil looks wobbly", "left ovary corpus luteum 20 mm", "looks wobbly"),
        ("funny looking, pregnant forty days", "pregnant 40 days", "funny looking"),
        (
            "left ovary CL twenty mil, wobbly, right ovary static",
            "left ovary corpus luteum 20 mm; right ovary static",
            "wobbly",
        ),
    ],
)
def test_a_part_is_kept_and_the_rest_as_words(phrase: str, findings: str, rest: str) -> None:
    assert parse(phrase, VISIT).findings == ()
    assert part(phrase) == (findings, rest)


@pytest.mark.parametrize(
    "phrase",
    [
        "open the gate",
        "left a bit",
        "she is in the other pen",
        "clear off",
        "bring the next one in",
        "back in five minutes",
        "he'll be back tomorrow",
        "forty odd miles",
    ],
)
def test_what_is_mostly_talk_has_no_part(phrase: str) -> None:
    assert part(phrase) is None


def test_a_product_that_is_not_known_is_a_treatment_of_no_class_yet() -> None:
    found = part_of(parse("open, give her blupp", VISIT), VISIT)
    assert found is not None
    assert found.product == "blupp"
    assert [s.what for s in found.said][1:] == [Plan(PlanAction.TREAT)]


@given(st.text(alphabet="abcdeilnoprtuvw ", max_size=40))
def test_every_word_is_in_the_part_or_in_the_rest(text: str) -> None:
    reading = parse(f"left ovary cl twenty mil {text}", VISIT)
    found = part_of(reading, VISIT)
    if found is not None:
        words = reading.normal.split()
        assert found.rest in reading.normal
        told = {w for s in found.said for w in reading.normal[s.start : s.end].split()}
        assert {"left", "ovary", "cl", "twenty", "mil"} <= told
        assert len(found.rest.split()) < len(words)
