# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""The speech model as a PyTorch network that can be trained and still fits its int8 file.

The architecture is transformers' Moonshine. Its linear layers are replaced by ``GriddedLinear``,
which rounds the weights to the file's int8 grid in the forward pass and lets gradients through
unrounded, so that what is trained is what is shipped: a change smaller than half a step of the grid
would otherwise vanish at export.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import torch
from torch import Tensor, nn
from transformers import MoonshineConfig, MoonshineForConditionalGeneration

from dictation.recognition.learning.weights import Grid, grids_of, read_weights
from dictation.recognition.model_files import TOKENIZER_FILE, file_or_original
from dictation.recognition.tokens import END, read_token_table


@dataclass(frozen=True, slots=True)
class Base:
    """A model out of its files: weights as float32, grids of its matrices, text of its tokens."""

    weights: dict[str, Tensor]
    grids: dict[str, Grid]
    table: tuple[bytes, ...]


def read_base(folder: Path) -> Base:
    """The model of a folder."""
    weights = {name: torch.from_numpy(w) for name, w in read_weights(folder).items()}
    table = read_token_table(file_or_original(folder, TOKENIZER_FILE)).pieces
    return Base(weights, grids_of(folder), table)


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
    base: Base, low_rank: Iterable[str] = (), rank: int = 0
) -> MoonshineForConditionalGeneration:
    """The network of a model; ``low_rank``: beginnings of the layers to add a rank to.

    Raises RuntimeError for a model that is not of the size of the original.
    """
    config = MoonshineConfig(attn_implementation="sdpa", pad_token_id=END)
    model = MoonshineForConditionalGeneration(config)
    model.load_state_dict(base.weights, strict=True)
    model.tie_weights()
    low_rank = tuple(low_rank)
    for name, module in list(model.named_modules()):
        if not isinstance(module, nn.Linear):
            continue
        parent = model.get_submodule(name.rpartition(".")[0])
        own = rank if name.startswith(low_rank) and low_rank else 0
        gridded = GriddedLinear(module, base.grids[f"{name}.weight"], own)
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
