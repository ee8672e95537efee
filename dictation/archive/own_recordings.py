"""Recordings of the user's own, of which it is known what was said: heard, and judged.

In: a folder with ``recordings.csv`` and the sound it names, or the folder of a visit, of which the
phrases count that a person put right. Out: for each recording what was right,
what was asked about, and what would have been stored wrong without a question.

Whether a value is stored or asked about is not decided here: the sounds are handed to a ``Session``
in a visit of their own, in which a cow is in hand and something was found on her.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from dictation.archive.values import Difference, compare
from dictation.audio.endpoint import Utterance
from dictation.audio.recording import open_recording, utterances
from dictation.decide.taking_back import is_taken_back
from dictation.errors import BadInputError
from dictation.live.session import Session
from dictation.recognition.protocol import Recogniser
from dictation.records.herd.sheet import Mistakes, content_of, csv_sheet
from dictation.records.practice.shares import Share
from dictation.visit.inputs import PhraseHeard, PhrasePutRight
from dictation.visit.journal import Journal, holds_visit
from dictation.visit.parts import Fate, Query
from dictation.visit.state import Visit
from grammar.findings import Command, Finding
from grammar.parse import parse

BEFORE = "cow five oh five oh left ovary cl eighteen"
"""What was said before, so that every command has something to work on."""

Whats = tuple[Finding | Command, ...]

LABELS_NAME = "recordings.csv"
FILE, WORDS, VOICE = "file", "words", "voice"


@dataclass(frozen=True, slots=True)
class Verdict:
    """One utterance as the session took it.

    ``said``: what it was taken to say. ``stored``: it was taken without asking, and did something:
    'yes' where nothing was asked changes nothing. ``took_s``: from its sound to it on record.
    """

    fate: Fate
    stored: bool
    said: Whats
    doubts: tuple[str, ...]
    queries: tuple[Query, ...]
    took_s: float


def verdicts(
    sounds: Iterable[Utterance], recogniser: Recogniser, on: date, within: Path | None = None
) -> Iterator[Verdict]:
    """Each sound as it is taken, one after another. ``within``: where the visit lies meanwhile."""
    with (
        tempfile.TemporaryDirectory(dir=within) as folder,
        Journal.write(Path(folder)) as journal,
    ):
        session = Session(journal, parse, recogniser)
        session.begin(on, on)
        session.type(BEFORE)
        for sound in sounds:
            yield _verdict(session, sound)


def values_said(words: str, on: date) -> Whats:
    """What words say; nothing where they cannot be read."""
    return tuple(each.what for each in parse(words, on).said)


def _verdict(session: Session, sound: Utterance) -> Verdict:
    before = session.visit
    began = time.perf_counter()
    session.hear(sound)
    took_s = time.perf_counter() - began
    after = session.visit
    phrase = after.spoken[after.given.phrase]
    stored = phrase.fate in {Fate.RECORDED, Fate.NOTED} or (
        phrase.fate is Fate.COMMAND and _state(before) != _state(after)
    )
    heard = [given for _, given in session.journal.evidence(PhraseHeard)][-1]
    assert isinstance(heard, PhraseHeard)
    said = tuple(each.what for each in heard.said)
    queries = tuple(q for q in after.queries if q.phrase == phrase.number)
    return Verdict(phrase.fate, stored, said, phrase.doubts, queries, took_s)


def _state(visit: Visit) -> tuple[object, ...]:
    """What a command can change."""
    going = visit.going
    return visit.exams, going.in_hand, going.paused, going.note_awaited, going.closed


@dataclass(frozen=True, slots=True)
class Labelled:
    """A recording and what was said in it; no ``words``: nothing that is for the record."""

    path: Path
    words: str
    voice: str
    said: Whats


@dataclass(frozen=True, slots=True)
class Judged:
    """A recording as it was taken.

    ``differences``: the values said beside those heard, asked about or not; ``stored``: beside
    those that were stored without a question. ``took_s``: from each sound to its findings.
    """

    labelled: Labelled
    asked: bool
    differences: tuple[Difference, ...]
    stored: tuple[Difference, ...]
    took_s: tuple[float, ...]

    @property
    def silently_wrong(self) -> tuple[Difference, ...]:
        """Values stored without a question that were not said so."""
        return tuple(d for d in self.stored if d.wrong)

    @property
    def silently_lost(self) -> tuple[Difference, ...]:
        """Values said, of which nothing was stored and nothing asked."""
        return () if self.asked else tuple(d for d in self.stored if d.left_out)


@dataclass(frozen=True, slots=True)
class Tally:
    """Figures of some recordings. ``right``, ``lost``: of the values said; ``asked``: of the
    recordings; ``wrong``: of the values said or stored."""

    right: Share
    asked: Share
    wrong: Share
    lost: Share
    took_s: tuple[float, ...]


def labelled_recordings(folder: Path, on: date) -> tuple[Labelled, ...]:
    """What ``recordings.csv`` names. Raises BadInputError with every mistake in it."""
    path = folder / LABELS_NAME
    if not path.is_file() and holds_visit(folder):
        return _put_right(folder)
    if not path.is_file():
        raise BadInputError(
            f"{folder} holds no {LABELS_NAME}: write one with the columns file, words and voice."
        )
    (_, header), *rows = csv_sheet(path, content_of(path)).rows or ((1, ()),)
    names = [name.lower() for name in header]
    lacking = [name for name in (FILE, WORDS) if name not in names]
    if lacking:
        raise BadInputError(f"{path}, line 1: no column '{lacking[0]}'; it needs file and words.")
    if not rows:
        raise BadInputError(f"{path} names no recording: give a line for each.")
    mistakes = Mistakes(path)
    found: list[Labelled] = []
    for line, cells in rows:
        if len(cells) != len(names):
            why = f"{len(cells)} cells, not {len(names)}: words with a comma stand in quotes"
            mistakes.add(line, str(len(cells)), why)
            continue
        row = dict(zip(names, cells, strict=True))
        words = row[WORDS]
        said = values_said(words, on) if words else ()
        each = Labelled(folder / row[FILE], words, row.get(VOICE, ""), said)
        if not row[FILE] or not each.path.is_file():
            mistakes.add(line, FILE, f"'{row[FILE]}' is not in {folder}")
        elif why := _unusable(each.words, on):
            mistakes.add(line, WORDS, why)
        found.append(each)
    mistakes.stop_if_any()
    return tuple(found)


def _put_right(folder: Path) -> tuple[Labelled, ...]:
    """The phrases of a visit that a person put right, as they were put right last."""
    with closing(Journal.read(folder)) as journal:
        visit = journal.visit()
        found: dict[int, Labelled] = {}
        for seq, given in journal.evidence(PhrasePutRight):
            assert isinstance(given, PhrasePutRight)
            phrase = visit.phrase(given.phrase)
            if phrase is None or phrase.audio is None or is_taken_back(visit, seq):
                continue
            said = tuple(each.what for each in given.said)
            sound = journal.audio / phrase.audio
            found[given.phrase] = Labelled(sound, given.text, "", said)
    if not found:
        raise BadInputError(
            f"in {folder} no phrase was put right that has its sound: correct the visit first, or"
            f" name recordings in {LABELS_NAME}."
        )
    return tuple(found.values())


def _unusable(words: str, on: date) -> str:
    """Why words cannot be a label; empty where they can."""
    reading = parse(words, on)
    if words and reading.unread is not None:
        return f"'{words}' cannot be read; leave it empty where nothing was for the record"
    return f"'{words}' can be read in two ways" if words and reading.others else ""


def judged(labelled: Labelled, recogniser: Recogniser, on: date) -> Judged:
    """Hear one recording as ``replay`` does, in a visit of its own. Raises BadInputError."""
    sounds = utterances(open_recording(labelled.path))
    taken = tuple(verdicts(sounds, recogniser, on))
    meant = labelled.said
    return Judged(
        labelled,
        any(each.fate is Fate.ASKED for each in taken),
        compare(meant, [what for each in taken for what in each.said]),
        compare(meant, [what for each in taken if each.stored for what in each.said]),
        tuple(each.took_s for each in taken),
    )


def tally(results: Sequence[Judged]) -> Tally:
    """The figures of recordings together."""
    said = [d for r in results for d in r.differences if d.said]
    wrong = sum(len(r.silently_wrong) for r in results)
    return Tally(
        right=Share(sum(d.right for d in said), len(said)),
        asked=Share(sum(r.asked for r in results), len(results)),
        wrong=Share(wrong, sum(len(r.stored) for r in results)),
        lost=Share(sum(len(r.silently_lost) for r in results), len(said)),
        took_s=tuple(s for r in results for s in r.took_s),
    )
