"""``export --to list``: a page to print for the farm."""

from __future__ import annotations

from pathlib import Path

from dictation.cli.exports.wanted import Wanted
from dictation.records.farm_list.page import page, write_list
from dictation.records.farm_list.to_do import to_decide
from dictation.records.pictures.of_a_visit import pictures


def write(wanted: Wanted) -> tuple[Path, ...]:
    """list.html and list.pdf."""
    visit, flags = wanted.visit, wanted.flags
    drawn = frozenset(e.number for e in visit.exams if to_decide(visit, e, flags))
    html = page(visit, flags, pictures(visit, drawn))
    return write_list(wanted.out, html)
