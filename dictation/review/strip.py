"""The whole visit as one strip: where something was said, asked and refused, animal by animal."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from dictation.visit.state import Visit

WIDTH = 1000
"""Width of the strip in its own units."""

LEAST = 1.5
"""Width that even the shortest phrase is drawn with, so that it can be seen."""

SAID, ASKED, REFUSED = (12, 24), (2, 34), (26, 34)
"""From where to where each is drawn, top to bottom: apart in height, not in colour only."""


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
