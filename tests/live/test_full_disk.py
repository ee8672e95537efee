"""A file system that fills up while listening: told, waited for, and nothing passed over."""

from __future__ import annotations

import os
import queue
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.ear import Ear, EarEvent
from dictation.audio.reading import Heed, ignore
from dictation.audio.samples import Samples
from dictation.audio.spool import Spool, spooled
from dictation.decide.understanding import Understanding
from dictation.disk import release, reserve
from dictation.live.after_a_crash import go_on_from_s, hear_the_rest
from dictation.live.events import Message
from dictation.live.guide import Guide
from dictation.live.listening import Listening
from dictation.live.session import Session
from dictation.visit.apply import fold
from dictation.visit.facts import Gap
from dictation.visit.journal import Journal
from grammar.parse import parse
from tests.live.bursts import PERIOD_S, Tags, all_bursts, endpointer, tag_of

HEARD_BURSTS = 6
FULL_FROM = 3
"""The disk is full from this burst on."""

SIZE = "3m"
NAMES = 40
"""So many files the small file system has names for, where it is these that run out."""


@contextmanager
def small_disk(folder: Path, limit: str) -> Iterator[Path]:
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", limit, "tmpfs", str(folder)],
        check=False,
        capture_output=True,
        text=True,
    )
    if mounted.returncode != 0:
        pytest.skip(f"a small file system cannot be mounted here: {mounted.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


class Fills:
    """Bursts; at one of them the disk is filled, and room is made when it has been told."""

    def __init__(
        self, folder: Path, desk_told: list[str], names: bool = False, for_ever: bool = False
    ) -> None:
        self._filler = folder / "filler"
        self._names = names
        self._told = desk_told
        self._for_ever = for_ever
        self.told_in_time = False

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        sound = all_bursts()
        period = int(PERIOD_S * 16_000)
        for number in range(HEARD_BURSTS):
            if number == FULL_FROM:
                (use_up_names if self._names else fill)(self._filler)
            for at in range(number * period, (number + 1) * period, 512):
                yield sound[at : min(at + 512, (number + 1) * period)]
        for _ in range(400):  # until the desk has told
            if self._told:
                break
            time.sleep(0.05)
            yield np.zeros(0, np.float32)
        self.told_in_time = bool(self._told)
        if self._for_ever:
            return
        for path in self._filler.parent.glob("filler*"):
            path.unlink()
        yield np.zeros(16_000, np.float32)


def use_up_names(path: Path) -> None:
    """Make files until there is no name for another."""
    with suppress(OSError):
        for number in range(10 * NAMES):
            path.with_name(f"filler{number}").touch()


def fill(path: Path) -> None:
    """Write until there is no room for another byte."""
    with path.open("wb", buffering=0) as file:
        size = 1 << 16
        while size:
            try:
                file.write(b"\0" * size)
            except OSError:
                size //= 2
        os.fsync(file.fileno())


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root may mount")
@pytest.mark.parametrize("limit", [f"size={SIZE}", f"size=64m,nr_inodes={NAMES}"])
def test_a_full_disk_is_told_and_nothing_is_passed_over(limit: str, tmp_path: Path) -> None:
    mount = tmp_path / "disk"
    mount.mkdir()
    with small_disk(mount, limit) as disk:
        folder = disk / "visit"
        told: list[str] = []
        with Journal.write(folder) as journal:
            understanding = Understanding(parse, lambda: session.visit)
            session = Session(journal, understanding, Tags())
            session.begin(None, date(2026, 11, 18))
            found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
            source = Fills(disk, told, "inodes" in limit)
            ear = Ear(source, Spool(folder, 0.0), found.put, endpointer=endpointer)
            desk = Listening(session, ear, found, understanding, Guide(session, understanding))
            ear.thread.start()
            while not desk.over:
                for event in desk.turn(0.02):
                    if isinstance(event, Message) and event.state == "no_room":
                        told.append(event.sentence)
            assert source.told_in_time
            assert "room" in told[0]
            assert fold(journal.acts()) == session.visit
        tags = [exam.tag for exam in session.visit.exams]
        assert tags == [tag_of(number) for number in range(HEARD_BURSTS)]
        for phrase in session.visit.phrases:
            assert phrase.audio is not None
            assert (folder / "audio" / phrase.audio).stat().st_size > 0
        # What was spoken while there was no room waited in memory, and lies there without a hole.
        kept = np.concatenate([samples for _, samples in spooled(folder, 0.0)])
        given = all_bursts()[: int(HEARD_BURSTS * PERIOD_S * 16_000)]
        assert np.allclose(kept[: len(given)], given, atol=2 / 32768)


def heard_until_full(folder: Path, disk: Path) -> tuple[Session, Listening, list[str]]:
    """A visit that is left while the disk is full."""
    told: list[str] = []
    understanding = Understanding(parse, lambda: session.visit)
    session = Session(Journal.write(folder), understanding, Tags())
    session.begin(None, date(2026, 11, 18))
    reserve(folder)
    found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
    ear = Ear(
        Fills(disk, told, for_ever=True), Spool(folder, 0.0), found.put, endpointer=endpointer
    )
    desk = Listening(session, ear, found, understanding, Guide(session, understanding))
    ear.thread.start()
    troubles = []
    while not (desk.stuck and not ear.thread.is_alive()):
        for event in desk.turn(0.02):
            if isinstance(event, Message) and event.state == "no_room":
                told.append(event.sentence)
        troubles += [desk.trouble] if desk.stuck else []
    assert all("full" in trouble for trouble in troubles)
    desk.typed("open")  # by hand it cannot be recorded either, and is told
    return session, desk, told


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root may mount")
@pytest.mark.parametrize("reserved", [True, False])
def test_leaving_while_the_disk_is_full_keeps_the_last_words_or_names_them(
    tmp_path: Path, reserved: bool
) -> None:
    mount = tmp_path / "disk"
    mount.mkdir()
    with small_disk(mount, f"size={SIZE}") as disk:
        folder = disk / "visit"
        session, desk, _ = heard_until_full(folder, disk)
        if reserved:
            release(folder)
        unkept = desk.finish()
        session.journal.close()
        named = [words.split()[1] for words in unkept]
        assert bool(named) is not reserved
        (disk / "filler").unlink()
        with Journal.write(folder) as journal:
            again = Session(journal, parse, Tags())
            hear_the_rest(again, parse, endpointer)
            tags = [exam.tag for exam in again.visit.exams]
            assert tags + named == [tag_of(number) for number in range(HEARD_BURSTS)]
            until_s = again.visit.audio_until_s
            go_on_from_s(again)
            gaps = [f for act in journal.acts() for f in act.facts if isinstance(f, Gap)]
        if reserved:
            assert [gap.why for gap in gaps if "room" in gap.why] == [gap.why for gap in gaps][:-1]
            assert gaps[-1].from_s >= until_s
