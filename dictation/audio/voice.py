"""The tool's own voice: speech from a synthesiser that is on the machine, and three short tones."""

from __future__ import annotations

import io
import queue
import shutil
import subprocess
import threading
from collections.abc import Callable
from enum import StrEnum

import numpy as np
import soundfile as sf

from dictation.audio.devices import PLAYING, port_audio, sound_errors
from dictation.audio.samples import Samples
from dictation.errors import MissingError

TONE_RATE_HZ = 16_000
TONE_LEVEL = 0.15
"""Amplitude: quieter than speech in the same loudspeaker."""

WORDS_A_MINUTE, FASTEST_WORDS_A_MINUTE = 190, 340
"""A little faster than talk, and the fastest at which numbers are still told apart; our choice."""

SILENCE = 0.01
"""Below this share of the peak the ends of spoken words are silence, and cut off."""

LONGEST_SYNTHESIS_S = 5.0

PLAYED_S = 0.04
"""Sound is given out in pieces of so much, so that it can be broken off."""


class Tone(StrEnum):
    """What a tone says: one short high note, two that rise, one low.

    Distinct in pitch and number, so that they are told apart in noise.
    """

    TAKEN = "taken"
    ASKED = "asked"
    NOT_FOR_US = "not for us"


_NOTES: dict[Tone, tuple[tuple[float, float], ...]] = {
    Tone.TAKEN: ((1320.0, 0.06),),
    Tone.ASKED: ((880.0, 0.09), (1320.0, 0.12)),
    Tone.NOT_FOR_US: ((330.0, 0.16),),
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

    def speak(self, text: str, most_s: float) -> tuple[Samples, int]:
        """Mono float32 samples and their rate in Hz; faster where it would take longer than that.

        It may still take longer. Raises MissingError.
        """
        samples, rate_hz = self._spoken(text, WORDS_A_MINUTE)
        length_s = len(samples) / rate_hz
        if length_s > most_s:
            faster = min(FASTEST_WORDS_A_MINUTE, round(WORDS_A_MINUTE * 1.1 * length_s / most_s))
            samples, rate_hz = self._spoken(text, faster)
        return samples, rate_hz

    def _spoken(self, text: str, words_a_minute: int) -> tuple[Samples, int]:
        assert self._command is not None
        try:
            done = subprocess.run(
                [self._command, "--stdout", "-v", "en", "-s", str(words_a_minute), "--stdin"],
                input=text.encode(),
                capture_output=True,
                timeout=LONGEST_SYNTHESIS_S,
                check=True,
            )
            samples, rate_hz = sf.read(io.BytesIO(done.stdout), dtype="float32")
        except (OSError, subprocess.SubprocessError, sf.LibsndfileError) as error:
            raise MissingError(f"espeak-ng could not speak ({error}): use --speak off.") from error
        loud = np.flatnonzero(np.abs(samples) > SILENCE * np.abs(samples).max(initial=0.0))
        return samples[loud[0] : loud[-1] + 1] if len(loud) else samples, int(rate_hz)


Ended = Callable[[], None]
"""Called, from another thread, when what was played is over."""


class Speaker:
    """Plays sound in its own thread; a device that cannot be opened is told by ``failed``."""

    def __init__(self) -> None:
        self._waiting: queue.SimpleQueue[tuple[Samples, int, Ended] | None] = queue.SimpleQueue()
        self._hushed = threading.Event()
        self.failed = ""
        self._thread = threading.Thread(target=self._run, name="speaker", daemon=True)
        self._thread.start()

    def play(self, samples: Samples, rate_hz: int, ended: Ended = lambda: None) -> None:
        """Play behind what is being played; returns at once."""
        self._waiting.put((samples, rate_hz, ended))

    def hush(self) -> None:
        """Break off what is being played, within a few hundredths of a second."""
        self._hushed.set()

    def stop(self) -> None:
        """End after what is waiting."""
        self._waiting.put(None)
        self._thread.join(LONGEST_SYNTHESIS_S)

    def _run(self) -> None:
        while (waiting := self._waiting.get()) is not None:
            samples, rate_hz, ended = waiting
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
            finally:
                ended()
