"""The steps from nothing to a taught model, and where each leaves its result."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from dictation.disk import replace_file
from dictation.errors import MissingError, WrongUseError
from dictation.recognition.model import load_model
from dictation.recognition.model_files import DECODER_FILE, ENCODER_FILE, read_model_file
from tests.training.corpus import HUMAN, Recording, read_corpus
from tests.training.human import Prompts, write_human
from tests.training.people import people, read_surroundings, write_surroundings
from tests.training.sentences import write_sentences
from tests.training.speech import engines_here, speak_all, stems
from tests.training.steps import Step

LOOKED_AT = 20
"""Recordings on which the network is compared with the files."""


@dataclass(frozen=True, slots=True)
class Recipe:
    """What is made in ``out``. ``variants``: with the share of each that the model takes over.

    ``base``: the model to begin with; ``teacher``: the one whose opinion of everyday speech is
    kept. ``steps``: of each variant; ``batch_s``: seconds of sound in a batch. ``engines``: none,
    for the usual ones that are on the machine. ``recordings``: a folder of people, real noise and
    rooms; ``calls``: of the yard. ``kept_share``: of what tells the base from the teacher, with
    which the variants begin; ``taken_share``: of the same in the model, None for no other.
    """

    out: Path
    base: Path
    teacher: Path
    variants: tuple[tuple[str, float], ...]
    steps: int
    batch_s: float
    phrases: int
    talk: int
    seed: int
    engines: tuple[str, ...]
    jobs: int
    prompts: Prompts | None = None
    recordings: Path | None = None
    calls: int = 0
    kept_share: float = 1.0
    taken_share: float | None = None


def check_settings(recipe: Recipe) -> None:
    """Keep what a folder is made with. Raises WrongUseError where it was begun with other things.

    What may change with the machine is left out: processes, the size of a batch, where files lie.
    """
    settings = {
        "base": _digest(recipe.base),
        "teacher": _digest(recipe.teacher),
        "variants": [list(each) for each in recipe.variants],
        "steps": recipe.steps,
        "phrases": recipe.phrases,
        "talk": recipe.talk,
        "seed": recipe.seed,
        "engines": list(recipe.engines),
        "prompts": recipe.prompts is not None,
        "recordings": recipe.recordings is not None,
        "calls": recipe.calls,
        "kept share": recipe.kept_share,
        "taken share": recipe.taken_share,
    }
    path = recipe.out / "settings.json"
    if not path.is_file():
        recipe.out.mkdir(parents=True, exist_ok=True)
        replace_file(path, (json.dumps(settings, indent=1) + "\n").encode("utf-8"))
        return
    begun = json.loads(path.read_text(encoding="utf-8"))
    other = [name for name in settings if settings[name] != begun.get(name)]
    if other:
        raise WrongUseError(
            f"{recipe.out} was begun with other {', '.join(other)}: give another --out."
        )


def _digest(model: Path) -> str:
    """Of the files with a model's weights."""
    sha = hashlib.sha256()
    for name in (ENCODER_FILE, DECODER_FILE):
        sha.update(read_model_file(model, name))
    return sha.hexdigest()[:16]


def steps_of(recipe: Recipe) -> tuple[Step, ...]:
    """All steps in order; those that need PyTorch come last."""
    out = recipe.out
    trained = [
        Step(f"training {name}", out / name, _training(recipe, name)) for name, _ in recipe.variants
    ]
    real = (Step("real noise and rooms", _real(out), _surroundings(recipe.recordings)),)
    steps = (
        Step("base", out / "base", _base(recipe)),
        Step("sentences", out / "sentences.tsv", _sentences(recipe)),
        Step("speech", out / "speech.txt", _speech(recipe)),
        Step("human recordings", out / "human.txt", _human(recipe)),
        *(real if recipe.recordings is not None else ()),
        Step("agreement", out / "agreement.txt", _agreement(recipe)),
        *trained,
        Step("model", out / "model", _model(recipe)),
    )
    judging = (Step("judgement", out / "judged.txt", _judgement(recipe)),)
    return steps if recipe.prompts is None else (*steps, *judging)


