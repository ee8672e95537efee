"""Loudness, rate, channels and container of a recording do not matter; its damage is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import psutil
import pytest
import soundfile as sf
import soxr

from dictation.audio.endpoint import Utterance
from dictation.audio.reading import Notice
from dictation.audio.recording import open_recording, utterances
from dictation.audio.samples import Samples
from dictation.audio.voice_activity import BLOCK_SAMPLES
from dictation.errors import BadInputError

NEARLY_S = 0.13  # four blocks of 32 ms


def at_dbfs(sound: Samples, peak_dbfs: float) -> Samples:
    scaled: Samples = sound * np.float32(10 ** (peak_dbfs / 20))
    return scaled


def written(path: Path, sound: Samples, rate_hz: int, channels: int = 1) -> Path:
    resampled = soxr.resample(sound, 16_000, rate_hz)
    frames = np.repeat(resampled[:, None], channels, axis=1)
    sf.write(path, np.clip(frames, -1, 1), rate_hz)
    return path


def all_blocks(path: Path, notices: list[Notice] | None = None) -> Samples:
    heed = (lambda notice: None) if notices is None else notices.append
    return np.concatenate(list(open_recording(path).blocks(heed)))


def times(found: list[Utterance]) -> list[tuple[float, float]]:
    return [(u.at_s, u.until_s) for u in found]


@pytest.fixture(scope="module")
def expected(four_breaths: Samples, tmp_path_factory: pytest.TempPathFactory) -> list[Utterance]:
    path = written(tmp_path_factory.mktemp("as_is") / "a.wav", four_breaths, 16_000)
    found = list(utterances(open_recording(path)))
    assert len(found) == 4
    return found


@pytest.mark.parametrize(
    "made",  # rate in Hz, channels, container, peak in dBFS
    [
        (8_000, 1, "wav", -6.0),
        (8_000, 2, "ogg", -6.0),
        (11_025, 1, "flac", -20.0),
        (16_000, 1, "flac", -45.0),
        (16_000, 1, "wav", 0.0),
        (16_000, 6, "wav", -12.0),
        (22_050, 2, "wav", -30.0),
        (44_100, 2, "flac", -3.0),
        (44_100, 1, "ogg", -40.0),
        (48_000, 2, "ogg", 0.0),
        (96_000, 1, "wav", -45.0),
    ],
)
def test_the_same_speech_gives_the_same_utterances(
    tmp_path: Path,
    four_breaths: Samples,
    expected: list[Utterance],
    made: tuple[int, int, str, float],
) -> None:
    rate_hz, channels, suffix, peak_dbfs = made
    sound = at_dbfs(four_breaths, peak_dbfs)
    path = written(tmp_path / f"speech.{suffix}", sound, rate_hz, channels)
    recording = open_recording(path)
    found = list(utterances(recording))
    assert (recording.rate_hz, recording.channels) == (rate_hz, channels)
    assert np.abs(np.array(times(found)) - np.array(times(expected))).max() <= NEARLY_S


def test_blocks_are_512_samples_at_16_khz_in_time_with_the_file(tmp_path: Path) -> None:
    clicks = np.zeros(4 * 44_100, np.float32)
    clicks[44_100 * 3] = 0.9
    sf.write(tmp_path / "click.wav", clicks, 44_100)
    blocks = list(open_recording(tmp_path / "click.wav").blocks())
    assert {len(block) for block in blocks} == {BLOCK_SAMPLES}
    sound = np.concatenate(blocks)
    assert sound.dtype == np.float32
    assert abs(int(np.argmax(np.abs(sound))) - 48_000) <= 1
    assert len(sound) - 4 * 16_000 < BLOCK_SAMPLES


def test_a_silent_channel_does_not_weaken_the_other(tmp_path: Path, four_breaths: Samples) -> None:
    frames = np.stack([np.zeros_like(four_breaths), four_breaths * 0.5], axis=1)
    sf.write(tmp_path / "one.wav", frames, 16_000)
    sound = all_blocks(tmp_path / "one.wav")[: len(four_breaths)]
    assert np.corrcoef(sound, four_breaths)[0, 1] > 0.999
    assert np.abs(sound).max() == pytest.approx(0.5, rel=0.02)


def test_channels_out_of_phase_do_not_cancel(tmp_path: Path, four_breaths: Samples) -> None:
    sf.write(tmp_path / "x.wav", np.stack([four_breaths, -four_breaths], axis=1) * 0.5, 16_000)
    sound = all_blocks(tmp_path / "x.wav")[: len(four_breaths)]
    assert abs(np.corrcoef(sound, four_breaths)[0, 1]) > 0.999
    assert np.abs(sound).max() == pytest.approx(0.5, rel=0.02)


def test_a_noisy_unused_channel_does_not_drown_the_speech(
    tmp_path: Path, four_breaths: Samples
) -> None:
    hiss = 0.01 * np.random.default_rng(3).standard_normal(len(four_breaths))
    frames = np.stack([four_breaths * 0.5, hiss.astype(np.float32)], axis=1)
    sf.write(tmp_path / "x.wav", frames, 16_000)
    sound = all_blocks(tmp_path / "x.wav")[: len(four_breaths)]
    speaking = np.abs(four_breaths) > 0.01
    likeness = abs(np.corrcoef(sound[speaking], four_breaths[speaking])[0, 1])
    averaged = abs(np.corrcoef(frames.mean(axis=1)[speaking], four_breaths[speaking])[0, 1])
    assert likeness > 0.998
    assert likeness > averaged


def test_a_float_recording_over_full_scale_is_turned_down_not_clipped(
    tmp_path: Path, four_breaths: Samples
) -> None:
    loud = np.concatenate([four_breaths * 8.0, four_breaths * 8.0])
    sf.write(tmp_path / "hot.wav", loud, 16_000, subtype="FLOAT")
    second = all_blocks(tmp_path / "hot.wav")[len(four_breaths) : len(loud)]
    assert np.corrcoef(second, four_breaths)[0, 1] > 0.999
    assert np.abs(second).max() <= 1.0


# ---- files that cannot be used: one sentence with the path


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("missing.wav", None, "is not there"),
        ("empty.wav", b"", "is empty"),
        ("notes.wav", b"cow 837 pregnant" * 50, "cannot be read as sound"),
        ("stub.wav", b"RIFF\x24\x00\x00\x00WAVEfmt ", "cannot be read as sound"),
    ],
)
def test_what_is_no_recording_is_refused_in_one_sentence(
    tmp_path: Path, name: str, content: bytes | None, sentence: str
) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BadInputError, match=sentence) as caught:
        open_recording(path)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_folder_is_no_recording(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="is a folder"):
        open_recording(tmp_path)


def test_a_recording_without_a_sample_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "nothing.wav"
    sf.write(path, np.zeros(0, np.float32), 16_000)
    with pytest.raises(BadInputError, match="holds no sound"):
        open_recording(path)


def test_a_rate_that_no_recorder_has_is_refused(tmp_path: Path) -> None:
    sf.write(tmp_path / "slow.wav", np.zeros(4_000, np.float32), 2_000)
    with pytest.raises(BadInputError, match="2000 Hz"):
        open_recording(tmp_path / "slow.wav")


# ---- files that broke: what is there is heard, and the loss is told


def test_a_truncated_wav_is_heard_to_where_it_breaks_off(
    tmp_path: Path, four_breaths: Samples, expected: list[Utterance]
) -> None:
    path = written(tmp_path / "cut.wav", four_breaths, 16_000)
    keep_s = expected[1].until_s + 0.2
    path.write_bytes(path.read_bytes()[: 44 + int(keep_s * 16_000) * 2])
    notices: list[Notice] = []
    found = list(utterances(open_recording(path), heed=notices.append))
    assert times(found)[:2] == times(expected)[:2]
    assert len(notices) == 1
    assert notices[0].at_s == pytest.approx(keep_s, abs=0.01)
    assert f"{path} breaks off at {keep_s:.1f} s" in notices[0].sentence


def test_a_wav_whose_recorder_died_before_writing_its_length_is_heard_whole(
    tmp_path: Path, four_breaths: Samples, expected: list[Utterance]
) -> None:
    path = written(tmp_path / "died.wav", four_breaths, 16_000)
    content = bytearray(path.read_bytes())
    content[4:8] = content[40:44] = bytes(4)
    path.write_bytes(content)
    notices: list[Notice] = []
    assert times(list(utterances(open_recording(path), heed=notices.append))) == times(expected)
    assert "was not closed by its recorder" in notices[0].sentence
    assert path.read_bytes() == bytes(content)


def test_a_wav_of_unknown_length_is_heard_without_a_word(
    tmp_path: Path, four_breaths: Samples
) -> None:
    path = written(tmp_path / "piped.wav", four_breaths, 16_000)
    content = bytearray(path.read_bytes())
    content[4:8] = content[40:44] = b"\xff\xff\xff\xff"
    path.write_bytes(content)
    notices: list[Notice] = []
    assert len(all_blocks(path, notices)) >= len(four_breaths)
    assert open_recording(path).notices == ()
    assert notices == []


def test_the_end_of_a_flac_that_cannot_be_decoded_is_told_with_its_second(
    tmp_path: Path, four_breaths: Samples
) -> None:
    path = written(tmp_path / "cut.flac", four_breaths, 16_000)
    whole = all_blocks(path)
    content = path.read_bytes()
    path.write_bytes(content[: len(content) * 2 // 3])
    notices: list[Notice] = []
    sound = all_blocks(path, notices)
    assert len(notices) == 1
    assert "breaks off at" in notices[0].sentence
    kept = int(notices[0].at_s * 16_000)
    assert len(whole) / 2 < kept <= len(sound)
    assert np.array_equal(sound[:kept], whole[:kept])


def test_a_hole_in_a_flac_loses_only_the_hole_and_keeps_the_times(
    tmp_path: Path, four_breaths: Samples
) -> None:
    path = written(tmp_path / "hole.flac", four_breaths, 16_000)
    whole = all_blocks(path)
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 2_000] = bytes(2_000)
    path.write_bytes(content)
    notices: list[Notice] = []
    sound = all_blocks(path, notices)
    assert len(sound) == len(whole)
    assert "is damaged from" in notices[0].sentence
    differs = np.flatnonzero(sound != whole)
    assert (differs[-1] - differs[0]) / 16_000 < 1.5
    assert np.array_equal(sound[-16_000:], whole[-16_000:])


def test_an_ogg_that_breaks_off_is_told(tmp_path: Path, four_breaths: Samples) -> None:
    path = written(tmp_path / "cut.ogg", four_breaths, 16_000)
    assert open_recording(path).notices == ()
    content = path.read_bytes()
    path.write_bytes(content[: len(content) * 2 // 3])
    (notice,) = open_recording(path).notices
    assert "breaks off at" in notice.sentence


def test_samples_that_are_no_numbers_become_silence_and_are_told(
    tmp_path: Path, four_breaths: Samples
) -> None:
    sound = four_breaths.copy()
    sound[40_000:40_100] = np.nan
    sound[50_000] = np.inf
    sf.write(tmp_path / "nan.wav", sound, 16_000, subtype="FLOAT")
    notices: list[Notice] = []
    heard = all_blocks(tmp_path / "nan.wav", notices)
    assert np.isfinite(heard).all()
    assert [n.at_s for n in notices] == [2.5]
    assert np.array_equal(heard[:40_000], four_breaths[:40_000])
    assert np.array_equal(heard[60_000:70_000], four_breaths[60_000:70_000])


def test_a_recording_of_nothing_but_no_numbers_is_refused(tmp_path: Path) -> None:
    sf.write(tmp_path / "nan.wav", np.full(16_000, np.nan, np.float32), 16_000, subtype="FLOAT")
    with pytest.raises(BadInputError, match="no sample that can be read"):
        all_blocks(tmp_path / "nan.wav")


# ---- length


def test_ten_minutes_of_silence_hold_no_utterance(tmp_path: Path) -> None:
    sf.write(tmp_path / "silence.flac", np.zeros(600 * 16_000, np.float32), 16_000)
    assert list(utterances(open_recording(tmp_path / "silence.flac"))) == []


def test_three_hours_are_streamed_and_the_last_word_is_heard_in_its_place(
    tmp_path: Path, four_breaths: Samples, expected: list[Utterance]
) -> None:
    path = tmp_path / "long.flac"
    speech = soxr.resample(four_breaths, 16_000, 8_000)
    minute = np.zeros(60 * 8_000, np.float32)
    with sf.SoundFile(path, "w", 8_000, 1, format="FLAC") as file:
        for _ in range(179):
            file.write(minute)
        file.write(speech)
    process = psutil.Process()
    stream = utterances(open_recording(path))
    before = process.memory_info().rss
    first = next(stream)  # all of the silence lies before it
    growth_mib = (process.memory_info().rss - before) / 2**20
    assert first.at_s == pytest.approx(179 * 60 + expected[0].at_s, abs=NEARLY_S)
    assert len(list(stream)) == 3
    # Held whole, this recording would take 659 MiB at 16 kHz.
    assert growth_mib < 40
