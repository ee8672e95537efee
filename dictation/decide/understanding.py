"""Words that mean something only in the middle of a visit: a bare value that answers a question, a
bare 'not seen' behind 'right ovary not recorded', a number or a side that the last phrase wants."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from dictation.decide.alone import alone, is_tag_alone
from dictation.decide.doubt import NUMBER_WORDS
from dictation.decide.draft import standing_of
from dictation.decide.rivals import Parse
from dictation.visit.parts import Effect, Instead, Keep, Query, SetTo
from dictation.visit.state import Visit
from grammar.findings import (
    Animal,
    AnswerWord,
    Command,
    CommandName,
    Finding,
    Reading,
    Said,
    Seen,
    SeenRemark,
    SweepStructure,
)
from grammar.normalise import normalise
from grammar.say import say, say_digits, say_number

REMARKS = {
    "not seen": SeenRemark.NOT_SEEN,
    "could not reach": SeenRemark.COULD_NOT_REACH,
    "not reached": SeenRemark.COULD_NOT_REACH,
}
_NUMERAL = re.compile(r"(?<!\d)\d{1,3}(\.\d+)?(?!\d)")
"""Longer numbers answer nothing, and are no size and no age."""


def in_words(text: str) -> str:
    """Normalised, with numerals as they are spoken."""
    spoken = _NUMERAL.sub(lambda m: _numeral(m.group()), normalise(text))
    return " ".join(spoken.replace("-", " ").split())


def _numeral(written: str) -> str:
    """A large one is a tag, or nothing that is measured."""
    whole = written.split(".", maxsplit=1)[0]
    return say_number(float(written)) if len(whole) < 4 else say_digits(whole)


def _left_by(effect: Effect, phrase: int, visit: Visit) -> tuple[Finding, ...]:
    """What taking an answer would leave on record; of 'next animal 837' the animal."""
    match effect:
        case Instead():
            whats = (s.what for s in effect.said)
            named = (w.animal if isinstance(w, Command) else w for w in whats)
            return tuple(finding for finding in named if finding is not None)
        case Keep():
            return tuple(r.finding for r in standing_of(visit, phrase))
        case SetTo():
            return tuple(finding for _, finding in effect.changes)
        case _:
            return ()


def answers_of(query: Query, visit: Visit) -> tuple[str, ...]:
    """The numbers that tell each alternative from the others, in words; empty where none does."""
    spoken = [numbers_in(" ".join(words)) for words in _spoken(query, visit)]
    answers: list[str] = []
    for place, mine in enumerate(spoken):
        others = {n for i, those in enumerate(spoken) if i != place for n in those}
        own = [n for n in mine if n not in others]
        answers.append(own[0] if len(own) == 1 else "")
    return tuple(answers)


def told_apart(query: Query, visit: Visit) -> tuple[str, ...]:
    """The fewest words that tell each alternative from the others: 'forty', 'fourteen'.

    What all begin and end with is left out; of a single one its number is enough.
    """
    spoken = _spoken(query, visit)
    if len(spoken) < 2:
        return tuple(
            one or " ".join(w) for one, w in zip(answers_of(query, visit), spoken, strict=True)
        )
    same = [len(set(words)) == 1 for words in zip(*spoken, strict=False)]
    behind = [len(set(words)) == 1 for words in zip(*(w[::-1] for w in spoken), strict=False)]
    first, last = (each.index(False) if False in each else len(each) for each in (same, behind))
    apart = [" ".join(words[first : len(words) - last]) for words in spoken]
    return tuple(apart if all(apart) else (" ".join(words) for words in spoken))


def _spoken(query: Query, visit: Visit) -> list[list[str]]:
    """Each alternative as it would be said, a number of several words as one."""
    left = (_left_by(each.effect, query.phrase, visit) for each in query.alternatives)
    said = (" ".join(say(finding) for finding in findings) for findings in left)
    texts = zip(said, query.alternatives, strict=True)
    return [_numbers_whole(text or normalise(each.words)) for text, each in texts]


def numbers_in(text: str) -> tuple[str, ...]:
    """The numbers among words, each whole."""
    return tuple(w for w in _numbers_whole(text) if NUMBER_WORDS & set(w.split()))


def _numbers_whole(text: str) -> list[str]:
    """The words of a text, those of one number as one: 'left', 'twenty two'."""
    words: list[str] = []
    run: list[str] = []
    for word in [*text.split(), ""]:
        begins = word in NUMBER_WORDS or word in {"a", "oh", "zero"}
        if begins or (run and word in {"and", "point", "hundred"}):
            run.append(word)
        else:
            words += [*_run(run), word]
            run = []
    return words[:-1]


def _run(run: list[str]) -> list[str]:
    """A number, and what stands behind it that may have belonged to one."""
    last = len(run)
    while last and run[last - 1] in {"and", "a", "point"}:
        last -= 1
    return [*([" ".join(run[:last])] if last else []), *run[last:]]


class Understanding:
    """``parse`` with an eye on the visit. ``visit``: gives the visit as it is now.

    ``named``: stations that were just named as not spoken of.
    """

    def __init__(self, parse: Parse, visit: Callable[[], Visit]) -> None:
        self._parse = parse
        self._visit = visit
        self.named: tuple[SweepStructure, ...] = ()

    def __call__(self, text: str, on: date | None) -> Reading:
        """As ``grammar.parse``; what it cannot read may be an answer, or go with the last words."""
        reading = self._parse(text, on)
        words = in_words(text)
        if self.named and words in REMARKS:
            said = tuple(
                _said(Seen(structure, REMARKS[words]), reading.normal) for structure in self.named
            )
            return Reading(text, reading.normal, said=said)
        choice = self._choice(words, reading)
        if choice is not None:
            answer = Command(CommandName.ANSWER, number=float(choice), answer=AnswerWord.CHOICE)
            return Reading(text, reading.normal, said=(_said(answer, reading.normal),))
        if reading.unread is not None or is_tag_alone(reading):
            return alone(reading, words, self._visit(), self._parse)
        return reading

    def _choice(self, words: str, reading: Reading) -> int | None:
        """Which alternative of the live question these words are, counted from 1.

        A bare number is an answer as long as the question is live; the words that tell the answers
        apart only as the very next phrase: later they may be the next finding.
        """
        visit = self._visit()
        query = visit.asked
        if query is None or not words:
            return None
        only = reading.said[0].what if len(reading.said) == 1 else None
        if isinstance(only, Animal) and only.tag_alone and only.tag:
            words = say_digits(only.tag)
        bare = re.sub(r" (millimetres|millimetre|days|weeks)$", "", words)
        answers: list[str] = []
        if reading.unread is not None or _is_bare(only):
            answers += answers_of(query, visit)
        if visit.last_said == query.phrase and len(query.alternatives) > 1:
            answers += told_apart(query, visit)
        offered = max(1, len(query.alternatives))
        matching = {place % offered + 1 for place, a in enumerate(answers) if a in (bare, words)}
        return matching.pop() if len(matching) == 1 else None


def _is_bare(what: Finding | Command | None) -> bool:
    """A number that may be anything: a size without a side, digits without 'cow'."""
    if isinstance(what, Command):
        return what.name is CommandName.SIZE and what.side is None
    return isinstance(what, Animal) and what.tag_alone


def _said(what: Finding | Command, normal: str) -> Said:
    return Said(what, 0, len(normal), normal)
