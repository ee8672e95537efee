"""The speech model: finds its folder, loads its three files, and runs encoder and decoder.

A model is a folder with ``encoder_model.ort``, ``decoder_model_merged.ort`` and ``tokenizer.bin``
as the Moonshine family is published. Layers, heads and sizes are read off the decoder, so a larger
model of the family works unchanged. Nothing is downloaded.
"""

from __future__ import annotations

import importlib.util
import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import onnxruntime as ort
from numpy.typing import NDArray
from onnxruntime.capi import onnxruntime_pybind11_state as ort_errors

from dictation.audio.samples import Samples
from dictation.errors import MissingError
from dictation.recognition.tokens import (
    BEGIN,
    MODEL_FOLDER_VARIABLE,
    REMEDY,
    TokenTable,
    damaged,
    read_token_table,
)

ENCODER_FILE = "encoder_model.ort"
DECODER_FILE = "decoder_model_merged.ort"
TOKENIZER_FILE = "tokenizer.bin"

ENGINE_ERRORS: tuple[type[Exception], ...] = (
    RuntimeError,
    MemoryError,
    *(k for k in vars(ort_errors).values() if isinstance(k, type) and issubclass(k, Exception)),
)
"""What onnxruntime raises; its own types have no parent of their own to be named by."""

Floats = NDArray[np.float32]


def built_in_folder() -> Path:
    """The model that ships with this package: the original, taught the trade."""
    return Path(__file__).parent / "adapted"


def original_folder() -> Path | None:
    """The small English model inside the installed package that ships it; never imports it."""
    spec = importlib.util.find_spec("moonshine_voice")
    if spec is None or spec.origin is None:
        return None
    return Path(spec.origin).parent / "assets" / "tiny-en"


def model_folder(model_dir: Path | None = None) -> Path:
    """The folder to load from: the option, else the environment, else the built-in model.

    Raises MissingError when there is none, or when one of its three files is not there.
    """
    named = os.environ.get(MODEL_FOLDER_VARIABLE)
    folder = model_dir or (Path(named) if named else built_in_folder())
    for name in (ENCODER_FILE, DECODER_FILE, TOKENIZER_FILE):
        if not (folder / name).is_file():
            raise MissingError(f"the speech model in {folder} has no {name}; {REMEDY}")
    return folder


@dataclass(frozen=True, slots=True)
class Shape:
    """Size of the decoder, read off its inputs. ``width`` is the encoder's, in floats a frame."""

    layers: int
    heads: int
    head_size: int
    width: int
    vocabulary: int


@dataclass(slots=True)
class Encoded:
    """An utterance after the encoder and the decoder's first step.

    ``cross``: keys and values over the sound, two a layer, batch 1. ``past``: the decoder's own
    keys and values after the first token, two a layer, [1, heads, 1, head size]. ``first``: logits
    of the first written token, [vocabulary]. ``frames``: length of the encoder's output.
    """

    cross: list[ort.OrtValue]
    past: list[Floats]
    first: Floats
    frames: int


def _session(path: Path, threads: int) -> ort.InferenceSession:
    options = ort.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    options.log_severity_level = 4
    # The arena keeps the largest block ever asked for; off, the peak stays near the working set.
    options.enable_cpu_mem_arena = False
    # Spinning threads would fight the voice-activity detector for the same two cores.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    try:
        return ort.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except ENGINE_ERRORS as error:
        raise damaged(path) from error


def _shape(decoder: ort.InferenceSession, path: Path) -> Shape:
    inputs = {i.name: i for i in decoder.get_inputs()}
    try:
        layers = sum(n.startswith("past_key_values") and n.endswith("decoder.key") for n in inputs)
        key = inputs["past_key_values.0.decoder.key"].shape
        width = int(inputs["encoder_hidden_states"].shape[2])
        vocabulary = int(decoder.get_outputs()[0].shape[2])
        return Shape(layers, int(key[1]), int(key[3]), width, vocabulary)
    except (KeyError, IndexError, TypeError, ValueError) as error:
        raise MissingError(
            f"the speech model file {path} is not a decoder of the expected family; name another "
            f"folder with --model or {MODEL_FOLDER_VARIABLE}"
        ) from error


