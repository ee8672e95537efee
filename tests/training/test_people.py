"""Whole speakers validate, strings of digits are one person's, calls of the yard no order."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from hypothesis import given, settings
from hypothesis import strategies as st

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.recognition.model import SpeechModel, load_model
from dictation.recognition.model_files import built_in_folder
from grammar.normalise import normalise
from grammar.parse import parse
from tests.training.corpus import HUMAN
from tests.training.people import (
    LENGTHS,
    people,
    read_surroundings,
    surroundings,
    validates,
    write_surroundings,
)
from tests.training.phrases import is_held_out
from tests.training.yard import calls

SPEAKERS = [f"speaker {n}" for n in range(12)]
WORDS = ("zero", "five", "left", "bird")


@pytest.fixture(scope="module")
def teacher() -> SpeechModel:
    return load_model(built_in_folder())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Buzzes for words, a noise, a click that dies away for a room, and as much held out."""
    made = tmp_path_factory.mktemp("recordings")
    rows = [("words", word, speaker) for speaker in SPEAKERS for word in WORDS]
    rows += [("noise", "rain", ""), ("rooms", "hall", "")]
    drawn = np.random.default_rng(4)
    with (made / "recordings.csv").open("w", encoding="utf-8", newline="") as file:
        listed = csv.writer(file)
        listed.writerow(["file", "text", "speaker", "side", "seconds", "source", "licence"])
        for side in ("tune", "held-out"):
            for number, (what, text, speaker) in enumerate(rows):
                sound = 0.1 * drawn.standard_normal(SAMPLE_RATE_HZ // 2)
                if what == "rooms":
                    sound *= 10 ** (-np.arange(len(sound)) / 4000)
                    sound[0] = 0.9
                name = f"{what}/{side}{number}.wav"
                (made / what).mkdir(exist_ok=True)
                sf.write(made / name, sound.astype(np.float32), SAMPLE_RATE_HZ)
                listed.writerow([name, text, f"{speaker} {side}".strip(), side, 0.5, "", ""])
    return made


def test_a_speaker_teaches_or_validates_and_never_both(folder: Path, teacher: SpeechModel) -> None:
    said = people(folder, teacher, 3)
    assert {r.kind for r in said} == {HUMAN}
    assert {r.validation for r in said} == {True, False}
    assert all(r.validation == validates(r.voice.partition("/")[2]) for r in said)


def test_nobody_of_the_held_out_side_is_heard(folder: Path, teacher: SpeechModel) -> None:
    assert {r.voice.partition("/")[2] for r in people(folder, teacher, 3)} == {
        f"{speaker} tune" for speaker in SPEAKERS
    }


def test_words_that_are_not_ours_are_written_as_they_are(
    folder: Path, teacher: SpeechModel
) -> None:
    sorts: dict[str, set[str]] = {}
    for recording in people(folder, teacher, 3):
        sorts.setdefault(recording.voice.partition("/")[0], set()).add(recording.written)
    assert sorts["foreign word"] == {"Bird."}
    assert sorts["side"] == {"Left."}
    strings = {len(normalise(text).replace(" ", "-").split("-")) for text in sorts["string"]}
    assert strings <= {1, *LENGTHS}


def test_the_same_seed_gives_the_same_sound(folder: Path, teacher: SpeechModel) -> None:
    one, other = people(folder, teacher, 3), people(folder, teacher, 3)
    assert [r.written for r in one] == [r.written for r in other]
    assert all(np.array_equal(a.samples, b.samples) for a, b in zip(one, other, strict=True))


def test_noise_and_rooms_travel_in_a_file(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "surroundings.npz"
    write_surroundings(folder, path)
    kept, made = read_surroundings(path), surroundings(folder)
    assert np.array_equal(kept.noise, made.noise)
    assert np.array_equal(kept.rooms, made.rooms)
    assert np.sqrt(np.mean(kept.noise**2, axis=1)) == pytest.approx(1.0, abs=1e-3)
    assert kept.rooms[:, 0] == pytest.approx(1.0)


@settings(max_examples=20)
@given(st.integers(0, 10_000))
def test_no_call_of_the_yard_can_be_read_as_a_phrase_or_is_held_out(seed: int) -> None:
    for call in calls(20, seed):
        assert call[0].isupper()
        assert call[-1] in ".?"
        assert parse(call).unread is not None
        assert not is_held_out(call.lower())
