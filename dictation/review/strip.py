"""The whole visit as one strip: where something was said, asked and refused, animal by animal."""

from __future__ import annotations

from dataclasses import dataclass

from dictation.session.agenda import agenda, refused_speech
from dictation.session.happenings import Flags
from dictation.session.visit import Utterance, Visit

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


def strip(visit: Visit, flags: Flags) -> Strip | None:
    """The strip of a visit; None where nothing of it was spoken."""
    spoken = [u for u in visit.utterances if u.at_s is not None and u.until_s is not None]
    if not spoken:
        return None
    until_s = max(visit.audio_until_s, *(u.until_s or 0.0 for u in spoken))
    asked = {m.utterance for m in agenda(visit, flags) if m.query is not None}
    refused = {u.number for u in refused_speech(visit)}
    parts: dict[str, list[str]] = {"said": [], "asked": [], "refused": [], "animals": []}
    exam: int | None = None
    for u in spoken:
        kind = "asked" if u.number in asked else "refused" if u.number in refused else "said"
        parts[kind].append(_bar(u, until_s, {"asked": ASKED, "refused": REFUSED}.get(kind, SAID)))
        if u.exam is not None and u.exam != exam:
            exam = u.exam
            parts["animals"].append(f"M{(u.at_s or 0.0) / until_s * WIDTH:.1f} 0V36")
    return Strip(
        round(until_s, 1),
        "".join(parts["said"]),
        "".join(parts["asked"]),
        "".join(parts["refused"]),
        "".join(parts["animals"]),
    )


def _bar(utterance: Utterance, until_s: float, heights: tuple[int, int]) -> str:
    start = (utterance.at_s or 0.0) / until_s * WIDTH
    width = max(LEAST, ((utterance.until_s or 0.0) / until_s * WIDTH) - start)
    top, bottom = heights
    return f"M{start:.1f} {top}h{width:.1f}V{bottom}h-{width:.1f}z"
