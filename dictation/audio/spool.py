"""The whole sound of the microphone on disk, as it comes.

``audio/stream/NNNNNNNNNNNN.s16``: 16-bit samples of the piece that is being written, named by its
first sample in the visit's audio; finished pieces are kept as FLAC under the same number. After a
crash or a power cut what was spoken is there, all but the last half second at most.
"""

from __future__ import annotations

import errno
import io
import os
import time
from collections import deque
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import soundfile as sf

from dictation.audio.keep import AUDIO_FOLDER, flac
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.disk import NO_ROOM, put_in_place, wipe, write_through

STREAM_FOLDER = "stream"
PIECE_S = 60.0
"""Length of a piece. Longer leaves more uncompressed; shorter makes more files."""

SYNC_S = 0.4
"""Sound is forced to the disk this often: with blocks of 32 ms it lies there within half a second
of being spoken."""

TRY_AGAIN_S = 2.0

MOST_IN_MEMORY_S = 1200.0
"""Sound that waits in memory for room on the disk, 38 MB; of more the oldest is let go and told."""


class Spool:
    """Takes the microphone's samples in order. A full disk is told by ``full``, never raised.

    Meanwhile the sound waits in memory, and is written once there is room. ``lost_s``: seconds that
    had to be let go, because there was none for too long.
    """

    def __init__(
        self, folder: Path, from_s: float, now: Callable[[], float] = time.monotonic
    ) -> None:
        self._folder = folder / AUDIO_FOLDER / STREAM_FOLDER
        self._folder.mkdir(parents=True, exist_ok=True)
        self._taken = self._written = self._first = round(from_s * SAMPLE_RATE_HZ)
        self._waiting: deque[tuple[int, bytes]] = deque()  # first sample, and samples of 16 bits
        self._file: io.FileIO | None = None
        self._now = now
        self._synced_at = now()
        self._wait_until = 0.0
        self.full = False
        self.lost_s = 0.0

    @property
    def at_s(self) -> float:
        """End of what was taken, in seconds of the visit's audio."""
        return self._taken / SAMPLE_RATE_HZ

    def write(self, samples: Samples) -> None:
        """Append samples. Where there is no room they wait, and are tried again later."""
        if not len(samples):
            return
        scaled = np.clip(np.round(samples * 32768.0), -32768, 32767).astype("<i2").tobytes()
        self._waiting.append((self._taken, scaled))
        self._taken += len(samples)
        if self.full:
            self._let_go()
        if not (self.full and self._now() < self._wait_until):
            self._write_waiting()

    def skip_to(self, at_s: float) -> None:
        """Nothing was heard until then: a new piece begins there."""
        if not self._waiting:
            self.close()
        self._taken = round(at_s * SAMPLE_RATE_HZ)

    def close(self) -> None:
        """Finish the piece that is being written."""
        self._write_waiting()
        self._finish()

    def _finish(self) -> None:
        if self._file is None:
            return
        path = Path(os.fsdecode(self._file.name))
        file, self._file = self._file, None
        os.fsync(file.fileno())
        file.close()
        compress(path)

    def _write_waiting(self) -> None:
        try:
            while self._waiting:
                self._append(*self._waiting[0])
            self.full = False
        except OSError as error:
            if error.errno not in NO_ROOM:
                raise
            self.full = True
            self._wait_until = self._now() + TRY_AGAIN_S
            self._abandon()

    def _let_go(self) -> None:
        """Of too much that waits, the oldest."""
        while self._taken - self._waiting[0][0] > MOST_IN_MEMORY_S * SAMPLE_RATE_HZ:
            _, oldest = self._waiting.popleft()
            self.lost_s += len(oldest) / 2 / SAMPLE_RATE_HZ

    def _append(self, first: int, scaled: bytes) -> None:
        """Write the first of what waits, or as much of it as there is room for."""
        if self._file is not None and first != self._written:
            self._finish()
        if self._file is None:
            self._first = self._written = first
            self._file = io.FileIO(self._folder / f"{first:012d}.s16", "ab")
        count = self._file.write(scaled) // 2
        self._written = first + count
        self._waiting.popleft()
        if count * 2 != len(scaled):
            self._waiting.appendleft((self._written, scaled[count * 2 :]))
            raise OSError(errno.ENOSPC, "no room")
        if self._now() - self._synced_at >= SYNC_S:
            os.fsync(self._file.fileno())
            self._synced_at = self._now()
        if self._written - self._first >= PIECE_S * SAMPLE_RATE_HZ:
            self._finish()

    def _abandon(self) -> None:
        """Close a piece that could not be finished; what is in it stays."""
        if self._file is not None:
            self._file.close()
            self._file = None


