"""Human recordings with known words, from Debian's package pocketsphinx-testdata.

All are mono at 16 kHz. Transcripts are the package's own, quoted beside each test.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from dictation.audio.samples import Samples

FOLDER = Path("/usr/share/pocketsphinx/test/data")
MISSING = "human recordings are not installed (Debian package pocketsphinx-testdata)"


def recording(name: str) -> Samples:
    """Samples of a WAV, or of a raw file of 16-bit little-endian samples."""
    path = FOLDER / name
    if not path.is_file():
        pytest.skip(MISSING)
    if path.suffix == ".raw":
        whole = np.frombuffer(path.read_bytes(), "<i2")
        return (whole / 32768).astype(np.float32)
    samples, rate = soundfile.read(path, dtype="float32")
    assert rate == 16_000
    return np.asarray(samples, np.float32)
