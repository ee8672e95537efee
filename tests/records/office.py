"""Workbooks as another program writes them: described as flat ODF, converted by LibreOffice."""

from __future__ import annotations

import shutil
import subprocess
from datetime import date
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import pytest

Cell = str | int | float | date | None

_HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0"
 office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.spreadsheet">
<office:automatic-styles>
<number:date-style style:name="dmy"><number:day number:style="long"/><number:text>.</number:text>
<number:month number:style="long"/><number:text>.</number:text>
<number:year number:style="long"/></number:date-style>
<style:style style:name="day" style:family="table-cell" style:data-style-name="dmy"/>
</office:automatic-styles>
<office:body><office:spreadsheet>
"""
_TAIL = "</office:spreadsheet></office:body></office:document>\n"


def title(words: str, columns: int) -> str:
    """A merged row over so many columns."""
    covered = "<table:covered-table-cell/>" * (columns - 1)
    return (
        f'<table:table-row><table:table-cell office:value-type="string"'
        f' table:number-columns-spanned="{columns}" table:number-rows-spanned="1">'
        f"<text:p>{escape(words)}</text:p></table:table-cell>{covered}</table:table-row>"
    )


def row(*cells: Cell) -> str:
    """A row: text stays text, a date is a number shown as a date."""
    return f"<table:table-row>{''.join(map(_cell, cells))}</table:table-row>"


def converted(
    folder: Path, sheets: dict[str, list[str]], name: str = "herd", kind: str = "xlsx"
) -> Path:
    """The workbook as XLSX or ODS. Skips the test where LibreOffice is not on this machine."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice: soffice is not on this machine")
    tables = "".join(
        f"<table:table table:name={quoteattr(sheet)}>{''.join(rows)}</table:table>"
        for sheet, rows in sheets.items()
    )
    source = folder / f"{name}.fods"
    source.write_text(_HEAD + tables + _TAIL, encoding="utf-8")
    command = [office, "--headless", f"-env:UserInstallation={(folder / 'user').as_uri()}"]
    command += ["--convert-to", kind, "--outdir", str(folder), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return folder / f"{name}.{kind}"


def _cell(value: Cell) -> str:
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, date):
        return (
            f'<table:table-cell table:style-name="day" office:value-type="date"'
            f' office:date-value="{value.isoformat()}"><text:p>{value:%d.%m.%Y}</text:p>'
            f"</table:table-cell>"
        )
    if isinstance(value, int | float):
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'
    return (
        f'<table:table-cell office:value-type="string"><text:p>{escape(value)}</text:p>'
        f"</table:table-cell>"
    )
