"""What headsets do to a voice is what is said of them, and the same every time."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from tests.bench import codecs, shed_noise
from tests.bench.headsets import HEADSETS, Headset, gain_rides, waking_late
from tests.bench.speech import BEFORE_S


def voiced(seconds: float = 1.0, level: float = 0.1) -> Samples:
    """A buzz with two formants, behind the silence that is before every phrase."""
    t = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    buzz = sum((np.sin(2 * np.pi * 130 * k * t) / k for k in range(1, 50)), np.zeros(len(t)))
    buzz *= 0.6 + 0.4 * np.sin(2 * np.pi * 4 * t)
    sound = level * buzz / np.sqrt(np.mean(buzz**2))
    before = np.zeros(round(BEFORE_S * SAMPLE_RATE_HZ))
    return np.concatenate([before, sound, before]).astype(np.float32)


def share_within(sound: Samples, low_hz: float, high_hz: float) -> float:
    power = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE_HZ)
    return float(power[(hz >= low_hz) & (hz <= high_hz)].sum() / power.sum())


def ratio_db(sent: Samples, heard: Samples) -> float:
    """Of signal to what the codec added, both in the band of a telephone."""
    middle = signal.butter(4, [400, 3000], "bandpass", fs=SAMPLE_RATE_HZ, output="sos")
    a: NDArray[np.float64] = signal.sosfiltfilt(middle, sent)
    b: NDArray[np.float64] = signal.sosfiltfilt(middle, heard)
    size = 2 * len(a)
    across = np.fft.irfft(np.fft.rfft(b, size) * np.conj(np.fft.rfft(a, size)), size)
    a = np.roll(a, int(np.argmax(across)))  # as late as the codec's own filters make it
    gain = float(np.dot(a, b) / np.dot(a, a))
    return float(10 * np.log10(np.sum((gain * a) ** 2) / np.sum((b - gain * a) ** 2)))


@pytest.mark.parametrize("one", HEADSETS, ids=[h.name for h in HEADSETS])
def test_a_headset_gives_back_as_much_sound_and_the_same_every_time(one: Headset) -> None:
    sound = voiced()
    heard = one.worn(sound, 7)
    assert len(heard) == len(sound)
    assert heard.dtype == np.float32
    assert np.isfinite(heard).all()
    assert shed_noise.rms(heard) > 0.01
    assert np.array_equal(heard, one.worn(sound, 7))


def test_a_narrow_band_passes_only_a_telephones_band() -> None:
    for codec in (codecs.mu_law, codecs.cvsd):
        assert share_within(codec(voiced()), 250, 3900) > 0.97


def test_a_wide_band_keeps_what_a_narrow_one_loses() -> None:
    white = (0.1 * np.random.default_rng(2).standard_normal(SAMPLE_RATE_HZ)).astype(np.float32)
    assert share_within(codecs.sub_bands(white), 4000, 7000) > 0.3
    assert share_within(codecs.mu_law(white), 4000, 7000) < 0.01


def test_one_bit_a_sample_is_coarser_than_eight() -> None:
    sent = codecs.band(voiced(), *codecs.NARROW_HZ)
    eight = ratio_db(sent, codecs.mu_law(voiced()))
    one = ratio_db(codecs.band(sent, *codecs.NARROW_HZ), codecs.cvsd(voiced()))
    assert 8 < one < eight
    assert 30 < eight < 45  # 38 dB is the textbook's figure for this law


def test_sub_bands_are_near_what_went_in() -> None:
    assert ratio_db(codecs.band(voiced(), *codecs.WIDE_HZ), codecs.sub_bands(voiced())) > 15


def test_silence_stays_silent_in_the_wide_band() -> None:
    assert not codecs.sub_bands(np.zeros(4000, np.float32)).any()


def test_as_many_packets_are_lost_as_was_asked_for_and_in_bursts() -> None:
    steady = np.ones(codecs.PACKET * 20_000, np.float32)
    packets = codecs.lost_packets(steady, 3, 0.05).reshape(-1, codecs.PACKET)[:, 0]
    lost = packets < 1
    assert lost.mean() == pytest.approx(0.05, abs=0.01)
    begins = np.count_nonzero(lost[1:] & ~lost[:-1])
    assert lost.sum() / begins == pytest.approx(2.0, abs=0.3)


def test_a_lost_packet_is_the_last_one_again_and_fainter() -> None:
    steady = np.ones(codecs.PACKET * 2000, np.float32)
    levels = set(codecs.lost_packets(steady, 3, 0.1).tolist())
    assert {1.0, 0.5, 0.25} <= levels
    assert max(levels) == 1.0


def test_a_headset_that_wakes_late_misses_the_first_sounds_only() -> None:
    sound = voiced()
    for seed in range(20):
        heard = waking_late(sound, seed)
        missing_s = np.flatnonzero(heard)[0] / SAMPLE_RATE_HZ - BEFORE_S
        assert 0.07 < missing_s < 0.26
        assert np.array_equal(heard[heard != 0], sound[-len(heard) :][heard != 0])


def test_automatic_gain_lifts_the_noise_in_a_pause_and_evens_out_the_voice() -> None:
    quiet = (0.002 * np.random.default_rng(4).standard_normal(2 * SAMPLE_RATE_HZ)).astype(
        np.float32
    )
    spoken = voiced(1.5, 0.25)
    heard = gain_rides(np.concatenate([spoken, quiet, spoken]))
    pause = heard[len(spoken) :][: len(quiet)]
    assert shed_noise.rms(pause[-4000:]) > 5 * shed_noise.rms(quiet)
    assert shed_noise.rms(pause[-4000:]) > 1.5 * shed_noise.rms(pause[:4000])
    assert shed_noise.active_rms(heard[: len(spoken)]) < shed_noise.active_rms(spoken)
    assert np.abs(heard).max() <= 1.0
