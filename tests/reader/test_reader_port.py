"""A tag reader on a serial port opens the exam without a word; over a pseudo-terminal."""

from __future__ import annotations

import os
import queue
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.ear import Ear, EarEvent
from dictation.audio.reading import Heed, ignore
from dictation.audio.samples import Samples
from dictation.audio.spool import Spool
from dictation.decide.understanding import Understanding
from dictation.errors import MissingError, WrongUseError
from dictation.live.guide import Guide
from dictation.live.listening import Listening
from dictation.live.loop import take_read
from dictation.live.session import Session
from dictation.reader.port import Line, ReaderPort, Told
from dictation.visit.facts import HerdListed
from dictation.visit.inputs import Noted
from dictation.visit.journal import Journal
from grammar.exam import KnownAnimal
from grammar.parse import parse

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals on Windows")

ON = date(2026, 11, 18)
HERD = HerdListed(
    "digest",
    "list.csv",
    (KnownAnimal("837", "982000123456789"), KnownAnimal("412", "982000123456780")),
)


class Reader:
    """The reader's end of a pseudo-terminal."""

    def __init__(self) -> None:
        self._ours, self._theirs = os.openpty()
        self.port = os.ttyname(self._theirs)

    def send(self, text: str) -> None:
        os.write(self._ours, text.encode("ascii"))

    def unplug(self) -> None:
        os.close(self._ours)
        os.close(self._theirs)


class Silence:
    """A microphone in which nothing is said."""

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        yield np.zeros(512, np.float32)


@contextmanager
def listening(folder: Path) -> Iterator[Listening]:
    with Journal.write(folder) as journal:
        session = Session(journal, parse)
        session.begin(ON, ON)
        session.take(Noted(HERD))
        found: queue.SimpleQueue[EarEvent] = queue.SimpleQueue()
        understanding = Understanding(parse, lambda: session.visit)
        ear = Ear(Silence(), Spool(folder, 0.0), found.put)
        yield Listening(session, ear, found, understanding, Guide(session, understanding))


def until(done: Callable[[], bool], step: Callable[[], object] = lambda: None) -> None:
    end = time.monotonic() + 20.0
    while time.monotonic() < end:
        step()
        if done():
            return
        time.sleep(0.01)
    raise AssertionError("it did not come about")


def tags(desk: Listening) -> list[str | None]:
    return [exam.tag for exam in desk.session.visit.exams]


def test_a_reading_opens_the_exam_of_the_listed_animal_and_the_next_one_opens_the_next(
    tmp_path: Path,
) -> None:
    reader = Reader()
    with listening(tmp_path) as desk, ReaderPort(reader.port) as port:
        reader.send("982 000123456789\r\n")
        until(lambda: tags(desk) == ["837"], lambda: take_read(desk, port))
        desk.typed("open")
        reader.send("982 000123456789\r\nLA 982 000123456780 09:15\r\n")
        until(lambda: tags(desk) == ["837", "412"], lambda: take_read(desk, port))
        assert desk.session.visit.asked is None


def test_a_line_that_comes_in_pieces_is_one_reading(tmp_path: Path) -> None:
    reader = Reader()
    with listening(tmp_path) as desk, ReaderPort(reader.port) as port:
        reader.send("982000")
        time.sleep(0.3)
        take_read(desk, port)
        assert tags(desk) == []
        reader.send("123456789\n")
        until(lambda: tags(desk) == ["837"], lambda: take_read(desk, port))


def test_what_is_no_number_is_told_and_names_no_animal(tmp_path: Path) -> None:
    reader = Reader()
    with listening(tmp_path) as desk, ReaderPort(reader.port) as port:
        reader.send("BATTERY LOW\n")
        until(lambda: "BATTERY LOW" in desk.now.told, lambda: take_read(desk, port))
        assert tags(desk) == []


def test_a_number_that_cannot_be_is_asked_about_and_names_no_animal(tmp_path: Path) -> None:
    reader = Reader()
    with listening(tmp_path) as desk, ReaderPort(reader.port) as port:
        reader.send("982999999999999\n")
        until(lambda: bool(desk.session.visit.open_queries), lambda: take_read(desk, port))
        assert tags(desk) == []


def test_an_unlisted_number_where_another_cow_was_examined_is_asked_about(tmp_path: Path) -> None:
    with listening(tmp_path) as desk:
        for phrase in ("cow five five five", "open", "982000123456000"):
            desk.typed(phrase)
        assert tags(desk) == ["555"]
        assert desk.session.visit.asked is not None
        assert "another animal?" in desk.session.visit.asked.question


def test_a_listed_number_where_another_cow_was_examined_is_the_next_animal(tmp_path: Path) -> None:
    with listening(tmp_path) as desk:
        for phrase in ("cow five five five", "open", "982000123456789", "pregnant"):
            desk.typed(phrase)
        assert tags(desk) == ["555", "837"]


def test_a_reader_that_goes_away_is_told(tmp_path: Path) -> None:
    reader = Reader()
    with ReaderPort(reader.port) as port:
        reader.send("ready\n")
        sent: list[Line | Told] = []

        def take() -> None:
            if (each := port.next()) is not None:
                sent.append(each)

        until(lambda: bool(sent), take)
        reader.unplug()
        until(lambda: isinstance(sent[-1], Told), take)
        assert isinstance(sent[-1], Told)
        assert "is gone" in sent[-1].sentence


def test_a_port_that_is_not_there_and_a_speed_that_is_none_are_said_in_a_sentence() -> None:
    with pytest.raises(MissingError, match="no tag reader at /dev/none-here"):
        ReaderPort("/dev/none-here")
    with pytest.raises(WrongUseError, match="'fast' is no speed"):
        ReaderPort("/dev/none-here@fast")
