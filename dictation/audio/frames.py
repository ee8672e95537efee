"""Where sound comes from, be it a file or a microphone: one protocol for both."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from dictation.audio.reading import Heed, Notice, ignore
from dictation.audio.samples import Samples


@dataclass(frozen=True, slots=True)
class Lost(Notice):
    """The device has gone: nothing is listened to until an ``Interruption`` tells its end."""


@dataclass(frozen=True, slots=True)
class Interruption(Notice):
    """Nothing could be listened to from ``at_s`` until ``until_s``, seconds of the stream."""

    until_s: float


class FrameSource(Protocol):
    """A stream of sound. ``Recording`` and ``Microphone`` are both."""

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        """Mono float32 pieces at 16 kHz in order; what is worth telling goes to ``heed``.

        A piece of no samples means that nothing has come yet. Where sound is missing and its length
        is known, an ``Interruption`` goes to ``heed`` before the piece that follows it.
        """
        ...
