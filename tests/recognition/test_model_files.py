"""A missing or damaged model is one sentence that names the file, and exit code 4."""

from __future__ import annotations

import lzma
import shutil
from pathlib import Path

import pytest

from dictation.errors import MissingError
from dictation.recognition.model import load_model
from dictation.recognition.model_files import (
    DECODER_FILE,
    DIFFERENCE,
    ENCODER_FILE,
    TOKENIZER_FILE,
    built_in_folder,
    model_folder,
    read_model_file,
    write_differences,
)
from dictation.recognition.tokens import MODEL_FOLDER_VARIABLE

FILES = (ENCODER_FILE, DECODER_FILE, TOKENIZER_FILE)


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    for name in FILES:
        (tmp_path / name).write_bytes(read_model_file(built_in_folder(), name))
    return tmp_path


def sentence(folder: Path) -> str:
    with pytest.raises(MissingError) as raised:
        load_model(folder)
    assert raised.value.exit_code == 4
    text = str(raised.value)
    assert "\n" not in text
    assert "install hornsweep anew" in text or "name another folder with --model" in text
    assert "moonshine" not in text
    return text


@pytest.mark.parametrize("name", FILES)
def test_a_missing_file_is_named(copied: Path, name: str) -> None:
    (copied / name).unlink()
    assert name in sentence(copied)


@pytest.mark.parametrize("name", FILES)
def test_a_file_cut_short_is_named(copied: Path, name: str) -> None:
    whole = (copied / name).read_bytes()
    (copied / name).write_bytes(whole[: len(whole) // 2 + 1])
    assert name in sentence(copied)


@pytest.mark.parametrize("name", FILES)
def test_an_empty_file_is_named(copied: Path, name: str) -> None:
    (copied / name).write_bytes(b"")
    assert name in sentence(copied)


@pytest.mark.parametrize("name", FILES)
def test_a_file_of_something_else_is_named(copied: Path, name: str) -> None:
    (copied / name).write_bytes(b"this is no model\n" * 400)
    assert name in sentence(copied)


def test_encoder_in_the_place_of_the_decoder_is_noticed(copied: Path) -> None:
    shutil.copy(copied / ENCODER_FILE, copied / DECODER_FILE)
    assert DECODER_FILE in sentence(copied)


def test_the_option_goes_before_the_environment_and_that_before_the_built_in(
    copied: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(MODEL_FOLDER_VARIABLE, raising=False)
    assert model_folder() == built_in_folder()
    monkeypatch.setenv(MODEL_FOLDER_VARIABLE, str(tmp_path / "nowhere"))
    assert model_folder(copied) == copied
    with pytest.raises(MissingError, match="nowhere"):
        model_folder()


def test_a_copied_model_loads_with_the_sizes_of_its_decoder(copied: Path) -> None:
    shape = load_model(copied).shape
    assert (shape.layers, shape.heads, shape.head_size) == (6, 8, 36)
    assert shape.vocabulary == 32_768


def test_a_model_kept_as_differences_from_the_original_is_the_same_to_the_byte(
    copied: Path, tmp_path: Path
) -> None:
    kept = tmp_path / "kept"
    kept.mkdir()
    write_differences(copied, kept, preset=0)
    for name in FILES:
        assert read_model_file(kept, name) == (copied / name).read_bytes()


@pytest.mark.parametrize("name", [ENCODER_FILE, DECODER_FILE])
@pytest.mark.parametrize("damage", ["cut short", "one byte", "another's", "gone"])
def test_a_damaged_difference_is_named_and_never_loaded(
    tmp_path: Path, name: str, damage: str
) -> None:
    kept = tmp_path / "kept"
    shutil.copytree(built_in_folder(), kept)
    path = kept / (name + DIFFERENCE)
    packed = bytearray(path.read_bytes())
    packed[len(packed) // 2] ^= 1
    nothing = lzma.compress(bytes(len(read_model_file(kept, name))))
    match damage:
        case "cut short":
            path.write_bytes(packed[: len(packed) // 2])
        case "one byte":
            path.write_bytes(packed)
        case "another's":
            path.write_bytes(nothing)
        case _:
            path.unlink()
    assert path.name in sentence(kept)
