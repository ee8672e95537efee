"""What the model in its files writes, and how sure it is of it: the reference and the teacher."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import Samples
from dictation.recognition.level import levelled, measure
from dictation.recognition.model import SpeechModel
from dictation.recognition.tokens import BEGIN, END

MOST_TOKENS = 80


def levelled_sound(samples: Samples) -> Samples:
    """Sound as the recogniser hands it to the model."""
    return levelled(samples, measure(samples))


def written_freely(model: SpeechModel, sound: Samples) -> tuple[list[int], NDArray[np.float32]]:
    """The likeliest tokens one after another, BEGIN first, and the logits after each of them."""
    encoded = model.encode(sound)
    tokens, rows, past = [BEGIN], [encoded.first], encoded.past
    while (best := int(rows[-1].argmax())) != END and len(tokens) < MOST_TOKENS:
        tokens.append(best)
        scored, past = model.step(encoded, np.array([best]), past)
        rows.append(scored[0])
    return tokens, np.stack(rows)
