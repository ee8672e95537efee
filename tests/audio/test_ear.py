"""The listening thread: what it hands on, and that it waits for nobody."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import numpy as np

from dictation.audio.ear import Ear, EarEvent, Ended, Hints
from dictation.audio.endpoint import Utterance
from dictation.audio.frames import Interruption, Lost
from dictation.audio.reading import Heed, ignore
from dictation.audio.recording import open_recording
from dictation.audio.spool import Spool, spooled
from dictation.recognition.protocol import SAMPLE_RATE_HZ, Samples

DEMO = Path(str(files("audio_fixtures").joinpath("demo_visit.flac")))
BLOCKS = int(16.0 / 0.032)
"""Blocks of the first sixteen seconds, in which five phrases are said."""


class Cut:
    """The demonstration, with the device gone from one block until so much later."""

    def __init__(self, gone_at: int = BLOCKS + 1, gone_s: float = 0.0) -> None:
        self._gone_at = gone_at
        self._gone_s = gone_s

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        for number, block in enumerate(itertools.islice(open_recording(DEMO).blocks(), BLOCKS)):
            if number == self._gone_at:
                at_s = number * 512 / SAMPLE_RATE_HZ
                heed(Lost(at_s, "gone"))
                yield np.zeros(0, np.float32)
                heed(Interruption(at_s, "back", at_s + self._gone_s))
            yield block


class Broken:
    """A source that fails in the middle."""

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        yield np.zeros(512, np.float32)
        raise OSError("the driver failed")


def heard(source: Cut | Broken, folder: Path, hints: Hints | None = None) -> list[EarEvent]:
    told: list[EarEvent] = []
    Ear(source, Spool(folder, 100.0), told.append, hints).run()
    return told


def utterances(told: list[EarEvent]) -> list[Utterance]:
    return [event for event in told if isinstance(event, Utterance)]


def test_times_are_those_of_the_visit_and_the_sound_is_on_disk(tmp_path: Path) -> None:
    told = utterances(heard(Cut(), tmp_path))
    assert len(told) == 5
    kept = np.concatenate([samples for _, samples in spooled(tmp_path, 0.0)])
    for utterance in told:
        first = round((utterance.at_s - 100.0) * SAMPLE_RATE_HZ)
        same = kept[first : first + len(utterance.samples)]
        assert np.allclose(same, utterance.samples, atol=1 / 32768)


def test_words_before_the_device_went_are_handed_on_at_once(tmp_path: Path) -> None:
    middle_of_a_phrase = int(8.5 / 0.032)
    told = heard(Cut(middle_of_a_phrase, 60.0), tmp_path)
    lost = next(place for place, event in enumerate(told) if isinstance(event, Lost))
    before, behind = utterances(told[:lost]), utterances(told[lost:])
    assert before[-1].until_s <= 100.0 + 8.6
    assert behind[0].at_s >= 100.0 + 8.4 + 60.0
    starts = [at_s for at_s, _ in spooled(tmp_path, 0.0)]
    assert starts[1] - starts[0] > 60.0


def test_what_is_offered_ahead_is_what_ends(tmp_path: Path) -> None:
    ahead: list[Samples] = []
    glimpsed: list[Samples] = []
    told = utterances(heard(Cut(), tmp_path, Hints(glimpsed.append, ahead.append)))
    offered = {samples.tobytes() for samples in ahead}
    whole = told[:-1]  # the last is broken off by the end of the stretch
    assert all(utterance.samples.tobytes() in offered for utterance in whole)
    spoken_s = sum(len(u.samples) / SAMPLE_RATE_HZ for u in told)
    assert len(glimpsed) > 3 * (spoken_s - len(told))


def test_a_source_that_fails_is_told_and_not_hidden(tmp_path: Path) -> None:
    (ended,) = heard(Broken(), tmp_path)
    assert isinstance(ended, Ended)
    assert isinstance(ended.error, OSError)


def test_muted_sound_is_kept_and_not_heard(tmp_path: Path) -> None:
    told: list[EarEvent] = []
    ear = Ear(Cut(), Spool(tmp_path, 0.0), told.append)
    ear.mute_until(10.5)
    ear.run()
    assert all(utterance.at_s > 10.0 for utterance in utterances(told))
    kept = np.concatenate([samples for _, samples in spooled(tmp_path, 0.0)])
    assert float(np.abs(kept[: 10 * SAMPLE_RATE_HZ]).max()) > 0.01
