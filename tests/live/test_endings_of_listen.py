"""However ``listen`` ends, the CSV files are whole and hold the animal that was still in hand."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from dictation.visit.journal import holds_visit
from dictation.visit.state import Visit
from grammar.findings import Ovary
from tests.bench.virtual_microphone import VirtualMicrophone, missing_commands
from tests.live.phrases import play_list
from tests.live.program import START_S, Listening
from tests.live.whole import whole

pytestmark = pytest.mark.skipif(
    bool(missing_commands()), reason=f"no sound server: {', '.join(missing_commands())}"
)

RIGHT = "right ovary CL twenty four"


@pytest.fixture(scope="module")
def microphone() -> Iterator[VirtualMicrophone]:
    with VirtualMicrophone() as plugged_in:
        yield plugged_in


def listen(folder: Path, *options: str) -> list[str]:
    return [sys.executable, "-m", "dictation", "listen", "--out", str(folder), *options]


def sizes(visit: Visit) -> list[float | None]:
    found = (r.finding for exam in visit.exams for r in exam.standing)
    return [finding.size_mm for finding in found if isinstance(finding, Ovary)]


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_signal_leaves_whole_files(
    microphone: VirtualMicrophone, tmp_path: Path, name: str
) -> None:
    folder = tmp_path / "visit"
    with Listening(folder, microphone.environment) as listening:
        microphone.play(play_list(tmp_path / "1.wav", RIGHT))
        listening.wait_for_heard("twenty four")
        listening.end(getattr(signal, name))
    assert listening.code == 0
    assert sizes(whole(folder)) == [24.0]


def test_a_reader_that_goes_away_leaves_whole_files(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    process = subprocess.Popen(
        listen(folder, "--json"),
        env=microphone.environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    assert "listening" in process.stdout.readline()
    process.stdout.close()
    microphone.play(play_list(tmp_path / "1.wav", RIGHT))
    assert process.wait(60) == 0
    assert "mistake" not in process.stderr.read()
    whole(folder)


def test_a_terminal_that_is_closed_leaves_whole_files(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    child, terminal = pty.fork()
    if child == 0:
        os.execve(sys.executable, listen(folder), {**microphone.environment, "TERM": "xterm"})
    seen, end = b"", time.monotonic() + START_S
    while b"LISTENING" not in seen and time.monotonic() < end:
        seen += os.read(terminal, 4096)
    speaking = microphone.begin(play_list(tmp_path / "1.wav", RIGHT))
    while b"RECORDED" not in seen and time.monotonic() < end:
        seen += os.read(terminal, 4096)
    speaking.wait(60)
    os.close(terminal)
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) in (0, 130)
    assert holds_visit(folder)
    assert sizes(whole(folder)) == [24.0]
