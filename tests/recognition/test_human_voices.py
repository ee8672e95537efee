"""The guided engine on human recordings, each with a grammar of its own.

Expected words are those of the package's transcripts: cards/cards.transcription, the file name of
tidigits/dhd.2934z.raw, the comment of goforward.gram, librivox/transcription.
"""

from __future__ import annotations

import difflib

import pytest

from dictation.audio.samples import Samples
from dictation.recognition.guided import GuidedRecogniser
from dictation.recognition.protocol import Outcome
from grammar import normalise
from tests.recognition.recordings import recording


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("001", "ten of clubs"),
        ("002", "four queen of clubs"),
        ("003", "seven of clubs"),
        ("004", "five five"),
        ("005", "eight of spades four of clubs seven of hearts"),
    ],
)
def test_cards_are_heard_word_for_word(cards: GuidedRecogniser, name: str, said: str) -> None:
    heard = cards.recognise(recording(f"cards/{name}.wav"))
    assert heard.outcome is Outcome.HEARD
    assert heard.hypotheses[0].normal == said


def test_digits_are_heard_in_order(digits: GuidedRecogniser) -> None:
    heard = digits.recognise(recording("tidigits/dhd.2934z.raw"))
    assert heard.outcome is Outcome.HEARD
    assert heard.hypotheses[0].normal in {"two nine three four zero", "2 9 3 4 0"}


def american(text: str) -> str:
    """The transcript of the recording is American; the model may spell as the British do."""
    return text.replace("metres", "meters")


def test_a_command_is_heard(moves: GuidedRecogniser) -> None:
    heard = moves.recognise(recording("goforward.raw"))
    assert heard.outcome is Outcome.HEARD
    assert american(heard.hypotheses[0].normal) == "go forward ten meters"


def test_loudness_does_not_matter(moves: GuidedRecogniser) -> None:
    samples = recording("goforward.raw")
    gains = (0.01, 0.1, 1.0, 3.0)
    texts = {american(moves.recognise(samples * g).hypotheses[0].normal) for g in gains}
    assert texts == {"go forward ten meters"}


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("0890", "unless to be rather cold hearted and rather selfish is to be ill disposed"),
        ("0930", "he might even have been made amiable himself"),
    ],
)
def test_the_free_hearing_takes_down_read_prose_but_for_a_word(
    exams: GuidedRecogniser, name: str, said: str
) -> None:
    heard = normalise(exams.recognise(prose(name)).free_text).split()
    matched = difflib.SequenceMatcher(None, heard, said.split(), autojunk=False)
    assert sum(b.size for b in matched.get_matching_blocks()) >= len(said.split()) - 1
    assert len(heard) <= len(said.split()) + 1


@pytest.mark.parametrize("name", ["0870", "0880", "0890", "0920", "0930"])
def test_read_prose_is_refused_or_asked_about(exams: GuidedRecogniser, name: str) -> None:
    heard = exams.recognise(prose(name))
    assert heard.reasons
    if heard.outcome is Outcome.NOT_OUR_LANGUAGE:
        assert heard.hypotheses == ()
        assert heard.confidence == 0
    else:
        assert heard.confidence < 0.3


def prose(name: str) -> Samples:
    return recording(f"librivox/sense_and_sensibility_01_austen_64kb-{name}.wav")


def test_another_language_of_commands_is_none_of_the_exam(exams: GuidedRecogniser) -> None:
    heard = exams.recognise(recording("something.raw"))  # "go somewhere and do something"
    assert heard.outcome is Outcome.NOT_OUR_LANGUAGE


def test_the_spoken_words_score_above_others(cards: GuidedRecogniser) -> None:
    right, wrong = cards.score(recording("cards/001.wav"), ["Ten of clubs.", "Nine of hearts."])
    assert right > wrong + 5


def test_words_follow_each_other_within_the_utterance(cards: GuidedRecogniser) -> None:
    samples = recording("cards/005.wav")
    words = cards.recognise(samples).hypotheses[0].words
    assert " ".join(w.word for w in words) == "eight of spades four of clubs seven of hearts"
    edges = [edge for w in words for edge in (w.at_s, w.until_s)]
    assert edges == sorted(edges)
    assert edges[0] >= 0
    assert edges[-1] <= len(samples) / 16_000
