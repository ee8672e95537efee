"""Phrases that sound like one another and say different things: found by their sounds.

Every form of every term that is a phrase of its own is held against every other, and against the
calls of a yard; two are alike where one changed, lost or added sound makes one the other, or two of
a longer one. Pronunciations: the vocabulary's own, else the US English dictionary of pocketsphinx.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import chain, combinations, product
from pathlib import Path

from dictation.errors import MissingError
from grammar.parse import parse, values_of
from grammar.vocabulary import in_force
from tests.training.yard import calls

CALLS = 1500
FEW_SOUNDS = 5
"""Up to so many sounds one may differ; of more, two."""
_CUT = re.compile(r"\(\d+\)$|\d")

Sounds = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Alike:
    """Two phrases that differ by so many sounds; the second may be none of ours."""

    one: str
    other: str
    sounds_apart: int


def alike() -> tuple[Alike, ...]:
    """All pairs, the nearest first. Raises MissingError without pocketsphinx's dictionary."""
    ours, others = _pronounced(_single()), _pronounced(_yard())
    pairs = chain(combinations(ours, 2), product(ours, others))
    sounds = others | ours
    found = [
        Alike(one, other, apart)
        for one, other in pairs
        if (apart := _apart(sounds[one], sounds[other])) is not None
        and values_of(one) != values_of(other)
    ]
    return tuple(sorted(found, key=lambda a: (a.sounds_apart, a.one, a.other)))


def _single() -> tuple[str, ...]:
    """Forms of terms that are phrases by themselves and are offered to the recogniser."""
    vocabulary = in_force()
    forms = dict.fromkeys(form for forms in vocabulary.terms.values() for form in forms)
    read = (form for form in forms if form not in vocabulary.alone)
    return tuple(f for f in read if (r := parse(f)).said and not r.others and r.normal == f)


def _yard() -> tuple[str, ...]:
    words = (re.sub(r"[^a-z' ]", "", call.lower()) for call in calls(CALLS, 1))
    return tuple(c for c in dict.fromkeys(words) if c and not parse(c).said)


def _apart(one: Sounds, other: Sounds) -> int | None:
    """By how many sounds two differ, where those are few for their length."""
    shorter = min(len(one), len(other))
    most = 1 if shorter <= FEW_SOUNDS else 2
    if shorter < 2 or abs(len(one) - len(other)) > most:
        return None
    row = list(range(len(other) + 1))
    for i, sound in enumerate(one, 1):
        before, row[0] = row[0], i
        for j, heard in enumerate(other, 1):
            changed = before + (sound != heard)
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, changed)
        if min(row) > most:
            return None
    return row[-1] if 0 < row[-1] <= most else None


def _pronounced(phrases: Iterable[str]) -> dict[str, Sounds]:
    sounds = ((phrase, _sounds(phrase)) for phrase in phrases)
    return {phrase: known for phrase, known in sounds if known}


def _sounds(phrase: str) -> Sounds | None:
    """ARPABET without stress; None where a word is in neither table."""
    found: list[str] = []
    for word in phrase.split():
        entry = in_force().words.get(word)
        sounds = entry.sounds if entry is not None and entry.sounds else _dictionary().get(word)
        if sounds is None:
            return None
        found += _CUT.sub("", sounds).split()
    return tuple(found)


@cache
def _dictionary() -> dict[str, str]:
    try:
        from pocketsphinx import get_model_path
    except ImportError as error:
        raise MissingError(
            "pocketsphinx is not installed here: install hornsweep[bench]."
        ) from error
    path = Path(get_model_path()) / "en-us" / "cmudict-en-us.dict"
    lines = (line.split(maxsplit=1) for line in path.read_text("utf-8").splitlines() if line)
    return {word: sounds for word, sounds in lines if "(" not in word}
