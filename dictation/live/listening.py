"""A visit heard live: what the ear finds is heard, joined, recorded and answered, in that order.

One thread, the caller's, owns the session: ``turn`` takes the next thing from the ear. ``now`` is
what a screen draws; other threads may read it at any time.
"""

from __future__ import annotations

import queue
import time
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace

from dictation.audio.ear import Ear, EarEvent, Ended
from dictation.audio.endpoint import TAIL_S, SpeechBegan, Utterance
from dictation.audio.reading import Interruption, Lost, Notice
from dictation.decide.rivals import Parse
from dictation.errors import HornsweepError, MissingError
from dictation.live.events import Event, Message, Partly, Spoken
from dictation.live.guide import Guide
from dictation.live.joining import Joiner
from dictation.live.session import Session
from dictation.visit.facts import Gap, Listened
from dictation.visit.inputs import By, Deed, Noted

MARK_EVERY_S = 60.0
"""In silence, how far everything was dealt with is noted this often."""

MARK_BEHIND_S = 1.0
"""The mark stays this far behind the ear: an onset may be under way that is not yet speech."""

NO_ROOM_WAIT_S = 2.0
NO_ROOM = "The disk is full: what is said waits in memory, and is not kept. Make room."
ROOM_AGAIN = "There is room on the disk again: what waited is written."

LOOK_EVERY_S = 1.0
"""Corrections made in another program are taken up this often while nobody speaks."""


class Answers:
    """How the tool answers aloud: not at all, here."""

    def after(self, happened: Sequence[Event]) -> None:
        """Answer what happened, with tones and words."""

    def say(self, text: str) -> None:
        """Say a sentence as soon as nobody speaks."""

    def interrupted(self) -> None:
        """Somebody has begun to speak."""

    def when_quiet(self) -> None:
        """Called often: say what is waiting, if nobody speaks."""


@dataclass(slots=True)
class Now:
    """What the screen draws beside the visit.

    ``words`` under way; ``told``: the last notice; ``lost``: how the microphone is, while it is
    away; ``behind``: utterances waiting to be heard;
    ``since_voice_s``: for the last thousand, seconds from the last voice to the findings.
    """

    words: str = ""
    told: str = ""
    lost: str = ""
    behind: int = 0
    since_voice_s: deque[float] = field(default_factory=lambda: deque(maxlen=1000))


