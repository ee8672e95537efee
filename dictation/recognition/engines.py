"""The recognition engines by name."""

from __future__ import annotations

import difflib
from pathlib import Path

from dictation.errors import WrongUseError
from dictation.recognition.confidence import Values
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.protocol import Recogniser

ENGINE_NAMES = ("guided", "vosk")
DEFAULT_ENGINE = "guided"


def engine(
    name: str,
    constraint: str,
    values: Values,
    *,
    phrases: tuple[str, ...] = (),
    model_dir: Path | None = None,
) -> Recogniser:
    """Load an engine.

    ``constraint``: for guided, the decoder's grammar. ``phrases``: for vosk, sampled phrases.
    Raises WrongUseError for an unknown name and MissingError for a missing model.
    """
    if name == "guided":
        return GuidedRecogniser.load(constraint, values, model_dir)
    if name == "vosk":
        from dictation.recognition.vosk_engine import VoskRecogniser

        return VoskRecogniser.load(phrases, values, model_dir)
    nearest = difflib.get_close_matches(name, ENGINE_NAMES, n=1, cutoff=0.0)[0]
    raise WrongUseError(
        f"there is no engine '{name}'; the nearest is '{nearest}' (--engine takes "
        f"{' or '.join(ENGINE_NAMES)})"
    )
