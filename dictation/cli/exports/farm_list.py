"""``export --to list``: a page to print for the farm."""

from __future__ import annotations

from pathlib import Path

from dictation.cli.exports.wanted import Wanted
from dictation.console.terminal import sentence
from dictation.records.farm_list.page import page, write_list
from dictation.records.farm_list.to_do import to_decide
from dictation.records.pictures.charts import pictures

NO_PDF = (
    "list.html is for a browser to print, on A4; list.pdf beside it needs the extra pdf"
    " (pip install 'hornsweep[pdf]')."
)


def write(wanted: Wanted) -> tuple[Path, ...]:
    """list.html, and list.pdf with the extra ``pdf``."""
    visit, flags = wanted.visit, wanted.flags
    drawn = frozenset(e.number for e in visit.exams if to_decide(visit, e, flags))
    html = page(visit, flags, pictures(visit, drawn))
    paths = write_list(wanted.out, html)
    if len(paths) == 1:
        sentence(NO_PDF)
    return paths
