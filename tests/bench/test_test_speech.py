"""The speech, noise and phrases of the benches: divided as agreed, and the same every time."""

from __future__ import annotations

import dataclasses
import hashlib
import shutil
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from grammar.parse import parse
from tests.bench import shed_noise, speech
from tests.bench.chatter import chatter
from tests.bench.conditions import CONDITIONS, condition, heard_in, noise_alone, shed
from tests.bench.phrases import phrases
from tests.bench.plan import plan
from tests.bench.speech import ACTIVE_LEVEL, missing_engines, spelled, spoken
from tests.bench.synthesis import ENGINES
from tests.bench.voices import VOICES, Manner, Split, Voice, voice, voices_of

WORDS = "left ovary cl twenty two"


def _there(engine: str) -> None:
    lacking = ENGINES[engine].missing()
    if lacking:
        pytest.skip(f"no {engine} here: {', '.join(lacking)} missing")


@pytest.fixture
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(speech, "cache_folder", lambda: tmp_path / "speech")
    return tmp_path / "speech"


def test_no_voice_is_on_both_sides_of_the_split() -> None:
    tune = {(v.engine, v.speaker) for v in voices_of(Split.TUNE)}
    held = {(v.engine, v.speaker) for v in voices_of(Split.HELD_OUT)}
    assert not tune & held


def test_the_agreed_voices_are_held_out() -> None:
    for v in VOICES:
        held = (
            v.engine in {"piper", "festival"}
            or (v.engine == "flite" and v.speaker == "slt")
            or v.speaker.startswith(("en-029", "en-gb-scotland", "jm_"))
        )
        assert (v.split is Split.HELD_OUT) == held, v.name


@pytest.mark.parametrize("split", list(Split))
def test_each_side_has_twenty_voices_of_both_sexes_and_every_manner(split: Split) -> None:
    there = voices_of(split)
    assert len({v.name for v in there}) >= 20
    assert {v.sex for v in there} == {"m", "f"}
    assert {v.manner for v in there} == set(Manner)


def test_each_accent_at_hand_is_spoken() -> None:
    assert {v.accent for v in VOICES} == {"American", "British", "Caribbean", "Scottish"}


def test_phrases_are_split_by_the_digest_of_their_words() -> None:
    for split in Split:
        for words in islice(phrases(split), 60):
            below = hashlib.sha256(words.encode()).digest()[0] < 85
            assert below == (split is Split.HELD_OUT), words


def test_phrases_and_chatter_are_the_same_every_time() -> None:
    assert list(islice(phrases(Split.TUNE), 20)) == list(islice(phrases(Split.TUNE), 20))
    assert list(islice(chatter(Split.TUNE), 20)) == list(islice(chatter(Split.TUNE), 20))


def test_chatter_is_no_sentence_of_the_exam() -> None:
    for split in Split:
        for sentence in islice(chatter(split), 100):
            assert parse(sentence).unread is not None, sentence


def test_short_forms_are_spelled_for_the_synthesiser() -> None:
    assert spelled("left ovary cl twenty two mm") == "left ovary C L twenty two mil"
    assert spelled("two cls") == "two C Ls"


@pytest.mark.parametrize("name", ["flite-rms", "flite-rms-breathless", "espeak-en-f2"])
def test_the_same_words_and_voice_give_the_same_sound(name: str, own_cache: Path) -> None:
    _there(voice(name).engine)
    first = spoken(WORDS, voice(name))
    kept = spoken(WORDS, voice(name))
    shutil.rmtree(own_cache)
    again = spoken(WORDS, voice(name))
    assert np.array_equal(first, kept)
    assert np.array_equal(first, again)


@pytest.mark.parametrize("engine", sorted(ENGINES))
def test_every_engine_speaks_at_the_agreed_level(engine: str, own_cache: Path) -> None:
    _there(engine)
    speaker = next(v for v in VOICES if v.engine == engine and v.manner is Manner.PLAIN)
    sound = spoken(WORDS, speaker)
    assert sound.dtype == np.float32
    assert 1.0 < len(sound) / SAMPLE_RATE_HZ < 6.0
    assert shed_noise.active_rms(sound) == pytest.approx(ACTIVE_LEVEL, rel=0.25)


