"""The tool's own voice: speech from a synthesiser that is on the machine, and three short tones."""

from __future__ import annotations

import io
import queue
import shutil
import subprocess
import threading
from enum import StrEnum

import numpy as np
import soundfile as sf
import soxr

from dictation.audio.devices import PLAYING, port_audio, sound_errors
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import MissingError

TONE_RATE_HZ = 16_000
TONE_LEVEL = 0.25
WORDS_A_MINUTE = 190
"""A little faster than talk: it must be over before the next breath."""

LONGEST_SYNTHESIS_S = 5.0

PLAYED_S = 0.04
"""Sound is given out in pieces of so much, so that it can be broken off."""


class Tone(StrEnum):
    """What a tone says. Distinct in pitch and number, so that they are told apart in noise."""

    HEARD = "heard"
    ASKED = "asked"
    REFUSED = "refused"


_NOTES: dict[Tone, tuple[tuple[float, float], ...]] = {
    Tone.HEARD: ((1320.0, 0.06),),
    Tone.ASKED: ((880.0, 0.09), (1320.0, 0.12)),
    Tone.REFUSED: ((330.0, 0.16),),
}
"""Pitch in Hz and length in seconds."""


def tone(kind: Tone) -> Samples:
    """The samples of a tone at 16 kHz, faded at both ends so that it does not click."""
    return np.concatenate([_note(pitch, length_s) for pitch, length_s in _NOTES[kind]])


def _note(pitch: float, length_s: float) -> Samples:
    at_s = np.arange(int(length_s * TONE_RATE_HZ)) / TONE_RATE_HZ
    fade = np.minimum(1.0, np.minimum(at_s, length_s - at_s) / 0.01)
    note: Samples = (TONE_LEVEL * fade * np.sin(2 * np.pi * pitch * at_s)).astype(np.float32)
    return note


class Synthesiser:
    """Text to sound. Raises MissingError where the machine has no voice."""

    def __init__(self) -> None:
        self._command = shutil.which("espeak-ng")
        if self._command is None:
            raise MissingError(
                "there is no voice on this machine: install espeak-ng (Debian: apt-get install "
                "espeak-ng), or use --speak off."
            )

    def speak(self, text: str) -> tuple[Samples, int]:
        """Mono float32 samples and their rate in Hz. Raises MissingError."""
        assert self._command is not None
        try:
            done = subprocess.run(
                [self._command, "--stdout", "-v", "en", "-s", str(WORDS_A_MINUTE), "--stdin"],
                input=text.encode(),
                capture_output=True,
                timeout=LONGEST_SYNTHESIS_S,
                check=True,
            )
            samples, rate_hz = sf.read(io.BytesIO(done.stdout), dtype="float32")
        except (OSError, subprocess.SubprocessError, sf.LibsndfileError) as error:
            raise MissingError(f"espeak-ng could not speak ({error}): use --speak off.") from error
        return samples, int(rate_hz)


def as_heard(samples: Samples, rate_hz: int) -> Samples:
    """Sound at the rate of the microphone, 16 kHz."""
    resampled: Samples = soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ)
    return resampled


class Speaker:
    """Plays sound in its own thread; a device that cannot be opened is told by ``failed``."""

    def __init__(self) -> None:
        self._waiting: queue.SimpleQueue[tuple[Samples, int] | None] = queue.SimpleQueue()
        self._hushed = threading.Event()
        self.failed = ""
        self._thread = threading.Thread(target=self._run, name="speaker", daemon=True)
        self._thread.start()

    def play(self, samples: Samples, rate_hz: int) -> None:
        """Play behind what is being played; returns at once."""
        self._waiting.put((samples, rate_hz))

    def hush(self) -> None:
        """Break off what is being played, within a few hundredths of a second."""
        self._hushed.set()

    def stop(self) -> None:
        """End after what is waiting."""
        self._waiting.put(None)
        self._thread.join(LONGEST_SYNTHESIS_S)

    def _run(self) -> None:
        while (waiting := self._waiting.get()) is not None:
            samples, rate_hz = waiting
            self._hushed.clear()
            try:
                sound = port_audio()
                with (
                    PLAYING,
                    sound.OutputStream(samplerate=rate_hz, channels=1, dtype="float32") as stream,
                ):
                    step = max(1, int(PLAYED_S * rate_hz))
                    for at in range(0, len(samples), step):
                        if self._hushed.is_set():
                            stream.abort()
                            break
                        stream.write(np.ascontiguousarray(samples[at : at + step, np.newaxis]))
                self.failed = ""
            except sound_errors() as error:  # the screen still tells
                self.failed = " ".join(str(error).split())
