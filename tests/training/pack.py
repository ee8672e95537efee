# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""The original model in one small file for the training machine, and changes to it.

The packed file has the integers of every matrix once (the tied embedding is in the original twice),
the grids, the float32 rest, and the token table. A change is the difference of integers modulo 256,
which compresses well, or of floats in half precision.

    python -m tests.training.pack MODEL_FOLDER BASE.npz
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from tests.training.weights import DECODER, ENCODER, Grid, ModelFile

EMBEDDING, HEAD = "model.decoder.embed_tokens.weight", "proj_out.weight"


@dataclass(frozen=True, slots=True)
class Base:
    """The original model: weights as float32, grids of its matrices, text of its tokens."""

    weights: dict[str, Tensor]
    grids: dict[str, Grid]
    table: tuple[bytes, ...]


def read_base(path: Path) -> Base:
    """Read a packed model."""
    packed = np.load(path)
    grids = {
        name.removeprefix("grid "): Grid(float(packed[name][0]), float(packed[name][1]))
        for name in packed.files
        if name.startswith("grid ")
    }
    weights = {
        name: torch.from_numpy(np.ascontiguousarray(_floats(packed[name], grids.get(name))))
        for name in packed.files
        if not name.startswith(("grid ", "table "))
    }
    weights[HEAD], grids[HEAD] = weights[EMBEDDING], grids[EMBEDDING]
    lengths = packed["table lengths"]
    ends = np.cumsum(lengths)
    raw = packed["table bytes"].tobytes()
    table = tuple(raw[e - n : e] for e, n in zip(ends, lengths, strict=True))
    return Base(weights, grids, table)


def _floats(stored: NDArray[Any], grid: Grid | None) -> NDArray[np.float32]:
    if grid is None:
        return stored.astype(np.float32)
    return ((stored.astype(np.float32) - grid.offset) * np.float32(grid.scale)).astype(np.float32)


def _integers(weight: Tensor, grid: Grid) -> NDArray[np.uint8]:
    placed = torch.round(weight.float().cpu() / grid.scale) + grid.offset
    integers: NDArray[np.uint8] = placed.clamp(0, 255).to(torch.uint8).numpy()
    return integers


def changed(base: Base, weights: Mapping[str, Tensor]) -> dict[str, NDArray[Any]]:
    """What differs from the base, by name."""
    changes: dict[str, NDArray[Any]] = {}
    for name, weight in weights.items():
        if name in (EMBEDDING, HEAD):
            continue
        old, grid = base.weights[name], base.grids.get(name)
        if grid is None:
            change: NDArray[Any] = (weight.float().cpu() - old).to(torch.float16).numpy()
        else:
            change = _integers(weight, grid) - _integers(old, grid)
        if np.any(change):
            changes[name] = change
    return changes


def with_changes(base: Base, changes: Mapping[str, NDArray[Any]]) -> dict[str, Tensor]:
    """The base's weights, float32, with changes made."""
    weights = dict(base.weights)
    for name, change in changes.items():
        grid = base.grids.get(name)
        if grid is None:
            weights[name] = base.weights[name] + torch.from_numpy(change.astype(np.float32))
        else:
            moved = (_integers(base.weights[name], grid) + change).astype(np.uint8)
            weights[name] = torch.from_numpy(_floats(moved, grid))
    return weights


def main() -> None:
    """Pack a model folder."""
    from dictation.recognition.tokens import read_token_table

    folder = Path(sys.argv[1])
    packed: dict[str, NDArray[Any]] = {}
    for file in (ModelFile(folder / ENCODER), ModelFile(folder / DECODER)):
        for name, matrix in file.matrices.items():
            if name != HEAD:
                packed[name] = matrix.integers.T if matrix.across else matrix.integers
                packed[f"grid {name}"] = np.array([matrix.scale[0], matrix.offset[0]], np.float64)
        packed |= {
            name: view.reshape(-1) if view.ndim == 2 else view for name, view in file.plain.items()
        }
    pieces = read_token_table(folder / "tokenizer.bin").pieces
    packed["table lengths"] = np.array([len(p) for p in pieces], np.int32)
    packed["table bytes"] = np.frombuffer(b"".join(pieces), np.uint8)
    whole = {name: np.ascontiguousarray(array) for name, array in packed.items()}
    np.savez_compressed(sys.argv[2], allow_pickle=False, **whole)


if __name__ == "__main__":
    main()