def test_manners_differ_in_length(own_cache: Path) -> None:
    _there("flite")
    plain = voice("flite-rms")
    lengths = {m: len(spoken(WORDS, dataclasses.replace(plain, manner=m))) for m in Manner}
    assert lengths[Manner.FAST] < lengths[Manner.PLAIN] < lengths[Manner.SLOW]


def test_every_voice_at_hand_sounds_different(own_cache: Path) -> None:
    lacking = missing_engines()
    quick = [v for v in VOICES if v.engine in {"flite", "espeak"} and v.engine not in lacking]
    if not quick:
        pytest.skip("neither flite nor espeak-ng is here")
    sounds = {hashlib.sha256(spoken("cow nine", v).tobytes()).digest() for v in quick}
    assert len(sounds) == len(quick)


def _voiced() -> Samples:
    t = np.arange(SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    tone = (0.1 * np.sign(np.sin(2 * np.pi * 150 * t))).astype(np.float32)
    quiet = np.zeros(SAMPLE_RATE_HZ // 2, np.float32)
    return np.concatenate([quiet, tone, quiet])


@pytest.mark.parametrize("name", ["20 dB", "10 dB", "5 dB"])
@pytest.mark.parametrize("split", list(Split))
def test_noise_is_mixed_at_the_named_ratio(name: str, split: Split) -> None:
    speech_alone = _voiced()
    mixed = heard_in(speech_alone, condition(name), split, "a key")
    scale = float(np.dot(mixed, speech_alone) / np.dot(speech_alone, speech_alone))
    noise = mixed / np.float32(scale) - speech_alone
    ratio_db = 20 * np.log10(shed_noise.active_rms(speech_alone) / shed_noise.rms(noise))
    assert ratio_db == pytest.approx(condition(name).snr_db, abs=1.0)


def test_a_headset_passes_only_its_band() -> None:
    heard = heard_in(_voiced(), condition("headset"), Split.TUNE, "a key")
    power = np.abs(np.fft.rfft(heard)) ** 2
    hz = np.fft.rfftfreq(len(heard), 1 / SAMPLE_RATE_HZ)
    outside = power[(hz < 200) | (hz > 4500)].sum()
    assert outside < 0.05 * power.sum()


def test_the_two_sides_have_other_noise() -> None:
    hum = {}
    for split in Split:
        power = np.abs(np.fft.rfft(shed(8.0, split, 7))) ** 2
        hz = np.fft.rfftfreq(8 * SAMPLE_RATE_HZ, 1 / SAMPLE_RATE_HZ)
        hum[split] = {f: power[np.abs(hz - f) < 0.5].sum() for f in (100.0, 120.0)}
    assert hum[Split.TUNE][100.0] > 10 * hum[Split.TUNE][120.0]
    assert hum[Split.HELD_OUT][120.0] > 10 * hum[Split.HELD_OUT][100.0]


def test_conditions_never_clip() -> None:
    loud = _voiced() * np.float32(9.0)
    for one in CONDITIONS:
        assert np.abs(heard_in(loud, one, Split.TUNE, one.name)).max() <= 1.0
    assert np.abs(noise_alone(2.0, Split.HELD_OUT, "x")).max() <= 1.0


@pytest.mark.parametrize("split", list(Split))
@pytest.mark.parametrize("size", ["small", "300"])
def test_a_plan_gives_every_voice_every_condition_in_turn(size: str, split: Split) -> None:
    sounds = [s for s in plan(size, split) if s.kind == "phrase"]
    met = {(s.voice, s.condition) for s in sounds}
    assert len(met) == len({s.voice for s in sounds}) * len(CONDITIONS)


def test_keys_tell_sounds_apart_and_do_not_change() -> None:
    for size in ("40", "small"):
        keys = [s.key for s in plan(size, Split.TUNE)]
        assert len(set(keys)) == len(keys)
        assert keys == [s.key for s in plan(size, Split.TUNE)]


def test_an_unknown_voice_is_refused() -> None:
    with pytest.raises(KeyError):
        voice("nobody")
    assert isinstance(voice("flite-awb"), Voice)
