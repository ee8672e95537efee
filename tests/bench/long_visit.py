"""An invented visit of any length, with sound, for the benches of the page."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.decide.doubt import doubts_of_reading
from dictation.recognition.protocol import Hypothesis, Outcome
from dictation.visit.facts import VisitOpened
from dictation.visit.inputs import Input, Noted, PhraseHeard
from grammar.normalise import normalise
from grammar.parse import parse
from grammar.say import say_digits, say_number
from tests.bench.judging import DAY
from tests.bench.written import rows_of, write_rows

SOUNDS = 24
"""Different sounds that the phrases of the visit share: each picture is drawn from a real file."""

ASKED_EVERY, REFUSED_EVERY = 14, 23
"""Of so many phrases one is doubtful, and one is talk: shares of the shipped demonstration."""


def make_long_visit(folder: Path, cows: int, seed: int = 5) -> int:
    """A journal with sound of so many cows; how many phrases it holds."""
    rng = random.Random(seed)
    names = _sounds(folder, rng)
    inputs: list[Input] = [Noted(VisitOpened(DAY, "Larkmoor"))]
    for cow in range(cows):
        for text in _said(rng, cow):
            count = len(inputs)
            inputs.append(_heard(count, text, names[count % SOUNDS], rng))
    write_rows(folder, rows_of(inputs))
    return len(inputs) - 1


def _said(rng: random.Random, cow: int) -> list[str]:
    side, other = rng.sample(("left", "right"), 2)
    pregnant = rng.random() < 0.7
    days = say_number(rng.randint(30, 90))
    return [
        f"next cow {say_digits(str(1000 + cow))}",
        "cervix normal, body clear",
        f"pregnant {side} horn {days} days" if pregnant else "open",
        "good heartbeat" if pregnant else "both horns clear",
        f"{side} ovary CL {say_number(rng.randint(17, 29))} millimetres",
        f"{other} ovary follicle {say_number(rng.randint(6, 16))} millimetres",
        "recheck in four weeks" if pregnant else "prostaglandin",
    ]


def _heard(number: int, text: str, audio: str, rng: random.Random) -> PhraseHeard:
    normal = normalise(text)
    at_s = number * 5.0
    if number % REFUSED_EVERY == 0:
        return PhraseHeard(
            number,
            audio,
            at_s,
            at_s + 2.0,
            Outcome.NOT_OUR_LANGUAGE,
            free_text="mind that gate would you",
        )
    asked = number % ASKED_EVERY == 0
    reading = parse(normal, DAY)
    doubts = ("noise over the last words",) if asked else doubts_of_reading(reading, DAY)
    return PhraseHeard(
        number,
        audio,
        at_s,
        at_s + 2.0,
        Outcome.HEARD,
        hypotheses=(Hypothesis(text, normal, (), -1.0, 4),),
        free_text=text,
        confidence=rng.uniform(0.4, 0.8) if asked else rng.uniform(0.9, 1.0),
        said=reading.said,
        doubts=doubts,
    )


def _sounds(folder: Path, rng: random.Random) -> list[str]:
    noise = np.random.default_rng(rng.randint(0, 10**6))
    names = []
    for number in range(1, SOUNDS + 1):
        length = int(rng.uniform(1.0, 3.0) * SAMPLE_RATE_HZ)
        syllables = np.abs(np.sin(np.arange(length) / SAMPLE_RATE_HZ * np.pi * 4))
        samples = (noise.standard_normal(length) * syllables * 0.1).astype(np.float32)
        sound = Utterance(samples, 0.0, length / SAMPLE_RATE_HZ, number)
        names.append(keep_utterance(folder, number, sound).name)
    return names
