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
from functools import partial

import numpy as np

from dictation.audio.endpoint import (
    LIVE_HANG_OVER_S,
    PRE_ROLL_S,
    Endpointer,
    SpeechBegan,
    Utterance,
)
from dictation.audio.meter import Meter
from dictation.audio.reading import FrameSource, Interruption, Lost, Notice
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool
from dictation.errors import HornsweepError

Place = tuple[float, float]

GLIMPSE_S = 0.2
"""Sound under way is offered this often: five times a second, of which three must be answered."""

LONGEST_GLIMPSE_S = 8.0
"""Of a longer utterance only its end is glimpsed, or each glimpse would take longer."""


ECHO_S = 0.2
"""How long the ear stays shut behind the tool's last word, for the shed's echo. Longer shuts out
who answers quickly."""

LONGEST_SAYING_S = 12.0
"""It opens again after this, whatever became of the player."""

JUST_AFTER_S = 0.1
"""Voice that begins so soon after it opens began before."""


@dataclass(frozen=True, slots=True)
class Ended:
    """The listening thread has ended: the source is over, or ``error`` stopped it."""

    error: BaseException | None = None


EarEvent = Utterance | SpeechBegan | Notice | Lost | Interruption | Ended


Pause = Callable[[float], None]
"""Told how much silence ends the utterance, once it is known what it says; from any thread."""


@dataclass(slots=True)
class Hints:
    """What may be done with sound before an utterance has ended; neither may wait."""

    glimpse: Callable[[Samples], None] = lambda samples: None
    ahead: Callable[[Samples, Pause], None] = lambda samples, pause: None


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
        self._ahead_of: Place | None = None
        self._pause: tuple[Place | None, float] = (None, LIVE_HANG_OVER_S)
        self._shut_until_s: float | None = None  # while the tool speaks from a loudspeaker
        self._while_shut: list[Samples] = []
        self._opened_s = -np.inf
        self._was_full = False
        self.meter = Meter()
        self.thread = threading.Thread(target=self.run, name="ear", daemon=True)

    @property
    def at_s(self) -> float:
        """Seconds of the visit's audio heard so far."""
        return self._spool.at_s

    @property
    def full(self) -> bool:
        """Whether sound waits in memory, because there is no room on the disk."""
        return self._spool.full

    def keep(self) -> float:
        """Once listening has ended: write what waits, as far as there is room; until when."""
        self._spool.close()
        return self._spool.kept_until_s

    @property
    def speaking(self) -> bool:
        """Whether somebody is speaking now, the tool itself included."""
        return self._endpointer.speaking or self._shut_until_s is not None

    def speaks(self) -> None:
        """The tool begins to speak, which only begins when nobody does: the ear is shut.

        The sound is kept as always, and none of it is heard.
        """
        self._while_shut = []
        self._shut_until_s = self.at_s + LONGEST_SAYING_S

    def spoke(self) -> None:
        """The tool has ended; from any thread."""
        if self._shut_until_s is not None:
            self._shut_until_s = self.at_s + ECHO_S

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
        self._tell(self._endpointer.flush())

    def _shut(self, piece: Samples) -> Samples:
        """Silence in the place of a piece that is not to be heard."""
        shut_until_s = self._shut_until_s
        if shut_until_s is None:
            return piece
        self._while_shut.append(np.array(piece))
        if self.at_s >= shut_until_s:
            self._shut_until_s, self._opened_s = None, self.at_s
        return np.zeros_like(piece)

    def _over_own_voice(self, utterance: Utterance) -> Utterance:
        """One that began while the ear was shut has all the sound of that with it."""
        if abs(utterance.at_s + PRE_ROLL_S - self._opened_s) > JUST_AFTER_S:
            return utterance
        heard = utterance.samples[round((self._opened_s - utterance.at_s) * SAMPLE_RATE_HZ) :]
        samples = np.concatenate([*self._while_shut, heard])
        at_s = utterance.until_s - len(samples) / SAMPLE_RATE_HZ
        return replace(utterance, samples=samples, at_s=at_s, over_own_voice=True)

    def _begin_anew(self, at_s: float) -> None:
        self._endpointer = self._make()
        self._offset_s = at_s
        self._glimpsed_s = 0.0

    def _take(self, piece: Samples) -> None:
        self._spool.write(piece)
        if self._spool.full != self._was_full:
            self._was_full = self._spool.full
            self._told(Notice(self.at_s, _room(self._spool)))
        self.meter.push(piece)
        of, pause_s = self._pause
        known = of is not None and of == self._ahead_of
        self._endpointer.hang_over_s = pause_s if known else LIVE_HANG_OVER_S
        self._tell(self._endpointer.push(self._shut(piece)))
        self._look_ahead()

    def _tell(self, events: tuple[object, ...]) -> None:
        for event in events:
            if isinstance(event, Utterance):
                self._glimpsed_s = 0.0
                self.meter.spoken(event.samples)
                placed = replace(
                    event,
                    at_s=event.at_s + self._offset_s,
                    until_s=event.until_s + self._offset_s,
                    ended_at=time.monotonic(),
                )
                self._told(self._over_own_voice(placed))
            elif isinstance(event, SpeechBegan):
                self._told(SpeechBegan(event.at_s + self._offset_s))

    def _wait(self, place: Place, pause_s: float) -> None:
        self._pause = place, pause_s

    def _look_ahead(self) -> None:
        ending = self._endpointer.ending()
        place = None if ending is None else (ending.at_s + self._offset_s, ending.until_s)
        if ending is not None and place is not None and place != self._ahead_of:
            self._hints.ahead(ending.samples, partial(self._wait, place))
        self._ahead_of = place
        if ending is not None:
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