class Listening:
    """One live visit. ``over`` once the ear has ended."""

    def __init__(  # noqa: PLR0913, PLR0917 - the parts of a live visit
        self,
        session: Session,
        ear: Ear,
        found: queue.SimpleQueue[EarEvent],
        parse: Parse,
        guide: Guide,
        answers: Answers | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.session = session
        self.now = Now()
        self.over = False
        self._ear = ear
        self._found = found
        self._joiner = Joiner(session, parse)
        self._guide = guide
        self._answers = answers or Answers()
        self._clock = clock
        self._glimpsed: deque[str] = deque(maxlen=8)
        self._held: EarEvent | None = None
        self._try_again_at = 0.0
        self._look_at = 0.0

    def turn(self, wait_s: float) -> tuple[Event, ...]:
        """Deal with the next thing the ear has found, or wait for so long. What happened.

        On a full disk the thing is held, told, and tried again; nothing is passed over.
        """
        if self._glimpsed:
            words = self._glimpsed.popleft()
            return (Partly(words, self._ear.at_s),)
        event = self._next(wait_s)
        if event is None:
            self._answers.when_quiet()
            return (*self._others(), *self._mark())
        try:
            happened = self._take(event)
        except MissingError:
            self._held, self._try_again_at = event, self._clock() + NO_ROOM_WAIT_S
            return self._tell(NO_ROOM, "no_room")
        if self._held is not None:
            self._held = None
            happened = (*happened, *self._tell(ROOM_AGAIN, "room"))
        self._answers.after(happened)
        return happened

    def glimpsed(self, words: str) -> None:
        """Words of the phrase being spoken, from another thread; for the eye only."""
        if not self._ear.speaking or words == self.now.words:
            return
        self.now.words = words
        self._glimpsed.append(words)

    def take(self, deed: Deed, by: By) -> tuple[Event, ...]:
        """Record what a person did at the keys."""
        return self._by_hand(lambda: self.session.take(deed, by))

    def put_right(self, deed: Deed, by: By) -> tuple[Event, ...]:
        """Record what a person touched on a page, who had seen entry ``by.based_on``."""
        happened = self.session.put_right(deed, by)
        return (*happened, *self._guide.after(happened))

    def typed(self, text: str) -> tuple[Event, ...]:
        """Take a phrase that the recorder typed, or a command that a key stands for."""
        happened = self._by_hand(lambda: self.session.type(text))
        self._answers.after(happened)
        return happened

    def _by_hand(self, do: Callable[[], tuple[Event, ...]]) -> tuple[Event, ...]:
        try:
            happened = do()
            return (*happened, *self._guide.after(happened))
        except MissingError as error:
            return self._tell(f"Not done: {error}", "no_room")

    @property
    def stuck(self) -> bool:
        """Whether something was found that cannot be recorded, because the disk is full."""
        return self._held is not None

    @property
    def trouble(self) -> str:
        """A state that lasts, as long as it does; empty where all is heard and kept."""
        return self.now.lost or (NO_ROOM if self.stuck or self._ear.full else "")

    def finish(self) -> tuple[str, ...]:
        """Deal with what still waits, and note how far all was dealt with.

        The words of what was not recorded, and is not on the disk to be heard at the next start.
        """
        left = deque([] if self._held is None else [self._held])
        while not self._found.empty():
            left.append(self._found.get())
        while left and self._recorded(
            left[0]
        ):  # in order: what is behind counts all before as heard
            left.popleft()
        unheard = [event for event in left if isinstance(event, Utterance)]
        kept_s, at_s = self._ear.keep(), self._ear.at_s
        with suppress(
            MissingError
        ):  # no worse than a crash: the sound behind the mark is heard again
            if kept_s < min([at_s, *(event.at_s for event in unheard)]):
                self.session.take(Noted(Gap(kept_s, at_s, "there was no room on the disk")))
            elif not unheard:
                self.session.take(Noted(Listened(at_s)))
        return tuple(self._words_of(event) for event in unheard if event.until_s > kept_s)

    def _recorded(self, event: EarEvent) -> bool:
        try:
            self._take(event)
        except MissingError:
            return False
        return True

    def _words_of(self, sound: Utterance) -> str:
        heard = self.session.listen(sound.samples)
        return heard.hypotheses[0].normal if heard.hypotheses else heard.free_text

    def _next(self, wait_s: float) -> EarEvent | None:
        self.now.behind = self._found.qsize()
        if self._held is not None:
            if self._clock() < self._try_again_at:
                time.sleep(wait_s)
                return None
            return self._held
        try:
            return self._found.get(timeout=wait_s)
        except queue.Empty:
            return None

    def _take(self, event: EarEvent) -> tuple[Event, ...]:
        match event:
            case Utterance():
                return self._hear(event)
            case SpeechBegan():
                self._answers.interrupted()
                self.now.words = ""
                return ()
            case Interruption():
                self.now.lost = ""
                self.session.take(Noted(Gap(event.at_s, event.until_s, event.sentence)))
                self._answers.say("microphone is back")
                return self._tell(event.sentence, "gap", event.at_s, event.until_s)
            case Lost():
                self.now.lost = event.sentence
                self._answers.say("microphone lost")
                return self._tell(event.sentence, "lost", event.at_s)
            case Notice():
                self._answers.say(event.sentence)
                return self._tell(event.sentence, "notice", event.at_s)
            case Ended():
                self.over = True
                return self._ended(event)

    def _hear(self, sound: Utterance) -> tuple[Event, ...]:
        happened = self.session.hear(sound)
        self.now.words = ""
        since_voice_s = max(0.0, self._ear.at_s - sound.until_s + TAIL_S)
        self.now.since_voice_s.append(since_voice_s)
        ended_at, voice_s = sound.ended_at, round(since_voice_s, 3)
        end_s = None if ended_at is None else round(time.monotonic() - ended_at, 3)
        happened = tuple(
            replace(event, since_voice_s=voice_s, since_end_s=end_s)
            if isinstance(event, Spoken)
            else event
            for event in happened
        )
        try:
            joined = self._joiner.heard(sound)
            happened = (*happened, *joined)
            return (*happened, *self._guide.after(happened))
        except MissingError as error:
            # The utterance itself is on record: it must not be heard a second time.
            return (*happened, *self._tell(str(error), "no_room"))

    def _others(self) -> tuple[Event, ...]:
        """What people have put right meanwhile, in another program on this visit."""
        now = self._clock()
        if now < self._look_at:
            return ()
        self._look_at = now + LOOK_EVERY_S
        return self.session.catch_up()

    def _mark(self) -> tuple[Event, ...]:
        until_s = self._ear.at_s - MARK_BEHIND_S
        due = until_s - self.session.visit.audio_until_s >= MARK_EVERY_S
        if due and not self._ear.speaking and self._found.empty() and self._held is None:
            try:
                self.session.take(Noted(Listened(until_s)))
            except MissingError as error:
                return self._tell(str(error), "no_room")
        return ()

    def _ended(self, event: Ended) -> tuple[Event, ...]:
        if event.error is None:
            return ()
        if isinstance(event.error, HornsweepError):
            raise event.error
        raise HornsweepError(f"listening stopped ({event.error}); what was recorded is kept.")

    def _tell(
        self, sentence: str, state: str, at_s: float | None = None, until_s: float | None = None
    ) -> tuple[Event, ...]:
        if sentence == self.now.told and state == "no_room":
            return ()
        self.now.told = sentence
        return (Message(sentence, state, (at_s, until_s)),)