class SpeechModel:
    """Encoder and decoder of one model folder, with its token table."""

    def __init__(self, folder: Path, threads: int) -> None:
        self.folder = folder
        self.table: TokenTable = read_token_table(folder / TOKENIZER_FILE)
        self._encoder = _session(folder / ENCODER_FILE, threads)
        # The search runs the decoder twice at once, so each run gets half the threads.
        self._decoder = _session(folder / DECODER_FILE, max(1, threads // 2))
        self.shape = _shape(self._decoder, folder / DECODER_FILE)
        if self.shape.vocabulary != len(self.table.pieces):
            raise MissingError(
                f"the speech model in {folder} does not fit together: {TOKENIZER_FILE} has "
                f"{len(self.table.pieces)} pieces and the decoder {self.shape.vocabulary}; "
                f"{REMEDY}"
            )
        self._layers = [
            (f"{layer}.{part}.{kind}", part)
            for layer in range(self.shape.layers)
            for part in ("decoder", "encoder")
            for kind in ("key", "value")
        ]
        self._own = [n for n, part in self._layers if part == "decoder"]
        self._cross = [n for n, part in self._layers if part == "encoder"]
        self._one = ort.OrtValue.ortvalue_from_numpy(np.ones((1, 1), np.int64))
        self._true = ort.OrtValue.ortvalue_from_numpy(np.array([True]))

    def encode(self, samples: Samples) -> Encoded:
        """Run the encoder over float32 samples [n] and the decoder's first step, both batch 1."""
        sound = np.ascontiguousarray(samples, dtype=np.float32)[np.newaxis]
        hidden = self._encoder.run(
            None, {"input_values": sound, "attention_mask": np.ones(sound.shape, np.int64)}
        )[0]
        return self.first_step(hidden)

    def first_step(self, hidden: Floats) -> Encoded:
        """The decoder's first step over an encoder output [1, frames, width]."""
        frames = hidden.shape[1]
        empty = np.zeros((1, self.shape.heads, 0, self.shape.head_size), np.float32)
        feeds = {
            "input_ids": np.array([[BEGIN]], np.int64),
            "encoder_hidden_states": hidden,
            # The decoder thins this mask itself, by its stride; all ones means any length will do.
            "encoder_attention_mask": np.ones((1, 1), np.int64),
            "use_cache_branch": np.array([False]),
            **{f"past_key_values.{name}": empty for name, _ in self._layers},
        }
        wanted = ["logits", *(f"present.{n}" for n in (*self._own, *self._cross))]
        logits, *kept = self._decoder.run(wanted, feeds)
        own, cross = kept[: len(self._own)], kept[len(self._own) :]
        values = [ort.OrtValue.ortvalue_from_numpy(c) for c in cross]
        return Encoded(values, list(own), logits[0, -1], frames)

    def step(
        self, encoded: Encoded, tokens: NDArray[np.int64], past: list[Floats]
    ) -> tuple[Floats, list[Floats]]:
        """One token for every row: ``tokens`` [rows], ``past`` two a layer, rows first.

        Returns logits [rows, vocabulary] and the grown past. The sound's keys and values stay
        batch 1: the attention's matrix product broadcasts them over the rows, so that a wide beam
        costs no memory for the sound.
        """
        rows = len(tokens)
        value = ort.OrtValue.ortvalue_from_numpy
        feeds = {
            "input_ids": value(np.ascontiguousarray(tokens[:, np.newaxis])),
            "encoder_hidden_states": value(np.zeros((rows, 1, self.shape.width), np.float32)),
            "encoder_attention_mask": self._one,
            "use_cache_branch": self._true,
        }
        for name, own in zip(self._own, past, strict=True):
            feeds[f"past_key_values.{name}"] = value(np.ascontiguousarray(own))
        for name, cross in zip(self._cross, encoded.cross, strict=True):
            feeds[f"past_key_values.{name}"] = cross
        wanted = ["logits", *(f"present.{n}" for n in self._own)]
        logits, *grown = self._decoder.run_with_ort_values(wanted, feeds)
        return logits.numpy()[:, -1], [g.numpy() for g in grown]


def load_model(model_dir: Path | None = None, threads: int = 2) -> SpeechModel:
    """Load the model; MissingError, in one sentence, when it is missing or damaged."""
    return SpeechModel(model_folder(model_dir), threads)
