"""Words while they are spoken: a quick guess at the utterance so far, for the eye only.

Nothing that is glimpsed is ever recorded. A glimpse gives way to the final hearing.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.recognition.beam import BeamSearch, SearchSettings
from dictation.recognition.language import Constraint, Language
from dictation.recognition.level import levelled, measure
from dictation.recognition.model import SpeechModel, load_model
from grammar.normalise import normalise

GLIMPSE_SETTINGS = SearchSettings(width=2, apart_nats=4.0)
"""Two rows: the words of the trade win over the model's habits, at a fifth of the full search."""


class Glimpser:
    """A quick hearing with a small search.

    ``model``: that of the final hearing, which may be at work in another thread meanwhile; without
    one, a model of its own is loaded.
    """

    def __init__(self, constraint: Constraint, model: SpeechModel | None = None) -> None:
        model = model or load_model(threads=1)
        self._model = model
        self._search = BeamSearch(model, GLIMPSE_SETTINGS)
        self._language = Language(model.table, constraint)

    def glimpse(self, samples: Samples) -> str:
        """The words so far, normalised; empty where nothing fits."""
        encoded = self._model.encode(levelled(samples, measure(samples)))
        seconds = len(samples) / SAMPLE_RATE_HZ
        found = self._search.decode(encoded, self._language, seconds, lambda _: 0.0)
        best = found.guided[0].text if found.guided else found.free.text
        return normalise(best)


class GlimpsingThread:
    """Glimpses the newest sound offered, and skips what came while it was at work.

    ``show`` is called with the words, from this thread. While ``busy`` is set nothing is begun.
    """

    def __init__(
        self, glimpse: Callable[[Samples], str], show: Callable[[str], None], busy: threading.Event
    ) -> None:
        self._glimpse = glimpse
        self._show = show
        self._busy = busy
        self._newest: Samples | None = None
        self._wake = threading.Event()
        self._stopped = False
        self.count = 0
        self._thread = threading.Thread(target=self._run, name="glimpse", daemon=True)
        self._thread.start()

    def offer(self, samples: Samples) -> None:
        """Sound so far; returns at once."""
        self._newest = samples
        self._wake.set()

    def stop(self) -> None:
        """End the thread."""
        self._stopped = True
        self._wake.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._stopped:
            self._wake.wait()
            self._wake.clear()
            samples, self._newest = self._newest, None
            if samples is None or self._busy.is_set():
                continue
            words = self._glimpse(samples)
            self.count += 1
            self._show(words)