Make = Callable[[Path], None]


def _real(out: Path) -> Path:
    return out / "surroundings.npz"


def _surroundings(folder: Path | None) -> Make:
    def make(path: Path) -> None:
        if folder is not None:
            write_surroundings(folder, path)

    return make


def _base(recipe: Recipe) -> Make:
    def make(path: Path) -> None:
        from tests.training.blend import write_blend

        write_blend(recipe.teacher, [(recipe.kept_share, recipe.base)], path)

    return make


def _sentences(recipe: Recipe) -> Make:
    return lambda path: write_sentences(
        recipe.phrases, recipe.talk, recipe.calls, recipe.seed, path
    )


def _speech(recipe: Recipe) -> Make:
    def make(path: Path) -> None:
        table, folder = recipe.out / "sentences.tsv", recipe.out / "speech"
        engines = engines_here(recipe.engines)
        _write(path, speak_all(table, recipe.seed, engines, recipe.jobs, folder))

    return make


def _human(recipe: Recipe) -> Make:
    def make(path: Path) -> None:
        teaching, judging = recipe.out / "human", recipe.out / "judging"
        model = load_model(recipe.teacher)
        folder = recipe.recordings
        said = [] if folder is None else people(folder, model, recipe.seed)
        _write(path, write_human(model, recipe.prompts, said, teaching, judging))

    return make


def _agreement(recipe: Recipe) -> Make:
    def make(path: Path) -> None:
        _need_torch(recipe)
        from tests.training.agreement import agreement

        human = [r for r in read_corpus(recipe.out / "human") if r.kind == HUMAN][:LOOKED_AT]
        _write(path, agreement(recipe.out / "base", [r.sound for r in human]))

    return make


def _training(recipe: Recipe, variant: str) -> Make:
    def make(path: Path) -> None:
        _need_torch(recipe)
        from tests.training.train import Course, train

        kept = _real(recipe.out)
        real = read_surroundings(kept) if kept.is_file() else None
        base = recipe.out / "base"
        course = Course(base, recipe.teacher, variant, recipe.steps, recipe.batch_s, real)
        train(course, spoken(recipe.out), recipe.out / f"{variant}.stopped", path)

    return make


def _model(recipe: Recipe) -> Make:
    def make(path: Path) -> None:
        from tests.training.blend import write_blend

        parts = [(share, recipe.out / variant) for variant, share in recipe.variants]
        kept, taken = recipe.kept_share, recipe.taken_share
        if taken is not None and kept < 1.0:
            parts.append(((taken - kept) / (1.0 - kept), recipe.base))
        write_blend(recipe.out / "base", parts, path)

    return make


def _judgement(recipe: Recipe) -> Make:
    def make(path: Path) -> None:
        from tests.training.judge import judged

        recordings = read_corpus(recipe.out / "judging")
        models = (recipe.base, recipe.out / "model")
        _write(path, "\n".join(line for model in models for line in judged(model, recordings)))

    return make


def spoken(out: Path) -> list[Recording]:
    """Everything that is trained with and validated by: synthetic speech, then human."""
    found = [r for stem in stems(out / "speech") for r in read_corpus(stem)]
    return [*found, *read_corpus(out / "human")]


def _need_torch(recipe: Recipe) -> None:
    lacking = [name for name in ("torch", "transformers") if find_spec(name) is None]
    if lacking:
        raise MissingError(
            f"{lacking[0]} is not on this machine: pip install 'hornsweep[learn]', or go on with"
            f" {recipe.out} on one that has it and an accelerator."
        )


def _write(path: Path, text: str) -> None:
    path.write_text(f"{text}\n", encoding="utf-8")
