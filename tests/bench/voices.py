"""The voices of the benches: who speaks, how, and on which side of the split.

No engine at hand has an Irish or an Australasian voice of English, so there is none here. The
engines are those of ``synthesis``; one that is not on the machine is named and left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Split(StrEnum):
    """``TUNE`` may be tuned and trained on; ``HELD_OUT`` is measured and nothing else."""

    TUNE = "tune"
    HELD_OUT = "held-out"


class Manner(StrEnum):
    """How it is spoken. ``BREATHLESS``: quick, broken by drawn breaths, trailing off."""

    PLAIN = "plain"
    FAST = "fast"
    SLOW = "slow"
    BREATHLESS = "breathless"


RATE = {Manner.PLAIN: 1.0, Manner.FAST: 1.3, Manner.SLOW: 0.8, Manner.BREATHLESS: 1.2}
"""Speaking rate by manner, as a multiple of the voice's own."""


@dataclass(frozen=True, slots=True)
class Voice:
    """A speaker in one setting.

    ``speaker``: the engine's own name of it. ``pitch``: multiple of the speaker's own pitch, where
    the engine can change it. ``sex``: m or f, as it sounds.
    """

    name: str
    engine: str
    speaker: str
    accent: str
    sex: str
    split: Split
    manner: Manner = Manner.PLAIN
    pitch: float = 1.0


def _espeak(accent: str, code: str, variant: str, manner: Manner, split: Split) -> Voice:
    sex = "f" if variant.startswith("f") or variant in {"Alicia", "belinda", "linda"} else "m"
    name = f"espeak-{code.removeprefix('en-')}-{variant}"
    return Voice(name, "espeak", f"{code}+{variant}", accent, sex, split, manner)


_T, _H = Split.TUNE, Split.HELD_OUT
_P, _F, _S, _B = Manner.PLAIN, Manner.FAST, Manner.SLOW, Manner.BREATHLESS

VOICES: tuple[Voice, ...] = (
    # ---- to tune on
    Voice("hibari-heart", "hibari", "us", "American", "f", _T),
    Voice("hibari-heart-fast", "hibari", "us", "American", "f", _T, _F),
    Voice("hibari-heart-breathless", "hibari", "us", "American", "f", _T, _B),
    Voice("hibari-heart-british", "hibari", "british", "British", "f", _T),
    Voice("kokoro-alpha", "kokoro", "jf_alpha/us", "American", "f", _T),
    Voice("kokoro-gongitsune-british", "kokoro", "jf_gongitsune/british", "British", "f", _T),
    Voice("kokoro-nezumi-fast", "kokoro", "jf_nezumi/us", "American", "f", _T, _F),
    Voice("kokoro-tebukuro-british", "kokoro", "jf_tebukuro/british", "British", "f", _T, _S),
    Voice("flite-rms", "flite", "rms", "American", "m", _T),
    Voice("flite-rms-fast", "flite", "rms", "American", "m", _T, _F),
    Voice("flite-rms-breathless", "flite", "rms", "American", "m", _T, _B, 1.1),
    Voice("flite-awb", "flite", "awb", "Scottish", "m", _T),
    Voice("flite-awb-slow", "flite", "awb", "Scottish", "m", _T, _S),
    Voice("flite-awb-high", "flite", "awb", "Scottish", "m", _T, _P, 1.2),
    Voice("flite-kal16", "flite", "kal16", "American", "m", _T),
    Voice("flite-kal16-fast", "flite", "kal16", "American", "m", _T, _F, 1.15),
    _espeak("British", "en", "f2", _P, _T),
    _espeak("British", "en-gb-x-rp", "m3", _P, _T),
    _espeak("British", "en-gb-x-gbclan", "f4", _S, _T),
    _espeak("British", "en-gb-x-gbcwmd", "m7", _F, _T),
    _espeak("American", "en-us", "linda", _P, _T),
    _espeak("American", "en-us-nyc", "m1", _P, _T),
    # ---- measured only
    Voice("piper-joe", "piper", "joe", "American", "m", _H),
    Voice("piper-joe-fast", "piper", "joe", "American", "m", _H, _F),
    Voice("piper-joe-slow", "piper", "joe", "American", "m", _H, _S),
    Voice("piper-joe-breathless", "piper", "joe", "American", "m", _H, _B),
    Voice("kokoro-kumo", "kokoro", "jm_kumo/us", "American", "m", _H),
    Voice("kokoro-kumo-british", "kokoro", "jm_kumo/british", "British", "m", _H),
    Voice("kokoro-kumo-british-fast", "kokoro", "jm_kumo/british", "British", "m", _H, _F),
    Voice("festival-ked", "festival", "ked_diphone", "American", "m", _H),
    Voice("festival-slt", "festival", "cmu_us_slt_arctic_hts", "American", "f", _H),
    Voice("flite-slt", "flite", "slt", "American", "f", _H),
    Voice("flite-slt-fast", "flite", "slt", "American", "f", _H, _F),
    Voice("flite-slt-slow", "flite", "slt", "American", "f", _H, _S),
    Voice("flite-slt-breathless", "flite", "slt", "American", "f", _H, _B),
    Voice("flite-slt-low", "flite", "slt", "American", "f", _H, _P, 0.85),
    _espeak("Caribbean", "en-029", "m3", _P, _H),
    _espeak("Caribbean", "en-029", "f2", _P, _H),
    _espeak("Caribbean", "en-029", "f4", _F, _H),
    _espeak("Caribbean", "en-029", "m7", _S, _H),
    _espeak("Scottish", "en-gb-scotland", "m3", _P, _H),
    _espeak("Scottish", "en-gb-scotland", "f2", _P, _H),
    _espeak("Scottish", "en-gb-scotland", "belinda", _S, _H),
    _espeak("Scottish", "en-gb-scotland", "m1", _F, _H),
)

DEBIAN_ENGINES = frozenset({"flite", "espeak", "festival"})
"""Engines that come as Debian packages: what the small bench may count on."""


def voices_of(split: Split, engines: frozenset[str] | None = None) -> tuple[Voice, ...]:
    """The voices of one side of the split, of these engines only where some are named."""
    return tuple(v for v in VOICES if v.split is split and (engines is None or v.engine in engines))


def voice(name: str) -> Voice:
    """The voice of that name. Raises KeyError."""
    return _BY_NAME[name]


_BY_NAME = {v.name: v for v in VOICES}
