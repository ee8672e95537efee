"""What somebody says while the tool itself is speaking, told apart from the tool's own voice.

What was played is known. The part of the microphone's sound that follows from it, through whatever
way the room has, is estimated by least squares and taken away; voice in what is left that is about
as loud as that part, or louder, is somebody else's. With headphones nothing follows from it, and
the sound stays as it is.

Tried on two of the tool's own sentences, rooms of up to 0.6 s, noise at -55 dBFS, an overdriven
loudspeaker, clocks up to 100 ppm apart: of the tool's voice alone at most 0.1 s passed for
somebody's, of 0.26 s that are needed. Clocks 200 ppm apart let 0.8 s pass; what is heard while the
loudspeaker is heard too is therefore asked about. A voice 10 dB below the tool's is not found.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.voice_activity import BLOCK_SAMPLES, SileroVoiceActivity

LATEST_S = 0.6
"""The loudspeaker's sound reaches the microphone at most so much after it was given out."""

EARLIER_SAMPLES = 160
"""The estimate begins this much before the loudest way, for quicker ones."""

TAPS = 2048
"""Length of the estimated way, 0.13 s: what a room gives later is 15 dB down and more."""

VOICE = 0.5
"""Probability of voice, as for the beginning of an utterance."""

AGAINST_OWN_DB = -6.0
"""Level against the tool's own at the microphone from which voice is somebody else's. Lower hears
softer voices, and the rest of the tool's own where two clocks run apart."""

ECHO_BLOCKS = 9
"""The tool's level at a moment is the most of the last 0.29 s: the room sounds on."""

SHORTEST_BLOCKS = 8
"""So much voice, 0.26 s, makes somebody else speaking; less may be what the estimate left over."""

MARGIN_BLOCKS = 10
"""Kept before and behind somebody's voice: soft sounds at the edges of words."""

LEAK = 0.2
"""Correlation of what is expected of the loudspeaker with what came, from which it is heard."""

LEAST_S = 0.25
"""So much of the tool's loud sound is needed to tell whether it is heard."""

LOOK_EVERY_S = 0.25
"""So often it is looked whether somebody speaks; a look takes 0.05 to 0.2 s of processor."""

ECHO_S = 0.35
"""How long the ear waits behind the tool's last word: output delay and the shed's echo."""

SOLVED, MOST_STEPS = 1e-7, 300
"""The rest at which a solution is near enough, as a share; 37 to 62 steps come there in speech."""

_QUIET = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """A stretch in which the tool spoke, as others are to be heard in it.

    ``samples``: of the same length, zero where only the tool spoke; ``others``: somebody else did;
    ``leaks``: the microphone hears the tool, so that words may be mixed up. That is measured where
    nobody else speaks; elsewhere it is what was given.
    """

    samples: Samples
    others: bool
    leaks: bool


def beside_own_voice(heard: Samples, played: Samples, leaks: bool = True) -> Beside:
    """What others said in ``heard``, which begins when ``played`` was given out. Both at 16 kHz.

    ``leaks``: whether the microphone hears the tool, as it was measured the last time.
    """
    silence = np.zeros_like(heard)
    if len(heard) < SHORTEST_BLOCKS * BLOCK_SAMPLES or not len(played):
        return Beside(silence, False, leaks)
    given = _placed(played, len(heard), _lag(heard, played))
    own = _convolved(given, _way(heard, given)).astype(np.float32)
    rest = heard - own
    activity = SileroVoiceActivity()
    chances = np.array([activity.probability(block) for block in _blocks(rest)])
    echo = _around(_powers(_blocks(own)), ECHO_BLOCKS - 1, 0).max(axis=1)
    level = _around(_powers(_blocks(rest)), 1, 1).mean(axis=1)
    against_db = 10 * np.log10(level / (echo + _QUIET) + _QUIET)
    theirs = (chances >= VOICE) & (against_db > AGAINST_OWN_DB)
    if int(theirs.sum()) < SHORTEST_BLOCKS:
        return Beside(silence, False, _leaks(heard, given))
    kept = _around(theirs.astype(np.float64), MARGIN_BLOCKS, MARGIN_BLOCKS).max(axis=1)
    mask = np.repeat(kept, BLOCK_SAMPLES)
    mask = np.pad(mask, (0, len(heard) - len(mask)), mode="edge")
    samples = ((rest if leaks else heard) * mask).astype(np.float32)
    return Beside(samples, True, leaks)


@dataclass(slots=True)
class Saying:
    """A sentence that the tool speaks: the sound meanwhile is held back until it is over.

    Who speaks meanwhile makes the tool stop. ``played``: the sentence at 16 kHz; ``until_s``: when
    it is over, in the visit's audio; ``leaks``: whether the microphone heard the tool the last
    time; ``hush``: stops the player at once; ``hushed``: somebody made it stop.
    """

    played: Samples
    until_s: float
    hush: Callable[[], None] = lambda: None
    hushed: bool = False
    leaks: bool = True
    from_s: float | None = None
    _held: list[Samples] = field(default_factory=list)
    _looked_s: float = 0.0

    def take(self, piece: Samples, at_s: float) -> None:
        """Hold a piece of the microphone back, which ends at ``at_s``."""
        if self.from_s is None:
            self.from_s = self._looked_s = at_s - len(piece) / SAMPLE_RATE_HZ
        self._held.append(np.array(piece))
        if not self.hushed and at_s - self._looked_s >= LOOK_EVERY_S:
            self._looked_s = at_s
            if self.beside().others:
                self.hushed = True
                self.hush()
                self.played = self.played[: round((at_s - self.from_s) * SAMPLE_RATE_HZ)]
                self.until_s = min(self.until_s, at_s + ECHO_S)

    def beside(self) -> Beside:
        """What others have said meanwhile, of all that was held back."""
        held = np.concatenate([np.zeros(0, np.float32), *self._held])
        return beside_own_voice(held, self.played, self.leaks)


