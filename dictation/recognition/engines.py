"""The recognition engines by name."""

from __future__ import annotations

import difflib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random

from dictation.errors import WrongUseError
from dictation.recognition.beam import SearchSettings
from dictation.recognition.confidence import Values
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.language import Constraint
from dictation.recognition.model import load_model
from dictation.recognition.model_files import original_folder
from dictation.recognition.protocol import Recogniser
from dictation.recognition.witness import Witness
from grammar.constraint import constraint
from grammar.normalise import normalise
from grammar.parse import values_of
from grammar.sample import sample_phrase
from grammar.vocabulary import in_force

ENGINE_NAMES = ("guided", "original", "vosk")
ORIGINAL_SETTINGS = SearchSettings(prior_share=0.3, habit_share=0.3)
"""The original model has read few vets: its own habits weigh too much, and those of the trade must
be added. On 260 tuning phrases of 4 voices it got 85 % right with a habit share of 0, 87.7 % with
0.3 to 0.4 and 86.2 % with 0.7."""


def drawn_phrases(count: int = 400) -> tuple[str, ...]:
    """Phrases of the exam's language, the same ones each time, and a practice's own words."""
    random = Random(1)
    drawn = (normalise(sample_phrase(random)) for _ in range(count))
    return tuple(dict.fromkeys((*drawn, *in_force().own)))


def engine(
    name: str,
    constraint: Constraint,
    values: Values,
    *,
    phrases: tuple[str, ...] = (),
    model_dir: Path | None = None,
) -> Recogniser:
    """Load an engine.

    ``constraint``: the decoder's grammar, for guided and original. ``phrases``: for vosk, what to
    listen for; without any, phrases drawn from the exam's grammar.
    Raises WrongUseError for an unknown name and MissingError for a missing model.
    """
    if name == "guided":
        with ThreadPoolExecutor(1) as pool:
            untaught = pool.submit(load_model, original_folder())
            model = load_model(model_dir)
        return GuidedRecogniser(model, constraint, values, witness=Witness(untaught.result()))
    if name == "original":
        folder = model_dir or original_folder()
        return GuidedRecogniser.load(constraint, values, folder, settings=ORIGINAL_SETTINGS)
    if name == "vosk":
        from dictation.recognition.vosk_engine import VoskRecogniser

        return VoskRecogniser.load(phrases or drawn_phrases(), values, model_dir)
    nearest = difflib.get_close_matches(name, ENGINE_NAMES, n=1, cutoff=0.0)[0]
    raise WrongUseError(
        f"there is no engine '{name}'; the nearest is '{nearest}' (--engine takes "
        f"{' or '.join(ENGINE_NAMES)})"
    )


def load_engine(name: str, model_dir: Path | None = None) -> Recogniser:
    """An engine for the language of the exam. Raises as ``engine`` does."""
    return engine(name, constraint(), values_of, model_dir=model_dir)
