"""Where an utterance begins and ends.

Every sample that the detector took for speech leaves in exactly one ``Utterance`` or ``Blip``:
nothing is dropped, and nothing is heard twice.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.voice_activity import BLOCK_SAMPLES, SileroVoiceActivity, VoiceActivity

BLOCK_S = BLOCK_SAMPLES / SAMPLE_RATE_HZ

SPEECH_BEGINS = 0.5
"""Probability at which an utterance begins. Higher loses soft onsets, lower takes in noise."""

SPEECH_GOES_ON = 0.35
"""Probability above which it goes on: lower than the above, or words would be cut in two."""

PRE_ROLL_S = 0.256
"""Kept from before the onset: the detector is up to 87 ms late on noisy speech, and consonants
before the vowel are soft."""

TAIL_S = 0.128
"""Kept at the microphone from behind the last voiced block, which itself comes some 0.07 s behind
the voice. Of 226 phrases of the tune side, half of them numbers in noise, as many were right with
0.096 s (210) as with 0.256 (209)."""

RECORDING_TAIL_S = 0.256
"""The same of a recording, where nobody waits."""

LIVE_HANG_OVER_S = 0.48
"""Silence that ends an utterance at the microphone, as long as nobody knows what it says. Shorter
answers sooner and cuts at breaths."""

SENTENCE_HANG_OVER_S = 0.224
"""The same behind what surely is a sentence: inside words there are stops of up to 0.15 s. What
goes on after a longer pause is a phrase of its own, and joined to it."""

BEGUN_HANG_OVER_S = 0.896
"""The same behind what is surely the beginning of a sentence: 'left ovary'."""

RECORDING_HANG_OVER_S = 0.608
"""Silence that ends an utterance of a recording, where nobody waits for an answer."""

SHORTEST_SPEECH_S = 0.12
"""Voice for less than this is a ``Blip``: a click or a knock. The shortest words of the trade
('no', 'two') hold the detector for longer."""

LONGEST_UTTERANCE_S = 25.0
"""An utterance is split at its deepest pause when it reaches this."""

_PAUSE_BLOCKS = 7  # about 0.22 s: the width over which a pause is judged
_EARLIEST_SPLIT = 0.2  # of the longest utterance: no crumbs at its beginning


@dataclass(frozen=True, slots=True, eq=False)
class Utterance:
    """A stretch of speech with its pre-roll and tail: mono float32 at 16 kHz.

    ``at_s``, ``until_s`` in seconds of the stream; ``number`` counts from 1 in the stream;
    ``split``: it was cut at the longest length, and goes on in the next; ``ended_at``: when its end
    was certain, by the machine's monotonic clock, where somebody waited for it; ``over_own_voice``:
    the microphone heard the tool itself meanwhile.
    """

    samples: Samples
    at_s: float
    until_s: float
    number: int
    split: bool = False
    ended_at: float | None = None
    over_own_voice: bool = False

    def later(self, by_s: float) -> Utterance:
        """The same, so much later in the stream."""
        return replace(self, at_s=self.at_s + by_s, until_s=self.until_s + by_s)


@dataclass(frozen=True, slots=True)
class SpeechBegan:
    """Somebody has begun to speak, long enough not to be a blip."""

    at_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Blip:
    """Voice too short to be a word; kept out of recognition, handed on all the same."""

    samples: Samples
    at_s: float
    until_s: float


EndpointEvent = SpeechBegan | Utterance | Blip


def _blocks_of(seconds: float) -> int:
    return max(1, round(seconds / BLOCK_S))


def _voiced(chances: list[float]) -> int:
    return sum(chance >= SPEECH_GOES_ON for chance in chances)


def _speech_end(chances: list[float]) -> int:
    """Number of blocks up to and with the last that goes on as speech."""
    return next((n for n in range(len(chances), 0, -1) if chances[n - 1] >= SPEECH_GOES_ON), 0)


class Endpointer:
    """Cuts a stream into utterances. One for each stream; samples in order, in pieces of any size.

    ``hang_over_s``: silence that ends an utterance; ``longest_s``: where one is split; ``tail_s``:
    how much of that silence is kept;
    ``activity``: the detector, Silero unless another is given.
    """

    def __init__(
        self,
        hang_over_s: float = LIVE_HANG_OVER_S,
        longest_s: float = LONGEST_UTTERANCE_S,
        activity: VoiceActivity | None = None,
        tail_s: float = TAIL_S,
    ) -> None:
        self._tail = _blocks_of(tail_s)
        self._activity = activity if activity is not None else SileroVoiceActivity()
        self.hang_over_s = hang_over_s
        self._longest = max(_blocks_of(longest_s), 4 * _PAUSE_BLOCKS)
        self._shortest = _blocks_of(SHORTEST_SPEECH_S)
        self._pending: Samples = np.zeros(0, np.float32)
        self._before: deque[Samples] = deque(maxlen=_blocks_of(PRE_ROLL_S))
        self._blocks: list[Samples] = []  # of the utterance under way; empty between utterances
        self._chances: list[float] = []
        self._next_block = 0
        self._numbered = 0
        self._announced = False

    @property
    def at_s(self) -> float:
        """Seconds of the stream judged so far."""
        return self._next_block * BLOCK_S

    @property
    def speaking(self) -> bool:
        """Whether an utterance is under way."""
        return bool(self._blocks)

    @property
    def announced(self) -> bool:
        """Whether the utterance under way is long enough not to be a blip."""
        return bool(self._blocks) and self._announced

    @property
    def hang_over_s(self) -> float:
        """Silence that ends an utterance; may be set at any time."""
        return self._hang_over * BLOCK_S

    @hang_over_s.setter
    def hang_over_s(self, seconds: float) -> None:
        self._hang_over = _blocks_of(seconds)

    def under_way(self) -> Samples:
        """The samples of the utterance under way, so far; none between utterances."""
        return np.concatenate(self._blocks) if self._blocks else np.zeros(0, np.float32)

    def ending(self) -> Utterance | None:
        """The utterance under way as it will be if nothing more is said.

        None until the silence behind it is as long as the tail that it keeps: from then on its
        samples are already those with which it will end.
        """
        if not self._blocks or not self._announced:
            return None
        end = _speech_end(self._chances) + self._tail
        return None if len(self._blocks) < end else self._first(end)

    def push(self, samples: Samples) -> tuple[EndpointEvent, ...]:
        """Take mono float32 samples at 16 kHz, any number of them; what they completed."""
        pending = np.concatenate([self._pending, samples]) if len(self._pending) else samples
        events: list[EndpointEvent] = []
        whole = len(pending) - len(pending) % BLOCK_SAMPLES
        for at in range(0, whole, BLOCK_SAMPLES):
            # A copy: the caller may use its buffer again, and a view would hold all of it.
            events += self._judge(np.array(pending[at : at + BLOCK_SAMPLES], np.float32))
        self._pending = np.array(pending[whole:], np.float32)
        return tuple(events)

    def flush(self) -> tuple[EndpointEvent, ...]:
        """The stream is over: what was still under way. The last block is padded with silence."""
        padding = np.zeros(-len(self._pending) % BLOCK_SAMPLES, np.float32)
        events = self.push(padding)
        return (*events, *self._finish()) if self._blocks else events

    def _judge(self, block: Samples) -> list[EndpointEvent]:
        chance = self._activity.probability(block)
        self._next_block += 1
        if not self._blocks:
            if chance < SPEECH_BEGINS:
                self._before.append(block)
                return []
            self._blocks = [*self._before]
            self._chances = [0.0] * len(self._blocks)
            self._before.clear()
            self._announced = False
        self._blocks.append(block)
        self._chances.append(chance)
        events: list[EndpointEvent] = []
        if not self._announced and _voiced(self._chances) >= self._shortest:
            self._announced = True
            events.append(SpeechBegan(self._start_block * BLOCK_S))
        if len(self._chances) - _speech_end(self._chances) >= self._hang_over:
            events += self._finish()
        elif len(self._blocks) >= self._longest:
            events.append(self._split())
        return events

    @property
    def _start_block(self) -> int:
        return self._next_block - len(self._blocks)

    def _first(self, count: int) -> Utterance:
        """The first blocks of the utterance under way, as one."""
        at_s, until_s = self._start_block * BLOCK_S, (self._start_block + count) * BLOCK_S
        return Utterance(np.concatenate(self._blocks[:count]), at_s, until_s, self._numbered + 1)

    def _finish(self) -> list[EndpointEvent]:
        blocks, chances = self._blocks, self._chances
        end = min(len(blocks), _speech_end(chances) + self._tail)
        whole = self._first(end)
        self._blocks, self._chances = [], []
        if _voiced(chances) == 0:  # only the silence behind a split
            self._before.extend(blocks)
            return []
        self._before.extend(blocks[end:])
        if _voiced(chances) < self._shortest and not self._announced:
            return [Blip(whole.samples, whole.at_s, whole.until_s)]
        self._numbered += 1
        return [whole]

    def _split(self) -> Utterance:
        """Cut at the deepest pause; what comes behind it stays under way."""
        first = int(self._longest * _EARLIEST_SPLIT)
        width = np.ones(_PAUSE_BLOCKS) / _PAUSE_BLOCKS
        smooth = np.convolve(self._chances, width, mode="same")[first : -_PAUSE_BLOCKS // 2]
        cut = first + len(smooth) - 1 - int(np.argmin(smooth[::-1]))
        first_part = replace(self._first(cut), split=True)
        self._blocks, self._chances = self._blocks[cut:], self._chances[cut:]
        self._numbered += 1
        return first_part
