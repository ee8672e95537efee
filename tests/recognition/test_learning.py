"""Weights out of the model's files and back, and steps of learning where PyTorch is there."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dictation.recognition.learning import How, Pieces
from dictation.recognition.learning.weights import grids_of, read_weights, write_model
from dictation.recognition.model import load_model
from dictation.recognition.model_files import (
    DECODER_FILE,
    ENCODER_FILE,
    TOKENIZER_FILE,
    built_in_folder,
    file_or_original,
    read_model_file,
)
from dictation.recognition.tokens import read_token_table
from tests.training.blend import write_blend

MATRIX = "model.decoder.layers.0.mlp.fc1.weight"
NORM = "model.decoder.norm.weight"


def test_a_model_written_back_unchanged_is_the_same_to_the_byte(tmp_path: Path) -> None:
    folder = built_in_folder()
    write_model(folder, read_weights(folder), tmp_path / "model")
    for name in (ENCODER_FILE, DECODER_FILE, TOKENIZER_FILE):
        assert (tmp_path / "model" / name).read_bytes() == read_model_file(folder, name)


def test_what_was_learned_is_in_the_files_as_near_as_their_grid_allows(tmp_path: Path) -> None:
    folder = built_in_folder()
    before, scale = read_weights(folder), grids_of(folder)[MATRIX].scale
    wanted = {MATRIX: before[MATRIX] * np.float32(0.9), NORM: before[NORM] + np.float32(0.01)}
    write_model(folder, wanted, tmp_path / "model")
    after = read_weights(tmp_path / "model")
    assert np.abs(after[MATRIX] - wanted[MATRIX]).max() <= scale * 0.501
    assert np.array_equal(after[NORM], wanted[NORM])
    others = set(before) - set(wanted)
    assert all(np.array_equal(after[name], before[name]) for name in others)
    assert load_model(tmp_path / "model").shape == load_model(folder).shape


def test_a_blend_lies_the_named_share_of_the_way(tmp_path: Path) -> None:
    folder = built_in_folder()
    before = read_weights(folder)
    write_model(folder, {NORM: before[NORM] + np.float32(0.4)}, tmp_path / "one")
    write_model(folder, {NORM: before[NORM] - np.float32(0.2)}, tmp_path / "two")
    write_blend(folder, [(0.5, tmp_path / "one"), (0.25, tmp_path / "two")], tmp_path / "blend")
    assert read_weights(tmp_path / "blend")[NORM] == pytest.approx(before[NORM] + 0.15, abs=1e-6)


@pytest.mark.parametrize("text", ["Left ovary CL twenty-two mm.", "Pregnant, 45 days.", "Né."])
def test_a_text_becomes_tokens_that_write_it(text: str) -> None:
    table = read_token_table(file_or_original(built_in_folder(), TOKENIZER_FILE))
    pieces = Pieces(table.pieces)
    tokens = pieces.encode(text)
    assert pieces.decode(tokens) == text
    assert len(tokens) < len(text)


@pytest.mark.parametrize("rank", [0, 4])
def test_a_learner_that_was_stopped_learns_the_same(rank: int, tmp_path: Path) -> None:
    torch = pytest.importorskip("torch", reason="PyTorch is not installed (extra learn)")
    pytest.importorskip("transformers", reason="transformers is not installed (extra learn)")
    from dictation.recognition.learning.network import read_base
    from dictation.recognition.learning.steps import Batch, Learner, targets

    device = torch.device("cpu")
    base = read_base(built_in_folder())
    tokens = [Pieces(base.table).encode(text) for text in ("Left ovary.", "Next cow.")]
    given, wanted = targets(tokens, device)
    sound = torch.randn(2, 8_000, generator=torch.Generator().manual_seed(1)) * 0.05
    batch = Batch(sound, sound, given, wanted, torch.tensor([True, False]))
    how = How(("model.decoder.layers.0.",), 1e-3, rank, warm_up=1)

    def learner() -> Learner:
        torch.manual_seed(1)
        return Learner(base, base, how, device)

    first, second = learner(), learner()
    losses = [float(first.step(batch, n / 4)[0]) for n in range(2)]
    torch.save(first.state(), tmp_path / "stopped")
    losses += [float(first.step(batch, n / 4)[0]) for n in range(2, 4)]
    second.go_on(torch.load(tmp_path / "stopped", weights_only=True))
    for n in range(2, 4):
        second.step(batch, n / 4)
    assert losses[-1] < losses[0]
    moved, again = first.moved(), second.moved()
    assert all(name.startswith("model.decoder.layers.0.") for name in moved)
    assert all(np.allclose(moved[name], again[name], atol=1e-6) for name in moved)
    assert any(not np.allclose(moved[n], base.weights[n].numpy()) for n in moved)
    write_model(built_in_folder(), moved, tmp_path / "model")
    assert load_model(tmp_path / "model").shape == load_model(built_in_folder()).shape
