"""The listening thread: microphone to disk, to the level meter, to the end-pointer.

It never waits for recognition. What it finds goes out through ``told``; sound under way is offered
to ``glimpse`` (for words while they are spoken) and ``ahead`` (for the final hearing, begun in the
silence before the end is certain).
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from dictation.audio.endpoint import (
    LIVE_HANG_OVER_S,
    PRE_ROLL_S,
    Endpointer,
    HangOver,
    SpeechBegan,
    Utterance,
)
from dictation.audio.meter import Meter
from dictation.audio.own_voice import Saying
from dictation.audio.reading import FrameSource, Interruption, Lost, Notice
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool
from dictation.errors import HornsweepError

GLIMPSE_S = 0.2
"""Sound under way is offered this often: five times a second, of which three must be answered."""

LONGEST_GLIMPSE_S = 8.0
"""Of a longer utterance only its end is glimpsed, or each glimpse would take longer."""


JUST_AFTER_S = 0.05
"""Voice that begins so soon behind the tool's may have begun before."""


@dataclass(frozen=True, slots=True)
class Ended:
    """The listening thread has ended: the source is over, or ``error`` stopped it."""

    error: BaseException | None = None


EarEvent = Utterance | SpeechBegan | Notice | Lost | Interruption | Ended


@dataclass(slots=True)
class Hints:
    """What may be done with sound before an utterance has ended; neither may wait."""

    glimpse: Callable[[Samples], None] = lambda samples: None
    ahead: Callable[[Samples], None] = lambda samples: None


