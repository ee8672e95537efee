"""The sounds of real people: sides kept apart, tags of one speaker, noise and rooms as named.

Most of it works on a small folder of recordings made here; what needs the real ones is skipped
where HORNSWEEP_RECORDINGS does not name them.
"""

from __future__ import annotations

import csv
import os
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.errors import MissingError
from grammar.findings import Animal
from grammar.parse import parse, values_of
from tests.bench.people import EVERY_KIND, sounds_of
from tests.bench.real_people import ACCENT_TAG, FOREIGN_WORD, KINDS, SIDE, TAG, RealSound
from tests.bench.real_recordings import FOLDER_VARIABLE
from tests.bench.real_surroundings import in_noise, in_room, is_room
from tests.bench.shed_noise import reverberant, rms
from tests.bench.voices import Split

WORDS = "zero one five eight left right go yes on".split()  # noqa: SIM905
ROWS = [
    *(("words", word, f"{side} {n}", side) for side in Split for n in "ab" for word in WORDS),
    *(("words", "hum", f"{side} a", side) for side in Split),
    *(("digits", word, f"accent {side}", side) for side in Split for word in WORDS[:4]),
    *(("orders", "", "", side) for side in Split),
    *(("reading", "", reader, side) for side in Split for reader in ("both", f"reader {side}")),
    *(("noise", name, "", side) for side in Split for name in ("a cow", "rain")),
    *(("rooms", "a hall", "", side) for side in Split),
]
LENGTH_S = {"orders": 10.0, "reading": 9.0, "noise": 3.0}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Recordings made here: a buzz of its own length a word, louder noise, a decaying hall."""
    made = tmp_path_factory.mktemp("recordings")
    random = np.random.default_rng(1)
    with (made / "recordings.csv").open("w", encoding="utf-8", newline="") as file:
        listed = csv.writer(file)
        listed.writerow(["file", "text", "speaker", "side", "seconds", "source", "licence"])
        for number, (what, text, speaker, side) in enumerate(ROWS):
            name = f"{what}/{number:04}.ogg"
            count = round(LENGTH_S.get(what, 0.6) * SAMPLE_RATE_HZ)
            sound = (0.1 * random.standard_normal(count)).astype(np.float32)
            if what in {"words", "digits"} and text != "hum":
                sound[: count // 3] *= 0.01
            if what == "rooms":
                click = np.zeros(SAMPLE_RATE_HZ, np.float32)
                click[100] = 0.9
                sound = reverberant(click, 5, 0.6, 6.0)
            (made / what).mkdir(exist_ok=True)
            sf.write(made / name, sound, SAMPLE_RATE_HZ)
            listed.writerow([name, text, speaker, side.value, LENGTH_S.get(what, 0.6), "", ""])
    return made


@pytest.fixture
def recorded() -> Path:
    """The folder of real recordings."""
    named = os.environ.get(FOLDER_VARIABLE)
    if not named:
        pytest.skip(f"real people and real noise: {FOLDER_VARIABLE} names no folder of recordings")
    return Path(named)


def people(folder: Path, split: Split, kind: str) -> list[RealSound]:
    return [s for s in sounds_of(folder, split, [kind]) if isinstance(s, RealSound)]


def check_tags(sounds: list[RealSound]) -> None:
    assert sounds
    for sound in sounds:
        said = values_of(sound.words)
        assert isinstance(said, tuple)
        assert [type(each) for each in said] == [Animal]
        assert 3 <= len(said[0].tag) <= 5
        assert {part.recording.speaker for part in sound.parts} == {sound.voice}
        assert [part.recording.text for part in sound.parts] == sound.words.split()


def check_sides(folder: Path) -> None:
    both = [sounds_of(folder, split, KINDS, 200) for split in Split]
    files = [{p.recording.name for s in side if isinstance(s, RealSound) for p in s.parts}
             for side in both]  # fmt: skip
    assert not files[0] & files[1]
    voices = [{s.voice for s in side} for side in both]
    assert not voices[0] & voices[1]  # not even somebody who is listed on both


def test_a_tag_is_digits_of_one_speaker_that_are_read_as_an_animal(folder: Path) -> None:
    for kind in (TAG, ACCENT_TAG):
        check_tags(people(folder, Split.TUNE, kind))


def test_no_digit_comes_twice_where_the_speaker_has_enough(folder: Path) -> None:
    for sound in people(folder, Split.TUNE, TAG):
        said = sound.words.split()
        assert len(set(said)) == len(said), sound.words


def test_no_recording_and_nobody_is_on_both_sides(folder: Path) -> None:
    check_sides(folder)


def test_the_same_folder_gives_the_same_sounds_each_with_a_key_of_its_own(folder: Path) -> None:
    sounds = sounds_of(folder, Split.TUNE, KINDS)
    keys = [s.key for s in sounds]
    assert len(set(keys)) == len(keys)
    assert keys == [s.key for s in sounds_of(folder, Split.TUNE, KINDS)]
    again = sounds_of(folder, Split.TUNE, KINDS)
    assert all(np.array_equal(a.samples(), b.samples()) for a, b in zip(sounds, again, strict=True))


def test_every_kind_has_sounds_of_a_breath_and_no_more(folder: Path) -> None:
    for kind in KINDS:
        sounds = sounds_of(folder, Split.HELD_OUT, [kind])
        assert sounds, kind
        for sound in sounds:
            assert 0.5 < len(sound.samples()) / SAMPLE_RATE_HZ < 9.0
            assert bool(sound.words) == sound.for_us


def test_a_foreign_word_is_none_that_is_ours_alone_or_begins_a_phrase(folder: Path) -> None:
    assert {s.condition for s in people(folder, Split.TUNE, FOREIGN_WORD)} == {"go"}
    for sound in people(folder, Split.TUNE, SIDE):
        assert sound.words in {"left", "right"}


def test_a_word_that_nobody_could_hear_in_its_recording_is_left_out(folder: Path) -> None:
    texts = {row[1] for row in ROWS if row[0] == "words"}
    assert "hum" in texts
    assert "hum" not in {s.condition for s in people(folder, Split.TUNE, FOREIGN_WORD)}


def test_a_folder_without_recordings_is_named_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match=r"holds no recordings\.csv: name the folder"):
        sounds_of(tmp_path, Split.TUNE, [TAG])


def test_real_noise_is_mixed_at_the_named_ratio(folder: Path) -> None:
    tone = np.sin(np.arange(SAMPLE_RATE_HZ) * 0.3).astype(np.float32)
    mixed = in_noise(tone, folder, Split.TUNE, 3, 10.0)
    assert 20 * np.log10(rms(tone) / rms(mixed - tone)) == pytest.approx(10.0, abs=0.2)


def test_a_room_keeps_the_voice_where_it_was(folder: Path) -> None:
    click = np.zeros(SAMPLE_RATE_HZ, np.float32)
    click[5000] = 1.0
    heard = in_room(click, folder, Split.TUNE, 3)
    assert len(heard) == len(click)
    assert abs(int(np.argmax(np.abs(heard))) - 5000) <= 1
    assert rms(heard[5200:9000]) > 0


def test_a_filter_and_an_endless_echo_are_no_rooms() -> None:
    t = np.arange(2 * SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    noise = np.random.default_rng(1).standard_normal(len(t))
    falling = {rt60_s: (noise * 10 ** (-3 * t / rt60_s)).astype(np.float32)
               for rt60_s in (0.02, 0.9, 8.0)}  # fmt: skip
    for response in falling.values():
        response[0] = 4.0
    assert [is_room(r) for r in falling.values()] == [False, True, False]
    assert not is_room(falling[0.9][::-1])


def test_real_people_are_on_one_side_only(recorded: Path) -> None:
    check_sides(recorded)


@pytest.mark.parametrize("split", list(Split))
def test_tags_of_real_people_are_read_as_an_animal(recorded: Path, split: Split) -> None:
    for kind in (TAG, ACCENT_TAG):
        check_tags(people(recorded, split, kind))


@pytest.mark.parametrize("split", list(Split))
def test_there_is_real_sound_of_every_kind_on_each_side(recorded: Path, split: Split) -> None:
    for kind in EVERY_KIND:
        for sound in sounds_of(recorded, split, [kind], limit=3):
            samples = sound.samples()
            assert np.isfinite(samples).all()
            assert 0.5 < len(samples) / SAMPLE_RATE_HZ < 12.0
            assert not sound.words or parse(sound.words).unread is None or kind == SIDE
