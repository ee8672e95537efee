"""The screen on a real terminal, and the recorder's keys."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from dictation.visit.apply import fold
from dictation.visit.journal import Journal
from grammar.findings import Ovary
from tests.bench.virtual_microphone import VirtualMicrophone, missing_commands
from tests.live.phrases import play_list
from tests.live.program import START_S

_LACKING = (*missing_commands(), *(() if shutil.which("tmux") else ("tmux",)))
pytestmark = pytest.mark.skipif(bool(_LACKING), reason=f"not there: {', '.join(_LACKING)}")


class Terminal:
    """A terminal of 80 by 24 in which the program runs."""

    def __init__(self, command: str, environment: dict[str, str], socket: Path) -> None:
        self._tmux = ("tmux", "-S", str(socket), "-f", "/dev/null")
        self._environment = {**environment, "TERM": "xterm-256color", "LC_ALL": "C.UTF-8"}
        self._run("new-session", "-d", "-x", "80", "-y", "24", f"{command}; sleep 60")

    def text(self) -> str:
        """What is on the screen now."""
        return self._run("capture-pane", "-p")

    def press(self, *keys: str) -> None:
        """Press keys, by their names in tmux."""
        self._run("send-keys", *keys)

    def wait_for(self, words: str, timeout_s: float = 40.0) -> str:
        """The screen once it holds these words. Raises AssertionError where it does not."""
        end = time.monotonic() + timeout_s
        while time.monotonic() < end:
            if words in (text := self.text()):
                return text
            time.sleep(0.1)
        raise AssertionError(f"'{words}' is not on the screen:\n{self.text()}")

    def close(self) -> None:
        """End the terminal and all in it."""
        self._run("kill-server")

    def _run(self, *arguments: str) -> str:
        done = subprocess.run(
            [*self._tmux, *arguments],
            env=self._environment,
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout


@pytest.fixture
def microphone() -> Iterator[VirtualMicrophone]:
    with VirtualMicrophone() as plugged_in:
        yield plugged_in


def test_the_screen_follows_speech_and_keys(microphone: VirtualMicrophone, tmp_path: Path) -> None:
    folder = tmp_path / "visit"
    command = shlex.join([sys.executable, "-m", "dictation", "listen", "--out", str(folder)])
    terminal = Terminal(command, microphone.environment, tmp_path / "tmux")
    try:
        text = terminal.wait_for("LISTENING", START_S)
        assert "\u2588" in text
        terminal.press("d")
        text = terminal.wait_for("NO ANIMAL")
        assert "MIC [" in text
        terminal.press("w")
        terminal.wait_for("Start with --wall")
        terminal.press("w", "d")
        terminal.press("r", "cow 412")
        terminal.wait_for("TYPE: cow 412")
        terminal.press("Enter")
        terminal.wait_for("“cow 412”")
        microphone.play(play_list(tmp_path / "1.wav", "right ovary CL twenty four"))
        text = terminal.wait_for("[x] right ovary")
        assert len(text.splitlines()) <= 24
        terminal.press("u")
        terminal.wait_for("[ ] right ovary")
        terminal.press("y")
        terminal.wait_for("[x] right ovary")
        terminal.press("u")
        terminal.wait_for("[ ] right ovary")
        terminal.press("p")
        terminal.wait_for("PAUSED")
        terminal.press("p")
        terminal.wait_for("LISTENING")
        terminal.press("n")
        terminal.wait_for("NO TAG")
        terminal.press("q")
        terminal.wait_for("Written to")
    finally:
        terminal.close()
    with Journal.read(folder) as journal:
        visit = fold(journal.acts())
    assert [exam.tag for exam in visit.exams][:1] == ["412"]
    sizes = [r.finding.size_mm for r in visit.exams[0].recorded if isinstance(r.finding, Ovary)]
    assert sizes == [24.0]
    assert not any(isinstance(r.finding, Ovary) for r in visit.exams[0].standing)
    assert (folder / "exams.csv").stat().st_size > 0
