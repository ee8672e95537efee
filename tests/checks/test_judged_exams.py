"""A hundred exams judged by hand: what a colleague asks about, and where nobody should speak.

``judged_exams.toml`` was written before the rules that it judges; its head says what a row holds.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from grammar import parse
from grammar.checks import check_exam
from grammar.exam import Exam, Flag, KnownAnimal, Service, Severity
from grammar.findings import Finding
from tests.checks.exams import ON, exam

Row = dict[str, Any]
TABLE: dict[str, list[Row]] = tomllib.loads(
    Path(__file__).with_name("judged_exams.toml").read_text(encoding="utf-8")
)


JUDGED_WRONGLY = {"the loss was said": "pregnant_and_open"}
"""Rows of which a comment in the table says why they are wrong, with the question that is right."""


def _name(row: Row) -> str:
    return str(row["why"])


def _spoken(phrases: list[str], on: date) -> list[Finding]:
    findings: list[Finding] = []
    for phrase in phrases:
        reading = parse(phrase, on)
        assert reading.unread is None, (phrase, reading.unread)
        assert reading.others == (), phrase
        findings.extend(reading.findings)
    return findings


def _ago(days: int) -> date:
    return ON - timedelta(days=days)


def _known(row: dict[str, Any]) -> KnownAnimal:
    services = [Service(_ago(days)) for days in row.get("served", ())]
    if "bull" in row:
        first, *last = (_ago(days) for days in row["bull"])
        services.append(Service(first, last[0] if last else None, natural=not last or None))
    return KnownAnimal(
        "837",
        breed=row.get("breed"),
        animal_class=row.get("class"),
        parity=row.get("parity"),
        calved_on=_ago(row["calved"]) if "calved" in row else None,
        services=tuple(services),
    )


def exam_of(row: Row) -> Exam:
    """The exam of a row of the table."""
    more: dict[str, Any] = {}
    if "known" in row:
        more["known"] = _known(row["known"])
    if "before" in row:
        then = _ago(row["before"]["days"])
        more["earlier"] = (exam(*_spoken(row["before"]["said"], then), on=then),)
    return exam(*_spoken(row["said"], ON), **more)


def _of(flags: tuple[Flag, ...], *severities: Severity) -> list[Flag]:
    return [flag for flag in flags if flag.severity in severities]


def test_there_are_sixty_and_forty_of_them_and_each_says_why() -> None:
    assert Counter({kind: len(rows) for kind, rows in TABLE.items()}) == {
        "contradictory": 60,
        "normal": 40,
    }
    assert all(row["why"] for rows in TABLE.values() for row in rows)


@pytest.mark.parametrize("row", TABLE["contradictory"], ids=_name)
def test_a_contradiction_is_asked_about_once(row: Row) -> None:
    asked = _of(check_exam(exam_of(row)), Severity.QUERY, Severity.STOP)
    told = [(flag.rule, flag.why) for flag in asked]
    assert any(word.lower() in why.lower() for _, why in told for word in row["asks"]), told
    assert len(asked) <= row.get("questions", 1), told
    assert bool(_of(tuple(asked), Severity.STOP)) is row.get("stop", False)


@pytest.mark.parametrize("row", TABLE["normal"], ids=_name)
def test_a_normal_exam_is_left_alone(row: Row) -> None:
    flags = check_exam(exam_of(row))
    asked = [flag.rule for flag in _of(flags, Severity.QUERY, Severity.STOP)]
    assert asked == [rule for why, rule in JUDGED_WRONGLY.items() if why == row["why"]]
    notes = [f.rule for f in _of(flags, Severity.NOTE) if f.rule != "sweep_not_complete"]
    assert len(notes) <= row.get("notes", 0), notes
