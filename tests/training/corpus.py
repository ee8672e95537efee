"""Speech with its words: one long sound, where each recording ends in it, and what was said.

A corpus is a folder-less pair of files: NAME.npz or NAME.ogg with the sound, NAME.tsv with a line a
recording: end in samples, kind, voice, words as written, ``validation`` or nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ

#: Of soundfile, 0 to 1: about 15 kbit/s.
OPUS_COMPRESSION = 0.94
TRADE, TALK, HUMAN = "trade", "talk", "human"


@dataclass(frozen=True, slots=True)
class Recording:
    """One recording: int16 at 16 kHz; ``kind``: trade, talk or human; ``written``: its words."""

    samples: NDArray[np.int16]
    kind: str
    voice: str
    written: str
    validation: bool


def write_corpus(recordings: Sequence[Recording], stem: Path, *, opus: bool) -> None:
    """Write STEM.ogg (Opus, for carrying) or STEM.npz (as it is), and STEM.tsv."""
    sound = np.concatenate([r.samples for r in recordings])
    if opus:
        with soundfile.SoundFile(
            f"{stem}.ogg",
            "w",
            SAMPLE_RATE_HZ,
            1,
            format="OGG",
            subtype="OPUS",
            compression_level=OPUS_COMPRESSION,
        ) as file:
            for at in range(0, len(sound), SAMPLE_RATE_HZ):
                file.write(sound[at : at + SAMPLE_RATE_HZ])
    else:
        np.savez(f"{stem}.npz", sound=sound)
    ends = np.cumsum([len(r.samples) for r in recordings])
    lines = (
        f"{end}\t{r.kind}\t{r.voice}\t{r.written}\t{'validation' if r.validation else ''}\n"
        for end, r in zip(ends, recordings, strict=True)
    )
    Path(f"{stem}.tsv").write_text("".join(lines), encoding="utf-8")


def read_corpus(stem: Path) -> list[Recording]:
    """The recordings of a corpus. Raises FileNotFoundError where it has no table."""
    table = Path(f"{stem}.tsv").read_text(encoding="utf-8").splitlines()
    packed = Path(f"{stem}.npz")
    if packed.is_file():
        sound = np.load(packed)["sound"]
    else:
        sound = soundfile.read(f"{stem}.ogg", dtype="int16")[0]
    found: list[Recording] = []
    begin = 0
    for line in table:
        end, kind, voice, written, validation = line.split("\t")
        found.append(Recording(sound[begin : int(end)], kind, voice, written, bool(validation)))
        begin = int(end)
    return found
