"""What the tool says: a tone for every outcome, few words when nobody speaks, and no word late."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from dictation.audio.endpoint import TAIL_S
from dictation.audio.samples import Samples
from dictation.audio.voice import TONE_RATE_HZ, Speaker, Synthesiser, Tone, tone
from dictation.decide.rivals import is_grave
from dictation.decide.understanding import numbers_in, told_apart
from dictation.errors import MissingError
from dictation.live.events import Event, Flagged, Found, Questioned, Spoken, Unspoken
from dictation.live.listening import Answers
from dictation.live.session import Session
from dictation.visit.facts import Spoke
from dictation.visit.inputs import Noted
from dictation.visit.parts import Fate, Query
from grammar.exam import FindingState
from grammar.findings import Animal, Conceptus, Finding, Plan, Pregnancy, Uterus
from grammar.say import say
from grammar.wording import spaced

LEAD_S = 0.1
"""Put on record as begun this much before: blocks on their way from the microphone come late."""

ASKED_WITHIN_S = 1.0
"""From the end of a breath: what could not be said by then is left to the screen. The vet has gone
on by then, and would be asked about the last finding while he says the next."""

LONGEST_QUESTION_S, LONGEST_READ_BACK_S, LONGEST_TOLD_S = 2.5, 0.7, 10.0
"""So long may the voice take, the last where all is to be said. What cannot be said in that is not
said; the tone tells it."""


class Speak(StrEnum):
    """How much is said aloud."""

    OFF = "off"
    VALUES = "values"
    ALL = "all"


class Listener(Protocol):
    """The ear, as far as the voice must know it."""

    @property
    def at_s(self) -> float:
        """Seconds of the visit's audio heard so far."""

    @property
    def speaking(self) -> bool:
        """Whether somebody is speaking now."""

    def speaks(self) -> None:
        """The tool begins to speak, from a loudspeaker."""

    def spoke(self) -> None:
        """It has ended."""


