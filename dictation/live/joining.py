"""A breath that pauses in mid-phrase is joined, not cut into nonsense.

"Left ovary ... CL ... twenty-two" reaches us as three utterances. Where one of two neighbours is
not whole by itself and together they can be read, their sound is heard again as one.
"""

from __future__ import annotations

from math import inf

import numpy as np

from dictation.audio.endpoint import PRE_ROLL_S, TAIL_S
from dictation.audio.endpoint import Utterance as Sound
from dictation.audio.keep import keep_utterance, load_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.decide.alone import SIDE_ALONE, side_alone
from dictation.decide.completing import wants_side
from dictation.decide.deciding import can_join
from dictation.decide.doubt import NUMBER_WORDS, doubted
from dictation.decide.rivals import Parse
from dictation.decide.tags import DIGITS
from dictation.decide.understanding import REMARKS
from dictation.errors import BadInputError
from dictation.live.events import Event, Joint
from dictation.live.session import OVER_OWN_VOICE, Session
from dictation.recognition.protocol import Heard, Outcome
from dictation.visit.facts import FindingSet, QuerySet
from dictation.visit.inputs import PhrasesJoined
from dictation.visit.parts import Fate, Phrase, QueryState
from grammar.findings import (
    Animal,
    Command,
    CommandName,
    Conceptus,
    Ovary,
    Reading,
    Seen,
    SweepStructure,
    Uterus,
)
from grammar.normalise import normalise

LONGEST_PAUSE_S = 2.0
"""Silence between two voices that may still be a pause. Longer joins phrases that are two."""

LONGEST_PAUSE_OF_GARBLED_S = 1.5
"""The same before what cannot be read: it may be talk."""

LONGEST_GARBLED_S = 1.5
"""An utterance that cannot be read is tried together with the one before it if it is this short,
its pre-roll and tail counted: 'CL' by itself is hard to hear; longer ones are talk."""

SURE = 0.8
"""Words heard apart with at least this confidence must be heard again together."""

_UNITS = frozenset({"millimetres", "millimetre", "mm", "centimetres", "days", "weeks", "months"})
_HORNS = ([Seen(SweepStructure.LEFT_HORN)], [Seen(SweepStructure.RIGHT_HORN)])
_MAY_JOIN = (Fate.RECORDED, Fate.ASKED, Fate.REFUSED, Fate.COMMAND)


def ends_in_number(text: str) -> bool:
    """Whether more digits may follow: 'sixteen' must not be cut from 'sixteen forty'."""
    words = normalise(text).split()
    return bool(words) and _is_number(words[-1])


def _is_number(word: str) -> bool:
    return word in NUMBER_WORDS or word.replace(".", "").isdigit()


def _only_digits(phrase: Phrase) -> bool:
    """Whether a phrase may be a piece of a tag that is read slowly."""
    words = normalise(phrase.text).split()
    return bool(words) and all(word in DIGITS or word.isdigit() for word in words)


def _names_next(reading: Reading) -> bool:
    """'Next cow', 'heifer': a tag is still to come."""
    match reading.said[-1].what if reading.said else None:
        case Command(name=CommandName.NEXT_ANIMAL, animal=None) | Animal(tag=None):
            return True
        case _:
            return False


def unfinished(text: str, reading: Reading) -> bool:
    """Whether a phrase wants something behind it: a bare place, a bare number, half a sentence."""
    match reading.said[-1].what if reading.said else None:
        case Seen(remark=None) | Ovary(size_mm=None):
            return True
        case _:
            return reading.unread is not None or _names_next(reading) or ends_in_number(text)


def continuing(text: str, reading: Reading) -> bool:
    """Whether a phrase wants something before it: a bare number or remark, a finding's side."""
    words = normalise(text).split()
    if words and (_is_number(words[0]) or words[0] in _UNITS):
        return True
    if reading.unread is not None:
        return " ".join(words) in REMARKS
    first = reading.said[0].what if reading.said else None
    return isinstance(first, Ovary | Uterus | Conceptus) and getattr(first, "side", None) is None


def may_be_one(first: Phrase, second: Phrase, parse: Parse) -> bool:
    """Whether two neighbours may be one phrase, by their times and by what is missing in them.

    A horn by itself is where she carries, unless its side is known: then it is the next station.
    """
    pause_s = _pause_s(first, second)
    if pause_s > LONGEST_PAUSE_S or first.fate not in _MAY_JOIN or second.fate not in _MAY_JOIN:
        return False
    before, behind = parse(first.text, None), parse(second.text, None)
    last = tuple(s.what for s in before.said[-1:])
    carries = [s.what for s in behind.said] in _HORNS and any(map(wants_side, last))
    if carries or side_alone(normalise(second.text), last, parse) is not None:
        return True
    if not unfinished(first.text, before):
        return False
    tags = [s.what for s in behind.said if isinstance(s.what, Animal) and s.what.tag]
    if tags:
        return _names_next(before) and tags[0].tag_alone
    if _only_digits(second) and len(second.text.split()) == 1 and not ends_in_number(first.text):
        # the first digit of a tag, or a small size: a number by itself tells which
        return _names_next(before) or before.unread is not None
    return continuing(second.text, behind) or _garbled(second, behind, pause_s)


