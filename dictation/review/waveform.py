"""The wave form of a kept utterance as a small picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from dictation.audio.keep import load_utterance

COLUMNS = 96
"""Bars of a wave form: as many as a finger's width of screen shows apart."""

HEIGHT = 32
"""Height of the picture in its own units; the bars are mirrored about the middle."""

QUIETEST_DB = -48.0
"""Level, against full scale, that is drawn as a line: what a shed's quiet moments come to."""


def waveform(path: Path) -> bytes:
    """SVG of an utterance: loudness of each of its parts, in decibels. Raises BadInputError."""
    samples = load_utterance(path)
    parts = np.array_split(samples, COLUMNS)
    levels = [float(np.sqrt(np.mean(np.square(part)))) if len(part) else 0.0 for part in parts]
    path_data = "".join(_bar(column, level) for column, level in enumerate(levels))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {2 * COLUMNS} {HEIGHT}"'
        f' preserveAspectRatio="none"><path d="{path_data}" stroke="#111" stroke-width="1.4"/>'
        "</svg>"
    ).encode()


def _bar(column: int, level: float) -> str:
    db = 20 * np.log10(max(level, 1e-6))
    share = min(1.0, max(0.04, 1 - db / QUIETEST_DB))
    half = share * (HEIGHT / 2 - 1)
    middle = HEIGHT / 2
    return f"M{2 * column + 1} {middle - half:.1f}V{middle + half:.1f}"
