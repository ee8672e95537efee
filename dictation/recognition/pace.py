"""Do the words account for the length of the voice?

A guided decoder likes to say less than was said. Spoken letters for each voiced second hardly vary:
on 455 tuning phrases of 7 synthetic voices they lay between 10 and 24 (standard deviation within a
voice 13 %), on human recordings between 8.8 and 20.
"""

from __future__ import annotations

import math

from dictation.recognition.spoken import letters_of
from grammar.normalise import normalise

#: Spoken letters a voiced second of the slowest ordinary speech. Raising it forces more words on a
#: slow speaker; lowering it lets words go missing.
SLOWEST = 8.0
#: Of the fastest. Lowering it drops words of a quick speaker.
FASTEST = 32.0
#: How quickly belief fades outside that range, as a share of the pace.
_SPREAD = 0.2
#: Voiced time that may belong to no word (breath, a gate), seconds.
_STRAY_S = 0.15
#: Most that pace may weigh, nats; it must not outvote the sound altogether.
_MOST_NATS = 30.0


def pace_nats(text: str, voiced_s: float) -> float:
    """What the pace of a text speaks against it: 0 at an ordinary pace, down to -30 nats."""
    said = letters_of(normalise(text))
    slow = said / max(voiced_s - _STRAY_S, 0.05)
    fast = said / (voiced_s + _STRAY_S)
    if slow < SLOWEST:
        off = math.log(SLOWEST / max(slow, 0.1))
    elif fast > FASTEST:
        off = math.log(fast / FASTEST)
    else:
        return 0.0
    return -min(_MOST_NATS, 0.5 * (off / _SPREAD) ** 2)
