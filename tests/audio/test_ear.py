"""The listening thread: what it hands on, and that it waits for nobody."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.ear import Ear, EarEvent, Ended, Hints
from dictation.audio.endpoint import (
    BEGUN_HANG_OVER_S,
    LIVE_HANG_OVER_S,
    SENTENCE_HANG_OVER_S,
    Utterance,
)
from dictation.audio.reading import Heed, Interruption, Lost, ignore
from dictation.audio.recording import open_recording
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import Spool, spooled
from dictation.cli.demo import IN_SOURCE as FIXTURES

DEMO = FIXTURES / "demo_visit.flac"
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
    told = utterances(
        heard(Cut(), tmp_path, Hints(glimpsed.append, lambda sound, pause: ahead.append(sound)))
    )
    offered = {samples.tobytes() for samples in ahead}
    whole = told[:-1]  # the last is broken off by the end of the stretch
    assert all(utterance.samples.tobytes() in offered for utterance in whole)
    spoken_s = sum(len(u.samples) / SAMPLE_RATE_HZ for u in told)
    assert len(glimpsed) > 3 * (spoken_s - len(told))


@pytest.mark.parametrize(
    ("pause_s", "count"),
    [(SENTENCE_HANG_OVER_S, 2), (LIVE_HANG_OVER_S, 1), (BEGUN_HANG_OVER_S, 1)],
)
def test_the_silence_that_ends_is_what_the_words_so_far_ask_for(
    tmp_path: Path, pause_s: float, count: int
) -> None:
    told: list[EarEvent] = []
    source = Speaks(None, None)
    silence = np.zeros(int(0.05 * SAMPLE_RATE_HZ))
    source.heard = np.concatenate([demo(21.2, 23.85), silence, demo(21.2, 23.85), np.zeros(48_000)])
    Ear(source, Spool(tmp_path, 0.0), told.append, Hints(ahead=lambda _, wait: wait(pause_s))).run()
    assert len(utterances(told)) == count


def test_a_source_that_fails_is_told_and_not_hidden(tmp_path: Path) -> None:
    (ended,) = heard(Broken(), tmp_path)
    assert isinstance(ended, Ended)
    assert isinstance(ended.error, OSError)


def demo(from_s: float, until_s: float) -> Samples:
    blocks = itertools.islice(open_recording(DEMO).blocks(), int(until_s / 0.032) + 1)
    return np.concatenate(list(blocks))[int(from_s * SAMPLE_RATE_HZ) :]


class Speaks:
    """The tool speaks from the first block on, as loud as anybody; so does another voice."""

    def __init__(self, ear: Ear | None, other_at_s: float | None) -> None:
        self.ear, own, other = ear, demo(6.8, 10.3), demo(21.2, 23.7)
        self.ends = len(own) // 512
        self.heard = np.random.default_rng(1).normal(0.0, 1e-3, 10 * SAMPLE_RATE_HZ)
        self.heard[: len(own)] += own
        if other_at_s is not None:
            first = int(other_at_s * SAMPLE_RATE_HZ)
            self.heard[first : first + len(other)] += other

    @property
    def ends_s(self) -> float:
        """When the tool has ended."""
        return (self.ends + 1) * 512 / SAMPLE_RATE_HZ

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        for number, at in enumerate(range(0, len(self.heard), 512)):
            yield self.heard[at : at + 512].astype(np.float32)
            if number == self.ends and self.ear is not None:
                self.ear.spoke()


def heard_while_speaking(folder: Path, other_at_s: float | None) -> list[Utterance]:
    told: list[EarEvent] = []
    source = Speaks(None, other_at_s)
    source.ear = ear = Ear(source, Spool(folder, 0.0), told.append)
    ear.speaks()
    ear.run()
    return utterances(told)


def test_the_tools_own_voice_is_kept_and_not_heard(tmp_path: Path) -> None:
    assert heard_while_speaking(tmp_path, None) == []
    kept = np.concatenate([samples for _, samples in spooled(tmp_path, 0.0)])
    assert float(np.abs(kept[: 3 * SAMPLE_RATE_HZ]).max()) > 0.01


def test_who_speaks_once_it_is_quiet_is_heard_as_ever(tmp_path: Path) -> None:
    (heard,) = heard_while_speaking(tmp_path, 5.0)
    assert not heard.over_own_voice
    assert heard.at_s == pytest.approx(5.0, abs=0.4)


def test_what_was_begun_over_the_tools_voice_is_kept_whole_and_marked(tmp_path: Path) -> None:
    begun_s = Speaks(None, None).ends_s - 1.0
    (heard,) = heard_while_speaking(tmp_path, begun_s)
    assert heard.over_own_voice
    assert heard.at_s == pytest.approx(0.0, abs=0.1)
    kept = np.concatenate([samples for _, samples in spooled(tmp_path, 0.0)])
    assert np.allclose(heard.samples, kept[: len(heard.samples)], atol=1e-3)


def test_what_was_said_whole_over_the_tools_voice_is_not_heard(tmp_path: Path) -> None:
    assert heard_while_speaking(tmp_path, 0.5) == []


def test_the_ear_opens_again_if_the_player_never_ends(tmp_path: Path) -> None:
    told: list[EarEvent] = []
    source = Speaks(None, None)
    source.heard = np.concatenate(
        [np.zeros(13 * SAMPLE_RATE_HZ), demo(21.2, 23.7), np.zeros(16000)]
    )
    ear = Ear(source, Spool(tmp_path, 0.0), told.append)
    ear.speaks()
    ear.run()
    assert len(utterances(told)) == 1
    assert not ear.speaking