class Player(Protocol):
    """What sound is played through."""

    def play(
        self, samples: Samples, rate_hz: int, ended: Callable[[], None] = lambda: None
    ) -> None:
        """Play, behind what is being played; ``ended`` is called when it is over."""

    def hush(self) -> None:
        """Break off what is being played."""

    def stop(self) -> None:
        """End after what is waiting."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """What is to be said: the first of these that takes no longer than ``most_s``.

    ``until_s``: later it is not said; None: it is said whenever nobody speaks. ``query``: it asks
    this one, if it is still live. ``exam``: of which one question is asked aloud.
    """

    texts: tuple[str, ...]
    most_s: float
    until_s: float | None = None
    query: str | None = None
    exam: int | None = None


class AnsweringAloud(Answers):
    """Through a synthesiser. ``how``: values says what differs of a question, and of what was
    recorded the numbers and the grave words.

    ``headset``: the microphone does not hear what is played, so that it stays open meanwhile and
    who speaks makes the tool stop. Otherwise the ear is shut as long as the tool speaks.
    """

    def __init__(
        self,
        session: Session,
        ear: Listener,
        how: Speak,
        headset: bool = False,
        player: Callable[[], Player] = Speaker,
    ) -> None:
        self._session = session
        self._ear = ear
        self._how = how
        self._headset = headset
        self._voice = None if how is Speak.OFF else Synthesiser()
        self._player = player()
        self._waiting: Waiting | None = None
        self._asked_of: set[int | None] = set()

    def after(self, happened: Sequence[Event]) -> None:
        """A tone for what was heard, and words behind it; what waited unsaid is passed over."""
        heard = [event for event in happened if isinstance(event, Spoken)]
        if heard:
            self._tone(heard[-1].phrase.fate)
            if self._waiting is not None and self._waiting.until_s is not None:
                self._waiting = None
        wanted = self._words(happened, heard[-1] if heard else None)
        if wanted is not None and (self._waiting is None or wanted.until_s is None):
            self._wait(wanted)

    def say(self, text: str) -> None:
        """The newest sentence replaces one that could not be said yet."""
        self._wait(Waiting((text,), LONGEST_TOLD_S))

    def _wait(self, wanted: Waiting) -> None:
        if self._voice is not None:
            self._waiting = wanted
            self.when_quiet()

    def when_quiet(self) -> None:
        """Say what is waiting, unless somebody is speaking or it is too late for it."""
        wanted = self._waiting
        if wanted is None or self._voice is None:
            return
        late = wanted.until_s is not None and self._ear.at_s > wanted.until_s
        live = self._session.visit.asked
        passed_over = wanted.query is not None and (live is None or live.id != wanted.query)
        if late or passed_over:
            self._waiting = None
        elif not self._ear.speaking:
            self._waiting = None
            self._speak(wanted, self._voice)

    def interrupted(self) -> None:
        """Somebody has begun to speak: the tool is quiet at once."""
        self._player.hush()

    def stop(self) -> None:
        """End the speaker."""
        self._player.stop()

    def _speak(self, wanted: Waiting, voice: Synthesiser) -> None:
        for text in wanted.texts:
            samples, rate_hz = voice.speak(aloud(text), wanted.most_s)
            if len(samples) <= wanted.most_s * rate_hz:
                break
        else:
            return
        if wanted.query is not None:
            self._asked_of.add(wanted.exam)
        now_s, length_s = self._ear.at_s, len(samples) / rate_hz
        headset = self._headset or None
        spoke = Spoke(text, now_s - LEAD_S, now_s + length_s + LEAD_S, headset)
        with suppress(MissingError):  # a full disk is told; until there is room it also speaks
            self._session.take(Noted(spoke))
        if self._headset:
            self._player.play(samples, rate_hz)
            return
        self._ear.speaks()
        self._player.play(samples, rate_hz, self._ear.spoke)

    def _tone(self, fate: Fate) -> None:
        kind = {
            Fate.ASKED: Tone.ASKED,
            Fate.REFUSED: Tone.NOT_FOR_US,
            Fate.PAUSED: Tone.NOT_FOR_US,
        }.get(fate, Tone.TAKEN)
        if fate is not Fate.SILENT:
            self._player.play(tone(kind), TONE_RATE_HZ)

    def _words(self, happened: Sequence[Event], heard: Spoken | None) -> Waiting | None:
        stops = [e.flag for e in happened if isinstance(e, Flagged) and e.stops]
        if stops:
            whole, short = f"Stop. {stops[0].why}", f"Stop. {spaced(stops[0].rule)}"
            return Waiting((whole, short, "Stop"), LONGEST_QUESTION_S)
        end_s = None if heard is None else heard.phrase.until_s
        until_s = (self._ear.at_s if end_s is None else end_s - TAIL_S) + ASKED_WITHIN_S
        raised = {e.query.id for e in happened if isinstance(e, Questioned) and e.is_open}
        live = self._session.visit.asked
        if live is not None and live.id in raised:
            return self._question(live, until_s, heard)
        unspoken = [event.sentence for event in happened if isinstance(event, Unspoken)]
        if unspoken:
            return Waiting((unspoken[-1],), LONGEST_QUESTION_S, until_s)
        if heard is None:
            return None
        texts = tuple(filter(None, self._read_back(happened, heard.phrase.number)))
        most_s = LONGEST_TOLD_S if self._how is Speak.ALL else LONGEST_READ_BACK_S
        return Waiting(texts, most_s, until_s) if texts else None

    def _question(self, query: Query, until_s: float, heard: Spoken | None) -> Waiting | None:
        """'Forty or fourteen?', once a cow; where nothing can be chosen: 'say again?'.

        What was said over the tool's own voice is asked on the screen alone: if that was its own
        voice after all, it would talk to itself.
        """
        if query.exam in self._asked_of or (heard is not None and not heard.phrase.text):
            return None
        apart = told_apart(query, self._session.visit)[:2]
        texts = (f"{' or '.join(apart) or 'say again'}?",)
        return Waiting(texts, LONGEST_QUESTION_S, until_s, query.id, query.exam)

    def _read_back(self, happened: Sequence[Event], phrase: int) -> Iterable[str]:
        """What is to be said of what was recorded, and less where that takes too long."""
        recorded = [event.placed.recorded for event in happened if isinstance(event, Found)]
        new = [r for r in recorded if r.phrase == phrase and r.state is not FindingState.WITHDRAWN]
        found = [r.finding for r in new]
        if self._how is Speak.ALL:
            return (self._session.visit.reply or ", ".join(say(f) for f in found), *_values(found))
        return _values(found)


def _values(found: Sequence[Finding]) -> Iterable[str]:
    """Numbers and grave words, then the grave ones and the last number, then the grave alone."""
    grave = [words for f in found if (words := _grave_words(f))]
    numbers = [n for f in found for n in _numbers(f)]
    yield ", ".join([*grave, *numbers])
    yield ", ".join([*grave, *numbers[-1:]])
    yield ", ".join(grave)


def _numbers(finding: Finding) -> tuple[str, ...]:
    """Its numbers in words; of a tag the digits. An electronic number is read, not spoken."""
    read = isinstance(finding, Animal) and finding.electronic_id is not None
    return () if read or isinstance(finding, Conceptus) else numbers_in(say(finding))


def _grave_words(finding: Finding) -> str:
    """'Pregnant', 'twins', 'prostaglandin': what makes it grave, without all else."""
    if not is_grave(finding):
        return ""
    match finding:
        case Pregnancy(status=status):
            return say(Pregnancy(status))
        case Uterus(state=state):
            return say(Uterus(None, state))
        case Plan(action=action, treatment_class=treatment):
            return say(Plan(action, treatment_class=treatment))
        case Conceptus(count=count):
            return say(Conceptus(count))
        case _:
            return say(finding)


def aloud(text: str) -> str:
    """Written words as they are spoken: a synthesiser spells 'mm', and cannot say 'cl'."""
    text = re.sub(r"\bmm\b", "millimetres", text)
    return re.sub(r"\bcls?\b", lambda m: " ".join(m.group()[:2].upper()) + m.group()[2:], text)
