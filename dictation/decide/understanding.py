"""Words that mean something only in the middle of a visit: a bare value that answers a question, a
bare 'not seen' behind 'right ovary not recorded', a number or a side that the last phrase wants."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import date

from dictation.decide.alone import alone, is_tag_alone
from dictation.decide.doubt import NUMBER_WORDS
from dictation.decide.draft import standing_of
from dictation.decide.rivals import Parse
from dictation.visit.parts import Effect, Instead, Keep, Query
from dictation.visit.state import Visit
from grammar.findings import (
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
from grammar.say import say, say_number

REMARKS = {
    "not seen": SeenRemark.NOT_SEEN,
    "could not reach": SeenRemark.COULD_NOT_REACH,
    "not reached": SeenRemark.COULD_NOT_REACH,
}
_NUMERAL = re.compile(r"(?<!\d)\d{1,3}(\.\d+)?(?!\d)")
"""Longer numbers answer nothing, and are no size and no age."""


def in_words(text: str) -> str:
    """Normalised, with numerals as they are spoken."""
    spoken = _NUMERAL.sub(lambda m: say_number(float(m.group())), normalise(text))
    return " ".join(spoken.replace("-", " ").split())


def _left_by(effect: Effect, phrase: int, visit: Visit) -> tuple[Finding, ...]:
    """What taking an answer would leave on record."""
    match effect:
        case Instead():
            return tuple(s.what for s in effect.said if not isinstance(s.what, Command))
        case Keep():
            return tuple(r.finding for r in standing_of(visit, phrase))
        case _:
            return ()


def answers_of(query: Query, visit: Visit) -> tuple[str, ...]:
    """The numbers that tell each alternative from the others, in words; empty where none does."""
    spoken = [_numbers(_left_by(a.effect, query.phrase, visit)) for a in query.alternatives]
    answers: list[str] = []
    for place, mine in enumerate(spoken):
        others = {n for i, those in enumerate(spoken) if i != place for n in those}
        own = [n for n in mine if n not in others]
        answers.append(own[0] if len(own) == 1 else "")
    return tuple(answers)


def _numbers(findings: Iterable[Finding]) -> list[str]:
    """Runs of number words in what would be said of the findings."""
    runs: list[str] = []
    for finding in findings:
        run: list[str] = []
        for word in [*say(finding).split(), ""]:
            joins = bool(run) and word in {"and", "point", "hundred"}
            if word in NUMBER_WORDS or word in {"a", "oh", "zero"} or joins:
                run.append(word)
                continue
            words = " ".join(run).removesuffix(" and").removesuffix(" a")
            if any(w in NUMBER_WORDS for w in words.split()):
                runs.append(words)
            run = []
    return runs


class Understanding:
    """``parse`` with an eye on the visit. ``visit``: gives the visit as it is now.

    ``named``: stations that were just named as not spoken of.
    """

    def __init__(self, parse: Parse, visit: Callable[[], Visit]) -> None:
        self._parse = parse
        self._visit = visit
        self.named: tuple[SweepStructure, ...] = ()

    def __call__(self, text: str, on: date | None) -> Reading:
        """As ``grammar.parse``; what it cannot read may be an answer."""
        reading = self._parse(text, on)
        told = reading.command
        bare_size = told is not None and told.name is CommandName.SIZE and told.side is None
        is_tag = is_tag_alone(reading)
        if reading.unread is None and not bare_size and not is_tag:
            return reading
        words = in_words(text)
        if is_tag:
            return alone(reading, words, self._visit(), self._parse)
        if self.named and words in REMARKS:
            said = tuple(
                _said(Seen(structure, REMARKS[words]), reading.normal) for structure in self.named
            )
            return Reading(text, reading.normal, said=said)
        choice = self._choice(words)
        if choice is None:
            return reading if bare_size else alone(reading, words, self._visit(), self._parse)
        answer = Command(CommandName.ANSWER, number=float(choice), answer=AnswerWord.CHOICE)
        return Reading(text, reading.normal, said=(_said(answer, reading.normal),))

    def _choice(self, words: str) -> int | None:
        visit = self._visit()
        query = visit.asked
        if query is None or not words:
            return None
        bare = re.sub(r" (millimetres|millimetre|days|weeks)$", "", words)
        matching = [n for n, a in enumerate(answers_of(query, visit), start=1) if a == bare]
        return matching[0] if len(matching) == 1 else None


def _said(what: Finding | Command, normal: str) -> Said:
    return Said(what, 0, len(normal), normal)
