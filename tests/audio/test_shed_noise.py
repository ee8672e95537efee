"""The made-up shed: the same seed gives the same sound, and levels are what they say."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from dictation.audio.samples import Samples
from tests.bench import shed_noise

GENERATORS = [
    shed_noise.pink,
    shed_noise.fan,
    shed_noise.vacuum_pump,
    shed_noise.clanks,
    shed_noise.moans,
    shed_noise.shed,
]


@pytest.mark.parametrize("make", GENERATORS)
def test_a_seed_decides_the_sound(make: Callable[[float, int], Samples]) -> None:
    first = make(12.0, 4)
    assert first.dtype == np.float32
    assert len(first) == 12 * 16_000
    assert np.isfinite(first).all()
    assert np.array_equal(first, make(12.0, 4))
    assert not np.array_equal(first, make(12.0, 5))


def test_pink_noise_has_the_same_power_in_every_octave() -> None:
    power = np.abs(np.fft.rfft(shed_noise.pink(20.0, 1))) ** 2
    hz = np.fft.rfftfreq(20 * 16_000, 1 / 16_000)
    octaves = [power[(hz >= low) & (hz < 2 * low)].sum() for low in (125, 250, 500, 1000, 2000)]
    assert max(octaves) / min(octaves) < 1.2


@pytest.mark.parametrize("snr_db", [-5.0, 0.0, 10.0, 20.0])
def test_the_ratio_is_taken_over_the_speech_and_not_over_the_pauses(
    four_breaths: Samples, snr_db: float
) -> None:
    noise = shed_noise.pink(20.0, 1)
    alone = shed_noise.mix_at(four_breaths, noise, snr_db) - four_breaths
    ratio = 20 * np.log10(shed_noise.active_rms(four_breaths) / shed_noise.rms(alone))
    assert ratio == pytest.approx(snr_db, abs=0.05)
    padded = np.concatenate([four_breaths, np.zeros(160_000, np.float32)])
    alone = shed_noise.mix_at(padded, noise, snr_db) - padded
    longer = 20 * np.log10(shed_noise.active_rms(four_breaths) / shed_noise.rms(alone))
    assert longer == pytest.approx(snr_db, abs=0.05)


def test_a_headset_passes_speech_and_stops_hum_and_hiss() -> None:
    t = np.arange(16_000) / 16_000
    heard = {
        hz: shed_noise.rms(shed_noise.headset(np.sin(2 * np.pi * hz * t).astype(np.float32)))
        for hz in (100, 1000, 6000)
    }
    assert heard[1000] == pytest.approx(np.sqrt(0.5), rel=0.02)
    assert heard[100] < 0.02
    assert heard[6000] < 0.05


def test_a_room_adds_a_tail_that_dies_away() -> None:
    click = np.zeros(16_000, np.float32)
    click[1_000] = 1.0
    wet = shed_noise.reverberant(click, seed=1, rt60_s=0.3, tail_db=-6.0)
    assert wet[1_000] == pytest.approx(1.0, abs=1e-3)
    early, late = wet[1_100:2_000], wet[5_000:5_900]
    assert shed_noise.rms(early) > 10 * shed_noise.rms(late) > 0
    tail = wet[1_001:].astype(np.float64)
    assert 10 * np.log10(np.sum(tail**2)) == pytest.approx(-6.0, abs=0.2)
