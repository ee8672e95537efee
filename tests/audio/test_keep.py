"""The sound of an utterance is on disk whole, or there is a sentence and no file."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance, load_utterance
from dictation.errors import BadInputError


def utterance_of(seconds: float = 1.0) -> Utterance:
    noise = np.random.default_rng(5).standard_normal(int(seconds * 16_000)) * 0.1
    return Utterance(noise.astype(np.float32), 3.0, 3.0 + seconds, 7)


def test_an_utterance_is_kept_as_flac_and_comes_back(tmp_path: Path) -> None:
    utterance = utterance_of()
    (tmp_path / "visit").mkdir()
    path = keep_utterance(tmp_path / "visit", 7, utterance)
    assert path == tmp_path / "visit" / "audio" / "0007.flac"
    assert [p.name for p in path.parent.iterdir()] == ["0007.flac"]
    about = sf.info(path)
    assert (about.format, about.subtype, about.channels) == ("FLAC", "PCM_16", 1)
    assert np.abs(load_utterance(path) - utterance.samples).max() <= 1 / 32_768


def test_samples_over_full_scale_do_not_wrap_round(tmp_path: Path) -> None:
    loud = Utterance(np.full(512, 1.5, np.float32), 0.0, 0.032, 1)
    assert load_utterance(keep_utterance(tmp_path, 1, loud)).min() > 0.99


def test_what_is_kept_is_never_overwritten(tmp_path: Path) -> None:
    first = keep_utterance(tmp_path, 7, utterance_of(1.0))
    before = first.read_bytes()
    second = keep_utterance(tmp_path, 7, utterance_of(2.0))
    third = keep_utterance(tmp_path, 7, utterance_of(0.5))
    assert [p.name for p in (second, third)] == ["0007-2.flac", "0007-3.flac"]
    assert first.read_bytes() == before


def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "audio").write_text("in the way", encoding="utf-8")
    with pytest.raises(BadInputError, match="cannot be written for utterance 7") as caught:
        keep_utterance(tmp_path, 7, utterance_of())
    assert "--out" in str(caught.value)


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere"
)
def test_a_folder_without_the_right_to_write_is_one_sentence(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(BadInputError, match="cannot be written"):
        keep_utterance(tmp_path, 7, utterance_of())
    tmp_path.chmod(0o700)


FULL_DISK = """
import resource, sys
from pathlib import Path
import numpy as np
from dictation.audio.endpoint import Utterance
from dictation.audio.keep import keep_utterance
from dictation.errors import MissingError
resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
noise = np.random.default_rng(1).standard_normal(16000).astype(np.float32) * 0.1
try:
    keep_utterance(Path(sys.argv[1]), 7, Utterance(noise, 0.0, 1.0, 7))
except MissingError as error:
    print(error)
"""


@pytest.mark.skipif(os.name == "nt", reason="no limit on file sizes to stand for a full disk")
def test_a_full_disk_is_one_sentence_and_leaves_no_half_file(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(tmp_path)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert done.stdout.startswith("no room to keep the sound of utterance 7 in ")
    assert "free some space" in done.stdout
    assert list((tmp_path / "audio").iterdir()) == []


@pytest.mark.parametrize("content", [None, b"", b"no sound"])
def test_a_lost_or_damaged_utterance_is_one_sentence(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "0001.flac"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BadInputError, match="missing or damaged"):
        load_utterance(path)


def test_other_sound_is_not_taken_for_an_utterance(tmp_path: Path) -> None:
    sf.write(tmp_path / "0001.flac", np.zeros((800, 2)), 8_000)
    with pytest.raises(BadInputError, match="must be mono"):
        load_utterance(tmp_path / "0001.flac")
