"""A trained model as a folder of the original's kind: the same files with other numbers in them.

python -m tests.training.export MODEL_FOLDER BASE.npz CHANGES.npz NEW_FOLDER
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import numpy as np

from tests.training.pack import read_base, with_changes
from tests.training.weights import DECODER, ENCODER, ModelFile


def export(original: Path, base: Path, changes: Path, folder: Path) -> None:
    """Write encoder, decoder and token table; sizes, names and shapes are the original's."""
    packed = np.load(changes)
    weights = with_changes(read_base(base), {name: packed[name] for name in packed.files})
    wanted = {name: weights[name].numpy() for name in packed.files}
    folder.mkdir(parents=True, exist_ok=True)
    for name in (ENCODER, DECODER):
        file = ModelFile(original / name)
        file.write(wanted)
        (folder / name).write_bytes(bytes(file.raw))
    shutil.copy(original / "tokenizer.bin", folder / "tokenizer.bin")


if __name__ == "__main__":
    export(*(Path(argument) for argument in sys.argv[1:5]))