def _pause_s(first: Phrase, second: Phrase) -> float:
    """Silence between two voices; endless where one was not spoken."""
    if first.until_s is None or second.at_s is None:
        return inf
    return second.at_s + PRE_ROLL_S - (first.until_s - TAIL_S)


def _garbled(phrase: Phrase, reading: Reading, pause_s: float) -> bool:
    """Whether a phrase was too short to be heard by itself; a bare side begins another."""
    if reading.unread is None or reading.unread.sentence == SIDE_ALONE:
        return False
    length_s = (phrase.until_s or 0.0) - (phrase.at_s or 0.0)
    return length_s <= LONGEST_GARBLED_S and pause_s <= LONGEST_PAUSE_OF_GARBLED_S


class Joiner:
    """Holds the sound of the last utterance, and joins the next one to it where that is right."""

    def __init__(self, session: Session, parse: Parse) -> None:
        self._session = session
        self._parse = parse
        self._last: tuple[int, Sound] | None = None
        self.joined = 0

    def go_on(self) -> None:
        """After a crash: what follows may belong to the last phrase that was heard before it."""
        last = self._session.visit.phrase(self._session.visit.given.phrase)
        if last is None or last.audio is None or last.at_s is None or last.until_s is None:
            return
        try:
            samples = load_utterance(self._session.journal.audio / last.audio)
        except BadInputError:
            return
        over = OVER_OWN_VOICE in last.doubts
        sound = Sound(samples, last.at_s, last.until_s, last.number, over_own_voice=over)
        self._last = last.number, sound

    def heard(self, sound: Sound) -> tuple[Event, ...]:
        """After ``session.hear(sound)``: what joining it to the one before it did, if anything."""
        visit = self._session.visit
        second = visit.phrase(visit.given.phrase)
        assert second is not None
        before, self._last = self._last, (second.number, sound)
        if before is None or sound.over_own_voice or before[1].over_own_voice:
            return ()  # such words are asked about; joined, the doubt would be lost
        if not can_join(visit, before[0], second.number) or self._is_done(second.number):
            return ()
        first = visit.phrase(before[0])
        if first is None or not may_be_one(first, second, self._parse):
            return ()
        return self._join(first, before[1], second, sound)

    def _is_done(self, phrase: int) -> bool:
        """Whether a phrase settled what was asked, or gave a finding before it what it wanted: then
        it is no end of another."""
        act = self._session.visit.act_of(phrase)
        asked = () if act is None else act.of(QuerySet)
        changed = () if act is None else act.of(FindingSet)
        if not asked:
            return any(f.was is not None for f in changed)
        settled = (f.now for f in asked if f.was is not None)
        return any(q is not None and q.state is not QueryState.OPEN for q in settled)

    def _join(
        self, first: Phrase, before: Sound, second: Phrase, sound: Sound
    ) -> tuple[Event, ...]:
        session = self._session
        whole = together(before, sound)
        heard = session.listen(whole.samples)
        if heard.outcome is not Outcome.HEARD or not heard.hypotheses:
            return ()
        on = session.visit.on_date
        reading = self._parse(heard.hypotheses[0].normal, on)
        if reading.unread is not None and not (_only_digits(first) and _only_digits(second)):
            return ()  # of digits more may follow
        apart = f"{normalise(first.text)} {normalise(second.text)}"
        if not _says_the_same(reading, self._parse(apart, on)):
            heard = _checked(heard, first, second)
        number = session.visit.given.phrase + 1
        path = keep_utterance(session.journal.folder, number, whole)
        at = (whole.at_s, whole.until_s)
        happened = session.take(
            PhrasesJoined(first.number, second.number, number, *at, recording=first.recording)
        )
        captured = next((c for c in session.visit.captured if c.phrase == number), None)
        if captured is None:
            return happened  # somebody did something else in that moment: they stay two
        happened = (*happened, *session.take_heard(captured, path, heard))
        self._last = (number, whole)
        self.joined += 1
        parts = (first.number, second.number)
        return (Joint(heard.hypotheses[0].normal, at, parts, number), *happened)


def _says_the_same(one: Reading, other: Reading) -> bool:
    """Whether two wordings, such as '412' and 'four one two', carry the same values."""
    if one.others or other.others or (one.unread is None) != (other.unread is None):
        return False
    if one.unread is not None:
        return one.normal == other.normal
    return [said.what for said in one.said] == [said.what for said in other.said]


def _checked(heard: Heard, first: Phrase, second: Phrase) -> Heard:
    """What was surely heard apart, and every number, must come back, or it is asked about."""
    together = heard.hypotheses[0].normal
    before, behind = normalise(first.text), normalise(second.text)
    begun = _may_change(first, before) or together.startswith(before)
    if begun and (_may_change(second, behind) or together.endswith(behind)):
        return heard
    why = f"heard apart it was '{before} {behind}'"
    return doubted(heard, why)


def _may_change(part: Phrase, words: str) -> bool:
    return part.confidence < SURE and not any(_is_number(word) for word in words.split())


def together(first: Sound, second: Sound) -> Sound:
    """Two utterances and the silence between them as one."""
    between = round((second.at_s - first.until_s) * SAMPLE_RATE_HZ)
    begun = first.samples[:between] if between < 0 else first.samples
    gap = np.zeros(max(0, between), np.float32)
    samples = np.concatenate([begun, gap, second.samples])
    return Sound(samples, first.at_s, second.until_s, first.number)
