"""The speech model: loads its files, and runs encoder and decoder.

Layers, heads and sizes are read off the decoder, so a larger model of the family works unchanged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import onnxruntime as ort
from numpy.typing import NDArray
from onnxruntime.capi import onnxruntime_pybind11_state as ort_errors

from dictation.audio.samples import Samples
from dictation.errors import MissingError
from dictation.recognition.model_files import (
    DECODER_FILE,
    ENCODER_FILE,
    TOKENIZER_FILE,
    file_or_original,
    model_folder,
    read_model_file,
    whole_file,
)
from dictation.recognition.tokens import (
    BEGIN,
    END,
    MODEL_FOLDER_VARIABLE,
    REMEDY,
    TokenTable,
    damaged,
    read_token_table,
)

ENGINE_ERRORS: tuple[type[Exception], ...] = (
    RuntimeError,
    MemoryError,
    *(k for k in vars(ort_errors).values() if isinstance(k, type) and issubclass(k, Exception)),
)
"""What onnxruntime raises; its own types have no parent of their own to be named by."""

Floats = NDArray[np.float32]


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
    of the first written token, [vocabulary]. ``hidden``: the encoder's output, [1, frames, width].
    """

    cross: list[ort.OrtValue]
    past: list[Floats]
    first: Floats
    hidden: Floats


def _session(folder: Path, name: str, threads: int) -> ort.InferenceSession:
    options = ort.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    options.log_severity_level = 4
    # The arena keeps the largest block ever asked for; off, the peak stays near the working set.
    options.enable_cpu_mem_arena = False
    # Spinning threads would fight the voice-activity detector for the same two cores.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    try:
        # What lies whole on the disk is read by the runtime itself, which costs no copy of it.
        whole = folder / name
        model = str(whole_file(whole)) if whole.is_file() else read_model_file(folder, name)
        return ort.InferenceSession(model, options, providers=["CPUExecutionProvider"])
    except ENGINE_ERRORS as error:
        raise damaged(folder / name) from error


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
        self.table: TokenTable = read_token_table(
            whole_file(file_or_original(folder, TOKENIZER_FILE))
        )
        self._encoder = _session(folder, ENCODER_FILE, threads)
        # Two decoders run at once, the witness's and this one, so each gets half the threads.
        self._decoder = _session(folder, DECODER_FILE, max(1, threads // 2))
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
        wanted = ["logits", *(f"present.{n}" for n in (*self._own, *self._cross))]
        logits, *kept = self._decoder.run(wanted, self._from_the_start(hidden, [[]]))
        own, cross = kept[: len(self._own)], kept[len(self._own) :]
        values = [ort.OrtValue.ortvalue_from_numpy(c) for c in cross]
        return Encoded(values, list(own), logits[0, -1], hidden)

    def log_scores(self, encoded: Encoded, texts: Sequence[Sequence[int]]) -> tuple[float, ...]:
        """Natural log probability of each text, as tokens without BEGIN and END, and of its end."""
        longest = max(map(len, texts))
        rows = [[*text, *[END] * (longest - len(text))] for text in texts]
        (logits,) = self._decoder.run(["logits"], self._from_the_start(encoded.hidden, rows))
        return tuple(
            float(sum(log_softmax(row[place])[token] for place, token in enumerate([*text, END])))
            for row, text in zip(logits, texts, strict=True)
        )

    def _from_the_start(self, hidden: Floats, rows: list[list[int]]) -> dict[str, NDArray[Any]]:
        """What the decoder is given to write rows of equally many tokens without any past."""
        empty = np.zeros((len(rows), self.shape.heads, 0, self.shape.head_size), np.float32)
        return {
            "input_ids": np.array([[BEGIN, *row] for row in rows], np.int64),
            "encoder_hidden_states": np.repeat(hidden, len(rows), axis=0),
            # The decoder thins this mask itself, by its stride; all ones means any length will do.
            "encoder_attention_mask": np.ones((1, 1), np.int64),
            "use_cache_branch": np.array([False]),
            **{f"past_key_values.{name}": empty for name, _ in self._layers},
        }

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


def log_softmax(logits: Floats) -> Floats:
    """Natural log probabilities along the last axis."""
    top = logits.max(axis=-1, keepdims=True)
    shifted = logits - top
    logs: Floats = shifted - np.log(np.exp(shifted).sum(axis=-1, keepdims=True))
    return logs


def load_model(model_dir: Path | None = None, threads: int = 2) -> SpeechModel:
    """Load the model; MissingError, in one sentence, when it is missing or damaged."""
    return SpeechModel(model_folder(model_dir), threads)
