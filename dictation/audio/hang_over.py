"""How long a silence ends an utterance, as this speaker pauses."""

from __future__ import annotations

from collections import deque

from dictation.audio.endpoint import LIVE_HANG_OVER_S

SHORTEST_S = 0.352
"""No speaker is cut sooner than this: inside words there are stops of up to 0.15 s, and between
words of one phrase our recordings pause up to 0.3 s."""

LONGEST_S = LIVE_HANG_OVER_S
MARGIN_S = 0.096
REMEMBERED = 20


class HangOver:
    """Follows the longest pauses that a speaker makes inside phrases."""

    def __init__(self) -> None:
        self.longest_s = LONGEST_S
        self._pauses_s: deque[float] = deque(maxlen=REMEMBERED)

    def take(self, pause_s: float) -> None:
        """The longest pause inside an utterance."""
        self._pauses_s.append(pause_s)

    def was_cut(self) -> None:
        """The speaker went on after the end: the longest pause was not long enough."""
        self._pauses_s.append(LONGEST_S)

    @property
    def now_s(self) -> float:
        """Silence to wait for. The longest until the speaker is known a little."""
        if len(self._pauses_s) < REMEMBERED // 2:
            return LONGEST_S
        return min(LONGEST_S, max(SHORTEST_S, max(self._pauses_s) + MARGIN_S))
