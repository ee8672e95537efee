"""The microphone's sound on disk, and what is left of it after a crash."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from dictation.audio.spool import PIECE_S, Spool, sound_between, spooled, spooled_until_s, tidy
from dictation.recognition.protocol import SAMPLE_RATE_HZ, Samples


def ramp(seconds: float, seed: int = 1) -> Samples:
    noise = np.random.default_rng(seed).uniform(-0.5, 0.5, int(seconds * SAMPLE_RATE_HZ))
    return (np.round(noise * 32768) / 32768).astype(np.float32)


def read_back(folder: Path, from_s: float = 0.0) -> Samples:
    return np.concatenate([samples for _, samples in spooled(folder, from_s)])


def test_what_was_written_is_there_without_being_closed(tmp_path: Path) -> None:
    sound = ramp(1.0)
    spool = Spool(tmp_path, 0.0)
    spool.write(sound)
    assert np.array_equal(read_back(tmp_path), sound)


def test_long_sound_is_kept_in_pieces_without_a_seam(tmp_path: Path) -> None:
    sound = ramp(2.5 * PIECE_S)
    spool = Spool(tmp_path, 0.0)
    for at in range(0, len(sound), SAMPLE_RATE_HZ):
        spool.write(sound[at : at + SAMPLE_RATE_HZ])
    spool.close()
    assert np.array_equal(read_back(tmp_path), sound)
    assert {p.suffix for p in (tmp_path / "audio" / "stream").iterdir()} == {".flac"}
    assert np.array_equal(read_back(tmp_path, 70.0), sound[70 * SAMPLE_RATE_HZ :])
    across = sound[59 * SAMPLE_RATE_HZ : 61 * SAMPLE_RATE_HZ]
    assert np.array_equal(sound_between(tmp_path, 59.0, 61.0), across)


def test_an_interruption_leaves_a_hole_of_its_length(tmp_path: Path) -> None:
    spool = Spool(tmp_path, 5.0)
    spool.write(ramp(1.0))
    spool.skip_to(9.0)
    spool.write(ramp(1.0, 2))
    assert [at_s for at_s, _ in spooled(tmp_path, 0.0)] == [5.0, 9.0]
    assert spooled_until_s(tmp_path) == 10.0


def test_a_piece_cut_in_the_middle_of_a_sample_is_read(tmp_path: Path) -> None:
    sound = ramp(0.5)
    Spool(tmp_path, 0.0).write(sound)
    (path,) = (tmp_path / "audio" / "stream").iterdir()
    path.write_bytes(path.read_bytes()[:-3])
    assert np.array_equal(read_back(tmp_path), sound[:-2])
    tidy(tmp_path)
    assert np.array_equal(read_back(tmp_path), sound[:-2])
