"""A training that is stopped goes on: what is there stays, what is not whole is made again."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from dictation.cli.app import run
from dictation.errors import WrongUseError
from dictation.recognition.learning.weights import read_weights
from dictation.recognition.model_files import built_in_folder, original_folder
from tests.bench.synthesis import ENGINES
from tests.training.__main__ import training
from tests.training.phrases import is_held_out, is_validation
from tests.training.recipe import Recipe, check_settings, spoken, steps_of
from tests.training.sentences import read_sentences, write_sentences
from tests.training.steps import Step, perform


def untold(sentence: str) -> None:
    pass


class Work:
    """Steps that write their names, and what was done of them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.done: list[str] = []
        self.fails = ""

    def steps(self, *names: str) -> tuple[Step, ...]:
        return tuple(Step(name, self.folder / name, self._making(name)) for name in names)

    def _making(self, name: str) -> Callable[[Path], None]:
        def make(path: Path) -> None:
            assert not path.exists()
            path.mkdir()
            (path / "half").write_text(name, encoding="utf-8")
            if name == self.fails:
                raise KeyboardInterrupt
            self.done.append(name)

        return make


def test_steps_are_done_in_order_and_once(tmp_path: Path) -> None:
    work = Work(tmp_path)
    perform(work.steps("one", "two"), untold)
    perform(work.steps("one", "two", "three"), untold)
    assert work.done == ["one", "two", "three"]


def test_what_was_stopped_leaves_no_result_and_is_made_anew(tmp_path: Path) -> None:
    work = Work(tmp_path)
    work.fails = "two"
    with pytest.raises(KeyboardInterrupt):
        perform(work.steps("one", "two", "three"), untold)
    assert not (tmp_path / "two").exists()
    assert not (tmp_path / "three").exists()
    work.fails = ""
    perform(work.steps("one", "two", "three"), untold)
    assert work.done == ["one", "two", "three"]
    assert not list(tmp_path.glob("*.part"))


@pytest.fixture
def recipe(tmp_path: Path) -> Recipe:
    model = built_in_folder()
    variants = (("all", 0.25), ("herd", 0.5))
    return Recipe(tmp_path / "out", model, model, variants, 10, 16.0, 20, 20, 5, (), 1)


def test_a_folder_is_not_gone_on_with_by_another_recipe(recipe: Recipe) -> None:
    check_settings(recipe)
    check_settings(replace(recipe, jobs=2, batch_s=100.0))
    with pytest.raises(WrongUseError, match="seed"):
        check_settings(replace(recipe, seed=6))


def test_the_model_has_the_shares_of_base_and_variants_that_are_asked_for(recipe: Recipe) -> None:
    teacher = original_folder()
    if teacher is None:
        pytest.skip("the original is not on this machine")
    given = replace(recipe, teacher=teacher, kept_share=0.5, taken_share=0.75)
    base, *_, model = steps_of(given)
    perform((base,), untold)
    for name, _ in given.variants:  # trained back to where the teacher is
        shutil.copytree(teacher, given.out / name)
    perform((model,), untold)
    weights = [read_weights(f) for f in (teacher, given.base, model.result)]
    name = "model.encoder.layer_norm.weight"
    at_teacher, at_base, at_model = (w[name] for w in weights)
    # half way, a quarter further, and three quarters of the way back from half
    assert np.allclose(at_model - at_teacher, 0.375 * (at_base - at_teacher), atol=1e-6)


def test_every_variant_is_trained_before_the_model_is_made_of_them(recipe: Recipe) -> None:
    names = [step.name for step in steps_of(recipe)]
    assert names == [
        "base",
        "sentences",
        "speech",
        "human recordings",
        "agreement",
        "training all",
        "training herd",
        "model",
    ]


def test_no_sentence_is_of_those_that_are_only_measured(tmp_path: Path) -> None:
    path = tmp_path / "sentences.tsv"
    write_sentences(200, 100, 100, 5, path)
    sentences = read_sentences(path)
    assert {s.kind for s in sentences} == {"trade", "talk"}
    assert not any(is_held_out(s.normal) for s in sentences)
    assert any(s.validation for s in sentences)
    assert all(s.validation == is_validation(s.normal) for s in sentences)


@pytest.mark.skipif(find_spec("torch") is not None, reason="PyTorch is here: it would train")
def test_without_pytorch_what_comes_before_is_kept_and_one_sentence_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if ENGINES["flite"].missing():
        pytest.skip("no flite here to speak the sentences")
    options = ["--phrases", "8", "--talk", "4", "--engine", "flite", "--jobs", "1"]
    command = ["--out", str(tmp_path), *options]
    assert run(command, command=training, name="training") == 4
    assert "torch is not on this machine" in capsys.readouterr().err.splitlines()[-1]
    recordings = spoken(tmp_path)
    assert {r.kind for r in recordings} == {"trade", "talk", "human"}
    (tmp_path / "speech.txt").unlink()
    before = (tmp_path / "speech" / "000000.npz").stat().st_mtime_ns
    assert run(command, command=training, name="training") == 4
    told = capsys.readouterr().err
    assert "sentences: there already." in told
    assert "speech: done" in told
    assert (tmp_path / "speech" / "000000.npz").stat().st_mtime_ns == before
