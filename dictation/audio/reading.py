"""Where sound comes from: one protocol for all sources, and the frames of a file in order.

A file is read whatever state it is in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
import soundfile as sf
import soxr
from numpy.typing import NDArray

from dictation.audio.container import MendedWav, wav_length
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import BadInputError

READ_S = 0.25
"""Seconds of sound a read: 12,000 frames at 48 kHz."""

RESUME_STEP_S = 0.25
"""Behind a damaged frame, reading is tried again in steps of this many seconds..."""

RESUME_TRIES = 240
"""...and this often (one minute) before the rest of the file is given up."""

SHORT_BY_S = 0.5
"""A file that ends this much before its header says has broken off; less is an estimate's error."""

Frames = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Notice:
    """Something about a file that a person should know and that stops nothing."""

    at_s: float
    sentence: str


Heed = Callable[[Notice], None]


def ignore(notice: Notice) -> None:
    """Take no notice."""


@dataclass(frozen=True, slots=True)
class Lost(Notice):
    """The device has gone: nothing is listened to until an ``Interruption`` tells its end."""


@dataclass(frozen=True, slots=True)
class Interruption(Notice):
    """Nothing could be listened to from ``at_s`` until ``until_s``, seconds of the stream."""

    until_s: float


class FrameSource(Protocol):
    """A stream of sound. ``Recording`` and ``Microphone`` are both."""

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        """Mono float32 pieces at 16 kHz in order; what is worth telling goes to ``heed``.

        A piece of no samples means that nothing has come yet. Where sound is missing and its length
        is known, an ``Interruption`` goes to ``heed`` before the piece that follows it.
        """
        ...


def resampler(rate_hz: int) -> soxr.ResampleStream | None:
    """What brings a mono stream to 16 kHz; None where it is there already."""
    if rate_hz == SAMPLE_RATE_HZ:
        return None
    return soxr.ResampleStream(rate_hz, SAMPLE_RATE_HZ, 1, dtype="float32")


def open_sound(path: Path) -> sf.SoundFile:
    """Open with libsndfile; a WAV whose recorder never wrote its length is mended on the way.

    Raises soundfile.LibsndfileError or OSError.
    """
    wav = wav_length(path)
    if wav is not None and wav.never_finished:
        return sf.SoundFile(MendedWav(path, wav))
    return sf.SoundFile(path)


class Reader:
    """The frames of a file in order, going on behind a damaged stretch where that is possible."""

    def __init__(
        self, path: Path, rate_hz: int, channels: int, known: int | None, heed: Heed
    ) -> None:
        self._path = path
        self._rate_hz = rate_hz
        self._channels = channels
        self._known = known
        self._heed = heed
        self._damaged = False
        self._told_of_no_number = False
        self._good_samples = 0

    def pieces(self) -> Iterator[Frames]:
        """Arrays of shape (n, channels). Raises BadInputError if nothing at all could be read."""
        position: int | None = 0
        while position is not None:
            file = self._reopen(position)
            if file is None:
                break
            with file:
                for piece in self._until_damaged(file):
                    yield self._only_numbers(piece, position)
                    position += len(piece)
            start, position = position, self._next_start(position)
            if position is not None:
                yield from self._silence(position - start)
        if not self._good_samples:
            raise BadInputError(
                f"{self._path} holds no sample that can be read: record it again or repair it."
            )

    def _reopen(self, position: int) -> sf.SoundFile | None:
        try:
            file = open_sound(self._path)
            if position:
                file.seek(position)
        except (sf.LibsndfileError, OSError):
            return None
        return file

    def _until_damaged(self, file: sf.SoundFile) -> Iterator[Frames]:
        self._damaged = False
        frames = max(1, int(READ_S * self._rate_hz))
        # libsndfile fills what it could decode before it reports a damaged frame, without saying
        # how much that is; the mark that is left shows it.
        while True:
            buffer = np.full((frames, self._channels), np.nan, np.float32)
            try:
                got = file.read(out=buffer, always_2d=True)
            except sf.LibsndfileError:
                self._damaged = True
                decoded = np.flatnonzero(~np.isnan(buffer).all(axis=1))
                if len(decoded):
                    yield buffer[: decoded[-1] + 1]
                return
            if len(got) == 0:
                return
            yield got

    def _next_start(self, position: int) -> int | None:
        """Frame from which reading goes on, or None at the end; what is lost is told."""
        at_s = position / self._rate_hz
        if not self._damaged:
            short = 0 if self._known is None else self._known - position
            if short < SHORT_BY_S * self._rate_hz:
                return None
        elif (found := self._beyond(position)) is not None:
            until_s = found / self._rate_hz
            sentence = f"{self._path} is damaged from {at_s:.1f} to {until_s:.1f} s"
            self._heed(Notice(at_s, f"{sentence}: nothing is heard there, the rest is."))
            return found
        self._heed(
            Notice(at_s, f"{self._path} breaks off at {at_s:.1f} s: what is there is heard.")
        )
        return None

    def _beyond(self, position: int) -> int | None:
        step = max(1, int(RESUME_STEP_S * self._rate_hz))
        for tried in range(1, RESUME_TRIES + 1):
            start = position + tried * step
            if self._known is not None and start >= self._known:
                return None
            if self._readable_at(start):
                return start
        return None

    def _readable_at(self, start: int) -> bool:
        file = self._reopen(start)
        if file is None:
            return False
        with file:
            try:
                return len(file.read(1, dtype="float32")) == 1
            except sf.LibsndfileError:
                return False

    def _silence(self, frames: int) -> Iterator[Frames]:
        step = max(1, int(READ_S * self._rate_hz))
        for at in range(0, frames, step):
            yield np.zeros((min(step, frames - at), self._channels), np.float32)

    def _only_numbers(self, piece: Frames, at: int) -> Frames:
        good = np.isfinite(piece)
        count = int(good.sum())
        self._good_samples += count
        if count == piece.size:
            return piece
        if not self._told_of_no_number:
            self._told_of_no_number = True
            at_s = (at + int(np.argmin(good.all(axis=1)))) / self._rate_hz
            sentence = f"{self._path} has samples that are no numbers from {at_s:.1f} s"
            self._heed(Notice(at_s, f"{sentence}: they are taken as silence."))
        return np.where(good, piece, np.float32(0.0))
