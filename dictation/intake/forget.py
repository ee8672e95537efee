"""Sound and words of a visit are forgotten: in the journal, the sound, and what was made of them.

What is removed cannot be got back; that it was removed, when and by whom stays in the journal, and
so does the record of an animal that somebody approved.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from platformdirs import user_cache_path

from dictation.audio.spool import silence
from dictation.decide.record import Record
from dictation.disk import wipe
from dictation.errors import HornsweepError, MissingError, WrongUseError
from dictation.intake.upgrade import KEPT_NAME, Tell, brought_up
from dictation.records.visit_files import write_visit_files
from dictation.visit.apply import fold
from dictation.visit.chain import Row
from dictation.visit.facts import Fact, Forgotten, PhraseSet
from dictation.visit.forgetting import Leaving, approved_alone, emptied, talk_of, with_joined
from dictation.visit.inputs import INPUTS, Noted
from dictation.visit.journal import AUDIO_FOLDER, Journal, act_of
from dictation.visit.journal_state import origin_of
from dictation.visit.parts import Phrase
from dictation.visit.state import Visit
from dictation.visit.words import facts_text

KEEP_TALK_DAYS = 30
KEEP_TALK_VARIABLE = "HORNSWEEP_KEEP_TALK_DAYS"
"""Days after its approval for which a visit keeps what was said while paused or refused."""

AROUND_S = 0.3
"""Sound before and behind a phrase that goes with it: its file has some too."""


def forget(folder: Path, what: str, who: str, tell: Tell, phrase: int | None = None) -> None:
    """Remove for good ``what``: sound, talk, phrase (then ``phrase`` is its number) or all.

    Raises WrongUseError where there is no such phrase, MissingError where another program has the
    visit open or something cannot be removed; the same command then goes on.
    """
    brought_up(folder)
    Journal.read(folder).close()  # a folder without a visit is told, and no visit begun there
    with Record(Journal.write(folder)) as record:
        visit = record.visit
        phrases = _phrases(visit, what, phrase)
        if what == "talk" and not phrases:
            return
        left, made = _left(record.journal, visit, what, phrases)
        kept = tuple(e.number for e in visit.exams if e.approved is not None)
        row = Row(
            visit.last_seq + 1,
            record.journal.now(),
            INPUTS[Noted],
            who,
            "",
            None,
            "{}",
            facts_text((Forgotten(what, phrases, kept), *made)),
        )
        _stop_if_not_whole(visit, left, row, record.journal)
        # The journal comes last: where this is cut off, the same command finds what is left to do.
        for number in phrases:
            _silence(folder, visit, number)
        for path in _files(folder, what, phrases):
            _wipe(path)
        record.journal.forget(left, row)
    with Record(Journal.amend(folder)) as record:
        write_visit_files(folder, record.visit, record.flags)
    tell(_told(folder, what, phrases, kept))


def forget_talk_in_time(folder: Path, tell: Tell) -> None:
    """Of an approved visit, forget talk that was kept for as long as it is to be; else nothing."""
    days = os.environ.get(KEEP_TALK_VARIABLE, "")
    keep = int(days) if days.isdecimal() else KEEP_TALK_DAYS
    with suppress(HornsweepError):  # whoever opens the visit next says what is wrong with it
        if is_older(folder, "talk", keep):
            forget(folder, "talk", "hornsweep", tell)


def is_older(folder: Path, what: str, days: int) -> bool:
    """Whether a visit is longer ago than so many days.

    For talk: whether all of it is approved, and nothing was done to it for so long.
    """
    before = datetime.now(UTC) - timedelta(days)
    if what == "talk" and origin_of(folder).changed_at > before:
        return False
    with Journal.read(folder) as journal:
        visit = journal.visit()
    if what != "talk":
        return visit.on_date is not None and visit.on_date < before.date()
    return bool(visit.exams) and all(exam.approved is not None for exam in visit.exams)


def _phrases(visit: Visit, what: str, phrase: int | None) -> tuple[int, ...]:
    if what == "talk":
        return tuple(sorted({n for each in talk_of(visit) for n in with_joined(visit, each)}))
    if what != "phrase":
        return ()
    if phrase is None or phrase not in visit.spoken:
        raise WrongUseError(f"There is no phrase {phrase}: its number stands on the review page.")
    return with_joined(visit, phrase)


def _left(
    journal: Journal, visit: Visit, what: str, phrases: tuple[int, ...]
) -> tuple[list[Row], tuple[Fact, ...]]:
    """The entries as they stay, and facts that go with that: the sound is not there any more."""
    rows = [row for row, _ in journal.rows()]
    if what == "all":
        return [emptied(row) for row in rows[1:]], tuple(approved_alone(visit))
    if what == "sound":
        return [], tuple(_silent(p) for p in visit.phrases if p.audio is not None)
    leaving = Leaving.of(visit, phrases)
    left = (leaving.left(row, visit.acts[row.seq]) for row in rows)
    there = [visit.spoken[number] for number in phrases if number in visit.spoken]
    silent = (_silent(leaving.phrase(p)) for p in there if p.audio is not None)
    return [row for row in left if row is not None], tuple(silent)


def _silent(phrase: Phrase) -> PhraseSet:
    return PhraseSet(phrase.number, phrase, replace(phrase, audio=None, audio_digest=None))


def _stop_if_not_whole(visit: Visit, left: list[Row], row: Row, journal: Journal) -> None:
    """Nothing is touched where what stays would not be a visit with what was approved in it."""
    by_number = {each.seq: each for each in left}
    there = (each for each, _ in journal.rows())
    left_of = (by_number.get(each.seq, each) for each in (*there, row))
    after = fold(act_of(each, each.facts) for each in left_of)
    lost = [e.number for e in visit.exams if e.approved is not None]
    lost = [n for n in lost if not after.is_approved(n)]
    if lost:
        raise WrongUseError(
            f"Exam {lost[0]} was approved with a question that says these words: answer it first,"
            " and approve her again."
        )


def _silence(folder: Path, visit: Visit, number: int) -> None:
    phrase = visit.spoken.get(number)
    if phrase is not None and phrase.at_s is not None and phrase.until_s is not None:
        silence(folder, phrase.at_s - AROUND_S, phrase.until_s + AROUND_S)


def _files(folder: Path, what: str, phrases: tuple[int, ...]) -> Iterator[Path]:
    """What lies beside the journal, and elsewhere on this machine, of what is to go."""
    audio = folder / AUDIO_FOLDER
    if what in {"sound", "all"}:
        yield from (path for path in sorted(audio.rglob("*")) if path.is_file())
    for number in phrases:
        yield from audio.glob(f"{number:04d}.flac")
        yield from audio.glob(f"{number:04d}-*.flac")
    if what != "sound":
        # The journal of an earlier version holds every word; so did a cache of summaries, and
        # what is written of a mistake of ours may hold some.
        yield folder / KEPT_NAME
        yield user_cache_path("hornsweep") / "visits.parquet"
        yield from Path(tempfile.gettempdir()).glob("hornsweep-*.log")


def _wipe(path: Path) -> None:
    try:
        wipe(path)
    except OSError as error:
        raise MissingError(
            f"{path} cannot be removed ({error.strerror}): run the same command again where it can."
        ) from error


def _told(folder: Path, what: str, phrases: tuple[int, ...], kept: tuple[int, ...]) -> str:
    numbers = ", ".join(map(str, phrases))
    gone = {
        "sound": "all its sound is removed; words and findings stay",
        "all": "its words, sound and animals are removed",
    }.get(what, f"words and sound of phrase {numbers} are removed; findings stay")
    stays = f" What was approved stays: exam {', '.join(map(str, kept))}." if kept else ""
    return (
        f"{folder}: {gone}.{stays} Copies of the folder, and what was exported from it, are not"
        " reached from here."
    )
