"""Herd lists in workbooks that LibreOffice wrote: titles, several sheets, dates, tags as text."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from dictation.errors import BadInputError
from dictation.records.herd.layout import recognise
from dictation.records.herd.sheet import content_of
from dictation.records.herd_list import read_herd_list, sheet_of
from grammar.exam import Service
from tests.records.office import converted, row, title

HEADER = row("Cow No", "Breed", "Last calving", "Service 1", "Service 2", "Bull 2", "Chip")
COWS = [
    row("0412", "Jersey", date(2026, 6, 30), date(2026, 9, 20), None, None, "276000312312345"),
    row(837, "Holstein", date(2026, 7, 12), date(2026, 9, 12), date(2026, 10, 4), "Rowan", None),
    row(None, None, None, None, None, None, None),
    row("0073", None, None, None, None, None, 276000312312346),
]
COVER = [title("Herd book of Larkmoor", 3), row("Printed", date(2026, 11, 12))]


def test_a_sheet_behind_a_cover_with_a_merged_title_is_read(tmp_path: Path) -> None:
    cows = [title("Cows in milk", 7), row(), HEADER, *COWS]
    path = converted(tmp_path, {"Cover": COVER, "Cows": cows, "Notes": [row("Buy straw")]})
    found = recognise(sheet_of(path, content_of(path)))
    assert found.header_line == 3
    first, second, third = read_herd_list(path, found.layout).animals
    assert (first.tag, first.calved_on) == ("0412", date(2026, 6, 30))
    assert first.services == (Service(date(2026, 9, 20)),)
    assert first.electronic_id == "276000312312345"
    assert second.tag == "837"
    assert second.services[1] == Service(date(2026, 10, 4), sire="Rowan")
    assert (third.tag, third.electronic_id) == ("0073", "276000312312346")


def test_two_sheets_of_animals_are_not_read_by_half(tmp_path: Path) -> None:
    heifers = [HEADER, row("2605", "Holstein", None, None, None, None, None)]
    path = converted(tmp_path, {"Cows": [HEADER, *COWS], "Heifers": heifers})
    with pytest.raises(BadInputError, match="sheets Cows and Heifers both"):
        sheet_of(path, content_of(path))


def test_every_mistake_is_named_at_once_by_its_line_and_column(tmp_path: Path) -> None:
    rows = [
        title("Cows", 3),
        row("tag", "parity", "calved_on", "service_1"),
        row("412", "two", date(2026, 6, 30), "yesterday"),
        row(None, 3, date(2026, 7, 12), None),
        row("837", 2, 46215, None),
        row("412", 1.5, None, None),
    ]
    path = converted(tmp_path, {"Cows": rows})
    with pytest.raises(BadInputError) as caught:
        read_herd_list(path)
    told = str(caught.value)
    for part in (
        "line 3, column parity: 'two'",
        "line 3, column service_1: 'yesterday'",
        "line 4, column tag: is empty",
        "line 5, column calved_on: '46215' is no date like 2026-11-18",
        "line 6, column tag: 412 is on line 3 too",
        "line 6, column parity: '1.5'",
    ):
        assert part in told, told
    assert str(path) in told