def _lag(heard: Samples, played: Samples) -> int:
    """Samples after which the loudest way arrives, by cross-correlation with all pitches alike."""
    size = _size(len(heard) + len(played))
    cross = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(played, size))
    cross /= np.abs(cross) + 1e-6 * np.abs(cross).max() + _QUIET
    likeness = np.abs(np.fft.irfft(cross, size)[: int(LATEST_S * SAMPLE_RATE_HZ)])
    return max(0, int(np.argmax(likeness)) - EARLIER_SAMPLES)


def _way(heard: Samples, given: Samples) -> NDArray[np.float64]:
    """The filter of ``TAPS`` that makes ``given`` most like ``heard``."""
    size = _size(len(heard) + TAPS)
    spectrum = np.fft.rfft(given, size)
    with_itself = np.fft.irfft(np.abs(spectrum) ** 2, size)[:TAPS]
    with_heard = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(spectrum), size)[:TAPS]
    with_itself[0] = with_itself[0] * 1.001 + 1e-9
    return solve_toeplitz(with_itself.astype(np.float64), with_heard.astype(np.float64))


def solve_toeplitz(row: NDArray[np.float64], wanted: NDArray[np.float64]) -> NDArray[np.float64]:
    """The x for which the symmetric Toeplitz matrix of first row ``row``, times x, is ``wanted``.

    By conjugate gradients on T. Chan's circulant (SIAM J. Sci. Stat. Comput. 9:766-771, 1988): a
    few dozen short transforms. Levinson's recursion holds the other threads up for 25 ms.
    """
    count = len(row)
    whole = np.fft.rfft(np.concatenate([row, [0.0], row[:0:-1]]))
    nearest = row.copy()
    turned = np.arange(1, count)
    nearest[1:] = ((count - turned) * row[1:] + turned * row[:0:-1]) / count
    circulant = np.fft.rfft(nearest).real
    circulant = np.maximum(circulant, _QUIET * circulant.max())

    found, rest = np.zeros(count), wanted
    goal = SOLVED * float(np.linalg.norm(wanted))
    way, likeness = np.zeros(count), 1.0
    for _ in range(MOST_STEPS):
        if np.linalg.norm(rest) <= goal:
            break
        eased = np.fft.irfft(np.fft.rfft(rest) / circulant, count)
        before, likeness = likeness, float(np.dot(rest, eased))
        way = eased + likeness / before * way
        spread = np.fft.irfft(whole * np.fft.rfft(way, 2 * count), 2 * count)[:count]
        length = likeness / np.dot(way, spread)
        found, rest = found + length * way, rest - length * spread
    return found


def _leaks(heard: Samples, given: Samples) -> bool:
    """Whether the way found in each half of a stretch without others foretells the other half."""
    loud = np.flatnonzero(np.abs(given) > 0.05 * np.abs(given).max(initial=_QUIET))
    if len(loud) < LEAST_S * SAMPLE_RATE_HZ:
        return True
    middle = int(loud[len(loud) // 2])
    halves = (slice(0, middle), slice(middle, len(heard)))
    likeness = []
    for learn, test in (halves, halves[::-1]):
        expected = _convolved(given, _way(heard[learn], given[learn]))[test]
        both = float(np.linalg.norm(expected) * np.linalg.norm(heard[test])) + _QUIET
        likeness.append(float(np.dot(expected, heard[test])) / both)
    return max(likeness) > LEAK


def _convolved(sound: Samples, way: NDArray[np.float64]) -> NDArray[np.float64]:
    """The sound after its way, as long as before."""
    size = _size(len(sound) + len(way))
    spectrum = np.fft.rfft(sound, size) * np.fft.rfft(way, size)
    return np.asarray(np.fft.irfft(spectrum, size)[: len(sound)], np.float64)


def _around(values: NDArray[np.float64], before: int, behind: int) -> NDArray[np.float64]:
    """Each value with so many before and behind it, a row each; mirrored at both ends."""
    padded = np.pad(values, (before, behind), mode="symmetric")
    return np.lib.stride_tricks.sliding_window_view(padded, before + behind + 1)


def _placed(played: Samples, length: int, lag: int) -> Samples:
    given = np.zeros(length, np.float32)
    part = played[: max(0, length - lag)]
    given[lag : lag + len(part)] = part
    return given


def _blocks(samples: Samples) -> Samples:
    """Whole blocks as the detector takes them, a row each."""
    count = len(samples) // BLOCK_SAMPLES
    return np.ascontiguousarray(samples[: count * BLOCK_SAMPLES].reshape(count, BLOCK_SAMPLES))


def _powers(blocks: Samples) -> NDArray[np.float64]:
    return np.asarray(np.mean(np.square(blocks, dtype=np.float64), axis=1))


def _size(length: int) -> int:
    return 1 << (length - 1).bit_length()
