"""What the tool says: tones at once, words when nobody speaks; who speaks makes it stop."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import Protocol

from dictation.audio.samples import Samples
from dictation.audio.saying import ECHO_S, Saying
from dictation.audio.voice import TONE_RATE_HZ, Speaker, Synthesiser, Tone, as_heard, tone
from dictation.session.happenings import Happening
from dictation.session.live_events import Spoke
from dictation.session.session import OVER_OWN_VOICE, Session
from dictation.session.understanding import answers_of
from dictation.session.visit import Fate
from grammar.findings import Animal, Command
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
        ...

    @property
    def speaking(self) -> bool:
        """Whether somebody is speaking now."""
        ...

    def speaks(self, saying: Saying) -> None:
        """The tool begins to speak."""
        ...


class Player(Protocol):
    """What sound is played through."""

    def play(self, samples: Samples, rate_hz: int) -> None:
        """Play, behind what is being played."""
        ...

    def hush(self) -> None:
        """Break off what is being played."""
        ...

    def stop(self) -> None:
        """End after what is waiting."""
        ...


class AnsweringAloud:
    """``Answers`` through a synthesiser. ``how``: values says questions and what was recorded."""

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

    def after(self, happened: Sequence[Happening]) -> None:
        """A tone for what was heard, and words behind it.

        What was said over the tool's own voice is asked on the screen alone: if it was its own
        voice after all, it would talk to itself.
        """
        heard = [h for h in happened if h.kind == "heard"]
        if heard:
            self._tone(str(heard[-1].more["fate"]))
        words = self._words(happened)
        if words and not (heard and OVER_OWN_VOICE in str(heard[-1].more["doubts"])):
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
        self._session.take(Spoke(text, from_s, until_s))
        self._ear.speaks(Saying(as_heard(samples, rate_hz), until_s, self._player.hush))
        self._player.play(samples, rate_hz)

    def stop(self) -> None:
        """End the speaker."""
        self._player.stop()

    def _tone(self, fate: str) -> None:
        kind = {Fate.ASKED: Tone.ASKED, Fate.REFUSED: Tone.REFUSED}.get(Fate(fate), Tone.HEARD)
        if fate != Fate.SILENT:
            self._player.play(tone(kind), TONE_RATE_HZ)

    def _words(self, happened: Sequence[Happening]) -> str:
        if any(h.kind == "query" and h.more["state"] == "open" for h in happened):
            return self._question()
        stops = [h.text for h in happened if h.kind == "flag" and h.more["severity"] == "stop"]
        if stops:
            return aloud(f"Stop. {stops[0]}")
        guides = [h.text for h in happened if h.kind == "guide"]
        if guides:
            return guides[-1]
        if any(h.kind == "heard" for h in happened):
            return self._read_back(happened)
        return ""

    def _question(self) -> str:
        """'Forty or fourteen?' where a number tells the answers apart, else the whole question."""
        query = self._session.visit.asked
        if query is None:
            return ""
        answers = answers_of(query, self._session.visit)
        if len(answers) > 1 and all(answers):
            return f"{' or '.join(answers)}?"
        return aloud(query.question)

    def _read_back(self, happened: Sequence[Happening]) -> str:
        visit = self._session.visit
        last = visit.utterances[-1]
        found = [t.after.finding for t in last.touched if t.before is None]
        if self._how is Speak.ALL and visit.reply:
            return aloud(visit.reply)
        if self._how is Speak.VALUES:
            found = [f for f in found if isinstance(f, Animal) or _has_number(say(f))]
        return ", ".join(say(f) for f in found if not isinstance(f, Command))


def aloud(text: str) -> str:
    """Written words as they are spoken: a synthesiser spells 'mm'."""
    return re.sub(r"\bmm\b", "millimetres", text)


def _has_number(words: str) -> bool:
    from dictation.session.doubt import NUMBER_WORDS

    return any(word in NUMBER_WORDS for word in words.split())
