# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""One step of learning after another: towards the words that were said, not away from a teacher.

The teacher is a model whose opinion of what is not to be learned, everyday talk, is to be kept.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import torch
from torch import Tensor, nn

from dictation.recognition.learning import How
from dictation.recognition.learning.network import Base, build, encode, final_weights, logits
from dictation.recognition.learning.weights import Floats
from dictation.recognition.tokens import BEGIN, END

IGNORED = -100
LARGEST_GRADIENT = 1.0


@dataclass(frozen=True, slots=True)
class Batch:
    """Rows to learn from. ``heard``, ``clean``: sound [rows, samples], with and without harm.

    ``given``, ``wanted``: tokens as ``targets`` makes them. ``kept``: rows [rows] on which the
    teacher's opinion of the clean sound is to be kept.
    """

    heard: Tensor
    clean: Tensor
    given: Tensor
    wanted: Tensor
    kept: Tensor


def targets(tokens: Sequence[Sequence[int]], device: torch.device) -> tuple[Tensor, Tensor]:
    """Tokens in, BEGIN first, and tokens to come, IGNORED behind the end: [rows, n] both."""
    longest = max(map(len, tokens)) + 1
    given = torch.full((len(tokens), longest), END)
    wanted = torch.full((len(tokens), longest), IGNORED)
    for row, of_row in enumerate(tokens):
        given[row, : len(of_row) + 1] = torch.tensor([BEGIN, *of_row])
        wanted[row, : len(of_row) + 1] = torch.tensor([*of_row, END])
    return given.to(device), wanted.to(device)


class Learner:
    """A network that learns; ``steps`` taken so far."""

    def __init__(self, base: Base, teacher: Base, how: How, device: torch.device) -> None:
        self._how = how
        self.steps = 0
        self.teacher = build(teacher).to(device).eval().requires_grad_(False)
        self.model = build(base, how.moving if how.rank else (), how.rank).to(device)
        for name, parameter in self.model.named_parameters():
            moves = name.startswith(how.moving)
            added = name.endswith((".up", ".down"))
            parameter.requires_grad_(moves and (added or not how.rank))
        self._moving = [p for p in self.model.parameters() if p.requires_grad]
        self._optimiser = torch.optim.AdamW(self._moving, how.rate, (0.9, 0.98), weight_decay=0.0)

    def step(self, batch: Batch, share: float) -> tuple[Tensor, Tensor]:
        """Learn from one batch; ``share``: of all steps that are done, for the rate.

        How far it is from the words, and from the teacher.
        """
        rate = self._how.rate * min(1.0, (self.steps + 1) / self._how.warm_up)
        for group in self._optimiser.param_groups:
            group["lr"] = rate * 0.5 * (1 + math.cos(math.pi * min(1.0, share)))
        scored = logits(self.model, encode(self.model, batch.heard), batch.given)
        loss = nn.functional.cross_entropy(
            scored.flatten(0, 1), batch.wanted.flatten(), ignore_index=IGNORED
        )
        apart = self._apart(scored, batch)
        self._optimiser.zero_grad(set_to_none=True)
        (loss + self._how.teacher * apart).backward()
        nn.utils.clip_grad_norm_(self._moving, LARGEST_GRADIENT)
        self._optimiser.step()
        self.steps += 1
        return loss.detach(), apart.detach()

    def _apart(self, scored: Tensor, batch: Batch) -> Tensor:
        """Divergence from the teacher's opinion of the same words in clean sound."""
        if not bool(batch.kept.any()):
            return scored.new_zeros(())
        given = batch.given[batch.kept]
        with torch.no_grad():
            hidden = encode(self.teacher, batch.clean[batch.kept])
            opinion = logits(self.teacher, hidden, given).log_softmax(-1)
        own = scored[batch.kept].log_softmax(-1)
        by_token = (opinion.exp() * (opinion - own)).sum(-1)
        return by_token[batch.wanted[batch.kept] != IGNORED].mean()

    def moved(self) -> dict[str, Floats]:
        """The weights that may have moved, by name, for ``write_model``."""
        return {
            name: weight.float().cpu().numpy()
            for name, weight in final_weights(self.model).items()
            if name.startswith(self._how.moving)
        }

    def state(self) -> dict[str, Any]:
        """All that a learner must know to go on later."""
        model, optimiser = self.model.state_dict(), self._optimiser.state_dict()
        return {"model": model, "optimiser": optimiser, "steps": self.steps}

    def go_on(self, state: dict[str, Any]) -> None:
        """Go on from where ``state`` was taken."""
        self.model.load_state_dict(state["model"])
        self._optimiser.load_state_dict(state["optimiser"])
        self.steps = state["steps"]
