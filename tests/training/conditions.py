"""How hard the training sound is made."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Conditions:
    """How hard it is made, as chances and ranges; ranges in dB, seconds, or as factors.

    ``clean``: chance of no noise to speak of. ``silent``: chance that nothing is said at all.
    ``talked_over``: chance that others of the recordings are heard in the noise. ``notched``:
    chance that a band of the speech is missing, as with a headset that sits badly. ``late``: chance
    that its first tenth of a second is, as with one that wakes on speech.
    """

    snr_db: tuple[float, float] = (0.0, 25.0)
    clean: float = 0.15
    speed: tuple[float, float] = (0.88, 1.14)
    lead_s: tuple[float, float] = (0.05, 0.5)
    tail_s: tuple[float, float] = (0.1, 0.7)
    echo: float = 0.5
    band: float = 0.4
    coded: float = 0.08
    clipped: float = 0.05
    silent: float = 0.02
    equaliser_db: float = 5.0
    gain_db: tuple[float, float] = (-5.0, 3.0)
    talked_over: float = 0.0
    notched: float = 0.0
    late: float = 0.0
