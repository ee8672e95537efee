"""The files of a speech model: where they lie, and what is in them.

A model is a folder with ``encoder_model.ort``, ``decoder_model_merged.ort`` and ``tokenizer.bin``
as the Moonshine family is published. The built-in model is kept as what tells it from the original
in the installed package moonshine-voice, byte by byte; nothing of that package is imported, and
nothing is downloaded.
"""

from __future__ import annotations

import hashlib
import importlib.util
import lzma
import os
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from dictation.errors import MissingError
from dictation.recognition.tokens import MODEL_FOLDER_VARIABLE, REMEDY, damaged

ENCODER_FILE = "encoder_model.ort"
DECODER_FILE = "decoder_model_merged.ort"
TOKENIZER_FILE = "tokenizer.bin"
DIFFERENCE = ".difference.xz"
"""Ending of a file that says what to add to each byte of the original's, modulo 256."""
SUMS_FILE = "SHA256SUMS"
"""Digests of the whole files that differences lead to, as sha256sum writes them."""

ORIGINAL_SUMS = (
    f"94e90a4654fc45cdfedb77c4c08e1739f48862998e58fada384b25118134f221  {ENCODER_FILE}",
    f"cf524c4862d36e9e5ab032eddc73637efd822d70e868ac575cf1a46e1e4708a0  {DECODER_FILE}",
    f"6884b35fd6377d4c4d32336a0bc152f36b64d1e45b6503683cdc238250a8472d  {TOKENIZER_FILE}",
)
"""Digests of the original's files, as the pinned package has them."""


def built_in_folder() -> Path:
    """The model that ships with this package: the original, taught the trade."""
    return Path(__file__).parent / "adapted"


def original_folder() -> Path:
    """The small English model inside the installed package that ships it; never imports it.

    Raises MissingError where that package is not installed.
    """
    spec = importlib.util.find_spec("moonshine_voice")
    if spec is None or spec.origin is None:
        raise MissingError(
            "the package moonshine-voice, which holds the original speech model, is not installed; "
            f"{REMEDY}"
        )
    return Path(spec.origin).parent / "assets" / "tiny-en"


def model_folder(model_dir: Path | None = None) -> Path:
    """The folder to load from: the option, else the environment, else the built-in model.

    Raises MissingError when there is none, or when one of its three files is not there.
    """
    named = os.environ.get(MODEL_FOLDER_VARIABLE)
    folder = model_dir or (Path(named) if named else built_in_folder())
    for name in (ENCODER_FILE, DECODER_FILE, TOKENIZER_FILE):
        file_or_original(folder, name)
    return folder


def file_or_original(folder: Path, name: str) -> Path:
    """The file of a model, or the original's where the folder holds differences from that.

    Raises MissingError where neither is there.
    """
    whole = folder / name
    if not whole.is_file() and (folder / SUMS_FILE).is_file():
        whole = original_folder() / name
    if not whole.is_file():
        raise MissingError(f"the speech model in {folder} has no {name}; {REMEDY}")
    return whole


def whole_file(path: Path) -> Path:
    """The path of a file of a model, looked through: bits flip on a disk, and such a model hears
    nonsense without a word. A folder without ``SHA256SUMS`` is taken as it is.

    Raises MissingError where it is not what its digest says.
    """
    folder = path.parent
    if folder == original_folder():
        sums: Sequence[str] = ORIGINAL_SUMS
    else:
        sums = _sums(folder) if (folder / SUMS_FILE).is_file() else ()
    if any(line.endswith(f"  {path.name}") for line in sums):
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        if f"{digest}  {path.name}" not in sums:
            raise damaged(path)
    return path


def read_model_file(folder: Path, name: str) -> bytes:
    """A whole file of a model. Raises MissingError where it is not there, or is damaged."""
    path = file_or_original(folder, name)
    difference = folder / (name + DIFFERENCE)
    try:
        if path.parent == folder or name == TOKENIZER_FILE:
            return whole_file(path).read_bytes()
        start = bytearray(path.read_bytes())
        added = lzma.decompress(difference.read_bytes())
        np.frombuffer(start, np.uint8)[:] += np.frombuffer(added, np.uint8)
        del added  # files are tens of megabytes, and several are read at once
        whole = bytes(start)
    except (OSError, lzma.LZMAError, ValueError) as error:
        raise damaged(difference) from error
    if f"{hashlib.sha256(whole).hexdigest()}  {name}" not in _sums(folder):
        raise damaged(difference)
    return whole


def write_differences(model: Path, folder: Path, preset: int = 9) -> None:
    """Keep a whole model in ``folder`` as what tells it from the original; ``preset``: of xz."""
    sums = ""
    for name in (ENCODER_FILE, DECODER_FILE):
        whole = read_model_file(model, name)
        start = np.frombuffer((original_folder() / name).read_bytes(), np.uint8)
        added = np.frombuffer(whole, np.uint8) - start
        packed = lzma.compress(added.tobytes(), check=lzma.CHECK_SHA256, preset=preset)
        (folder / (name + DIFFERENCE)).write_bytes(packed)
        sums += f"{hashlib.sha256(whole).hexdigest()}  {name}\n"
    (folder / SUMS_FILE).write_text(sums, encoding="ascii")


def _sums(folder: Path) -> list[str]:
    return (folder / SUMS_FILE).read_text(encoding="ascii").splitlines()
