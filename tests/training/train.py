# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""One training of the speech model on an accelerator, inside a time limit, with checkpoints.

    python -m tests.training.train VARIANT SECONDS BASE.npz OUT_FOLDER STEM ...

BASE is a packed model (``pack``), each STEM a corpus. Variants are below. Every minute, and at the
end, the matrices that changed go to OUT_FOLDER/VARIANT.npz as differences on the int8 grid, from
which ``export`` makes a model folder; a file of that name in RESUME_FOLDER is where a training goes
on. What validates is measured at the end and written to OUT_FOLDER/VARIANT.tsv.
"""

from __future__ import annotations

import math
import os
import sys
import time
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn

from dictation.audio.samples import SAMPLE_RATE_HZ
from tests.training.corpus import HUMAN, TALK, TRADE, Recording, read_corpus
from tests.training.joining import joined
from tests.training.measure import measured
from tests.training.network import (
    BEGIN,
    END,
    build,
    encode,
    final_weights,
    logits,
)
from tests.training.pack import Base, changed, read_base, with_changes
from tests.training.pieces import Pieces
from tests.training.sound import Conditions, Sounds, noise_bank

SECONDS_A_BATCH = 512.0
MOST_ROWS = 160
CHECKPOINT_EVERY_S = 60.0
IGNORED = -100


@dataclass(frozen=True, slots=True)
class Variant:
    """What is trained, and how hard.

    ``trained``: beginnings of the names of the weights that move; ``rank``: of the low-rank
    additions, 0 for the weights themselves; ``teacher``: weight of the base model's opinion on
    talk and human speech; ``parts``: rows of trade, talk and human speech in a batch;
    ``conditions``: how hard it is made. ``joined``: pairs of phrases in one breath, besides.
    """

    trained: tuple[str, ...]
    rate: float
    rank: int = 0
    teacher: float = 0.5
    parts: tuple[float, float, float] = (0.62, 0.34, 0.04)
    seed: int = 1
    conditions: Conditions = field(default_factory=Conditions)
    joined: int = 0


_LOUD = Conditions(snr_db=(-3.0, 20.0), clean=0.12, echo=0.55, equaliser_db=6.0)
_CROWD = replace(_LOUD, talked_over=0.25, speed=(0.82, 1.2))
_HERD = replace(_CROWD, talked_over=0.15, notched=0.3)
_DECODER = ("model.decoder.layers.", "model.decoder.norm.")
_ALL = (*_DECODER, "model.encoder.")
VARIANTS: dict[str, Variant] = {
    "adapters": Variant(("model.decoder.layers.",), 1e-3, rank=32),
    "decoder": Variant(_DECODER, 1.5e-4),
    "all": Variant(_ALL, 8e-5),
    "all-quick": Variant(_ALL, 2.5e-4),
    "kind": Variant(_ALL, 1.5e-4, teacher=2.0, parts=(0.5, 0.3, 0.2)),
    "shed": Variant(_ALL, 1.5e-4, teacher=1.0, parts=(0.6, 0.25, 0.15), seed=31, conditions=_LOUD),
    "shed-quick": Variant(
        _ALL, 2.5e-4, teacher=1.0, parts=(0.6, 0.25, 0.15), seed=32, conditions=_LOUD
    ),
    "crowd": Variant(_ALL, 2e-4, teacher=1.0, parts=(0.6, 0.27, 0.13), seed=51, conditions=_CROWD),
    "crowd-quick": Variant(
        _ALL, 3e-4, teacher=0.7, parts=(0.65, 0.25, 0.1), seed=52, conditions=_CROWD
    ),
    "breath": Variant(
        _ALL,
        1.5e-4,
        teacher=1.2,
        parts=(0.6, 0.2, 0.2),
        seed=61,
        conditions=replace(_CROWD, talked_over=0.15),
        joined=9_000,
    ),
    "herd": Variant(_ALL, 2e-4, 0, 1.2, (0.6, 0.2, 0.2), 71, _HERD, joined=9_000),
    "herd-kind": Variant(_ALL, 2e-4, 0, 2.0, (0.55, 0.2, 0.25), 72, _HERD, joined=9_000),
    "kind-decoder": Variant(_DECODER, 2e-4, teacher=2.0, parts=(0.5, 0.3, 0.2)),
}


class Rows:
    """The recordings that are trained on, by kind and length, and their tokens."""

    def __init__(self, recordings: list[Recording], tokens: list[list[int]]) -> None:
        self.lengths = np.array([len(r.samples) for r in recordings])
        self.tokens = tokens
        trained = np.array([not r.validation for r in recordings])
        kinds = np.array([r.kind for r in recordings])
        self.pools = []
        for kind in (TRADE, TALK, HUMAN):
            pool = np.flatnonzero(trained & (kinds == kind))
            self.pools.append(pool[np.argsort(self.lengths[pool], kind="stable")])

    def draw(self, parts: tuple[float, float, float], rng: np.random.Generator) -> np.ndarray:
        """Recordings of about one length, in the given shares of the kinds."""
        pools = [p for p in self.pools if len(p)]
        shares = np.array([s for s, p in zip(parts, self.pools, strict=True) if len(p)])
        weights = np.array([len(p) for p in pools[:2]], float)
        anchor = rng.choice(pools[rng.choice(len(pools[:2]), p=weights / weights.sum())])
        length = self.lengths[anchor]
        rows = int(min(MOST_ROWS, SECONDS_A_BATCH * SAMPLE_RATE_HZ / (length + SAMPLE_RATE_HZ)))
        chosen = []
        for pool, count in zip(pools, rng.multinomial(rows, shares / shares.sum()), strict=True):
            rank = np.searchsorted(self.lengths[pool], length)
            reach = max(40, len(pool) // 25)
            near = rng.integers(max(0, rank - reach), min(len(pool), rank + reach), count)
            chosen.append(pool[near])
        return np.concatenate(chosen)

    def targets(
        self, chosen: np.ndarray, silent: Tensor, device: torch.device
    ) -> tuple[Tensor, Tensor]:
        """Tokens in, BEGIN first, and tokens to come, IGNORED behind the end: [rows, n] both."""
        lists = [
            [] if quiet else self.tokens[c]
            for c, quiet in zip(chosen, silent.tolist(), strict=True)
        ]
        longest = max(len(t) for t in lists) + 1
        given = torch.full((len(lists), longest), END)
        wanted = torch.full((len(lists), longest), IGNORED)
        for row, tokens in enumerate(lists):
            given[row, : len(tokens) + 1] = torch.tensor([BEGIN, *tokens])
            wanted[row, : len(tokens) + 1] = torch.tensor([*tokens, END])
        return given.to(device), wanted.to(device)


class Training:
    """A variant under way."""

    def __init__(
        self, variant: Variant, base: Base, recordings: list[Recording], device: torch.device
    ) -> None:
        self.variant, self.base, self.device = variant, base, device
        torch.manual_seed(variant.seed)
        self.chance = torch.Generator(device).manual_seed(variant.seed)
        self.rng = np.random.default_rng(variant.seed)
        self.teacher = build(base.weights, base.grids).to(device).eval().requires_grad_(False)
        self.sounds = Sounds(
            [r.samples for r in recordings], noise_bank(device, variant.seed), device
        )
        self.pieces = Pieces(base.table)
        self.rows = Rows(recordings, [self.pieces.encode(r.written) for r in recordings])
        self.is_trade = torch.tensor([r.kind == TRADE for r in recordings], device=device)
        self.steps = 0
        self.loss = self.apart = math.nan

    def start(self, changes: dict[str, np.ndarray] | None) -> None:
        """Build the network to train, from the original or from where a training stopped."""
        weights = with_changes(self.base, changes) if changes else self.base.weights
        variant = self.variant
        low_rank = variant.trained if variant.rank else ()
        self.model = build(weights, self.base.grids, low_rank, variant.rank).to(self.device)
        for name, parameter in self.model.named_parameters():
            moves = name.startswith(variant.trained)
            parameter.requires_grad_(
                moves and (not variant.rank or name.endswith((".up", ".down")))
            )
        moving = [p for p in self.model.parameters() if p.requires_grad]
        self.optimiser = torch.optim.AdamW(moving, variant.rate, (0.9, 0.98), weight_decay=0.0)
        self.moving = moving

    def step(self, share: float) -> None:
        """One batch; ``share`` of the time that has gone, for the rate."""
        warm = min(1.0, (self.steps + 1) / 150)
        for group in self.optimiser.param_groups:
            group["lr"] = self.variant.rate * warm * 0.5 * (1 + math.cos(math.pi * min(1.0, share)))
        chosen = self.rows.draw(self.variant.parts, self.rng)
        heard, clean, silent = self.sounds.batch(chosen, self.variant.conditions, self.chance)
        given, wanted = self.rows.targets(chosen, silent, self.device)
        scored = logits(self.model, encode(self.model, heard), given)
        loss = nn.functional.cross_entropy(
            scored.flatten(0, 1), wanted.flatten(), ignore_index=IGNORED
        )
        taught = ~self.is_trade[torch.from_numpy(chosen).to(self.device)] & ~silent
        apart = self._apart(scored[taught], clean[taught], given[taught], wanted[taught])
        total = loss + self.variant.teacher * apart
        self.optimiser.zero_grad(set_to_none=True)
        total.backward()
        nn.utils.clip_grad_norm_(self.moving, 1.0)
        self.optimiser.step()
        self.steps += 1
        if self.steps % 50 == 0:
            self.loss, self.apart = float(loss), float(apart)

    def _apart(self, scored: Tensor, clean: Tensor, given: Tensor, wanted: Tensor) -> Tensor:
        """Divergence from the base model's opinion of the same words in clean sound."""
        if not len(scored):
            return scored.sum()
        with torch.no_grad():
            opinion = logits(self.teacher, encode(self.teacher, clean), given).log_softmax(-1)
        own = scored.log_softmax(-1)
        by_token = (opinion.exp() * (opinion - own)).sum(-1)
        return by_token[wanted != IGNORED].mean()

    def changes(self) -> dict[str, np.ndarray]:
        """What differs from the original, on the grid."""
        return changed(self.base, final_weights(self.model))


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


