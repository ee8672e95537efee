# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""One training of the speech model on an accelerator, which goes on where it was stopped.

Every minute what has been learned is kept beside the result, and taken up again by the next call.
At the end what validates is measured.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.console.terminal import bar
from dictation.recognition.learning import Pieces
from dictation.recognition.learning.network import read_base
from dictation.recognition.learning.steps import Batch, Learner, targets
from dictation.recognition.learning.weights import write_model
from tests.training.corpus import HUMAN, TALK, TRADE, Recording
from tests.training.joining import joined
from tests.training.measure import measured
from tests.training.people import Surroundings
from tests.training.sound import Sounds, noise_bank
from tests.training.variants import CLEAN, VARIANTS, Variant

MOST_ROWS = 160
KEEP_EVERY_S = 60.0


@dataclass(frozen=True, slots=True)
class Course:
    """What a training is: models to begin with and to learn by, sound, and how long.

    ``batch_s``: seconds of sound in a batch; the card's memory sets its limit. ``real``: noise and
    rooms to mix in, if there are any.
    """

    base: Path
    teacher: Path
    variant: str
    steps: int
    batch_s: float
    real: Surroundings | None = None


class Rows:
    """The recordings that are trained on, by kind and length, and their tokens."""

    def __init__(
        self, recordings: Sequence[Recording], tokens: list[list[int]], batch_s: float
    ) -> None:
        self.lengths = np.array([len(r.samples) for r in recordings])
        self.tokens = tokens
        self._batch_samples = batch_s * SAMPLE_RATE_HZ
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
        most = self._batch_samples / (length + SAMPLE_RATE_HZ)
        rows = max(1, int(min(MOST_ROWS, most)))
        chosen = []
        for pool, count in zip(pools, rng.multinomial(rows, shares / shares.sum()), strict=True):
            rank = np.searchsorted(self.lengths[pool], length)
            reach = max(40, len(pool) // 25)
            near = rng.integers(max(0, rank - reach), min(len(pool), rank + reach), count)
            chosen.append(pool[near])
        return np.concatenate(chosen)


class Training:
    """A course under way."""

    def __init__(
        self, course: Course, recordings: Sequence[Recording], device: torch.device
    ) -> None:
        self.variant: Variant = VARIANTS[course.variant]
        self.device = device
        torch.manual_seed(self.variant.seed)
        self.chance = torch.Generator(device).manual_seed(self.variant.seed)
        self.rng = np.random.default_rng(self.variant.seed)
        base = read_base(course.base)
        self.learner = Learner(base, read_base(course.teacher), self.variant.how, device)
        self.pieces = Pieces(base.table)
        spoken = [*recordings, *joined(recordings, self.variant.joined, self.variant.seed)]
        real = course.real
        noise = noise_bank(device, self.variant.seed, None if real is None else real.noise)
        rooms = None if real is None else real.rooms
        self.sounds = Sounds([r.samples for r in spoken], noise, device, rooms)
        tokens = [self.pieces.encode(r.written) for r in spoken]
        self.rows = Rows(spoken, tokens, course.batch_s)
        self.is_trade = torch.tensor([r.kind == TRADE for r in spoken], device=device)

    def step(self, share: float) -> tuple[Tensor, Tensor]:
        """One batch; ``share`` of the steps that are done."""
        chosen = self.rows.draw(self.variant.parts, self.rng)
        heard, clean, silent = self.sounds.batch(chosen, self.variant.conditions, self.chance)
        said = zip(chosen, silent.tolist(), strict=True)
        given, wanted = targets([[] if s else self.rows.tokens[c] for c, s in said], self.device)
        kept = ~self.is_trade[torch.from_numpy(chosen).to(self.device)] & ~silent
        return self.learner.step(Batch(heard, clean, given, wanted, kept), share)

    def state(self) -> dict[str, Any]:
        """All that it takes to go on as if nothing had been."""
        chances = {"chance": self.chance.get_state(), "rng": self.rng.bit_generator.state}
        return self.learner.state() | chances

    def go_on(self, state: dict[str, Any]) -> None:
        """Go on from where ``state`` was taken."""
        self.learner.go_on(state)
        self.chance.set_state(state["chance"].cpu())
        self.rng.bit_generator.state = state["rng"]


def train(course: Course, recordings: Sequence[Recording], kept: Path, folder: Path) -> None:
    """Train, and write a model folder. ``kept``: the file in which a stopped training waits."""
    # each length of sound has a plan of its own; unbounded, their workspaces fill the card
    if torch.cuda.is_available():
        torch.backends.cuda.cufft_plan_cache.max_size = 8
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    training = Training(course, recordings, device)
    if kept.is_file():
        training.go_on(torch.load(kept, map_location=device, weights_only=True))
    _take_steps(training, course, kept)
    learner = training.learner
    write_model(course.base, learner.moved(), folder)
    lines = [
        f"{name}\t{line}\n"
        for name, model in (("teacher", learner.teacher), (course.variant, learner.model))
        for line in measured(model, training.pieces, recordings, device, CLEAN)
    ]
    (folder / "measured.tsv").write_text("".join(lines), encoding="utf-8")
    kept.unlink(missing_ok=True)


def _take_steps(training: Training, course: Course, kept: Path) -> None:
    saved = time.monotonic()
    learner = training.learner
    with bar(f"training {course.variant}") as progress:
        while learner.steps < course.steps:
            loss, apart = training.step(learner.steps / course.steps)
            progress.show(learner.steps, course.steps)
            if time.monotonic() - saved > KEEP_EVERY_S or learner.steps == course.steps:
                saved = time.monotonic()
                _keep(training, kept)
                how_far = f"loss {float(loss):.3f}, apart {float(apart):.3f}"
                print(f"{course.variant}: {learner.steps} steps, {how_far}", flush=True)


def _keep(training: Training, path: Path) -> None:
    fresh = path.with_suffix(".part")
    torch.save(training.state(), fresh)
    fresh.replace(path)
