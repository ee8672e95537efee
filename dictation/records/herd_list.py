"""A herd list: what is known of each animal before the visit.

Our own form is CSV in UTF-8 with commas and ISO 8601 dates. Columns, in any order: tag (needed),
national_number, electronic_id, pen, sex, breed, class, parity, calved_on, last_status, service_1,
service_2 ... with sire_1, sire_breed_1, inseminator_1 ..., or services separated by ';',
natural_from and natural_to for a time with a bull (without natural_to he is still there), sire,
sire_breed and inseminator of all services. JSON of the open standard is read as it is; any other
list (CSV, XLSX, ODS) as a person once confirmed (``herd-list.toml`` in its folder). Every mistake
is named at once.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from dictation.errors import BadInputError
from dictation.records.herd.layout import (
    Layout,
    columns_known,
    header_of,
    in_our_form,
    is_column,
    layout_beside,
)
from dictation.records.herd.rows import Rows
from dictation.records.herd.sheet import OLD_ENCODINGS, Mistakes, Sheet, content_of, csv_sheet
from dictation.visit.facts import HerdListed
from grammar.exam import KnownAnimal

WORKBOOKS = frozenset({".xlsx", ".xlsm"})
_ZIP, _OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_OPEN_DOCUMENT = b"application/vnd.oasis.opendocument"


@dataclass(frozen=True, slots=True)
class ReadList:
    """The animals of a list. ``passed_over``: line and words of each row that is no animal."""

    animals: tuple[KnownAnimal, ...]
    passed_over: tuple[tuple[int, str], ...] = ()


def read_herd_list(path: Path, layout: Layout | None = None) -> HerdListed:
    """Read a list whole or not at all, by ``layout``, else by the one kept beside it.

    Raises BadInputError with every mistake and its place.
    """
    content = content_of(path)
    animals = read_list(path, content, layout).animals
    if not animals:
        raise BadInputError(f"{path} names no animal on the farm.")
    return HerdListed(hashlib.sha256(content).hexdigest(), path.name, animals)


def read_list(path: Path, content: bytes, layout: Layout | None = None) -> ReadList:
    """The animals of a list, and what of it is none. Raises BadInputError with every mistake."""
    if path.suffix.lower() == ".json":
        from dictation.records.herd.standard_json import standard_animals

        return ReadList(standard_animals(path, content))
    return _from_sheet(path, content, layout)


def sheet_of(path: Path, content: bytes, layout: Layout | None = None) -> Sheet:
    """The rows of a CSV, XLSX, ODS or XLS file. Raises BadInputError."""
    if content.startswith(_OLD_WORKBOOK) or _OPEN_DOCUMENT in content[:100]:
        from dictation.records.herd.workbook import other_sheet

        sheet = other_sheet(path, content)
    elif path.suffix.lower() in WORKBOOKS or content.startswith(_ZIP):
        from dictation.records.herd.workbook import workbook_sheet

        sheet = workbook_sheet(path, content)
    else:
        encoding, delimiter = (layout.encoding, layout.delimiter) if layout else (None, None)
        sheet = csv_sheet(path, content, encoding, delimiter)
    if not sheet.rows:
        raise BadInputError(f"{path} is empty: give a herd list with a header and a column 'tag'.")
    return sheet


def _from_sheet(path: Path, content: bytes, layout: Layout | None) -> ReadList:
    kept = layout or layout_beside(path)
    sheet = sheet_of(path, content)
    line, headings = header_of(sheet)
    plain = tuple(heading.lower() for heading in headings)
    own = layout is None and (in_our_form(plain) or kept is None)
    if own:
        _stop_if_not_ours(path, plain, line, sheet)
        kept = Layout(tuple((name, name) for name in plain))
    elif kept is not None:
        sheet = sheet_of(path, content, kept)
        line, headings = header_of(sheet)
        kept = _in_order(path, kept, headings)
    assert kept is not None
    mistakes = Mistakes(path)
    rows = _rows_of(sheet, kept, line, mistakes, own=own)
    mistakes.stop_if_any()
    return ReadList(rows.animals, tuple(rows.passed_over))


def _stop_if_not_ours(path: Path, names: tuple[str, ...], line: int, sheet: Sheet) -> None:
    """Refuse a list in another form: it is not guessed at without a person's word."""
    mistakes = Mistakes(path)
    for name in names:
        first, _, again = name.rpartition(" (")
        if again and is_column(first):
            mistakes.add(line, f"'{first}'", "is there twice")
    mistakes.stop_if_any()
    other = [name for name in names if not is_column(name)]
    if "tag" not in names or other or sheet.encoding in OLD_ENCODINGS:
        known = ", ".join(sorted(columns_known().keys() - {"service_1"}))
        seen = ", ".join(repr(name) for name in other) or "its letters are not UTF-8"
        missing = "" if "tag" in names else " There is no column 'tag'."
        raise BadInputError(
            f"{path}, line {line}: not in the form of hornsweep's own lists ({seen}).{missing} Run"
            f" 'hornsweep import herd {path}' once and confirm how it is to be read, or name the"
            f" columns {known}, service_1 ..."
        )


def _in_order(path: Path, kept: Layout, headings: tuple[str, ...]) -> Layout:
    """The kept layout for the headings of this list, which may stand in another order."""
    names = kept.names
    unknown = [heading for heading in headings if heading not in names]
    lost = [heading for heading, name in kept.columns if name and heading not in headings]
    if unknown or lost:
        which = ", ".join(repr(heading) for heading in (unknown or lost))
        how = "new" if unknown else "missing"
        raise BadInputError(
            f"{path}: the column {which} is {how} since this list was confirmed; run"
            f" 'hornsweep import herd {path}' again and look."
        )
    columns = tuple((heading, names[heading]) for heading in headings)
    return replace(kept, columns=columns)


def _rows_of(
    sheet: Sheet, layout: Layout, header_line: int, mistakes: Mistakes, *, own: bool
) -> Rows:
    """All rows after the header; mistakes are added to ``mistakes``."""
    names = [name for _, name in layout.columns]
    below: list[tuple[int, tuple[str, ...], dict[str, str]]] = []
    for line, row in sheet.rows:
        cells = row
        while not own and len(cells) > len(names) and not cells[-1]:
            cells = cells[:-1]
        told = {name: cell for name, cell in zip(names, cells, strict=False) if name is not None}
        if line > header_line:
            below.append((line, cells, told))
    rows = Rows(layout.date_order, mistakes, own, [told for _, _, told in below])
    for line, cells, told in below:
        if rows.is_none(line, told, cells):
            continue
        if len(cells) != len(names):
            column = str(min(len(cells), len(names)) + 1)
            what = f"{len(cells)} cells where the header has {len(names)}"
            mistakes.add(line, column, what)
        elif any(told.values()):
            rows.take(line, told)
    return rows
