"""The speech model's weights: out of its two .ort files as float32, and back into them.

An .ort file is a flatbuffer that holds the graph and the initialisers. Matrices are int8 with one
scale and no offset; convolutions, norms and biases are float32. A quantised matrix has a number for
a name, so its proper name is read off the value that its product writes, for example
``/model/decoder/layers.0/mlp/fc1/Add_output_0``. Writing back changes numbers in place: names,
shapes, types and the graph stay as they were, so whatever runs the original runs the result.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from onnxruntime.tools.ort_format_model.ort_flatbuffers_py.fbs.InferenceSession import (
    InferenceSession,
)

from dictation.errors import MissingError
from dictation.recognition.model_files import (
    DECODER_FILE,
    ENCODER_FILE,
    TOKENIZER_FILE,
    file_or_original,
    read_model_file,
)

Floats = NDArray[np.float32]

_PRODUCTS = (b"MatMulIntegerToFloat", b"DynamicQuantizeMatMul")
_FLOAT, _INT8 = 1, 3
_UINT8 = 2
_RAW = (
    (re.compile(r"^(conv\d)\.weight_add_tensor$"), r"\1.weight"),
    (re.compile(r"^onnx::Mul_\d+$"), "groupnorm.weight"),
    (re.compile(r"^onnx::Add_\d+$"), "groupnorm.bias"),
    (re.compile(r"^(.*\.(weight|bias))_merged_\d$"), r"\1"),
    (re.compile(r"^((conv\d|layer_norm|layers\.\d+\..*)\.(weight|bias))$"), r"\1"),
)


@dataclass(frozen=True, slots=True)
class Quantised:
    """Where a matrix lies in a file: its integers, its scale, its offset, as views to write into.

    ``across``: the file has it [in, out], the training model [out, in].
    """

    integers: NDArray[Any]
    scale: Floats
    offset: NDArray[Any]
    across: bool

    def read(self) -> Floats:
        """The matrix as float32, [out, in] (the embedding: [vocabulary, width])."""
        whole = (self.integers.astype(np.float32) - np.float32(self.offset[0])) * self.scale[0]
        return np.ascontiguousarray(whole.T if self.across else whole)

    def write(self, matrix: Floats) -> None:
        """Round to the integers of the file, the scale being the file's own."""
        placed = matrix.T if self.across else matrix
        info = np.iinfo(self.integers.dtype)
        rounded = np.rint(placed / self.scale[0]) + float(self.offset[0])
        self.integers[...] = np.clip(rounded, info.min, info.max).astype(self.integers.dtype)


@dataclass(frozen=True, slots=True)
class Grid:
    """The int8 grid of one matrix: weight = (integer - offset) * scale, integer 0 to 255."""

    scale: float
    offset: float


class ModelFile:
    """One .ort file in memory, its weights by the names that the training model uses."""

    def __init__(self, folder: Path, name: str) -> None:
        self.raw = bytearray(read_model_file(folder, name))
        graph = InferenceSession.GetRootAs(self.raw, 0).Model().Graph()
        self._initialisers = {
            graph.Initializers(i).Name().decode(): graph.Initializers(i)
            for i in range(graph.InitializersLength())
        }
        self._prefix = "model.encoder." if name == ENCODER_FILE else ""
        self.matrices: dict[str, Quantised] = {}
        self.plain: dict[str, Floats] = {}
        self._find(graph)
        if not self.matrices or not self.plain:
            raise MissingError(
                f"{folder / name} holds no weights of the expected family; name another"
            )

    def _find(self, graph: Any) -> None:
        for node in _nodes(graph):
            inputs = [node.Inputs(i).decode() for i in range(node.InputsLength())]
            stem = next((n[: -len("_quantized")] for n in inputs if self._is_matrix(n)), None)
            if stem is None:
                continue
            if node.OpType() == b"Gather":
                name, across = "model.decoder.embed_tokens.weight", False
            elif node.OpType() in _PRODUCTS:
                name, across = self._matrix_name(node.Outputs(0).decode()), True
            else:
                continue
            self.matrices[name] = Quantised(
                self._view(f"{stem}_quantized"),
                self._view(f"{stem}_scale").reshape(-1),
                self._view(f"{stem}_zero_point").reshape(-1),
                across,
            )
        for name in self._initialisers:
            for pattern, proper in _RAW:
                if pattern.match(name):
                    self.plain[self._prefix + pattern.sub(proper, name)] = self._view(name)
                    break

    def _is_matrix(self, name: str) -> bool:
        return name.endswith("_quantized") and name in self._initialisers

    def _matrix_name(self, output: str) -> str:
        if output == "logits":
            return "proj_out.weight"
        path = re.sub(r"/(MatMul|Add)_output_0$", "", output.strip("/"))
        return f"{self._prefix}{path.replace('/', '.')}.weight"

    def _view(self, name: str) -> NDArray[Any]:
        tensor = self._initialisers[name]
        kind = {_FLOAT: np.float32, _UINT8: np.uint8, _INT8: np.int8}[tensor.DataType()]
        shape = [tensor.Dims(i) for i in range(tensor.DimsLength())]
        view: NDArray[Any] = tensor.RawDataAsNumpy().view(kind).reshape(shape)
        return view

    def read(self) -> dict[str, Floats]:
        """Every weight as float32 under its training name, [out, in] for matrices."""
        weights = {name: matrix.read() for name, matrix in self.matrices.items()}
        return weights | {
            name: view.reshape(-1) if view.ndim == 2 else view.copy()
            for name, view in self.plain.items()
        }

    def write(self, weights: dict[str, Floats]) -> None:
        """Put weights of those names into the file's place for them; others are passed over."""
        for name, matrix in self.matrices.items():
            if name in weights:
                matrix.write(weights[name])
        for name, view in self.plain.items():
            if name in weights:
                view[...] = weights[name].reshape(view.shape)


def _nodes(graph: Any) -> Iterator[Any]:
    """The nodes of a graph and of every branch within."""
    for i in range(graph.NodesLength()):
        node = graph.Nodes(i)
        yield node
        for j in range(node.AttributesLength()):
            branch = node.Attributes(j).G()
            if branch is not None:
                yield from _nodes(branch)


def grids_of(folder: Path) -> dict[str, Grid]:
    """The grid of every matrix of a model folder."""
    return {
        name: Grid(float(matrix.scale[0]), float(matrix.offset[0]))
        for file in (ENCODER_FILE, DECODER_FILE)
        for name, matrix in ModelFile(folder, file).matrices.items()
    }


def read_weights(folder: Path) -> dict[str, Floats]:
    """All weights of a model folder, as float32."""
    return ModelFile(folder, ENCODER_FILE).read() | ModelFile(folder, DECODER_FILE).read()


def write_model(original: Path, weights: dict[str, Floats], folder: Path) -> None:
    """A model folder like the original's, with other numbers for the weights that are named."""
    folder.mkdir(parents=True)
    for name in (ENCODER_FILE, DECODER_FILE):
        file = ModelFile(original, name)
        file.write(weights)
        (folder / name).write_bytes(bytes(file.raw))
    shutil.copy(file_or_original(original, TOKENIZER_FILE), folder / TOKENIZER_FILE)
