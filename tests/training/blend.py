# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""Shares of several changes to one base, added up: a step part of the way, or runs averaged.

python -m tests.training.blend BLENDED.npz SHARE CHANGES.npz [SHARE ...]
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Changes = Mapping[str, NDArray[Any]]


def blended(parts: Sequence[tuple[float, Changes]]) -> dict[str, NDArray[Any]]:
    """The weighted sum, as ``pack.changed`` writes changes: int8 differences modulo 256, floats."""
    sums: dict[str, NDArray[Any]] = {}
    for share, changes in parts:
        for name, change in changes.items():
            integer = change.dtype == np.uint8
            signed = change.view(np.int8) if integer else change
            sums[name] = sums.get(name, 0.0) + share * signed.astype(np.float32)
    integers = {n for _, changes in parts for n, c in changes.items() if c.dtype == np.uint8}
    return {
        name: np.rint(total).astype(np.int8).view(np.uint8)
        if name in integers
        else total.astype(np.float16)
        for name, total in sums.items()
    }


def main() -> None:
    """Blend the changes that are named."""
    out, *rest = sys.argv[1:]
    shares, files = rest[::2], rest[1::2]
    parts = [
        (float(share), dict(np.load(Path(file)))) for share, file in zip(shares, files, strict=True)
    ]
    np.savez_compressed(out, allow_pickle=False, **blended(parts))


if __name__ == "__main__":
    main()
