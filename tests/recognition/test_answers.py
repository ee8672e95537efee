"""A question is answered by its value: heard among the answers, refused where it is another."""

from __future__ import annotations

import pytest
import soundfile as sf

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.cli.demo import IN_SOURCE as FIXTURES
from dictation.recognition.ahead import AheadRecogniser
from dictation.recognition.answers import AnsweringRecogniser
from dictation.recognition.engines import engine
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.protocol import Heard, Outcome
from grammar.constraint import constraint
from grammar.parse import values_of

SPOKEN = {"forty five": (15.30, 16.05), "twenty four": (22.62, 23.90), "next cow": (24.30, 25.40)}
"""Where the demonstration recording says it, seconds."""


@pytest.fixture(scope="module")
def answering() -> AnsweringRecogniser:
    guided = engine("guided", constraint(), values_of)
    assert isinstance(guided, GuidedRecogniser)
    return AnsweringRecogniser(guided, values_of)


def sound(words: str) -> Samples:
    at_s, until_s = SPOKEN[words]
    path = FIXTURES / "demo_visit.flac"
    start, stop = int(at_s * SAMPLE_RATE_HZ), int(until_s * SAMPLE_RATE_HZ)
    samples: Samples = sf.read(path, start=start, stop=stop, dtype="float32")[0]
    return samples


def test_a_value_is_heard_among_the_answers(answering: AnsweringRecogniser) -> None:
    answering.ask(("forty five", "forty nine"))
    heard = answering.recognise(sound("forty five"))
    assert heard.outcome is Outcome.HEARD
    assert heard.hypotheses[0].normal == "forty five"
    assert heard.confidence >= 0.8


def test_another_value_is_not_taken_for_an_answer(answering: AnsweringRecogniser) -> None:
    answering.ask(("twenty two", "thirty two"))
    heard = answering.recognise(sound("twenty four"))
    assert heard.confidence < 0.8 or heard.hypotheses[0].normal not in {"twenty two", "thirty two"}


def test_a_command_stays_a_command_while_something_is_asked(answering: AnsweringRecogniser) -> None:
    answering.ask(("twenty two", "thirty two"))
    assert answering.recognise(sound("next cow")).hypotheses[0].normal == "next cow"


class Counting:
    """A recogniser that counts how often it hears."""

    name = "counting"

    def __init__(self) -> None:
        self.times = 0

    def recognise(self, samples: Samples) -> Heard:
        self.times += 1
        return Heard(Outcome.SILENCE, free_text=str(len(samples)))


def test_what_was_begun_ahead_is_not_heard_twice() -> None:
    counting = Counting()
    ahead = AheadRecogniser(counting)
    whole, longer = sound("forty five"), sound("twenty four")
    ahead.begin(whole)
    ahead.begin(whole)
    assert ahead.recognise(whole).free_text == str(len(whole))
    assert counting.times == 1
    assert ahead.recognise(longer).free_text == str(len(longer))
    assert counting.times == 2
    ahead.close()
