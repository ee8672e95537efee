"""What can be read of a damaged visit goes to a new folder; the damaged one is never touched."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import soundfile as sf

from dictation.audio.keep import load_utterance, stop_at_damaged_sound
from dictation.audio.spool import STREAM_FOLDER
from dictation.decide.record import Record
from dictation.errors import BadInputError, WrongUseError
from dictation.gate import in_letters
from dictation.records.visit_files import write_visit_files
from dictation.visit import facts
from dictation.visit.apply import DoesNotFollowError, apply
from dictation.visit.chain import Row, Seal, damage_of, damage_of_words
from dictation.visit.inputs import INPUTS, By, Noted
from dictation.visit.journal import AUDIO_FOLDER, JOURNAL_NAME, Journal, add_entry
from dictation.visit.parts import Frame
from dictation.visit.state import Visit, changed
from dictation.visit.words import FORGOTTEN, WordsError, facts_from, facts_text, input_from

MOST_MISSING = 10_000
"""Entries looked for behind the last one found, where the file cannot say which is the last."""

ENTRY = "SELECT seq, at, input, who, why, phrase, evidence, facts FROM entry WHERE seq = ?"
DIGEST = "SELECT salt, evidence, facts, chain, rest FROM digest WHERE seq = ?"


@dataclass
class Found:
    """What was written. ``lost``: a sentence on each thing that was not, or not whole."""

    entries: int = 0
    sounds: int = 0
    lost: list[str] = field(default_factory=list)
    lost_entries: list[int] = field(default_factory=list)

    def lose(self, seq: int, why: str) -> None:
        """The facts of an entry are not there, or not all of them."""
        self.lost.append(f"Entry {seq}: {why}.")
        self.lost_entries.append(seq)


def repair(folder: Path, out: Path) -> Found:
    """Write what can be read of the visit in ``folder`` to ``out``, which must not be there yet.

    Raises BadInputError where nothing can be read, WrongUseError where ``out`` is taken.
    """
    source = folder / JOURNAL_NAME
    if not source.is_file():
        raise BadInputError(f"{folder} holds no visit: there is no {JOURNAL_NAME} in it.")
    if out.exists():
        raise WrongUseError(f"{out} is there already: give a new folder with --out.")
    found = Found()
    # SQLite writes beside a file even to read it, so a copy is read.
    with tempfile.TemporaryDirectory(prefix="hornsweep-") as there:
        for path in folder.glob(f"{JOURNAL_NAME}*"):
            shutil.copyfile(path, Path(there) / path.name)
        rows = list(_following(_rows(Path(there) / JOURNAL_NAME), found))
    if not rows:
        raise BadInputError(f"{source}: nothing of it can be read; put a copy of the file back.")
    Journal.write(out).close()
    with closing(sqlite3.connect(out / JOURNAL_NAME)) as connection, connection:
        for row in rows:
            add_entry(connection, row, row.seq - 1)
    found.entries = len(rows)
    digest = hashlib.sha256(source.read_bytes()).hexdigest()
    with Record(Journal.amend(out)) as record:
        record.take(Noted(facts.Repaired(digest, tuple(found.lost_entries))), By("repair"))
        _copy_sound(folder / AUDIO_FOLDER, out / AUDIO_FOLDER, record.visit, found)
        write_visit_files(out, record.visit, record.flags)
    return found


def _rows(path: Path) -> Iterator[tuple[Row | None, Seal | None, int]]:
    """Entries one by one with their numbers, so that a damaged page costs those on it alone."""
    with closing(sqlite3.connect(path)) as connection:
        connection.text_factory = partial(str, encoding="utf-8", errors="replace")
        last = (_one(connection, "SELECT max(seq) FROM entry WHERE ?", 1) or (None,))[0]
        missing, seq = 0, 0
        while seq < last if isinstance(last, int) else missing < MOST_MISSING:
            seq += 1
            row, seal = _one(connection, ENTRY, seq), _one(connection, DIGEST, seq)
            missing = missing + 1 if row is None else 0
            yield None if row is None else Row(*row), None if seal is None else Seal(*seal), seq


def _one(connection: sqlite3.Connection, query: str, value: int) -> tuple[Any, ...] | None:
    try:
        row: tuple[Any, ...] | None = connection.execute(query, (value,)).fetchone()
    except sqlite3.Error:
        return None
    return row


def _following(rows: Iterable[tuple[Row | None, Seal | None, int]], found: Found) -> Iterator[Row]:
    """The entries with those of their facts that still say something; none is left out."""
    visit, skipped, at, before = Visit(), list[int](), "", ""
    for read, seal, seq in rows:
        if read is None:
            skipped.append(seq)
            continue
        row = _whole(read, at)
        for lost in skipped:
            found.lose(lost, "it is gone")
            yield Row(lost, row.at, INPUTS[Noted], "", "", None, FORGOTTEN, "[]")
        wrong = damage_of_words(read, seal)
        if wrong is None and (row != read or (not skipped and damage_of(read, seal, before))):
            found.lost.append(f"Entry {seq}{_about(row)}: its words, time or name may be damaged.")
        if wrong is not None:
            found.lost.append(f"Entry {seq}{_about(row)}: what was said is damaged.")
            row = replace(row, evidence=FORGOTTEN, why="")
        told = None if wrong == "facts" else _facts(row.facts)
        if told is None:
            found.lose(seq, f"what it led to is damaged{_about(row)}")
        skipped, at, before = [], row.at, before if seal is None else seal.chain
        visit, kept = _applied(visit, told or (), row, found)
        visit = changed(visit, given=changed(visit.given, seq=seq))
        yield replace(row, facts=facts_text(kept))


def _whole(row: Row, at: str) -> Row:
    """The entry with what everybody else can read: its time, its kind, and what came in."""
    try:
        datetime.fromisoformat(row.at)
    except ValueError:
        row = replace(row, at=at or datetime.min.isoformat())
    try:
        input_from(row.input, row.evidence)
    except WordsError:
        known = row.input in INPUTS.values()
        row = replace(row, input=row.input if known else INPUTS[Noted], evidence=FORGOTTEN)
    return row


def _facts(text: str) -> tuple[facts.Fact, ...] | None:
    """None where they cannot be read. No journal writes the sign for a letter that was none."""
    try:
        found = facts_from(text)
        in_letters(facts_text(found))
    except ValueError:
        return None
    return None if "\ufffd" in text else found


def _about(row: Row) -> str:
    return "" if row.phrase is None else f" (phrase {row.phrase})"


def _applied(
    visit: Visit, told: tuple[facts.Fact, ...], row: Row, found: Found
) -> tuple[Visit, tuple[facts.Fact, ...]]:
    """The visit after these facts, and they as they follow: what each sets is what it said."""
    kept: list[facts.Fact] = []
    for fact in told:
        for each in (*_before(visit, fact, row), fact):
            try:
                following = _on(visit, each)
                visit = apply(visit, following)
            except (DoesNotFollowError, KeyError, ValueError, AttributeError) as error:
                found.lose(row.seq, f"what it set hangs on what is lost ({type(error).__name__})")
                continue
            kept.append(following)
    return visit, tuple(kept)


def _on(visit: Visit, fact: facts.Fact) -> facts.Fact:
    """The fact on what is there now, where what it followed is lost."""
    if not isinstance(fact, facts.Setting) or isinstance(fact, facts.ExamSet):
        return fact
    turned: Any = fact
    made: facts.Fact = replace(turned, was=visit.now(fact))
    return made


def _before(visit: Visit, fact: facts.Fact, row: Row) -> Iterator[facts.Fact]:
    """What was lost that the fact cannot do without: the day of the visit, and its exam."""
    if visit.on_date is None and not isinstance(fact, facts.VisitOpened):
        yield facts.VisitOpened(date.fromisoformat(row.at[:10]))
    match fact:
        case facts.FindingSet() if fact.now is not None:
            number = fact.now.exam
        case facts.ExamNamed():
            number = fact.exam
        case _:
            return
    if visit.exam(number) is None:
        others = [exam.number for exam in visit.exams if exam.number < number]
        yield facts.ExamSet(number, None, Frame(max(others, default=None)))


def _copy_sound(audio: Path, out: Path, visit: Visit, found: Found) -> None:
    """Sound that is whole; what is not is named and stays where it is."""
    digests = {p.audio: p.audio_digest for p in visit.phrases if p.audio is not None}
    for name in sorted(digests.keys() - {path.name for path in audio.glob("*")}):
        found.lost.append(f"{audio / name}: the sound is gone.")
    for path in sorted(path for path in audio.rglob("*.*") if path.is_file()):
        target = out / path.relative_to(audio)
        try:
            if path.suffix == ".flac" and path.parent.name == STREAM_FOLDER:
                sf.read(path, dtype="float32")
            elif path.suffix == ".flac":
                stop_at_damaged_sound(path, digests.get(path.name))
                load_utterance(path)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)
        except (BadInputError, sf.LibsndfileError, OSError):
            found.lost.append(f"{path}: the sound is damaged; it was left where it is.")
            continue
        found.sounds += 1
