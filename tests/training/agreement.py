# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""Proof that the rebuilt network is the model in its files: the same logits on the same sound.

Both run the same tokens, those that onnxruntime writes, over each recording. What difference there
is comes of the files' rounding of each layer's input to int8, which the network leaves out.

    python -m tests.training.agreement MODEL_FOLDER recordings.npz
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import torch

from dictation.recognition.model import load_model
from tests.training.network import build, encode, logits
from tests.training.original import levelled_sound, written_freely
from tests.training.weights import grids_of, read_weights


def main() -> None:
    """Print the agreement of each recording and over all."""
    folder, path = Path(sys.argv[1]), Path(sys.argv[2])
    weights = {n: torch.from_numpy(w) for n, w in read_weights(folder).items()}
    model = load_model(folder, 1)
    network = build(weights, grids_of(folder)).eval()
    rows: list[tuple[int, int, float, float]] = []
    recordings = np.load(path)
    for name in recordings.files:
        samples = recordings[name].astype(np.float32)
        sound = levelled_sound(samples)
        tokens, wanted = written_freely(model, sound)
        with torch.no_grad():
            hidden = encode(network, torch.from_numpy(sound)[None])
            got = logits(network, hidden, torch.tensor([tokens]))[0].numpy()
        same = int((got.argmax(-1) == wanted.argmax(-1)).sum())
        off = np.abs(got - wanted)
        rows.append((same, len(tokens), float(off.mean()), float(off.max())))
        print(name, *rows[-1])
    same, count = sum(r[0] for r in rows), sum(r[1] for r in rows)
    mean = sum(r[2] * r[1] for r in rows) / count
    print(
        f"likeliest token the same {same}/{count}; logits differ by {mean:.4f} in the mean, "
        f"{max(r[3] for r in rows):.3f} at most"
    )


if __name__ == "__main__":
    main()
