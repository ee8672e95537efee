"""``python -m tests.training --out DIR``: the speech model taught the trade, step by step."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from dictation.cli.app import run
from dictation.console.terminal import sentence
from dictation.recognition.model_files import model_folder, original_folder
from tests.training.human import Prompts
from tests.training.recipe import Recipe, check_settings, steps_of
from tests.training.speech import SPEAKERS
from tests.training.steps import perform
from tests.training.variants import VARIANTS

FOLDER = click.Path(path_type=Path)


class Taken(click.ParamType[tuple[str, float]]):
    """A variant and the share of it that the model takes over."""

    name = "variant"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, float]:
        """'herd=0.5'; 'herd' is all of it."""
        variant, _, share = str(value).partition("=")
        if variant not in VARIANTS:
            self.fail(f"'{variant}' is none of {', '.join(VARIANTS)}.", param, ctx)
        try:
            return variant, float(share or 1.0)
        except ValueError:
            self.fail(f"'{share}' is no share such as 0.5.", param, ctx)


@click.command(
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Example: python -m tests.training --out taught --variant herd=0.5",
)
@click.option("--out", required=True, type=FOLDER, help="Where everything is made.")
@click.option("--variant", "variants", multiple=True, type=Taken(), help="NAME=SHARE, any number.")
@click.option("--base", type=FOLDER, help="Model to begin with; else the original.")
@click.option("--teacher", type=FOLDER, help="Model to keep to; else the original.")
@click.option("--steps", default=1500, show_default=True, type=click.IntRange(1))
@click.option("--batch-seconds", default=512.0, show_default=True, type=click.FloatRange(1.0))
@click.option("--phrases", default=9000, show_default=True, type=click.IntRange(1))
@click.option("--talk", default=9000, show_default=True, type=click.IntRange(0))
@click.option("--seed", default=12, show_default=True)
@click.option("--engine", "engines", multiple=True, type=click.Choice(tuple(SPEAKERS)))
@click.option("--jobs", default=os.cpu_count() or 1, type=click.IntRange(1), help="That speak.")
@click.option("--prompts", nargs=2, type=FOLDER, help="Human: .g722 folder, NAME: WORDS file.")
@click.option("--recordings", type=FOLDER, help="People, real noise and rooms: recordings.csv.")
@click.option("--calls", default=0, show_default=True, type=click.IntRange(0), help="Of the yard.")
@click.option("--kept", default=1.0, show_default=True, help="Share of the base's own change.")
@click.option("--taken", type=float, help="Share of the same in the model; else as --kept.")
def training(  # noqa: PLR0913, PLR0917 - one an option
    out: Path,
    variants: tuple[tuple[str, float], ...],
    base: Path | None,
    teacher: Path | None,
    steps: int,
    batch_seconds: float,
    phrases: int,
    talk: int,
    seed: int,
    engines: tuple[str, ...],
    jobs: int,
    prompts: tuple[Path, Path] | None,
    recordings: Path | None,
    calls: int,
    kept: float,
    taken: float | None,
) -> None:
    """Teach the speech model: sentences, speech, training, and a model folder out of it.

    Each step leaves its result in --out and is not done again: after a stop the same command goes
    on, on the same machine or on another. The model is --out/model, for hornsweep --model.
    """
    recipe = Recipe(
        out=out,
        base=model_folder(base or original_folder()),
        teacher=model_folder(teacher or original_folder()),
        variants=variants or (("all-quick", 0.5),),
        steps=steps,
        batch_s=batch_seconds,
        phrases=phrases,
        talk=talk,
        seed=seed,
        engines=engines,
        jobs=jobs,
        prompts=Prompts(*prompts) if prompts else None,
        recordings=recordings,
        calls=calls,
        kept_share=kept,
        taken_share=taken,
    )
    check_settings(recipe)
    perform(steps_of(recipe), sentence)


if __name__ == "__main__":
    sys.exit(run(command=training, name="python -m tests.training"))
