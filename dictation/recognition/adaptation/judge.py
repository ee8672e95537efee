# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""Human recordings kept for judgement, freely heard by the int8 files of one model or another.

    python -m dictation.recognition.adaptation.judge judge MODEL_FOLDER ...

The last line for each folder: recordings wholly right, and wrong words among those said, in quiet
and with pink noise at 10 dB. The benches judge trade phrases and chatter.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from dictation.bench.shed_noise import mix_at, pink
from dictation.recognition.adaptation.corpus import read_corpus
from dictation.recognition.adaptation.measure import edits, plain
from dictation.recognition.adaptation.original import levelled_sound, written_freely
from dictation.recognition.model import load_model
from dictation.recognition.protocol import SAMPLE_RATE_HZ

SNRS_DB = (None, 10.0)


def main() -> None:
    """Judge each model folder on one corpus."""
    recordings = read_corpus(Path(sys.argv[1]))
    for folder in sys.argv[2:]:
        model = load_model(Path(folder), 1)
        for snr_db in SNRS_DB:
            right = wrong = words = 0
            for seed, recording in enumerate(recordings):
                speech = (recording.samples / 32768).astype(np.float32)
                if snr_db is not None:
                    noise = pink(len(speech) / SAMPLE_RATE_HZ, seed)
                    speech = mix_at(speech, noise, snr_db)
                tokens, _ = written_freely(model, levelled_sound(speech))
                said, heard = plain(recording.written), plain(model.table.text(tokens))
                right += said == heard
                wrong += edits(said, heard)
                words += len(said)
            level = "quiet" if snr_db is None else f"{snr_db:.0f} dB"
            print(
                f"{folder}: {level}: {right} of {len(recordings)}, {wrong} of {words} words wrong"
            )


if __name__ == "__main__":
    main()
