"""What the tool says: tones at once, words when nobody speaks; who speaks makes it stop."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import Protocol

from dictation.audio.own_voice import ECHO_S, Saying
from dictation.audio.samples import Samples
from dictation.audio.voice import TONE_RATE_HZ, Speaker, Synthesiser, Tone, as_heard, tone
from dictation.decide.doubt import NUMBER_WORDS
from dictation.decide.understanding import answers_of
from dictation.live.events import Event, Flagged, Found, Questioned, Spoken, Unspoken
from dictation.live.listening import Answers
from dictation.live.session import OVER_OWN_VOICE, Session
from dictation.visit.facts import Spoke
from dictation.visit.inputs import Noted
from dictation.visit.parts import Fate
from grammar.exam import FindingState
from grammar.findings import Animal
from grammar.say import say

LEAD_S = 0.1
"""Put on record as begun this much before: blocks on their way from the microphone come late."""


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

    def speaks(self, saying: Saying) -> None:
        """The tool begins to speak."""


class Player(Protocol):
    """What sound is played through."""

    def play(self, samples: Samples, rate_hz: int) -> None:
        """Play, behind what is being played."""

    def hush(self) -> None:
        """Break off what is being played."""

    def stop(self) -> None:
        """End after what is waiting."""


class AnsweringAloud(Answers):
    """Through a synthesiser. ``how``: values says questions and what was recorded."""

    def __init__(
        self,
        session: Session,
        ear: Listener,
        how: Speak,
        player: Callable[[], Player] = Speaker,
    ) -> None:
        self._session = session
        self._ear = ear
        self._how = how
        self._voice = None if how is Speak.OFF else Synthesiser()
        self._player = player()
        self._waiting = ""

    def after(self, happened: Sequence[Event]) -> None:
        """A tone for what was heard, and words behind it.

        What was said over the tool's own voice is asked on the screen alone: if it was its own
        voice after all, it would talk to itself.
        """
        heard = [event for event in happened if isinstance(event, Spoken)]
        if heard:
            self._tone(heard[-1].phrase.fate)
        words = self._words(happened)
        if words and not (heard and OVER_OWN_VOICE in heard[-1].phrase.doubts):
            self.say(words)

    def say(self, text: str) -> None:
        """The newest sentence replaces one that could not be said yet."""
        if self._voice is not None:
            self._waiting = text
            self.when_quiet()

    def when_quiet(self) -> None:
        """Say what is waiting, unless somebody is speaking."""
        if not self._waiting or self._voice is None or self._ear.speaking:
            return
        text, self._waiting = self._waiting, ""
        samples, rate_hz = self._voice.speak(text)
        from_s = self._ear.at_s - LEAD_S
        until_s = self._ear.at_s + len(samples) / rate_hz + ECHO_S
        self._session.take(Noted(Spoke(text, from_s, until_s)))
        self._ear.speaks(Saying(as_heard(samples, rate_hz), until_s, self._player.hush))
        self._player.play(samples, rate_hz)

    def stop(self) -> None:
        """End the speaker."""
        self._player.stop()

    def _tone(self, fate: Fate) -> None:
        kind = {Fate.ASKED: Tone.ASKED, Fate.REFUSED: Tone.REFUSED}.get(fate, Tone.HEARD)
        if fate is not Fate.SILENT:
            self._player.play(tone(kind), TONE_RATE_HZ)

    def _words(self, happened: Sequence[Event]) -> str:
        if any(isinstance(event, Questioned) and event.is_open for event in happened):
            return self._question()
        stops = [e.flag.why for e in happened if isinstance(e, Flagged) and e.stops]
        if stops:
            return aloud(f"Stop. {stops[0]}")
        unspoken = [event.sentence for event in happened if isinstance(event, Unspoken)]
        if unspoken:
            return unspoken[-1]
        spoken = [event.phrase.number for event in happened if isinstance(event, Spoken)]
        return self._read_back(happened, spoken[-1]) if spoken else ""

    def _question(self) -> str:
        """'Forty or fourteen?' where a number tells the answers apart, else the whole question."""
        query = self._session.visit.asked
        if query is None:
            return ""
        answers = answers_of(query, self._session.visit)
        if len(answers) > 1 and all(answers):
            return f"{' or '.join(answers)}?"
        return aloud(query.question)

    def _read_back(self, happened: Sequence[Event], phrase: int) -> str:
        reply = self._session.visit.reply
        if self._how is Speak.ALL and reply:
            return aloud(reply)
        recorded = [event.placed.recorded for event in happened if isinstance(event, Found)]
        new = [r for r in recorded if r.phrase == phrase and r.state is not FindingState.WITHDRAWN]
        found = [r.finding for r in new]
        if self._how is Speak.VALUES:
            found = [
                f for f in found if isinstance(f, Animal) or NUMBER_WORDS & set(say(f).split())
            ]
        return ", ".join(say(f) for f in found)


def aloud(text: str) -> str:
    """Written words as they are spoken: a synthesiser spells 'mm'."""
    return re.sub(r"\bmm\b", "millimetres", text)
