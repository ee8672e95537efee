"""However ``replay`` ends, the CSV files are whole and say what the journal says."""

from __future__ import annotations

import os
import pty
import re
import shlex
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from dictation.intake.reading import read_visit
from dictation.records.visit_files import EXAMS_NAME, FINDINGS_NAME, exams_csv, findings_csv
from dictation.visit.state import Visit
from tests.live.whole import whole

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such signals on Windows")

ANIMALS = 150
FIRST_TAG = 400
SPOKEN_OF_EACH = ("left ovary CL 22", "right ovary follicle 9", "open", "recheck in two weeks")

STOPPED = 130


def script(path: Path, animals: int = ANIMALS) -> Path:
    """Phrases of so many animals, one a line."""
    lines = [
        line
        for tag in range(FIRST_TAG, FIRST_TAG + animals)
        for line in (f"next cow {tag}", *SPOKEN_OF_EACH)
    ]
    path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return path


def replay(path: Path, folder: Path) -> list[str]:
    return [sys.executable, "-m", "dictation", "replay", str(path), "--out", str(folder)]


@contextmanager
def replaying(path: Path, folder: Path) -> Iterator[subprocess.Popen[str]]:
    """The program, with what it prints to be read."""
    process = subprocess.Popen(
        replay(path, folder), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def wait_for(process: subprocess.Popen[str], words: str) -> None:
    """Read what is printed up to the line with these words."""
    assert process.stdout is not None
    assert any(words in line for line in process.stdout), f"'{words}' was not printed"


def begun(visit: Visit) -> bool:
    """Whether it was ended in the middle."""
    return 0 < len(visit.phrases) < ANIMALS * (1 + len(SPOKEN_OF_EACH))


def test_a_reader_that_goes_away_leaves_whole_files_and_the_rest_can_follow(
    tmp_path: Path,
) -> None:
    path, folder = script(tmp_path / "p.txt"), tmp_path / "visit"
    command = f"{shlex.join(replay(path, folder))} | head -1; exit ${{PIPESTATUS[0]}}"
    done = subprocess.run(
        ["bash", "-c", command], capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0
    assert len(done.stdout.splitlines()) == 1
    assert re.search(rf"[0-9]+ of {5 * ANIMALS} phrases .* the same command again", done.stderr)
    assert len(done.stderr.splitlines()) == 1
    assert begun(whole(folder))
    again = subprocess.run(replay(path, folder), capture_output=True, timeout=240, check=False)
    assert again.returncode == 0
    tags = [exam.tag for exam in whole(folder).exams]
    assert tags == [str(tag) for tag in range(FIRST_TAG, FIRST_TAG + ANIMALS)]


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_signal_leaves_whole_files_and_one_sentence(tmp_path: Path, name: str) -> None:
    path, folder = script(tmp_path / "p.txt"), tmp_path / "visit"
    with replaying(path, folder) as process:
        wait_for(process, f"next cow {FIRST_TAG + 2}")
        process.send_signal(getattr(signal, name))
        _, told = process.communicate(timeout=60)
        assert process.returncode == STOPPED
    assert "kept" in told
    assert len(told.strip().splitlines()) == 1
    assert begun(whole(folder))


def test_a_second_signal_while_the_files_are_written_does_not_cut_that_off(
    tmp_path: Path,
) -> None:
    path, folder = script(tmp_path / "p.txt"), tmp_path / "visit"
    with replaying(path, folder) as process:
        wait_for(process, f"next cow {FIRST_TAG + 2}")
        for _ in range(3):
            process.send_signal(signal.SIGHUP)
            process.send_signal(signal.SIGTERM)
        process.communicate(timeout=60)
        assert process.returncode == STOPPED
    assert begun(whole(folder))


def test_a_terminal_that_is_closed_leaves_whole_files(tmp_path: Path) -> None:
    path, folder = script(tmp_path / "p.txt"), tmp_path / "visit"
    child, terminal = pty.fork()
    if child == 0:
        os.execv(sys.executable, replay(path, folder))
    seen = b""
    while f"next cow {FIRST_TAG + 2}".encode() not in seen:
        seen += os.read(terminal, 4096)
    os.close(terminal)
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) in (0, STOPPED)
    assert begun(whole(folder))


def test_the_files_hold_each_animal_as_soon_as_it_is_closed(tmp_path: Path) -> None:
    path, folder = script(tmp_path / "p.txt", animals=2), tmp_path / "visit"
    with path.open("a", encoding="utf-8") as file:
        file.write("left ovary CL 21\n" * 300)
    with replaying(path, folder) as process:
        wait_for(process, f"next cow {FIRST_TAG + 1}")
        process.kill()  # as a power cut does
        process.wait()
    visit, flags = read_visit(folder)
    closed = tuple(exam for exam in visit.exams if exam.closed)
    assert [exam.tag for exam in closed] == [str(FIRST_TAG)]
    assert len(visit.exams) == 2
    exams = (folder / EXAMS_NAME).read_bytes()
    assert exams.startswith(exams_csv(closed, flags))
    assert (folder / FINDINGS_NAME).read_bytes().startswith(findings_csv(closed))