def compress(path: Path) -> None:
    """A finished piece as FLAC in its place; left as it is where there is no room for both."""
    target = path.with_suffix(".flac")
    partial = path.with_suffix(".part")
    samples = _raw(path)
    try:
        if len(samples):
            write_through(partial, flac(samples))
            partial.replace(target)
        path.unlink()
    except OSError:
        partial.unlink(missing_ok=True)


def _raw(path: Path) -> Samples:
    content = path.read_bytes()
    whole = len(content) - len(content) % 2  # a power cut may leave half a sample
    return np.frombuffer(content[:whole], "<i2").astype(np.float32) / np.float32(32768.0)


def _pieces(folder: Path) -> list[tuple[int, Path]]:
    stream = folder / AUDIO_FOLDER / STREAM_FOLDER
    found: dict[int, Path] = {}
    for suffix in ("s16", "flac"):  # the FLAC is whole where both are there
        for path in stream.glob(f"*.{suffix}"):
            if path.stem.isdigit():
                found[int(path.stem)] = path
    return sorted(found.items())


def _samples_of(path: Path) -> Samples:
    if path.suffix == ".s16":
        return _raw(path)
    samples: Samples = sf.read(path, dtype="float32")[0]
    return samples


def spooled(folder: Path, from_s: float) -> Iterator[tuple[float, Samples]]:
    """What lies on the disk from ``from_s`` on: where each stretch begins, and its samples."""
    first = round(from_s * SAMPLE_RATE_HZ)
    pieces = _pieces(folder)
    for place, (start, path) in enumerate(pieces):
        behind = pieces[place + 1][0] if place + 1 < len(pieces) else None
        if behind is not None and behind <= first:
            continue
        samples = _samples_of(path)
        cut = max(0, first - start)
        if cut < len(samples):
            yield (start + cut) / SAMPLE_RATE_HZ, samples[cut:]


def silence(folder: Path, from_s: float, until_s: float) -> None:
    """Nothing is left of what lies on the disk between two moments; the rest stays as it is."""
    pieces = _pieces(folder)
    for start, path in pieces:
        samples = _samples_of(path)
        first = max(0, round(from_s * SAMPLE_RATE_HZ) - start)
        last = round(until_s * SAMPLE_RATE_HZ) - start
        if first < min(last, len(samples)):
            samples[first:last] = 0.0
            put_in_place(path.with_suffix(".flac"), flac(samples))
            if path.suffix != ".flac":
                wipe(path)


def sound_between(folder: Path, from_s: float, until_s: float) -> Samples:
    """What lies on the disk between two moments; what is missing there is left out."""
    parts: list[Samples] = [np.zeros(0, np.float32)]
    for at_s, samples in spooled(folder, from_s):
        left = round((until_s - at_s) * SAMPLE_RATE_HZ)
        if left <= 0:
            break
        parts.append(samples[:left])
    return np.concatenate(parts)


def spooled_until_s(folder: Path) -> float:
    """End of the sound on the disk, seconds of the visit's audio; 0 where there is none."""
    pieces = _pieces(folder)
    if not pieces:
        return 0.0
    start, path = pieces[-1]
    return (start + len(_samples_of(path))) / SAMPLE_RATE_HZ


def last_written_at(folder: Path) -> float | None:
    """When sound was last written, seconds since the epoch."""
    pieces = _pieces(folder)
    return pieces[-1][1].stat().st_mtime if pieces else None


def tidy(folder: Path) -> None:
    """Compress pieces that a crash left open. Not while another process writes them."""
    for _, path in _pieces(folder):
        if path.suffix == ".s16":
            compress(path)
