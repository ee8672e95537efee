"""The variants of a training, by name."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from dictation.recognition.learning import How
from tests.training.conditions import Conditions


@dataclass(frozen=True, slots=True)
class Variant:
    """How the model is taught, and how hard it is made.

    ``parts``: rows of trade, talk and human speech in a batch. ``joined``: pairs of phrases in one
    breath, besides.
    """

    how: How
    parts: tuple[float, float, float] = (0.62, 0.34, 0.04)
    seed: int = 1
    conditions: Conditions = field(default_factory=Conditions)
    joined: int = 0


_LOUD = Conditions(snr_db=(-3.0, 20.0), clean=0.12, echo=0.55, equaliser_db=6.0)
_CROWD = replace(_LOUD, talked_over=0.25, speed=(0.82, 1.2))
_BREATH = replace(_CROWD, talked_over=0.15)
_HERD = replace(_BREATH, notched=0.3)
_DECODER = ("model.decoder.layers.", "model.decoder.norm.")
_ALL = (*_DECODER, "model.encoder.")
_KIND = (0.5, 0.3, 0.2)
_SHED = (0.6, 0.25, 0.15)
_PEOPLE = replace(_HERD, clean=0.4, snr_db=(0.0, 22.0), talked_over=0.1, notched=0.2, late=0.12)
_WITH_PEOPLE = (0.5, 0.25, 0.25)
_GENTLE = How(_ALL, 1e-4, teacher=1.0, warm_up=50)
VARIANTS: dict[str, Variant] = {
    "adapters": Variant(How(("model.decoder.layers.",), 1e-3, rank=32)),
    "decoder": Variant(How(_DECODER, 1.5e-4)),
    "all": Variant(How(_ALL, 8e-5)),
    "all-quick": Variant(How(_ALL, 2.5e-4)),
    "kind": Variant(How(_ALL, 1.5e-4, teacher=2.0), _KIND),
    "kind-decoder": Variant(How(_DECODER, 2e-4, teacher=2.0), _KIND),
    "shed": Variant(How(_ALL, 1.5e-4, teacher=1.0), _SHED, 31, _LOUD),
    "shed-quick": Variant(How(_ALL, 2.5e-4, teacher=1.0), _SHED, 32, _LOUD),
    "crowd": Variant(How(_ALL, 2e-4, teacher=1.0), (0.6, 0.27, 0.13), 51, _CROWD),
    "crowd-quick": Variant(How(_ALL, 3e-4, teacher=0.7), (0.65, 0.25, 0.1), 52, _CROWD),
    "breath": Variant(How(_ALL, 1.5e-4, teacher=1.2), (0.6, 0.2, 0.2), 61, _BREATH, 9_000),
    "herd": Variant(How(_ALL, 2e-4, teacher=1.2), (0.6, 0.2, 0.2), 71, _HERD, 9_000),
    "herd-kind": Variant(How(_ALL, 2e-4, teacher=2.0), (0.55, 0.2, 0.25), 72, _HERD, 9_000),
    **{
        f"people-{n}": Variant(_GENTLE, _WITH_PEOPLE, 100 + n, _PEOPLE, 4_000) for n in (1, 2, 3, 4)
    },
    "people-rank": Variant(
        How(_ALL, 1e-3, rank=32, teacher=1.0, warm_up=50), _WITH_PEOPLE, 110, _PEOPLE, 4_000
    ),
}

CLEAN = Conditions(
    clean=1.0,
    speed=(1.0, 1.0),
    lead_s=(0.256, 0.256),
    tail_s=(0.256, 0.256),
    echo=0.0,
    band=0.0,
    coded=0.0,
    clipped=0.0,
    silent=0.0,
    equaliser_db=0.0,
    gain_db=(0.0, 0.0),
)
