"""An archive heard again: what differs is told, a stop is no end, a dead worker is no loss."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import numpy as np
import pytest

from dictation.archive.hearing import HeardAgain, Results, hear_visit
from dictation.archive.spreading import in_processes, on_a_cluster
from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance
from dictation.cli.app import run
from dictation.errors import BadInputError, MissingError
from dictation.visit.journal import JOURNAL_NAME
from tests.archive.work import slow_count
from tests.decide.spoken import Phrase, Unsure
from tests.records.visits import write_visit


def write(folder: Path, *phrases: Phrase) -> Path:
    write_visit(folder, *phrases)
    return folder


@pytest.fixture
def visits(tmp_path: Path) -> tuple[Path, ...]:
    return tuple(write(tmp_path / "visits" / f"v{n}", "cow five", "open") for n in range(8))


@pytest.fixture
def marks(tmp_path: Path) -> Path:
    folder = tmp_path / "marks"
    folder.mkdir()
    return folder


@pytest.mark.parametrize("jobs", [1, 2])
def test_every_visit_is_worked_on_once(visits: tuple[Path, ...], marks: Path, jobs: int) -> None:
    done = list(in_processes(visits, str(marks), slow_count, jobs))
    assert {visit: result for visit, result, _ in done} == dict.fromkeys(visits, 4)
    assert len(list(marks.iterdir())) == len(visits)


def test_a_visit_that_cannot_be_read_is_told_and_the_others_go_on(
    visits: tuple[Path, ...], marks: Path
) -> None:
    (visits[3] / JOURNAL_NAME).write_bytes(b"damaged" * 200)
    done = {v: (r, why) for v, r, why in in_processes(visits, str(marks), slow_count, 2)}
    result, why = done.pop(visits[3])
    assert result is None
    assert str(visits[3]) in str(why)
    assert {result for result, _ in done.values()} == {4}


def test_a_worker_killed_in_the_middle_loses_nothing(visits: tuple[Path, ...], marks: Path) -> None:
    distributed = pytest.importorskip("distributed", reason="Dask is not installed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        done = on_a_cluster(visits, str(marks), slow_count, cluster.scheduler_address)
        finished = [next(done)]
        victim = _busy_worker(marks, {visit.name for visit, _, _ in finished})
        os.kill(victim, signal.SIGKILL)
        finished += list(done)
    assert {visit: result for visit, result, _ in finished} == dict.fromkeys(visits, 4)
    begun = [mark.name.split("-") for mark in marks.iterdir()]
    assert str(victim) in {pid for pid, *_ in begun}
    # What it was doing was begun once more by another process.
    assert len(begun) > len(visits)
    assert len({pid for pid, *_ in begun}) >= 2


def _busy_worker(marks: Path, finished: set[str]) -> int:
    """A process that has just begun with a visit and is still at it."""
    seen = {mark.name for mark in marks.iterdir()}
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        fresh = [mark.name for mark in marks.iterdir() if mark.name not in seen]
        for name in fresh:
            pid, visit, _ = name.split("-")
            if visit not in finished:
                return int(pid)
        time.sleep(0.01)
    raise AssertionError("no worker began with another visit")


def test_a_scheduler_that_does_not_answer_is_told(visits: tuple[Path, ...]) -> None:
    pytest.importorskip("distributed", reason="Dask is not installed")
    with pytest.raises(MissingError, match="No Dask scheduler answers"):
        list(on_a_cluster(visits, "", slow_count, "tcp://127.0.0.1:9"))


AGAIN = (HeardAgain(1, "0001.flac", "open", "pregnant", False, 0.9),)


def test_a_run_that_was_stopped_goes_on_where_it_was(
    visits: tuple[Path, ...], tmp_path: Path
) -> None:
    results = Results(tmp_path / "out", "guided")
    assert results.left(visits) == visits
    for visit in visits[:3]:
        results.put(visit, AGAIN)
    assert Results(tmp_path / "out", "guided").left(visits) == visits[3:]
    assert results.of(visits[0]) == AGAIN
    assert Results(tmp_path / "out", "vosk").left(visits) == visits


def test_a_visit_that_has_grown_is_heard_again(visits: tuple[Path, ...], tmp_path: Path) -> None:
    results = Results(tmp_path / "out", "guided")
    results.put(visits[0], AGAIN)
    write_visit(visits[0], "cow nine")
    assert results.left(visits[:1]) == visits[:1]


def test_the_sound_of_a_visit_is_heard_by_the_engine(tmp_path: Path) -> None:
    folder = write(tmp_path / "v", Unsure("left ovary CL forty", ("left ovary CL fourteen",)))
    silence = np.zeros(16_000, dtype=np.float32)
    keep_utterance(folder, 1, Utterance(silence, 10.0, 11.0, 1))
    before = (folder / JOURNAL_NAME).read_bytes()
    (heard,) = hear_visit(str(folder), "guided")
    assert (heard.utterance, heard.was) == (1, "left ovary cl forty")
    assert (heard.now, heard.same, heard.why) == ("", False, None)
    assert (folder / JOURNAL_NAME).read_bytes() == before


def test_sound_that_is_lost_is_told(tmp_path: Path) -> None:
    folder = write(tmp_path / "v", Unsure("left ovary CL forty", ("left ovary CL fourteen",)))
    (heard,) = hear_visit(str(folder), "guided")
    assert heard.why is not None
    assert "0001.flac" in heard.why


def test_a_typed_visit_has_nothing_to_hear(visits: tuple[Path, ...]) -> None:
    assert hear_visit(str(visits[0]), "guided") == ()
    with pytest.raises(BadInputError):
        hear_visit(str(visits[0].parent), "guided")


def test_the_command_goes_on_and_tells_what_differs(
    visits: tuple[Path, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    Results(out, "guided").put(visits[0].resolve(), AGAIN)
    assert run(["rehear", str(visits[0].parent), "--out", str(out)]) == 0
    told = capsys.readouterr()
    assert told.out.split("\t")[1:] == ["0001.flac", "open", "pregnant", "0.90\n"]
    assert "7 visits heard, 1 were done; 1 differ." in told.err
