"""Cut recordings where nobody speaks, and join words of one speaker to one utterance."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

FRAME_S = 0.01
EDGE_S = 0.08  # kept before the first word and behind the last: the beginning of an 'f' is faint
_SPEECH_FROM = 0.4  # of the way from the quiet to the loudest frame, in decibels
_QUIET_PERCENT = 10
_QUIETEST_DB = -80.0
_PAUSE_FRAMES = 15  # a pause is judged over 0.15 s: between words, not within one


def levels_db(sound: Samples) -> NDArray[np.float64]:
    """Level of each whole 10 ms in dB of full scale, -80 at least."""
    size = round(FRAME_S * SAMPLE_RATE_HZ)
    frames = np.asarray(sound[: len(sound) // size * size], np.float64).reshape(-1, size)
    power = np.mean(frames**2, axis=1)
    return np.asarray(10 * np.log10(np.maximum(power, 10 ** (_QUIETEST_DB / 10))))


def stands_out_db(sound: Samples) -> float:
    """How far its loudest 10 ms is over its quiet, dB; 0 where there is nothing."""
    levels = levels_db(sound)
    return float(levels.max() - np.percentile(levels, _QUIET_PERCENT)) if len(levels) else 0.0


def spoken_part(sound: Samples) -> tuple[float, float]:
    """Where speech begins and ends, s; the whole where nothing stands out."""
    levels = levels_db(sound)
    if not len(levels):
        return 0.0, len(sound) / SAMPLE_RATE_HZ
    quiet, loud = np.percentile(levels, _QUIET_PERCENT), levels.max()
    over = np.flatnonzero(levels >= quiet + _SPEECH_FROM * (loud - quiet))
    return float(over[0] * FRAME_S), float((over[-1] + 1) * FRAME_S)


def cut(sound: Samples, from_s: float, until_s: float) -> Samples:
    """That stretch of it; silence where it lies before the beginning or behind the end."""
    first, last = round(from_s * SAMPLE_RATE_HZ), round(until_s * SAMPLE_RATE_HZ)
    stretch = np.zeros(last - first, np.float32)
    there = slice(max(0, first), max(0, last))
    kept = sound[there]
    stretch[there.start - first :][: len(kept)] = kept
    return stretch


def joined(words: Sequence[Samples], gaps_s: Sequence[float]) -> Samples:
    """Words one after another, a gap between each two: half of it from behind the one, half from
    before the other, so that the room goes on sounding. ``gaps_s``: one fewer than words."""
    edges_s = [EDGE_S, *(gap / 2 for gap in gaps_s), EDGE_S]
    parts = []
    for word, (before_s, behind_s) in zip(words, pairwise(edges_s), strict=True):
        from_s, until_s = spoken_part(word)
        parts.append(cut(word, from_s - before_s, until_s + behind_s))
    return np.concatenate(parts)


def between_pauses(sound: Samples, least_s: float, most_s: float) -> list[tuple[float, float]]:
    """Stretches of at most ``most_s``, each but the last cut in the quietest 0.15 s that lies at
    least ``least_s`` behind its beginning; a rest that is shorter than that is left out."""
    whole_s = len(sound) / SAMPLE_RATE_HZ
    around = np.convolve(levels_db(sound), np.ones(_PAUSE_FRAMES) / _PAUSE_FRAMES, "same")
    found = []
    at_s = 0.0
    while whole_s - at_s > most_s:
        first, last = round((at_s + least_s) / FRAME_S), round((at_s + most_s) / FRAME_S)
        until_s = float((first + np.argmin(around[first:last])) * FRAME_S)
        found.append((at_s, until_s))
        at_s = until_s
    if whole_s - at_s >= least_s or not found:
        found.append((at_s, whole_s))
    return found


def loudest_parts(sound: Samples, part_s: float) -> list[tuple[float, float]]:
    """Stretches of ``part_s`` that do not overlap, the loudest first; the whole where it is
    shorter."""
    whole_s = len(sound) / SAMPLE_RATE_HZ
    if whole_s <= part_s:
        return [(0.0, whole_s)]
    power = 10 ** (levels_db(sound) / 10)
    frames = round(part_s / FRAME_S)
    over = np.convolve(power, np.ones(frames), "valid")
    found = []
    while len(over) and over.max() > 0:
        first = int(np.argmax(over))
        found.append((first * FRAME_S, first * FRAME_S + part_s))
        over[max(0, first - frames + 1) : first + frames] = 0.0
    return found
