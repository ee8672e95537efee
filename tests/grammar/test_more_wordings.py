"""Wordings of a morning's work beyond the first ones, and what must never be read in silence."""

from __future__ import annotations

from datetime import date

import pytest

from grammar import parse
from grammar.findings import Finding
from grammar.wording import written

VISIT = date(2026, 11, 18)

WORDINGS: dict[str, str] = {
    "four and a bit months": "pregnant about 120 days",
    "easy sixty days": "pregnant about 60 days",
    "forty give or take": "pregnant about 40 days",
    "carrying in the left": "pregnant left horn",
    "two in there": "twins",
    "no beat": "no heartbeat",
    "mummified calf": "uterus mummified",
    "too deep": "note: too deep",
    "EED": "loss",
    "CL with a hole in it": "ovary corpus luteum with a cavity",
    "hollow CL left": "left ovary corpus luteum with a cavity",
    "cavitary CL right twenty five": "right ovary corpus luteum 25 mm with a cavity",
    "left ovary off the screen": "left ovary not seen",
    "flecks in it": "uterus cloudy fluid",
    "mucky": "uterus dirty",
    "slow to clean": "uterus not involuted",
    "bound down": "uterus adhesion",
    "shot of PG": "prostaglandin",
    "AI in the morning": "breed in 1 days",
    "take bloods": "sample",
    "body score two and a half": "condition 2.5",
    "fifteen mil embryo": "embryo; crown rump length 15 mm",
    "half inch follicle": "ovary follicle 12.7 mm",
    "couldn't get her back": "not drawn back",
    "can't get past the dung": "note: cannot get past the dung",
    "heavy in calf": "pregnant late",
    "due end of June": "note: due end of june",
    "due the fifth": "note: due the fifth",
    "not to that service": "note: not to that service",
    "in season": "note: in season",
    "fremitus left": "fremitus; note: fremitus left",
    "twenty four mil head": "head width 24 mm",
    "pregnant, springing": "pregnant springing",
    "pelvic uterus": "pelvic",
    "womb's clean": "uterus clear",
    "the left ovary is static": "left ovary static",
    "fluid in the left": "left horn fluid",
    "pregnant in the left": "pregnant left horn",
    "CL left and right follicle sixteen": "left ovary corpus luteum; right ovary follicle 16 mm",
    "thirty day pregnancy right horn": "pregnant 30 days right horn",
    "CL twenty two mil fluid": "ovary corpus luteum 22 mm; uterus fluid",
    "heartbeat one sixty days": "heartbeat; pregnant 160 days",
}

ASKED = (
    "left clear",
    "device out day seven",
    "pregnant open",
    "not sure pregnant",
    "open forty days",
    "ten weeks nine weeks",
    "single CL left",
    "both ovaries active",
    "follicle ten to twelve mil",
    "one CL left one CL right",
    "twenty follicles under ten",
    "left side",
    "CL on the left twelve mil follicle on the right",
    "fluid fifty eight right small follicles",
    "embryo left horn open",
    "CL twenty left, same on the right",
    "CL left, follicle left, same on the right",
    "CL both sides eighteen and twenty",
    "about fifty",
    "she was open",
    "same on the right, open",
)
"""Words that carry two meanings, or one that is not plain: a question, never a default."""


@pytest.mark.parametrize(("phrase", "findings"), WORDINGS.items(), ids=list(WORDINGS))
def test_a_wording_has_one_reading_with_these_findings(phrase: str, findings: str) -> None:
    reading = parse(phrase, VISIT)
    assert reading.unread is None
    assert reading.command is None
    assert "; ".join(_written(said.what) for said in reading.said) == findings
    assert reading.others == ()


@pytest.mark.parametrize("phrase", ASKED)
def test_what_is_not_plain_is_no_silent_reading(phrase: str) -> None:
    reading = parse(phrase, VISIT)
    assert reading.unread is not None or reading.others


def _written(what: object) -> str:
    assert isinstance(what, Finding)
    return written(what)
