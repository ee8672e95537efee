"""pocketsphinx listening for the same grammar: a phonetic recogniser to compare with.

Acoustic model and pronouncing dictionary are those of the package (US English, BSD); words that it
lacks are pronounced as the vocabulary says.
"""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from dictation.audio.samples import Samples
from dictation.errors import MissingError
from dictation.recognition.protocol import Heard, Hypothesis, Outcome
from grammar.normalise import normalise
from grammar.vocabulary import Vocabulary, built_in
from tests.bench.spoken_rules import spoken_rules
from tests.bench.word_network import Network, network

SETTINGS: dict[str, str | float | int] = {
    "beam": 1e-48,
    "pbeam": 1e-48,
    "wbeam": 1e-29,
    "maxhmmpf": 1500,
}
"""Widths of its search; the figures of the comparison stand for these. Narrower is quicker."""

_CUT = re.compile(r"\(\d+\)$")


class PhoneticRecogniser:
    """Make one with ``load``."""

    def __init__(self, decoder: Any) -> None:
        self._decoder = decoder

    @classmethod
    def load(cls, **settings: float) -> PhoneticRecogniser:
        """Load the model and lay out the grammar. Raises MissingError without the package."""
        try:
            from pocketsphinx import Decoder, get_model_path
        except ImportError as error:
            raise MissingError(
                "pocketsphinx is not installed here: install hornsweep[bench], or leave out "
                "--engine pocketsphinx."
            ) from error
        model = Path(get_model_path()) / "en-us"
        dictionary = model / "cmudict-en-us.dict"
        decoder = Decoder(
            hmm=str(model / "en-us"),
            dict=str(dictionary),
            lm=None,
            loglevel="FATAL",
            cmn="batch",  # no utterance leans on the one before it
            **{**SETTINGS, **settings},
        )
        words = network(spoken_rules())
        _pronounce(decoder, words.words, dictionary, built_in())
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "exam.fsg"
            path.write_text(state_graph(words), encoding="ascii")
            decoder.add_fsg("exam", decoder.read_fsg(str(path)))
        decoder.activate_search("exam")
        return cls(decoder)

    @property
    def name(self) -> str:
        """Name as given to --engine."""
        return "pocketsphinx"

    def recognise(self, samples: Samples) -> Heard:
        """The one best path through the grammar. It has no doubt of its own: confidence is 1."""
        sound = (np.clip(samples, -1.0, 1.0) * 32767).astype(np.int16)
        self._decoder.start_utt()
        self._decoder.process_raw(sound.tobytes(), full_utt=True)
        self._decoder.end_utt()
        best = self._decoder.hyp()
        words = normalise(best.hypstr) if best is not None else ""
        if not words:
            return Heard(Outcome.NOT_OUR_LANGUAGE)
        hypothesis = Hypothesis(words, words, (), 0.0, len(words.split()))
        return Heard(Outcome.HEARD, (hypothesis,), words, confidence=1.0)


def state_graph(words: Network) -> str:
    """A network in the format of pocketsphinx's finite state grammars."""
    last = len(words.arcs)
    lines = ["FSG_BEGIN exam", f"NUM_STATES {last + 1}", "START_STATE 0", f"FINAL_STATE {last}"]
    for state, (arcs, silent) in enumerate(zip(words.arcs, words.silent, strict=True)):
        leaving = [(target, f" {word}") for word, after in arcs.items() for target in sorted(after)]
        leaving += [(target, "") for target in silent]
        leaving += [(last, "")] if state in words.ends else []
        # All ways out of a state are equally likely: without that, short words creep in for free.
        lines += [f"TRANSITION {state} {to} {1 / len(leaving):.6f}{word}" for to, word in leaving]
    return "\n".join([*lines, "FSG_END", ""])


def _pronounce(decoder: Any, words: set[str], dictionary: Path, vocabulary: Vocabulary) -> None:
    """Teach it the words that its dictionary lacks, and the letters of short forms."""
    lines = dictionary.read_text(encoding="utf-8").splitlines()
    known = {_CUT.sub("", line.split()[0]) for line in lines if line.strip()}
    for word in sorted(words):
        entry = vocabulary.words.get(word)
        if entry is not None and entry.sounds is not None:
            spelling = f"{word}(9)" if word in known else word
            decoder.add_word(spelling, entry.sounds, False)
        elif word not in known:
            raise MissingError(
                f"no pronunciation for '{word}': give its sounds in the vocabulary table."
            )
