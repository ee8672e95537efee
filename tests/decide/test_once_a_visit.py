"""A caution of the whole visit comes once while it is spoken."""

from __future__ import annotations

from pathlib import Path

from dictation.decide.record import Record
from dictation.visit.facts import VisitOpened
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from tests.decide.spoken import ON, come_in

SAID = (
    "next cow eight three seven",
    "open, prostaglandin",
    "next cow four one two",
    "open, prostaglandin",
)


def test_the_second_treated_cow_brings_no_second_caution(tmp_path: Path) -> None:
    raised = []
    with Record(Journal.write(tmp_path)) as record:
        record.take(Noted(VisitOpened(ON)))
        for phrase in SAID:
            raised += [
                r for step in record.take(*come_in(record.visit, phrase)) for r in step.raised
            ]
    cautioned = [number for number, flag in raised if "women of child-bearing age" in flag.why]
    assert cautioned == [1]
