"""A sentence that the tool speaks, and what the microphone hears meanwhile.

The sound is held back from the end-pointer until it is over. Then it is handed on without the
tool's own voice. Who speaks meanwhile makes the tool stop.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from dictation.audio.own_voice import Beside, beside_own_voice
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples

LOOK_EVERY_S = 0.25
"""So often it is looked whether somebody speaks; a look takes 0.05 to 0.2 s of processor."""

ECHO_S = 0.35
"""How long the ear waits behind the tool's last word: output delay and the shed's echo."""


def _nothing() -> None:
    """There is nothing to be stopped."""


@dataclass(slots=True)
class Saying:
    """``played``: the sentence at 16 kHz; ``until_s``: when it is over, in the visit's audio.

    ``leaks``: whether the microphone heard the tool the last time. ``hush``: stops the player at
    once. ``hushed``: somebody made it stop.
    """

    played: Samples
    until_s: float
    hush: Callable[[], None] = _nothing
    hushed: bool = False
    leaks: bool = True
    from_s: float | None = None
    _held: list[Samples] = field(default_factory=list)
    _looked_s: float = 0.0

    def take(self, piece: Samples, at_s: float) -> None:
        """Hold a piece of the microphone back, which ends at ``at_s``."""
        if self.from_s is None:
            self.from_s = self._looked_s = at_s - len(piece) / SAMPLE_RATE_HZ
        self._held.append(np.array(piece))
        if not self.hushed and at_s - self._looked_s >= LOOK_EVERY_S:
            self._looked_s = at_s
            if self.beside().others:
                self._stop(at_s)

    def beside(self) -> Beside:
        """What others have said meanwhile, of all that was held back."""
        held = np.concatenate([np.zeros(0, np.float32), *self._held])
        return beside_own_voice(held, self.played, self.leaks)

    def _stop(self, at_s: float) -> None:
        self.hushed = True
        self.hush()
        assert self.from_s is not None
        self.played = self.played[: round((at_s - self.from_s) * SAMPLE_RATE_HZ)]
        self.until_s = min(self.until_s, at_s + ECHO_S)
