"""Loudness verdicts, the tones, and the end that is known ahead."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from dictation.audio.endpoint import Blip, Endpointer, Utterance
from dictation.audio.meter import Meter, Verdict
from dictation.audio.recording import open_recording
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.voice import Tone, tone
from dictation.cli.demo import IN_SOURCE as FIXTURES

DEMO = FIXTURES / "demo_visit.flac"


def sine(level: float, seconds: float = 4.0) -> Samples:
    at_s = np.arange(int(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    wave = np.clip(level * np.sin(2 * np.pi * 300 * at_s), -1, 1)
    return wave.astype(np.float32)


@pytest.mark.parametrize(
    ("level", "verdict"),
    [(0.1, Verdict.GOOD), (1.5, Verdict.CLIPPING), (0.00001, Verdict.DEAD)],
)
def test_the_level_is_judged_in_words(level: float, verdict: Verdict) -> None:
    meter = Meter()
    sound = sine(level)
    for at in range(0, len(sound), 512):
        meter.push(sound[at : at + 512])
    assert meter.level.verdict is verdict


def test_quiet_speech_is_told_from_a_quiet_room() -> None:
    meter = Meter()
    verdicts = []
    for take in (meter.push, meter.spoken):
        take(sine(0.001))
        verdicts.append(meter.level.verdict)
    assert verdicts == [Verdict.GOOD, Verdict.TOO_QUIET]


@pytest.mark.parametrize("kind", list(Tone))
def test_a_tone_is_not_taken_for_speech(kind: Tone) -> None:
    silence = np.zeros(SAMPLE_RATE_HZ, np.float32)
    endpointer = Endpointer()
    sound = np.concatenate([silence, tone(kind), silence])
    events = (*endpointer.push(sound), *endpointer.flush())
    assert not [event for event in events if isinstance(event, Utterance)]


def test_the_tones_are_distinct() -> None:
    def pitches(kind: Tone) -> tuple[int, ...]:
        spectrum = np.abs(np.fft.rfft(tone(kind), SAMPLE_RATE_HZ))
        return tuple(int(f) for f in np.flatnonzero(spectrum > 0.6 * spectrum.max()))

    for one, other in itertools.combinations(Tone, 2):
        assert set(pitches(one)) != set(pitches(other))


def test_the_end_is_known_ahead_sample_for_sample() -> None:
    endpointer = Endpointer()
    ahead: dict[float, Utterance] = {}
    ended: list[Utterance] = []
    for block in itertools.islice(open_recording(DEMO).blocks(), 1000):
        for event in endpointer.push(block):
            assert not isinstance(event, Blip)
            if isinstance(event, Utterance):
                ended.append(event)
        coming = endpointer.ending()
        if coming is not None:
            ahead[coming.at_s] = coming
    assert len(ended) > 5
    for utterance in ended:
        assert np.array_equal(ahead[utterance.at_s].samples, utterance.samples)
        assert ahead[utterance.at_s].until_s == utterance.until_s
