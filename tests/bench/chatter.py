"""Talk at the crush that is not for the record: the wrong things to take as findings.

Sentences of our own, put together from a seed: people to each other, to the cattle, to the dog; a
radio; and, hardest, talk that shares words and numbers with the exam. None is a sentence of the
exam's language: that is checked where they are drawn.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator

from grammar.parse import parse
from tests.bench.phrases import HELD_OUT_BELOW
from tests.bench.voices import Split

_SLOTS: dict[str, tuple[str, ...]] = {
    "who": ("your brother", "the neighbour", "the milk recorder", "that lad", "my uncle", "she"),
    "thing": ("the gate", "the bucket", "the trailer", "that rope", "the clipboard", "my coat"),
    "place": ("in the yard", "by the dairy", "behind the barn", "down the lane", "at the market"),
    "when": ("this morning", "last Tuesday", "before dinner", "on Friday", "since the rain"),
    "number": ("three", "seven", "twelve", "fourteen", "twenty", "thirty five", "forty", "ninety"),
    "money": ("pounds", "euros", "quid", "pence a litre"),
    "shout": ("come on", "hup", "go on", "get up", "steady now", "whoa", "easy girl"),
    "where_to": ("go on up", "get in there", "walk on", "move over", "mind your feet"),
    "weather": ("more rain", "a bit of frost", "a dry spell", "strong wind", "fog on the hills"),
    "team": ("the home side", "the visitors", "the champions", "the league leaders"),
}

_PATTERNS: tuple[str, ...] = (
    # people to each other
    "did you close {thing} {place}",
    "have you seen {thing} {when}",
    "{who} told me about it {when}",
    "I left {thing} {place} {when}",
    "put {thing} over there would you",
    "what time are we stopping for tea",
    "{who} bought a new tractor {when}",
    "can you hold {thing} for a minute",
    "that one kicked me {when}",
    "how many more have we got {place}",
    "there must be {number} of them left {place}",
    "it cost me {number} {money} {when}",
    "{who} is coming {when} with the hay",
    "my phone has died again",
    "do you want a cup of coffee after this",
    "the price went down to {number} {money}",
    # to the cattle and the dog
    "{shout} {where_to} you stupid animal",
    "{shout} {shout} {where_to}",
    "{where_to} {where_to} come on now",
    "get out of it you daft dog",
    # a radio
    "and now the weather {weather} is expected {when}",
    "{team} scored {number} minutes into the second half",
    "traffic is slow on the ring road with queues of {number} miles",
    "the minister said that talks would go on {when}",
    "that was number {number} in the charts this week",
    "{team} have won by {number} points to {number}",
    # words and numbers that the exam knows too
    "she had a calf {place} {when}",
    "the left hand gate wants {number} new bolts",
    "right so where did {who} go",
    "we need {number} bags of feed by Friday",
    "is the vet coming back in {number} weeks or not",
    "he is about {number} years old and still milking",
    "the right back tyre is flat on {thing}",
    "open {thing} and let the next lot in",
    "that heifer jumped clean over the wall {when}",
    "turn left at the cross and it is {number} miles on",
    "there was nothing on the television {when}",
    "no no the other one the one on the left",
)


def chatter(split: Split) -> Iterator[str]:
    """Sentences of one side of the split, in lower case, without end; the same ones every time."""
    seed = 3_000_000 if split is Split.HELD_OUT else 4_000_000
    while True:
        sentence = _sentence(random.Random(seed))
        seed += 1
        if _side(sentence) is split and parse(sentence).unread is not None:
            yield sentence


def _sentence(rng: random.Random) -> str:
    words = rng.choice(_PATTERNS)
    for slot, choices in _SLOTS.items():
        while f"{{{slot}}}" in words:
            words = words.replace(f"{{{slot}}}", rng.choice(choices), 1)
    return words.lower()


def _side(sentence: str) -> Split:
    """Split as phrases are."""
    first = hashlib.sha256(sentence.encode()).digest()[0]
    return Split.HELD_OUT if first < HELD_OUT_BELOW else Split.TUNE
