"""Speech with its words: one long sound, where each recording ends in it, and what was said.

A corpus is a pair of files: NAME.npz with the sound, NAME.tsv with a line a recording: end in
samples, kind, voice, words as written, ``validation`` or nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import Samples
from dictation.disk import replace_file

TRADE, TALK, HUMAN = "trade", "talk", "human"


@dataclass(frozen=True, slots=True)
class Recording:
    """One recording: int16 at 16 kHz; ``kind``: trade, talk or human; ``written``: its words."""

    samples: NDArray[np.int16]
    kind: str
    voice: str
    written: str
    validation: bool

    @property
    def sound(self) -> Samples:
        """As float32, -1 to 1."""
        return (self.samples / 32768).astype(np.float32)


def write_corpus(recordings: Sequence[Recording], stem: Path) -> None:
    """Write STEM.npz and then STEM.tsv: where there is a table, the sound is there too."""
    sound = np.concatenate([np.zeros(0, np.int16), *(r.samples for r in recordings)])
    np.savez(f"{stem}.npz", sound=sound)
    ends = np.cumsum([len(r.samples) for r in recordings])
    lines = (
        f"{end}\t{r.kind}\t{r.voice}\t{r.written}\t{'validation' if r.validation else ''}\n"
        for end, r in zip(ends, recordings, strict=True)
    )
    replace_file(Path(f"{stem}.tsv"), "".join(lines).encode("utf-8"))


def read_corpus(stem: Path) -> list[Recording]:
    """The recordings of a corpus. Raises FileNotFoundError where it has no table."""
    table = Path(f"{stem}.tsv").read_text(encoding="utf-8").splitlines()
    sound = np.load(f"{stem}.npz")["sound"]
    found: list[Recording] = []
    begin = 0
    for line in table:
        end, kind, voice, written, validation = line.split("\t")
        found.append(Recording(sound[begin : int(end)], kind, voice, written, bool(validation)))
        begin = int(end)
    return found
