"""Hearing a stored visit again with today's grammar and engine: what would change, and taking it.

Every kept utterance is heard as if it were new and compared with what stands of it now. What a
person put right, and what the speaker changed, moved or took back afterwards, stays as it is.
Nothing is changed here but by ``take_over``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from dictation.audio.keep import load_utterance
from dictation.errors import BadInputError
from dictation.recognition.protocol import Heard as HeardSound
from dictation.recognition.protocol import Recogniser
from dictation.session.breath import standing_of
from dictation.session.corrections import Corrections
from dictation.session.doubt import Parse
from dictation.session.events import FINDINGS_AN_UTTERANCE, Heard
from dictation.session.review_events import Reheard
from dictation.session.visit import Utterance, Visit
from dictation.session.weighing import weighed
from grammar.exam import FindingState
from grammar.findings import Animal, Command, Finding, Said

SURE, STILL_DOUBTFUL, COMMAND, ANOTHER_ANIMAL = (
    "",
    "not sure this time either",
    "it holds a command: that is put right by hand",
    "it names an animal where none was named: that is put right by hand",
)
"""Why a difference is not taken over; the first: it is."""


@dataclass(frozen=True, slots=True)
class Difference:
    """An utterance that is heard otherwise now.

    ``before``, ``now``: its findings that stand, and as heard now. ``was_asked``: whether it is
    still asked about. ``left``: why it would not be taken over; empty where it would.
    """

    utterance: int
    exam: int | None
    tag: str | None
    at_s: float
    text_before: str
    text: str
    before: tuple[Finding, ...]
    now: tuple[Finding, ...]
    said: tuple[Said, ...]
    confidence: float
    was_asked: bool
    left: str


@dataclass(frozen=True, slots=True)
class Kept:
    """An utterance that was not heard again, and why."""

    utterance: int
    why: str


def rehear(
    corrections: Corrections, recogniser: Recogniser, parse: Parse, audio: Path
) -> Iterator[Difference | Kept | None]:
    """Hear all kept utterances of a visit again, one after the other; None: it is the same."""
    visit = corrections.visit
    for entry in corrections.entries():
        event = entry.event
        if not isinstance(event, Heard) or event.audio is None:
            continue
        utterance = visit.utterance(event.utterance)
        why = _why_kept(visit, event, utterance)
        if why is not None or utterance is None:
            yield Kept(event.utterance, why or "it was joined to another phrase")
            continue
        try:
            samples = load_utterance(audio / event.audio)
        except BadInputError as error:
            yield Kept(event.utterance, str(error))
            continue
        yield _difference(visit, utterance, recogniser.recognise(samples), parse)


def take_over(
    corrections: Corrections, difference: Difference, engine: str, grammar: str, who: str
) -> None:
    """Put what was heard now in the place of what stands. The first hearing stays on record.

    Raises ChangedMeanwhileError where somebody changed it since it was compared.
    """
    event = Reheard(
        difference.utterance,
        difference.text,
        difference.said,
        difference.confidence,
        engine,
        grammar,
        who,
    )
    corrections.put(event, corrections.visit.last_seq)


def _why_kept(visit: Visit, event: Heard, utterance: Utterance | None) -> str | None:
    if utterance is None or utterance.taken_back:
        return "it was taken back"
    if _by_people(visit, utterance.number):
        return "a person put it right"
    standing = standing_of(visit, utterance.number)
    if any(r.state is FindingState.CORRECTED for r in standing):
        return "the speaker changed it"
    heard = tuple(s.what for s in event.said if not isinstance(s.what, Command))
    if standing and _values(r.finding for r in standing) != _values(heard):
        return "it was settled after it was heard"
    return None


def _by_people(visit: Visit, utterance: int) -> bool:
    """Whether a person's correction that stands touched it."""
    for deed in visit.deeds:
        if deed.undone or isinstance(deed.event, Reheard):
            continue
        if any(number // FINDINGS_AN_UTTERANCE == utterance for number, _, _ in deed.findings):
            return True
        asked = (query for _, *both in deed.queries for query in both if query is not None)
        if any(query.utterance == utterance for query in asked):
            return True
        if getattr(deed.event, "of_utterance", None) == utterance:
            return True
    return False


def _difference(
    visit: Visit, utterance: Utterance, heard: HeardSound, parse: Parse
) -> Difference | None:
    assert visit.on_date is not None
    made = weighed(heard, parse, replace(visit, in_hand=utterance.exam), visit.on_date)
    said, doubts = made.said, made.doubts
    standing = standing_of(visit, utterance.number)
    before = tuple(r.finding for r in standing)
    now = tuple(s.what for s in said if not isinstance(s.what, Command))
    asked = any(r.state is FindingState.QUERIED for r in standing)
    same = _values(before) == _values(now)
    if same and not (asked and not doubts):
        return None
    exam = visit.exam(utterance.exam)
    text = heard.hypotheses[0].normal if heard.hypotheses else heard.free_text
    return Difference(
        utterance=utterance.number,
        exam=utterance.exam,
        tag=None if exam is None else exam.tag,
        at_s=utterance.at_s or 0.0,
        text_before=utterance.text,
        text=text,
        before=before,
        now=now,
        said=said,
        confidence=heard.confidence,
        was_asked=asked,
        left=_why_left(visit, utterance, before, said, bool(doubts) or not said),
    )


def _why_left(
    visit: Visit,
    utterance: Utterance,
    before: tuple[Finding, ...],
    said: tuple[Said, ...],
    doubtful: bool,
) -> str:
    if doubtful:
        return STILL_DOUBTFUL
    if any(isinstance(s.what, Command) for s in said):
        return COMMAND
    names = any(isinstance(s.what, Animal) for s in said)
    if visit.exam(utterance.exam) is None:
        return ANOTHER_ANIMAL
    if names and not any(isinstance(finding, Animal) for finding in before):
        return ANOTHER_ANIMAL
    return SURE


def _values(findings: Iterator[Finding] | tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings as heard: without what the herd list adds, and once each."""
    plain = (replace(f, listed=None) if isinstance(f, Animal) else f for f in findings)
    return tuple(dict.fromkeys(plain))
