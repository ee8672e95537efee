"""Files of every kind that hornsweep reads, damaged by chance from a seed, and what became of them.

``python -m tests.cli.damaged DIR SEED COUNT`` tries so many, each in a process of its own with
bounds of memory and time, and prints a table. The same seed gives the same files; a case is told by
its kind and number.
"""

from __future__ import annotations

import io
import json
import os
import random
import re
import resource
import shutil
import signal
import sqlite3
import struct
import sys
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import openpyxl
import soundfile as sf
from openpyxl.worksheet.worksheet import Worksheet

from dictation.audio.recording import open_recording, utterances
from dictation.cli.app import run
from dictation.errors import HornsweepError
from dictation.visit.chain import TABLE

DAY = "2026-11-18"
MEMORY_BYTES = 3 * 2**30
HUNG_S = 60
HUNG = -1
READ, REFUSED = frozenset({0, 1}), frozenset({2, 3, 4})

HEAR = "hear"
"""Instead of a command: a recording is read and its utterances are found, without a recogniser."""
PHRASES = (
    "next cow eight thirty seven",
    "left ovary CL twenty two, right ovary follicle nine",
    "pregnant left horn about forty five days",
    "note kicked the gate",
    "next cow 412",
    "open, recheck in two weeks",
)
NUMBERS = ("nan", "inf", "1e999", "-1", "9" * 5000, "٣", "²", "0x10", "1e400000", "")
LETTERS = ("\\ud800", "\x00", "\u202e", "\N{BELL}", "=1+1", '"', "{" * 3000, "[" * 100_000, "'")


@dataclass(frozen=True, slots=True)
class Case:
    """A damaged file. ``commands``: what is done with it, each as the words of a command line."""

    kind: str
    number: int
    commands: tuple[tuple[str, ...], ...]


def flipped(content: bytes, chance: random.Random) -> bytes:
    """Cut, flipped, doubled or overwritten somewhere."""
    damaged = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 8, 40))):
        at = chance.randrange(max(1, len(damaged)))
        match chance.randrange(6):
            case 0:
                del damaged[at:]
            case 1:
                damaged[at : at + 1] = bytes([chance.randrange(256)])
            case 2:
                length = chance.choice((1, 4, 16, 512))
                damaged[at : at + length] = chance.randbytes(length)
            case 3:
                damaged[at:at] = damaged[at : at + chance.randrange(1, 200)]
            case 4:
                damaged[at : at + 4] = struct.pack("<I", chance.choice((0, 2**31 - 1, 2**32 - 1)))
            case _:
                del damaged[at : at + chance.randrange(1, 60)]
    return bytes(damaged)


def rewritten(text: str, chance: random.Random) -> str:
    """One number or word of a text is another: valid to the eye, and nonsense."""
    words = list(re.finditer(r"[\w.+-]+", text))
    if words and chance.random() < 0.6:
        word = chance.choice(words)
        return text[: word.start()] + chance.choice((*NUMBERS, *LETTERS)) + text[word.end() :]
    place = chance.randrange(max(1, len(text)))
    end = place + chance.choice((0, 1, 3, 12))
    return text[:place] + chance.choice((*NUMBERS, *LETTERS)) + text[end:]


def herd_csv() -> str:
    """A small herd list."""
    rows = [f"{tag},HO,cow,2,2026-05-01,2026-08-0{tag % 9 + 1},B{tag}" for tag in range(400, 430)]
    return "\n".join(("tag,breed,class,parity,calved_on,service_1,sire", *rows)) + "\n"


def workbook() -> bytes:
    """The same as XLSX."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    for line in herd_csv().splitlines():
        sheet.append(line.split(","))
    memory = io.BytesIO()
    book.save(memory)
    return memory.getvalue()


def inside(packed: bytes, chance: random.Random) -> bytes:
    """A packed file with one of its members damaged, packed again."""
    memory = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(packed)) as old, zipfile.ZipFile(memory, "w") as new:
        names = old.namelist()
        chosen = chance.choice(names)
        for name in names:
            content = old.read(name)
            if name != chosen:
                new.writestr(name, content)
            elif chance.random() < 0.9:
                text = content.decode("utf-8", "replace")
                damaged = rewritten(text, chance).encode("utf-8", "surrogatepass")
                new.writestr(name, damaged if chance.random() < 0.6 else flipped(content, chance))
    return memory.getvalue()


def standard_json() -> str:
    """Animals and a service in the standard's JSON."""
    scheme = "org.example.tag"
    animals = [
        {
            "resourceType": "icarAnimalCoreResource",
            "identifier": {"scheme": scheme, "id": str(tag)},
            "gender": "Female",
            "managementTag": str(tag),
        }
        for tag in (837, 412)
    ]
    served = {
        "resourceType": "icarReproInseminationEventResource",
        "animal": {"scheme": scheme, "id": "837"},
        "eventDateTime": "2026-10-01T08:00:00Z",
        "damParity": 2,
    }
    return json.dumps([*animals, served], indent=1)


