"""The witness: the speech model before it was taught the trade, asked about what was heard.

The taught model has read little but exams, and hears exams in other people's words: it and its own
free hearing agree that 'go' was 'cull'. The original has never read an exam. It says what it hears
freely, and how well each hearing of the taught model explains the sound.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor

from dictation.audio.samples import Samples
from dictation.recognition.beam import Decoded, heard_freely
from dictation.recognition.model import Encoded, SpeechModel


class Witness:
    """Listens in a thread of its own, while the taught model searches."""

    def __init__(self, model: SpeechModel) -> None:
        self._model = model
        self._aside = ThreadPoolExecutor(max_workers=1, thread_name_prefix="witness")

    def listen(self, sound: Samples, longest: int) -> Testimony:
        """Begin to listen to levelled sound, writing at most ``longest`` tokens."""
        return Testimony(self._model, self._aside.submit(self._listen, sound, longest))

    def _listen(self, sound: Samples, longest: int) -> tuple[Encoded, Decoded]:
        encoded = self._model.encode(sound)
        return encoded, heard_freely(self._model, encoded, longest)


class Testimony:
    """What the witness has to say of one sound."""

    def __init__(self, model: SpeechModel, listened: Future[tuple[Encoded, Decoded]]) -> None:
        self._model = model
        self._listened = listened

    @property
    def free(self) -> Decoded:
        """What it hears of itself; waits until it has."""
        return self._listened.result()[1]

    def scores(self, texts: Sequence[Sequence[int]]) -> tuple[float, ...]:
        """Natural log probability of each text, as tokens, given the sound."""
        return self._model.log_scores(self._listened.result()[0], texts)
