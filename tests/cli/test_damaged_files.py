"""No damaged or hostile file is called a mistake of ours, hangs, or takes the machine's memory."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

if sys.platform == "win32":  # pragma: no cover
    pytest.skip("no such processes and bounds on Windows", allow_module_level=True)

from tests.cli.damaged import DAY, HEAR, ended, standard_json, workbook

LONG = bool(os.environ.get("HORNSWEEP_LONG"))
CASES = 2_000 if LONG else 96
SEED = 22
"""Kept: the same files are tried every time. Another one finds others."""


def test_damaged_files_of_every_kind_are_read_or_refused_with_a_sentence(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tests.cli.damaged", str(tmp_path), str(SEED), str(CASES)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    print(done.stdout)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]
    table = dict(line.split(maxsplit=1) for line in done.stdout.splitlines() if line[:4] == "all ")
    tried, read, refused, ours, hung = map(int, table["all"].split())
    assert tried == read + refused > CASES
    assert min(read, refused) > tried // 10
    assert (ours, hung) == (0, 0)


def _wav(chunks: bytes, channels: int = 1) -> bytes:
    form = struct.pack("<HHIIHH", 1, channels, 16_000, 32_000 * channels, 2 * channels, 16)
    body = b"WAVEfmt " + struct.pack("<I", 16) + form + chunks
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _member(name: str, content: bytes) -> bytes:
    memory = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook())) as old,
        zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for each in old.namelist():
            new.writestr(each, content if each == name else old.read(each))
    return memory.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
HOSTILE: dict[str, tuple[str, Callable[[], bytes]]] = {
    "a million rows": ("rows.csv", lambda: b"tag\n" + b"1\n" * 1_000_000),
    "a tag of 100,000 digits": ("digits.csv", lambda: b"tag\n" + b"9" * 100_000 + b"\n"),
    "one cell of 60 MB": ("cell.csv", lambda: b"tag\n" + b"9" * 60_000_000),
    "60 million commas": ("commas.csv", lambda: b"tag\n" + b"," * 60_000_000),
    "more than any list": ("large.csv", lambda: b"tag\n" + b"1" * (65 * 2**20)),
    "a number of 5,000 digits": ("n.json", lambda: b'[{"resourceType": ' + b"9" * 5_000 + b"}]"),
    "half a letter": ("s.json", lambda: standard_json().replace('"837"', '"\\ud800"').encode()),
    "100,000 brackets": ("deep.json", lambda: b"[" * 100_000),
    "a workbook that unpacks to 300 MB": (
        "bomb.xlsx",
        lambda: _member(SHEET, b"<worksheet>" + b" " * 300_000_000),
    ),
    "a workbook of billions": (
        "laughs.xlsx",
        lambda: _member(
            SHEET,
            b'<!DOCTYPE a [<!ENTITY a0 "ha">'
            + b"".join(b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 12))
            + b"]><worksheet>&a11;</worksheet>",
        ),
    ),
    "a workbook whose sheet is no sheet": ("chart.xlsx", lambda: _member(SHEET, b"<chartsheet/>")),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_list_is_refused_with_its_name(what: str, tmp_path: Path) -> None:
    name, make = HOSTILE[what]
    path = tmp_path / name
    path.write_bytes(make())
    _refused(path, ("plan", "--herd", str(path), "--date", DAY))


def test_a_chunk_of_4_gigabytes_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "list.wav"
    path.write_bytes(_wav(b"LIST" + struct.pack("<I", 2**32 - 2) + b"data" + bytes(4) + bytes(800)))
    assert ended((HEAR, str(path)), tmp_path / "told") in (0, 3)


def test_a_thousand_channels_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "many.wav"
    sound = bytes(2 * 1_024 * 1_600)
    path.write_bytes(_wav(b"data" + struct.pack("<I", len(sound)) + sound, channels=1_024))
    _refused(path, (HEAR, str(path)))


@pytest.mark.parametrize(
    "name", ["herd.csv", "herd.xlsx", "herd.json", "words.toml", "p.txt", "s.wav"]
)
def test_a_pipe_is_not_waited_for(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    os.mkfifo(path)
    replayed = ("replay", str(path), "--out", str(tmp_path / "visit"), "--date", DAY)
    commands = {"words.toml": ("--words", str(path), "parse", "open"), "p.txt": replayed}
    commands["s.wav"] = (HEAR, str(path))
    _refused(path, commands.get(name, ("plan", "--herd", str(path), "--date", DAY)))


def _refused(path: Path, command: tuple[str, ...]) -> None:
    told = path.parent / "told"
    assert ended(command, told) == 3, told.read_text()
    said = told.read_text()
    assert str(path) in said
    assert len(said.splitlines()) == 1, said
    assert len(said) < 1_000