LAYOUT = (
    'date_order = "dmy"\nencoding = "utf-8"\ndelimiter = ","\n[columns]\n"Cow" = "tag"\n'
    '"Born" = ""\n'
)
OWN_WORDS = (
    '[terms]\ncorpus_luteum = ["yellow one"]\n[words.bol]\nwritten = ["Bol", "bol"]\n'
    '[short]\nyo = "yellow one"\n'
)


def sound(chance: random.Random) -> bytes:
    """A short recording in one of the usual forms, of one to many channels."""
    channels = chance.choice((1, 1, 2, 8, 200))
    kind = chance.choice(("WAV", "WAV", "FLAC" if channels < 9 else "WAV", "OGG"))
    rate = chance.choice((8_000, 16_000, 44_100))
    samples = np.sin(np.linspace(0, 900, rate // 2))[:, None] * np.ones(channels)
    memory = io.BytesIO()
    with suppress(sf.LibsndfileError):
        sf.write(memory, samples * 0.3, rate, format=kind)
    return memory.getvalue() or b"RIFF"


def visit_in(folder: Path) -> Path:
    """A visit that was typed, with its files."""
    script = folder / "phrases.txt"
    script.write_text("\n".join(PHRASES) + "\n", encoding="utf-8")
    assert run(["replay", str(script), "--out", str(folder / "whole"), "--date", DAY]) == 0
    return folder / "whole"


def _journal(whole: Path, folder: Path, chance: random.Random) -> None:
    """A visit whose journal is damaged: bytes, bodies, rows, digests; or of a time before those."""
    folder.mkdir()
    content = (whole / "visit.sqlite").read_bytes()
    path = folder / "visit.sqlite"
    if chance.random() < 0.5:
        path.write_bytes(flipped(content, chance))
        return
    path.write_bytes(content)
    with closing(sqlite3.connect(path)) as connection:
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        if chance.random() < 0.6:  # a journal of a time before digests: the bodies alone speak
            connection.execute("DROP TABLE digest")
            connection.execute(TABLE if chance.random() < 0.5 else "SELECT 1")
        (last,) = connection.execute("SELECT max(seq) FROM entry").fetchone()
        seq, column = chance.randint(1, last), chance.choice(("facts", "evidence", "input", "at"))
        if chance.random() < 0.2:
            connection.execute("DELETE FROM entry WHERE seq = ?", (seq,))
        else:
            query = f"SELECT {column} FROM entry WHERE seq = ?"
            (text,) = connection.execute(query, (seq,)).fetchone()
            with suppress(sqlite3.Error, UnicodeEncodeError):  # what is no JSON is not let in
                damaged = rewritten(text, chance)
                connection.execute(f"UPDATE entry SET {column} = ? WHERE seq = ?", (damaged, seq))
        connection.commit()


def _visit_csv(whole: Path, folder: Path, chance: random.Random) -> None:
    folder.mkdir()
    names = ("exams.csv", "findings.csv", "questions.csv")
    chosen = chance.choice(names)
    for name in names:
        content = (whole / name).read_bytes()
        if name == chosen and chance.random() < 0.5:
            content = rewritten(content.decode(), chance).encode("utf-8", "surrogatepass")
        elif name == chosen:
            content = flipped(content, chance)
        (folder / name).write_bytes(content)


Make = Callable[[Path, random.Random], tuple[tuple[str, ...], ...]]


def cases(  # noqa: C901 - one a kind of file
    folder: Path, seed: int, count: int
) -> Iterator[Case]:
    """So many damaged files, made one at a time under ``folder``; their kinds take turns."""
    whole = visit_in(folder)

    def listed(name: str, content: bytes, at: Path) -> tuple[tuple[str, ...], ...]:
        (at / name).write_bytes(content)
        path = str(at / name)
        return ("plan", "--herd", path, "--date", DAY), ("import", "herd", path, "--yes")

    def text_list(name: str, text: str) -> Make:
        def make(at: Path, chance: random.Random) -> tuple[tuple[str, ...], ...]:
            damaged = rewritten(text, chance).encode("utf-8", "surrogatepass")
            return listed(
                name, damaged if chance.random() < 0.6 else flipped(text.encode(), chance), at
            )

        return make

    def book(at: Path, chance: random.Random) -> tuple[tuple[str, ...], ...]:
        content = workbook()
        return listed(
            "herd.xlsx", (inside if chance.random() < 0.7 else flipped)(content, chance), at
        )

    def layout(at: Path, chance: random.Random) -> tuple[tuple[str, ...], ...]:
        (at / "herd-list.toml").write_text(rewritten(LAYOUT, chance), "utf-8", "replace")
        return listed("cows.csv", b"Cow,Born\n837,2020\n412,2021\n", at)

    def own_words(at: Path, chance: random.Random) -> tuple[tuple[str, ...], ...]:
        path = at / "words.toml"
        path.write_text(rewritten(OWN_WORDS, chance), "utf-8", "replace")
        return (("--words", str(path), "parse", "open"),)

    def recording(at: Path, chance: random.Random) -> tuple[tuple[str, ...], ...]:
        path = at / "sound.wav"
        path.write_bytes(flipped(sound(chance), chance))
        return ((HEAR, str(path)),)

    def journal(at: Path, chance: random.Random) -> tuple[tuple[str, ...], ...]:
        _journal(whole, at / "visit", chance)
        visit = str(at / "visit")
        exported = ("export", visit, "--to", "csv", "--out", str(at / "out"))
        gone_on = ("replay", str(folder / "phrases.txt"), "--out", visit)
        repaired = ("repair", visit, "--out", str(at / "repaired"))
        return ("check", visit), ("summary", visit), exported, repaired, gone_on

    def visit_csv(at: Path, chance: random.Random) -> tuple[tuple[str, ...], ...]:
        _visit_csv(whole, at / "csv", chance)
        taken = str(at / "taken")
        return (("import", "visit", str(at / "csv"), "--date", DAY, "--out", taken),)

    kinds: dict[str, Make] = {
        "list.csv": text_list("herd.csv", herd_csv()),
        "list.json": text_list("herd.json", standard_json()),
        "list.xlsx": book,
        "layout": layout,
        "own words": own_words,
        "sound": recording,
        "journal": journal,
        "visit.csv": visit_csv,
    }
    names = list(kinds)
    for number in range(count):
        kind = names[number % len(names)]
        at = folder / f"{number:05d}"
        at.mkdir()
        chance = random.Random(f"{seed} {kind} {number}")
        yield Case(kind, number, kinds[kind](at, chance))


def taken_bytes() -> int:
    """Memory that this process has taken, as the limit counts it."""
    pages = Path("/proc/self/statm").read_text(encoding="ascii").split()[0]
    return int(pages) * resource.getpagesize()


def ended(command: tuple[str, ...], told: Path) -> int:
    """The exit code of a command in a process of its own; ``told`` takes what it said."""
    process = os.fork()
    if process:
        code = os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])
        return HUNG if code in (-signal.SIGALRM, -signal.SIGXCPU, -signal.SIGKILL) else code
    code = 5
    try:
        most = MEMORY_BYTES + taken_bytes()  # a fork begins with what the tests have taken
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        resource.setrlimit(resource.RLIMIT_CPU, (HUNG_S, HUNG_S))
        signal.alarm(5 * HUNG_S)  # where it waits for something that never comes
        os.dup2(os.open(told, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 2)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        # Under a test these lead elsewhere.
        sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w")
        code = _hear(Path(command[1])) if command[0] == HEAR else run(command)
        sys.stderr.flush()
    finally:
        os._exit(code)


def _hear(path: Path) -> int:
    try:
        for _ in utterances(open_recording(path)):
            pass
    except HornsweepError as error:
        sys.stderr.write(f"{error}\n")
        return error.exit_code
    return 0


def tried(folder: Path, seed: int, count: int) -> tuple[dict[str, Counter[str]], list[str]]:
    """What became of so many cases, by kind, and a line on each that ended as none may."""
    found: dict[str, Counter[str]] = {}
    wrong: list[str] = []
    for case in cases(folder, seed, count):
        kept = found.setdefault(case.kind, Counter())
        for command in case.commands:
            told = folder / "told.txt"
            code = ended(command, told)
            said = told.read_text(encoding="utf-8", errors="replace").strip()
            kept["tried"] += 1
            kept["read"] += code in READ
            kept["refused"] += code in REFUSED and len(said.splitlines()) >= 1
            kept["exit 5"] += code == 5
            kept["hung"] += code == HUNG
            if code not in READ | REFUSED or "Traceback" in said or (code and not said):
                wrong.append(
                    f"{case.kind} {case.number}: {code} {' '.join(command)}: {said[-300:]}"
                )
        if not any(line.startswith(f"{case.kind} {case.number}:") for line in wrong):
            shutil.rmtree(folder / f"{case.number:05d}")
    return found, wrong


if __name__ == "__main__":
    kinds, failures = tried(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
    columns = ("tried", "read", "refused", "exit 5", "hung")
    print(f"{'kind':12}", *(f"{name:>8}" for name in columns))
    for kind, counted in kinds.items():
        print(f"{kind:12}", *(f"{counted[name]:8}" for name in columns))
    everything = sum(kinds.values(), Counter[str]())
    print(f"{'all':12}", *(f"{everything[name]:8}" for name in columns))
    print(*failures, sep="\n")
    sys.exit(1 if failures else 0)
