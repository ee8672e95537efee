"""Hearing a stored visit again with today's grammar and engine: what would change, and taking it.

Every kept utterance is heard as if it were new and compared with what stands of it now. What a
person put right, and what the speaker changed, moved or took back afterwards, stays as it is.
Nothing is changed here but by ``take_over``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from dictation.audio.keep import load_utterance, stop_at_damaged_sound
from dictation.decide.draft import standing_of
from dictation.decide.record import Record
from dictation.decide.rivals import Parse
from dictation.decide.taking_back import is_taken_back
from dictation.decide.weighing import weighed
from dictation.errors import BadInputError
from dictation.recognition.protocol import Heard as HeardSound
from dictation.recognition.protocol import Recogniser
from dictation.visit.facts import FindingSet, QuerySet
from dictation.visit.inputs import INPUTS, PEOPLES, By, PhraseHeard, PhraseHeardAgain
from dictation.visit.parts import Fate, Phrase
from dictation.visit.state import Act, Visit
from grammar.exam import FindingState
from grammar.findings import Animal, Command, Finding, Said

STILL_DOUBTFUL, COMMAND, ANOTHER_ANIMAL = (
    "not sure this time either",
    "it holds a command: that is put right by hand",
    "it names an animal where none was named: that is put right by hand",
)
"""Why a difference is not taken over."""

NOT_TAKEN_UP = {
    Fate.JOINED: "it was joined to another phrase",
    Fate.PAUSED: "it was said while nothing was to be taken up",
}
"""Why some phrases are not heard again, by what became of them."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A phrase that is heard otherwise now.

    ``before``, ``now``: its findings that stand, and as heard now. ``was_asked``: whether it is
    still asked about. ``left``: why it would not be taken over; empty where it would. ``seen``:
    the last entry of the visit that it was compared with.
    """

    phrase: Phrase
    tag: str | None
    text: str
    before: tuple[Finding, ...]
    now: tuple[Finding, ...]
    said: tuple[Said, ...]
    confidence: float
    was_asked: bool
    left: str
    seen: int


@dataclass(frozen=True, slots=True)
class Kept:
    """An utterance that was not heard again, and why."""

    utterance: int
    why: str


def rehear(
    record: Record, recogniser: Recogniser, parse: Parse, audio: Path
) -> Iterator[Difference | Kept | None]:
    """Hear all kept utterances of a visit again, one after the other; None: it is the same."""
    visit = record.visit
    peoples = _by_people(visit)
    for _, given in record.journal.evidence(PhraseHeard):
        if not isinstance(given, PhraseHeard) or given.audio is None:
            continue
        phrase = visit.phrase(given.phrase)
        if phrase is None:
            continue  # another process recorded it meanwhile
        why = _why_kept(visit, given, phrase, peoples)
        if why is not None:
            yield Kept(given.phrase, why)
            continue
        try:
            stop_at_damaged_sound(audio / given.audio, given.audio_digest)
            samples = load_utterance(audio / given.audio)
        except BadInputError as error:
            yield Kept(given.phrase, str(error))
            continue
        yield _difference(visit, phrase, recogniser.recognise(samples), parse)


def take_over(record: Record, difference: Difference, engine: str, grammar: str, who: str) -> None:
    """Put what was heard now in the place of what stands. The first hearing stays on record.

    Raises ChangedMeanwhileError where somebody changed it since it was compared.
    """
    again = PhraseHeardAgain(
        difference.phrase.number,
        difference.text,
        difference.said,
        difference.confidence,
        engine,
        grammar,
    )
    record.put_right(again, By(who, based_on=difference.seen))


def _why_kept(
    visit: Visit, given: PhraseHeard, phrase: Phrase, peoples: frozenset[int]
) -> str | None:
    if phrase.taken_back:
        return "it was taken back"
    if phrase.fate in NOT_TAKEN_UP:
        return NOT_TAKEN_UP[phrase.fate]
    if phrase.number in peoples:
        return "a person put it right"
    standing = standing_of(visit, phrase.number)
    if any(r.state is FindingState.CORRECTED for r in standing):
        return "the speaker changed it"
    heard = tuple(s.what for s in given.said if not isinstance(s.what, Command))
    if standing and _values(r.finding for r in standing) != _values(heard):
        return "it was settled after it was heard"
    return None


def _by_people(visit: Visit) -> frozenset[int]:
    """The phrases that a person's acts that stand are about, or whose findings they touched."""
    theirs = PEOPLES - {INPUTS[PhraseHeardAgain]}
    acts = (act for act in visit.acts.values() if act.kind in theirs)
    stand = (act for act in acts if not is_taken_back(visit, act.seq))
    return frozenset(phrase for act in stand for phrase in _touched(act) if phrase is not None)


def _touched(act: Act) -> Iterator[int | None]:
    """Phrases whose findings or queries an act set, and the one that it is about."""
    yield act.phrase
    for fact in act.facts:
        if isinstance(fact, FindingSet):
            yield from (placed.recorded.phrase for placed in (fact.was, fact.now) if placed)
        elif isinstance(fact, QuerySet):
            yield from (query.phrase for query in (fact.was, fact.now) if query)


def _difference(visit: Visit, phrase: Phrase, heard: HeardSound, parse: Parse) -> Difference | None:
    assert visit.on_date is not None
    then = replace(visit, going=replace(visit.going, in_hand=phrase.exam))
    made = weighed(heard, parse, then, visit.on_date)
    said, doubts = made.said, made.doubts
    standing = standing_of(visit, phrase.number)
    before = tuple(r.finding for r in standing)
    now = tuple(s.what for s in said if not isinstance(s.what, Command))
    asked = any(r.state is FindingState.QUERIED for r in standing)
    same = _values(before) == _values(now)
    if same and not (asked and not doubts):
        return None
    exam = visit.exam(phrase.exam)
    text = heard.hypotheses[0].normal if heard.hypotheses else heard.free_text
    return Difference(
        phrase=phrase,
        tag=None if exam is None else exam.tag,
        text=text,
        before=before,
        now=now,
        said=said,
        confidence=heard.confidence,
        was_asked=asked,
        left=_why_left(visit, phrase, before, said, bool(doubts) or not said),
        seen=visit.last_seq,
    )


def _why_left(
    visit: Visit,
    phrase: Phrase,
    before: tuple[Finding, ...],
    said: tuple[Said, ...],
    doubtful: bool,
) -> str:
    if doubtful:
        return STILL_DOUBTFUL
    if any(isinstance(s.what, Command) for s in said):
        return COMMAND
    names = any(isinstance(s.what, Animal) for s in said)
    named = any(isinstance(finding, Animal) for finding in before)
    if visit.exam(phrase.exam) is None or (names and not named):
        return ANOTHER_ANIMAL
    return ""


def _values(findings: Iterator[Finding] | tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings as heard: without what the herd list adds, and once each."""
    plain = (replace(f, listed=None) if isinstance(f, Animal) else f for f in findings)
    return tuple(dict.fromkeys(plain))
