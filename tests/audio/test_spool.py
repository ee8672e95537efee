"""The microphone's sound on disk, and what is left of it after a crash."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.spool import PIECE_S, Spool, sound_between, spooled, spooled_until_s, tidy


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


@contextmanager
def no_room_beyond(size: int) -> Iterator[None]:
    """Files cannot grow beyond so many bytes: what a full disk does, without one."""
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("size", [50_000, 50_001])
def test_sound_waits_in_memory_while_there_is_no_room(tmp_path: Path, size: int) -> None:
    sound = ramp(6.0)
    moments = [0.0]
    spool = Spool(tmp_path, 3.0, lambda: moments[0])
    with no_room_beyond(size):
        for at in range(0, 4 * SAMPLE_RATE_HZ, 512):
            spool.write(sound[at : at + 512])
        assert spool.full
        assert spool.at_s == 7.0
    moments[0] = 10.0
    spool.write(sound[4 * SAMPLE_RATE_HZ :])
    spool.close()
    assert not spool.full
    assert np.array_equal(read_back(tmp_path), sound)
    assert next(at_s for at_s, _ in spooled(tmp_path, 0.0)) == 3.0


def test_memory_for_what_waits_is_bounded_and_what_was_let_go_is_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dictation.audio.spool.MOST_IN_MEMORY_S", 1.0)
    sound = ramp(4.0)
    spool = Spool(tmp_path, 0.0)
    with no_room_beyond(0):
        for at in range(0, len(sound), 1600):
            spool.write(sound[at : at + 1600])
    spool.close()
    assert spool.lost_s == pytest.approx(3.0)
    ((at_s, kept),) = spooled(tmp_path, 0.0)
    assert at_s == pytest.approx(3.0)
    assert np.array_equal(kept, sound[3 * SAMPLE_RATE_HZ :])
