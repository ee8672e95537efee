"""``hornsweep listen`` run as people run it, over the virtual microphone, with a clock beside it.

The sound server, PortAudio, its callback and the whole of ``listen`` are real. A reader beside the
program writes down what the microphone gives and when, so that each moment of the visit's sound has
its time on the machine's clock.
"""

from __future__ import annotations

import os
import signal
import struct
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.signal import correlate

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import sound_between, spooled_until_s
from dictation.errors import MissingError
from dictation.visit.inputs import Input
from dictation.visit.journal import Journal
from tests.bench.virtual_microphone import PAREC, SINK, VirtualMicrophone

START_S = 90.0
"""Loading takes a second or two; on a busy machine far longer."""

BEHIND_S = 4.0
"""How long the program may go on after the last sound, for the last findings."""

TERMINAL = (43, 132)
"""Rows and columns: long phrases are whole on it."""

COMPARED_S = 8.0
"""So much of the visit's sound is looked for in what the microphone gave. No more than is played:
the reader beside the program begins later than it."""


@dataclass(frozen=True, slots=True)
class Use:
    """What the program used: seconds of processor and of time, and its most memory in MiB."""

    cpu_s: float
    wall_s: float
    peak_mib: float


@dataclass(frozen=True, slots=True)
class Run:
    """One run of ``listen``: its output in pieces with the time of each, its journal, its use.

    ``began_at``: when the first sample of the visit's sound came out of the microphone.
    """

    output: tuple[tuple[float, bytes], ...]
    inputs: tuple[Input, ...]
    began_at: float
    use: Use


class Beside:
    """Reads the microphone beside the program, each piece with the time at which it came."""

    def __init__(self, microphone: VirtualMicrophone) -> None:
        self._process = subprocess.Popen(
            [*PAREC, f"--device={SINK}.monitor"],
            env=microphone.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        self._pieces: list[bytes] = []
        self._began_at = np.inf
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def stop(self) -> tuple[Samples, float]:
        """What was heard, and when its first sample came."""
        self._process.terminate()
        self._process.wait(10)
        self._thread.join(10)
        raw = b"".join(self._pieces)
        samples = np.frombuffer(raw[: len(raw) // 2 * 2], "<i2").astype(np.float32)
        return samples / np.float32(32768.0), float(self._began_at)

    def _read(self) -> None:
        assert self._process.stdout is not None
        count = 0
        while piece := os.read(self._process.stdout.fileno(), 1 << 16):
            now = time.monotonic()
            self._pieces.append(piece)
            count += len(piece)
            # The piece that waited least for this reader tells best when the first sample came.
            self._began_at = min(self._began_at, now - count / 2 / SAMPLE_RATE_HZ)


class Output:
    """What a program writes, each piece with its time; from a pipe or a terminal."""

    def __init__(self, handle: int) -> None:
        self._handle = handle
        self.pieces: list[tuple[float, bytes]] = []
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def wait_for(self, words: bytes, timeout_s: float) -> None:
        """Until these words were written. Raises MissingError where they do not come."""
        end = time.monotonic() + timeout_s
        while words not in b"".join(piece for _, piece in list(self.pieces)):
            if time.monotonic() > end or not self._thread.is_alive():
                told = b"".join(piece for _, piece in self.pieces)[-300:]
                raise MissingError(f"hornsweep listen does not begin here: {told!r}")
            time.sleep(0.05)

    def end(self) -> None:
        """Once the program is over."""
        self._thread.join(10)
        os.close(self._handle)

    def _read(self) -> None:
        while True:
            try:
                piece = os.read(self._handle, 1 << 16)
            except OSError:  # the terminal's other end is closed
                return
            if not piece:
                return
            self.pieces.append((time.monotonic(), piece))


def listened(sound: Path, on_screen: bool) -> Run:
    """Play a file to a ``listen`` that writes JSON Lines, or draws its screen on a terminal."""
    with (
        tempfile.TemporaryDirectory(prefix="live.") as folder,
        VirtualMicrophone() as microphone,
        _started(microphone, Path(folder), on_screen) as (process, output),
    ):
        output.wait_for(b"LISTENING" if on_screen else b'"listening"', START_S)
        beside = Beside(microphone)
        cpu_s, began = cpu_seconds(process.pid), time.monotonic()
        microphone.play(sound)
        time.sleep(BEHIND_S)
        use = Use(
            cpu_seconds(process.pid) - cpu_s,
            time.monotonic() - began,
            status_mib(process.pid, "VmHWM"),
        )
        process.send_signal(signal.SIGTERM)
        process.wait(60)
        output.end()
        heard, heard_at = beside.stop()
        with Journal.read(Path(folder)) as journal:
            inputs = tuple(given for _, given in journal.evidence())
        return Run(tuple(output.pieces), inputs, _began_at(Path(folder), heard, heard_at), use)


@contextmanager
def _started(
    microphone: VirtualMicrophone, folder: Path, on_screen: bool
) -> Iterator[tuple[subprocess.Popen[bytes], Output]]:
    command = [sys.executable, "-m", "dictation", "listen", "--out", str(folder)]
    environment = {**microphone.environment, "TERM": "xterm-256color", "LC_ALL": "C.UTF-8"}
    if on_screen:
        ours, theirs = _terminal()
    else:
        ours, theirs = os.pipe()
        command.append("--json")
    process = subprocess.Popen(
        command,
        env=environment,
        stdin=theirs if on_screen else subprocess.DEVNULL,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
    )
    os.close(theirs)
    try:
        yield process, Output(ours)
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()


def _terminal() -> tuple[int, int]:
    """Both ends of a terminal."""
    import fcntl
    import pty
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", *TERMINAL, 0, 0))
    return ours, theirs


def _began_at(folder: Path, heard: Samples, heard_at: float) -> float:
    """When the visit's first sample came: its sound is found again in what was read beside it."""
    until_s = spooled_until_s(folder)
    first_s = max(0.0, until_s - COMPARED_S - BEHIND_S)
    part = sound_between(folder, first_s, until_s - BEHIND_S)
    match = correlate(heard, part, mode="valid", method="fft")
    place = int(np.argmax(match))
    same = heard[place : place + len(part)]
    alike = float(match[place] / (np.linalg.norm(same) * np.linalg.norm(part) + 1e-9))
    if alike < 0.9:
        raise MissingError(
            f"the sound server lost sound on the way ({alike:.2f} of it came): measure again when "
            "this machine is less busy."
        )
    return heard_at + place / SAMPLE_RATE_HZ - first_s


def cpu_seconds(pid: int) -> float:
    """Seconds of processor that a process has used, all its threads together."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def status_mib(pid: int | str, name: str) -> float:
    """A size of a process in MiB: VmRSS is its memory now, VmHWM the most it had."""
    lines = Path(f"/proc/{pid}/status").read_text(encoding="utf-8", errors="replace").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(f"{name}:")) / 1024