def run(name: str, seconds: float, base: Path, out: Path, stems: list[Path]) -> None:
    """Train, keep checkpoints, measure, and write what was measured."""
    # each length of sound has a plan of its own; unbounded, their workspaces fill the card
    if torch.cuda.is_available():
        torch.backends.cuda.cufft_plan_cache.max_size = 8
    begun = time.monotonic()
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    recordings = [r for stem in stems for r in read_corpus(stem)]
    variant = VARIANTS.get(name, VARIANTS["all"])
    recordings += joined(recordings, variant.joined, variant.seed)
    training = Training(variant, read_base(base), recordings, device)
    lines = []
    if name == "original":
        lines = measured(training.teacher, training.pieces, recordings, device, CLEAN)
    else:
        resumed = Path(os.environ.get("RESUME_FOLDER", "/nowhere")) / f"{name}.npz"
        training.start(dict(np.load(resumed)) if resumed.is_file() else None)
        _train(training, name, begun, seconds, out)
        lines = measured(training.model, training.pieces, recordings, device, CLEAN)
    text = "".join(f"{name}\t{training.steps}\t{line}\n" for line in lines)
    (out / f"{name}.tsv").write_text(text, encoding="utf-8")
    print(f"{text}{name}: {time.monotonic() - begun:.0f} s in all", flush=True)


def _train(training: Training, name: str, begun: float, seconds: float, out: Path) -> None:
    started = saved = time.monotonic()
    limit = seconds - (started - begun)
    print(f"{name}: begins after {started - begun:.0f} s, {limit:.0f} s to go", flush=True)
    while (gone := time.monotonic() - started) < limit:
        training.step(gone / limit)
        if time.monotonic() - saved > CHECKPOINT_EVERY_S:
            saved = time.monotonic()
            _save(training, out / f"{name}.npz")
            print(
                f"{name}: {gone:.0f} s, {training.steps} steps, loss {training.loss:.3f}, "
                f"apart {training.apart:.3f}",
                flush=True,
            )
    _save(training, out / f"{name}.npz")


def _save(training: Training, path: Path) -> None:
    fresh = path.with_suffix(".part.npz")
    np.savez_compressed(fresh, allow_pickle=False, **training.changes())
    fresh.replace(path)


if __name__ == "__main__":
    run(
        sys.argv[1],
        float(sys.argv[2]),
        Path(sys.argv[3]),
        Path(sys.argv[4]),
        [Path(stem) for stem in sys.argv[5:]],
    )