class Ear:
    """Listens to one source, from ``from_s`` of the visit's audio."""

    def __init__(
        self,
        source: FrameSource,
        spool: Spool,
        told: Callable[[EarEvent], None],
        hints: Hints | None = None,
        endpointer: Callable[[], Endpointer] = Endpointer,
    ) -> None:
        self._source = source
        self._spool = spool
        self._told = told
        self._hints = hints or Hints()
        self._make = endpointer
        self._endpointer = endpointer()
        self._offset_s = spool.at_s
        self._source_offset_s = spool.at_s
        self._glimpsed_s = 0.0
        self._ahead_of: tuple[float, float] | None = None
        self._saying: Saying | None = None
        self._leaks = True  # until a sentence of the tool's was spoken alone
        self._own_voice_s: list[tuple[float, float]] = []
        self._hang_over = HangOver()
        self._was_full = False
        self.meter = Meter()
        self.thread = threading.Thread(target=self.run, name="ear", daemon=True)

    @property
    def at_s(self) -> float:
        """Seconds of the visit's audio heard so far."""
        return self._spool.at_s

    @property
    def speaking(self) -> bool:
        """Whether somebody is speaking now, the tool itself included."""
        return self._endpointer.speaking or self._saying is not None

    def speaks(self, saying: Saying) -> None:
        """The tool begins to speak, which only begins when nobody does.

        The sound is kept as always; what others say meanwhile is heard when it is over.
        """
        saying.leaks = self._leaks
        self._saying = saying

    def wait_longer(self) -> None:
        """The words so far end where more may follow: give the speaker the longest pause."""
        self._endpointer.hang_over_s = LIVE_HANG_OVER_S

    def was_cut(self) -> None:
        """An utterance was cut in the middle of a phrase."""
        self._hang_over.was_cut()

    def run(self) -> None:
        """Listen until the source is over."""
        ended = None
        try:
            for piece in self._source.blocks(self._heed):
                self._take(piece)
            self._told_all()
            self._spool.close()
            ended = Ended()
        except (HornsweepError, OSError, RuntimeError) as error:  # the disk, the sound system
            ended = Ended(error)
        finally:
            # The desk must learn of a mistake of ours too, which ends this thread with its trace.
            self._told(ended or Ended(sys.exception()))

    def _heed(self, notice: Notice) -> None:
        if isinstance(notice, Lost):
            # The words before it are whole: nothing more can follow them.
            self._told_all()
            self._begin_anew(self.at_s)
        if not isinstance(notice, Interruption):
            self._told(replace(notice, at_s=notice.at_s + self._source_offset_s))
            return
        self._told_all()
        until_s = notice.until_s + self._source_offset_s
        self._told(replace(notice, at_s=notice.at_s + self._source_offset_s, until_s=until_s))
        self._spool.skip_to(until_s)
        self._begin_anew(until_s)

    def _told_all(self) -> None:
        """Nothing follows what was heard so far."""
        self._hear_beside()
        self._tell(self._endpointer.flush())

    def _hear_beside(self) -> None:
        """The tool has spoken: what others said meanwhile goes to the end-pointer in one piece."""
        saying, self._saying = self._saying, None
        if saying is None or saying.from_s is None:
            return
        beside = saying.beside()
        self._leaks = beside.leaks
        if beside.leaks or not beside.others:
            # What begins in there is mixed with the tool's voice, or lacks its beginning.
            self._own_voice_s.append((saying.from_s, self.at_s + JUST_AFTER_S))
        self._tell(self._endpointer.push(beside.samples))

    def _over_own_voice(self, utterance: Utterance) -> bool:
        """Whether it begins while the tool spoke; what lies before it is forgotten."""
        begins_s = utterance.at_s + PRE_ROLL_S
        self._own_voice_s = [s for s in self._own_voice_s if s[1] > begins_s]
        return any(from_s < utterance.until_s for from_s, _ in self._own_voice_s)

    def _begin_anew(self, at_s: float) -> None:
        self._endpointer = self._make()
        self._endpointer.hang_over_s = self._hang_over.now_s
        self._offset_s = at_s
        self._glimpsed_s = 0.0

    def _take(self, piece: Samples) -> None:
        self._spool.write(piece)
        if self._spool.full != self._was_full:
            self._was_full = self._spool.full
            self._told(Notice(self.at_s, _room(self._spool)))
        self.meter.push(piece)
        if (saying := self._saying) is not None:
            saying.take(piece, self.at_s)
            if self.at_s <= saying.until_s:
                return
            self._hear_beside()
        else:
            self._tell(self._endpointer.push(piece))
        self._look_ahead()

    def _tell(self, events: tuple[object, ...]) -> None:
        for event in events:
            if isinstance(event, Utterance):
                self._hang_over.take(self._endpointer.longest_pause_s)
                self._endpointer.hang_over_s = self._hang_over.now_s
                self._glimpsed_s = 0.0
                self.meter.spoken(event.samples)
                placed = replace(
                    event,
                    at_s=event.at_s + self._offset_s,
                    until_s=event.until_s + self._offset_s,
                    ended_at=time.monotonic(),
                )
                self._told(replace(placed, over_own_voice=self._over_own_voice(placed)))
            elif isinstance(event, SpeechBegan):
                self._told(SpeechBegan(event.at_s + self._offset_s))

    def _look_ahead(self) -> None:
        ending = self._endpointer.ending()
        if ending is not None:
            place = (ending.at_s, ending.until_s)
            if place != self._ahead_of:
                self._ahead_of = place
                self._hints.ahead(ending.samples)
            return
        if not self._endpointer.announced:
            return
        now_s = self._endpointer.at_s
        if now_s - self._glimpsed_s >= GLIMPSE_S:
            self._glimpsed_s = now_s
            samples = self._endpointer.under_way()
            self._hints.glimpse(samples[-int(LONGEST_GLIMPSE_S * SAMPLE_RATE_HZ) :])


def _room(spool: Spool) -> str:
    if spool.full:
        return "The disk is full: sound is kept in memory only; free some space."
    if spool.lost_s:
        return f"There is room on the disk again, but {spool.lost_s:.0f} s of sound are not kept."
    return "There is room on the disk again: the sound of meanwhile is written."
