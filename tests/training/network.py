# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""The speech model as a PyTorch network that can be trained and still fits its int8 file.

The architecture is transformers' Moonshine. Its linear layers are replaced by ``GriddedLinear``,
which rounds the weights to the file's int8 grid in the forward pass and lets gradients through
unrounded, so that what is trained is what is shipped: a change smaller than half a step of the grid
would otherwise vanish at export.
"""

from __future__ import annotations

from collections.abc import Iterable

import torch
from torch import Tensor, nn
from transformers import MoonshineConfig, MoonshineForConditionalGeneration

from tests.training.weights import Grid

BEGIN, END = 1, 2
TIED = ("model.decoder.embed_tokens.weight", "proj_out.weight")


class _Rounded(torch.autograd.Function):
    @staticmethod
    def forward(ctx: object, weight: Tensor, scale: float, offset: float) -> Tensor:
        low, high = -offset * scale, (255 - offset) * scale
        return torch.clamp(torch.round(weight / scale) * scale, low, high)

    @staticmethod
    def backward(ctx: object, *grad: Tensor) -> tuple[Tensor, None, None]:
        return grad[0], None, None


class GriddedLinear(nn.Module):
    """A linear layer on the grid of its file, with an optional low-rank addition."""

    def __init__(self, linear: nn.Linear, grid: Grid, rank: int = 0) -> None:
        super().__init__()
        self.weight = linear.weight
        self.bias = linear.bias
        self.grid = grid
        if rank:
            self.down = nn.Parameter(torch.randn(rank, linear.in_features) / rank)
            self.up = nn.Parameter(torch.zeros(linear.out_features, rank))
        self.rank = rank

    def placed(self) -> Tensor:
        """The weight with its addition, not yet rounded."""
        return self.weight + self.up @ self.down if self.rank else self.weight

    def forward(self, x: Tensor) -> Tensor:
        """The product with the rounded weight."""
        weight = _Rounded.apply(self.placed(), self.grid.scale, self.grid.offset)
        return nn.functional.linear(x, weight, self.bias)


def build(
    weights: dict[str, Tensor], grids: dict[str, Grid], low_rank: Iterable[str] = (), rank: int = 0
) -> MoonshineForConditionalGeneration:
    """The network with these weights; ``low_rank``: beginnings of the layers to add a rank to.

    Raises KeyError for a weight that the architecture has and ``weights`` has not.
    """
    config = MoonshineConfig(attn_implementation="sdpa", pad_token_id=END)
    model = MoonshineForConditionalGeneration(config)
    model.load_state_dict(weights, strict=True)
    model.tie_weights()
    low_rank = tuple(low_rank)
    for name, module in list(model.named_modules()):
        if not isinstance(module, nn.Linear):
            continue
        parent = model.get_submodule(name.rpartition(".")[0])
        own = rank if name.startswith(low_rank) and low_rank else 0
        gridded = GriddedLinear(module, grids[f"{name}.weight"], own)
        setattr(parent, name.rpartition(".")[2], gridded)
    return model


def encode(model: MoonshineForConditionalGeneration, sound: Tensor) -> Tensor:
    """Encoder output [rows, frames, width] of sound [rows, samples]; every row is full length."""
    output: Tensor = model.model.encoder(sound).last_hidden_state
    return output


def logits(model: MoonshineForConditionalGeneration, hidden: Tensor, tokens: Tensor) -> Tensor:
    """Logits [rows, tokens, vocabulary] after each of ``tokens`` [rows, tokens], BEGIN first."""
    decoded = model.model.decoder(
        input_ids=tokens, encoder_hidden_states=hidden, use_cache=False
    ).last_hidden_state
    scored: Tensor = model.proj_out(decoded)
    return scored


@torch.no_grad()
def greedy(
    model: MoonshineForConditionalGeneration, sound: Tensor, longest: int
) -> list[list[int]]:
    """The likeliest tokens, one after another, of every row; without BEGIN and END."""
    hidden = encode(model, sound)
    tokens = torch.full((len(sound), 1), BEGIN, dtype=torch.long, device=sound.device)
    done = torch.zeros(len(sound), dtype=torch.bool, device=sound.device)
    for _ in range(longest):
        decoded = model.model.decoder(
            input_ids=tokens, encoder_hidden_states=hidden, use_cache=False
        ).last_hidden_state
        best = model.proj_out(decoded[:, -1]).argmax(-1)
        best = torch.where(done, END, best)
        tokens = torch.cat([tokens, best[:, None]], 1)
        done |= best == END
        if bool(done.all()):
            break
    return [[t for t in row if t != END] for row in tokens[:, 1:].tolist()]


def final_weights(model: nn.Module) -> dict[str, Tensor]:
    """Weights under their file names, low-rank additions added, not yet rounded."""
    weights: dict[str, Tensor] = {}
    for name, module in model.named_modules():
        if isinstance(module, GriddedLinear):
            weights[f"{name}.weight"] = module.placed().detach()
            if module.bias is not None:
                weights[f"{name}.bias"] = module.bias.detach()
    for name, parameter in model.named_parameters():
        if not name.endswith((".up", ".down")) and name not in weights:
            weights[name] = parameter.detach()
    return weights
