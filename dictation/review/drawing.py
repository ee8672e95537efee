"""Sound as pictures: the whole visit as one strip, and the wave form of a kept utterance.

The strip shows where something was said, asked and refused, animal by animal.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dictation.audio.keep import load_utterance
from dictation.visit.state import Visit

WIDTH = 1000
"""Width of the strip in its own units."""

LEAST = 1.5
"""Width that even the shortest phrase is drawn with, so that it can be seen."""

SAID, ASKED, REFUSED = (12, 24), (2, 34), (26, 34)
"""From where to where each is drawn, top to bottom: apart in height, not in colour only."""

COLUMNS = 96
"""Bars of a wave form: as many as a finger's width of screen shows apart."""

HEIGHT = 32
"""Height of the picture in its own units; the bars are mirrored about the middle."""

QUIETEST_DB = -48.0
"""Level, against full scale, that is drawn as a line: what a shed's quiet moments come to."""


@dataclass(frozen=True, slots=True)
class Strip:
    """SVG paths of what was said, asked about and refused, and of where animals begin."""

    until_s: float
    said: str
    asked: str
    refused: str
    animals: str


def strip(visit: Visit, asked: Collection[int | None], refused: Collection[int]) -> Strip | None:
    """The strip of a visit; None where nothing of it was spoken.

    ``asked``, ``refused``: numbers of the phrases that are drawn so.
    """
    spoken = [
        (phrase, phrase.at_s, phrase.until_s)
        for phrase in visit.phrases
        if phrase.at_s is not None and phrase.until_s is not None
    ]
    if not spoken:
        return None
    until_s = max(visit.audio_until_s, *(until for _, _, until in spoken))
    parts = {ASKED: "", REFUSED: "", SAID: ""}
    animals = ""
    exam: int | None = None
    for phrase, from_s, to_s in spoken:
        kind = ASKED if phrase.number in asked else REFUSED if phrase.number in refused else SAID
        parts[kind] += _bar(from_s / until_s * WIDTH, to_s / until_s * WIDTH, kind)
        if phrase.exam not in (None, exam):
            exam = phrase.exam
            animals += f"M{from_s / until_s * WIDTH:.1f} 0V36"
    return Strip(round(until_s, 1), parts[SAID], parts[ASKED], parts[REFUSED], animals)


def _bar(start: float, end: float, heights: tuple[int, int]) -> str:
    width = max(LEAST, end - start)
    top, bottom = heights
    return f"M{start:.1f} {top}h{width:.1f}V{bottom}h-{width:.1f}z"


def waveform(path: Path) -> bytes:
    """SVG of an utterance: loudness of each of its parts, in decibels. Raises BadInputError."""
    samples = load_utterance(path)
    parts = np.array_split(samples, COLUMNS)
    levels = [float(np.sqrt(np.mean(np.square(part)))) if len(part) else 0.0 for part in parts]
    path_data = "".join(_column(column, level) for column, level in enumerate(levels))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {2 * COLUMNS} {HEIGHT}"'
        f' preserveAspectRatio="none"><path d="{path_data}" stroke="#111" stroke-width="1.4"/>'
        "</svg>"
    ).encode()


def _column(column: int, level: float) -> str:
    db = 20 * np.log10(max(level, 1e-6))
    share = min(1.0, max(0.04, 1 - db / QUIETEST_DB))
    half = share * (HEIGHT / 2 - 1)
    middle = HEIGHT / 2
    return f"M{2 * column + 1} {middle - half:.1f}V{middle + half:.1f}"
