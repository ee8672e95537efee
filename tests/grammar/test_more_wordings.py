"""Wordings of a morning's work beyond the first ones, and what must never be read in silence."""

from __future__ import annotations

from datetime import date

import pytest

from grammar import parse
from grammar.findings import Finding
from grammar.wording import written

VISIT = date(2026, 11, 18)

WORDINGS: dict[str, str] = {}
"""A phrase, and its findings as they are written for the eye."""

ASKED = (
    "left clear",
    "fremitus left",
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
