# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""Proof that the rebuilt network is the model in its files: the same logits on the same sound.

Both run the same tokens, those that onnxruntime writes, over each recording. What difference there
is comes of the files' rounding of each layer's input to int8, which the network leaves out.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import torch

from dictation.audio.samples import Samples
from dictation.recognition.learning.network import build, encode, logits, read_base
from dictation.recognition.model import load_model
from tests.training.original import levelled_sound, written_freely


def agreement(folder: Path, recordings: Sequence[Samples]) -> str:
    """In a sentence, how far network and files agree over the recordings."""
    model = load_model(folder, 1)
    network = build(read_base(folder)).eval()
    rows: list[tuple[int, int, float, float]] = []
    for samples in recordings:
        sound = levelled_sound(samples)
        tokens, wanted = written_freely(model, sound)
        with torch.no_grad():
            hidden = encode(network, torch.from_numpy(sound)[None])
            got = logits(network, hidden, torch.tensor([tokens]))[0].numpy()
        same = int((got.argmax(-1) == wanted.argmax(-1)).sum())
        off = np.abs(got - wanted)
        rows.append((same, len(tokens), float(off.mean()), float(off.max())))
    same, count = sum(r[0] for r in rows), sum(r[1] for r in rows)
    mean = sum(r[2] * r[1] for r in rows) / count
    return (
        f"likeliest token the same {same}/{count}; logits differ by {mean:.4f} in the mean, "
        f"{max(r[3] for r in rows):.3f} at most"
    )
