"""Engines by name, and what each says when its model is missing."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from dictation.errors import MissingError, WrongUseError
from dictation.recognition.engines import engine
from tests.recognition.small_grammars import CARDS

CONNECTING = ("requests", "urllib3", "websockets", "tqdm", "certifi", "moonshine_voice", "vosk")
"""Packages that fetch, or that load one that does; they come with engines by choice."""


def test_an_unknown_engine_names_the_nearest() -> None:
    with pytest.raises(WrongUseError, match=r"'gided'.*'guided'") as raised:
        engine("gided", CARDS, str)
    assert raised.value.exit_code == 2


def test_the_guided_engine_carries_its_name() -> None:
    assert engine("guided", CARDS, str).name == "guided"


def test_a_guided_model_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match="gone"):
        engine("guided", CARDS, str, model_dir=tmp_path / "gone")


def test_without_its_package_the_original_engine_names_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    with pytest.raises(MissingError, match=r"moonshine-voice.*install hornsweep anew") as raised:
        engine("original", CARDS, str)
    assert raised.value.exit_code == 4


def test_hearing_loads_nothing_that_could_open_a_connection() -> None:
    program = (
        "import importlib, sys; from dictation.cli.app import COMMANDS;"
        "[importlib.import_module(m) for n, (m, _) in COMMANDS.items() if n != 'bench'];"
        "from dictation.recognition.engines import load_engine; load_engine('guided');"
        f"print([name for name in {CONNECTING!r} if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_vosk_without_a_model_says_where_to_put_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("HORNSWEEP_VOSK_MODEL", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    with pytest.raises(MissingError, match=r"\.cache/vosk") as raised:
        engine("vosk", CARDS, str, phrases=("ten of clubs",))
    assert raised.value.exit_code == 4


def test_vosk_on_a_folder_without_a_model_names_the_folder(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match=str(tmp_path)):
        engine("vosk", CARDS, str, phrases=("ten of clubs",), model_dir=tmp_path)


def test_vosk_on_a_damaged_model_names_the_folder(tmp_path: Path) -> None:
    (tmp_path / "am").mkdir()
    with pytest.raises(MissingError, match="cannot be read"):
        engine("vosk", CARDS, str, phrases=("ten of clubs",), model_dir=tmp_path)
