"""One value of a finding is put right by typing it alone; all else of it stays as it was said."""

from __future__ import annotations

import pytest

from dictation.decide.people.one_value import with_one_value
from dictation.errors import WrongUseError
from grammar.parse import parse
from grammar.wording import written
from tests.decide.spoken import ON


@pytest.mark.parametrize(
    ("said", "typed", "becomes"),
    [
        ("right ovary cl twenty-four", "26", "right ovary corpus luteum 26 mm"),
        ("right ovary cl twenty-four", "twenty six", "right ovary corpus luteum 26 mm"),
        ("right ovary cl twenty-four", "2.6 cm", "right ovary corpus luteum 26 mm"),
        ("right ovary cl twenty-four", "left", "left ovary corpus luteum 24 mm"),
        ("right ovary cl twenty-four", "follicle", "right ovary follicle 24 mm"),
        ("right ovary cl twenty-four", "static", "right ovary static"),
        ("right ovary cl twenty-four", "l ov cl 22", "left ovary corpus luteum 22 mm"),
        ("right ovary cl", "26", "right ovary corpus luteum 26 mm"),
        ("left ovary cl 22 cavity six", "24 by 7", "left ovary corpus luteum 24 mm cavity 7 mm"),
        ("pregnant six weeks", "7 weeks", "pregnant 49 days (7 weeks)"),
        ("pregnant about forty days", "45", "pregnant about 45 days"),
        ("pregnant forty days", "open", "open"),
        ("bull calf", "heifer", "female fetus"),
        ("recheck in three weeks", "28", "recheck in 28 days"),
        ("recheck in three weeks", "in 4 weeks", "recheck in 28 days"),
        ("left horn clear", "fluid", "left horn fluid"),
        ("twins", "triplets", "triplets"),
        ("heartbeat", "no heartbeat", "no heartbeat"),
        ("condition three", "3.5", "condition 3.5"),
        ("note lane", "lame", "note: lame"),
        ("cow eight three seven", "838", "tag 838"),
        ("fetus one crown rump thirty", "32", "fetus 1: crown rump length 32 mm"),
    ],
)  # fmt: skip
def test_what_is_typed_is_the_value_alone(said: str, typed: str, becomes: str) -> None:
    (finding,) = parse(said, ON).findings
    assert written(with_one_value(finding, typed, ON)) == becomes


@pytest.mark.parametrize(
    ("said", "typed", "told"),
    [
        ("pregnant six weeks", "7", "said in weeks"),
        ("right ovary two follicles", "3", "How many, or how large"),
        ("cervix normal", "left", "has no side"),
        ("cervix normal", "12", "has no number"),
        ("heartbeat", "3 weeks", "not counted in days"),
        ("right ovary cl twenty-four", "cull, open", "more than one finding"),
        ("right ovary cl twenty-four", "tractor", "is not read"),
        ("twins", "2.5", "only a whole number"),
        ("cow eight three seven", "8a", "is no tag"),
    ],
)  # fmt: skip
def test_what_can_mean_two_things_or_nothing_changes_nothing(
    said: str, typed: str, told: str
) -> None:
    (finding,) = parse(said, ON).findings
    with pytest.raises(WrongUseError, match=told):
        with_one_value(finding, typed, ON)
