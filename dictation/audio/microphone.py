"""A microphone as a stream that outlives its device.

The driver's callback only puts blocks into a ring: it never waits. A device that falls silent for
good is noticed within two seconds, told, and opened again as soon as it is back.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterator

import numpy as np

from dictation.audio.devices import Device, choose_input, look_again, port_audio, why_not
from dictation.audio.reading import Heed, Interruption, Lost, Notice, ignore, resampler
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import HornsweepError, MissingError

BLOCK_FRAMES = 512
RING_S = 30.0
"""Sound that may wait for a reader held up by the disk before blocks are dropped and counted."""

LOST_AFTER_S = 1.2
"""Silence of the driver after which the device is taken for gone; blocks come every 32 ms."""

FIRST_BLOCK_S = 4.0
"""A driver may take this long to begin: PulseAudio on an idle sink took up to 1.8 s."""

TRY_AGAIN_S = 0.5
WAIT_S = 0.01
SAY_NOTHING_CAME_S = 0.1


def seconds_of_the_machine() -> float:
    """A clock that goes on while the lid is closed, where the system has one."""
    boot = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boot is None else time.clock_gettime(boot)


class Microphone:
    """A device by name, or the system's own choice. A ``FrameSource`` without an end.

    ``lost``: the device is away now; ``stopped``: it was told to let go; ``overruns``: blocks that
    were dropped so far. ``blocks`` ends once ``stop`` was called. The device is opened here: raises
    MissingError, WrongUseError.
    """

    def __init__(
        self, name: str | None = None, now: Callable[[], float] = seconds_of_the_machine
    ) -> None:
        self._wanted = name
        self._now = now
        self._ring: deque[tuple[int, Samples]] = deque()  # blocks dropped before it, and a block
        self._room = int(RING_S * SAMPLE_RATE_HZ / BLOCK_FRAMES)
        self._dropped = 0
        self._asleep_s = 0.0
        self.stopped = False
        self._heard_at = 0.0
        self._begun = False
        self._resample = resampler(SAMPLE_RATE_HZ)
        self._samples = 0
        self.overruns = 0
        self.lost = False
        self.device: Device = choose_input(name)
        self._stream = self._open()

    @property
    def at_s(self) -> float:
        """Seconds of the stream handed out so far, with what was missing counted."""
        return self._samples / SAMPLE_RATE_HZ

    def stop(self) -> None:
        """Let the device go; ``blocks`` ends after what has already come."""
        self.stopped = True

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        """Pieces as they come; an empty one every 0.1 s where nothing does."""
        waited_s = 0.0
        while True:
            if self._ring:
                waited_s = 0.0
                yield from self._taken(heed)
                continue
            if self.stopped:
                break
            if self._gone():
                yield from self._until_back(heed)
                continue
            time.sleep(WAIT_S)
            waited_s += WAIT_S
            if waited_s >= SAY_NOTHING_CAME_S:
                waited_s = 0.0
                yield np.zeros(0, np.float32)
        self._close()

    def _taken(self, heed: Heed) -> Iterator[Samples]:
        if self._asleep_s:
            self._make_up_for_sleep(heed)
        dropped, piece = self._ring.popleft()
        if dropped:
            yield self._made_up_for(dropped, heed)
        if self._resample is not None:
            piece = np.clip(self._resample.resample_chunk(piece), -1.0, 1.0)
        self._samples += len(piece)
        yield piece

    def _make_up_for_sleep(self, heed: Heed) -> None:
        """The whole machine stood still, as under a closed lid; the device goes on by itself."""
        asleep_s, self._asleep_s = self._asleep_s, 0.0
        at_s = self.at_s
        self._samples += int(asleep_s * SAMPLE_RATE_HZ)
        sentence = f"This machine slept for {asleep_s:.0f} s: listening goes on."
        heed(Interruption(at_s, sentence, self.at_s))

    def _made_up_for(self, dropped: int, heed: Heed) -> Samples:
        """Dropped blocks leave silence of their length, so that times hold."""
        missing = int(dropped * BLOCK_FRAMES * SAMPLE_RATE_HZ / self._rate_hz)
        at_s = self.at_s
        sentence = f"{dropped} blocks of the microphone were lost: this machine is too busy."
        self._samples += missing
        heed(Notice(at_s, sentence))
        return np.zeros(missing, np.float32)

    def _open(self) -> object:
        """Start the device at 16 kHz mono, or at its own rate where it cannot do that."""
        sound = port_audio()
        failed: Exception | None = None
        for rate_hz in (SAMPLE_RATE_HZ, self.device.rate_hz):
            try:
                stream = sound.InputStream(
                    samplerate=rate_hz,
                    blocksize=BLOCK_FRAMES,
                    device=self.device.number,
                    channels=1,
                    dtype="float32",
                    callback=self._callback,
                )
                self._rate_hz = rate_hz
                self._resample = resampler(rate_hz)
                self._begun = False
                self._heard_at = self._now()
                stream.start()
            except (sound.PortAudioError, ValueError) as error:
                failed = failed or error
                continue
            return stream
        assert failed is not None
        raise MissingError(why_not(self.device, failed)) from failed

    def _callback(self, data: Samples, frames: int, times: object, status: object) -> None:
        """Called by the driver's thread: nothing here may wait, lock or draw."""
        now = self._now()
        if self._begun and now - self._heard_at > LOST_AFTER_S:
            self._asleep_s += now - self._heard_at
        self._heard_at = now
        self._begun = True
        if getattr(status, "input_overflow", False):
            self.overruns += 1
        if len(self._ring) >= self._room:
            self.overruns += 1
            self._dropped += 1
            return
        dropped, self._dropped = self._dropped, 0
        self._ring.append((dropped, np.array(data[:, 0], np.float32)))

    def _gone(self) -> bool:
        patience_s = LOST_AFTER_S if self._begun else FIRST_BLOCK_S
        return self._now() - self._heard_at > patience_s or not self._alive()

    def _alive(self) -> bool:
        try:
            return bool(self._stream.active)  # type: ignore[attr-defined]
        except port_audio().PortAudioError:
            return False

    def _until_back(self, heed: Heed) -> Iterator[Samples]:
        """Tell, and try again until the device is there; the time away is no sound."""
        self.lost = True
        from_s, away_since = self.at_s, self._heard_at
        heed(Lost(from_s, f"The microphone '{self.device.name}' is gone: listening stops."))
        self._close()
        next_try = self._now()
        while not self.stopped:
            if self._now() >= next_try:
                if self._reopened():
                    break
                next_try = self._now() + TRY_AGAIN_S
            yield np.zeros(0, np.float32)
            time.sleep(SAY_NOTHING_CAME_S)
        if self.stopped:
            return
        self._samples += int((self._heard_at - away_since) * SAMPLE_RATE_HZ)
        self.lost = False
        sentence = f"The microphone '{self.device.name}' is back: listening goes on."
        heed(Interruption(from_s, sentence, self.at_s))

    def _reopened(self) -> bool:
        """Whether the device could be opened, and sound has come from it."""
        try:
            look_again()
            self.device = choose_input(self._wanted)
            self._stream = self._open()
        except (HornsweepError, port_audio().PortAudioError, OSError, ValueError):
            return False
        until = self._now() + FIRST_BLOCK_S
        while self._now() < until and not self.stopped:
            if self._begun:
                return True
            time.sleep(WAIT_S)
        self._close()
        return False

    def _close(self) -> None:
        try:
            self._stream.abort()  # type: ignore[attr-defined]
            self._stream.close()  # type: ignore[attr-defined]
        except port_audio().PortAudioError:  # what is gone cannot be closed, and need not be
            return
