"""``python -m tests.bench herd``: tags said with a herd list beside, one animal in ten off it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

import click

from dictation.console.terminal import bar
from dictation.decide.tag_doubt import named_by_tag
from dictation.decide.weighing import weighed
from dictation.recognition.engines import load_engine
from dictation.visit.facts import HerdListed
from grammar.exam import KnownAnimal
from grammar.parse import parse
from tests.bench import machine
from tests.bench.conditions import CONDITIONS
from tests.bench.figures import show, table
from tests.bench.intervals import Share
from tests.bench.judging import DAY
from tests.bench.plan import Sound, voices_here
from tests.bench.voices import Split
from tests.decide.spoken import visit_of

LISTED = 100
OFF_THE_LIST = 10  # one animal in so many


@dataclass(frozen=True, slots=True)
class Tagged:
    """A tag said, and what was made of it. ``taken``: the tag stored unasked; None: asked, or
    nothing."""

    tag: str
    listed: bool
    condition: str
    taken: str | None
    asked: bool


@click.command(epilog="Example: python -m tests.bench herd --split tune --size 200")
@click.option("--size", type=click.IntRange(1), default=600, show_default=True, help="Tags said.")
@click.option(
    "--split",
    type=click.Choice([s.value for s in Split]),
    default=Split.TUNE.value,
    show_default=True,
    help="Which voices and noises.",
)
def command(size: int, split: str) -> None:
    """How often the right cow is taken, asked about, or another one taken, with a list of 100."""
    found: list[Tagged] = []
    with bar("hearing tags") as progress:
        for tagged in _heard(size, Split(split)):
            found.append(tagged)
            progress.show(len(found), size)
    columns = ("", "tags", "right, unasked", "asked", "wrong cow, unasked")
    shown = table(f"Tags with a herd list, {split} side\n{machine.head()}", columns)
    groups = {
        "all": found,
        "on the list": [t for t in found if t.listed],
        "off the list": [t for t in found if not t.listed],
        **{c.name: [t for t in found if t.condition == c.name] for c in CONDITIONS},
    }
    for name, tags in groups.items():
        right = Share(sum(t.taken == t.tag for t in tags), len(tags))
        asked = Share(sum(t.asked for t in tags), len(tags))
        wrong = Share(sum(t.taken not in {None, t.tag} for t in tags), len(tags))
        shown.add_row(name, str(len(tags)), str(right), str(asked), str(wrong))
    show(shown)


def _heard(size: int, split: Split) -> Iterator[Tagged]:
    """Each voice in turn says a tag of three or four digits, in one condition after another."""
    rng = random.Random(5)
    recogniser = load_engine("guided")
    there = voices_here(split)
    for number in range(size):
        digits = rng.choice((3, 4))
        herd = {str(rng.randrange(10 ** (digits - 1), 10**digits)) for _ in range(LISTED)}
        tag, listed = rng.choice(sorted(herd)), number % OFF_THE_LIST != 0
        known = sorted(herd if listed else herd - {tag})
        round_, place = divmod(number, len(there))
        condition = CONDITIONS[(place - round_) % len(CONDITIONS)].name
        words = f"next cow {_in_words(tag)}"
        sound = Sound("phrase", words, there[place].name, condition, split, number)
        heard = recogniser.recognise(sound.samples())
        listing = HerdListed("digest", "list.csv", tuple(KnownAnimal(t) for t in known))
        made = weighed(heard, parse, visit_of(listing), DAY)
        animal = None if made.doubts else named_by_tag(made.said)
        taken = None if animal is None else animal.tag
        yield Tagged(tag, listed, condition, taken, bool(made.doubts))


def _in_words(tag: str) -> str:
    words = ["oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    return " ".join(words[int(digit)] for digit in tag)
