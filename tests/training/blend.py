"""Shares of several changes to one model, added up: a step part of the way, or runs averaged."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from dictation.recognition.learning.weights import read_weights, write_model


def write_blend(base: Path, parts: Sequence[tuple[float, Path]], folder: Path) -> None:
    """The base and, of each other model, a share of what tells it from the base."""
    start = read_weights(base)
    sums = dict(start)
    for share, model in parts:
        for name, weight in read_weights(model).items():
            sums[name] = sums[name] + np.float32(share) * (weight - start[name])
    write_model(base, sums, folder)
