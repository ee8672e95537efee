"""A recorded file as a stream of 16 kHz mono blocks, and as the utterances spoken in it.

It is read in pieces, so that memory stays flat.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile as sf

from dictation.audio.container import ogg_breaks_off, wav_length
from dictation.audio.downmix import Downmix
from dictation.audio.endpoint import (
    LONGEST_UTTERANCE_S,
    RECORDING_HANG_OVER_S,
    Endpointer,
    Utterance,
)
from dictation.audio.reading import Heed, Notice, Reader, ignore, open_sound, resampler
from dictation.audio.samples import Samples
from dictation.audio.voice_activity import BLOCK_SAMPLES, VoiceActivity
from dictation.errors import BadInputError
from dictation.gate import stop_at_no_file

LOWEST_RATE_HZ = 6_000
HIGHEST_RATE_HZ = 192_000
MOST_CHANNELS = 32
"""Mixing more takes longer than the sound lasts; a recorder has two to eight."""

_NO_SUCH_LENGTH = 1 << 40  # frames: libsndfile gives a huge number where the length is unknown


@dataclass(frozen=True, slots=True)
class Recording:
    """A file of sound that could be opened.

    ``frames`` is the length by the header, None where it says nothing; ``notices`` is what was
    found wrong on opening; what is found while reading goes to the ``heed`` of ``blocks``.
    """

    path: Path
    rate_hz: int
    channels: int
    frames: int | None
    notices: tuple[Notice, ...] = ()

    @property
    def duration_s(self) -> float | None:
        """Length by the header, None where it says nothing."""
        return None if self.frames is None else self.frames / self.rate_hz

    def blocks(self, heed: Heed = ignore) -> Iterator[Samples]:
        """Mono float32 blocks of 512 samples at 16 kHz, -1 to 1; the last is padded with silence.

        A damaged stretch is replaced by silence of the same length, so that times hold, and told
        to ``heed``; so are samples that are not numbers. Raises BadInputError if no sample of
        the file could be read.
        """
        rest: Samples = np.zeros(0, np.float32)
        for piece in self._resampled(heed):
            rest = np.concatenate([rest, piece]) if len(rest) else piece
            whole = len(rest) - len(rest) % BLOCK_SAMPLES
            for at in range(0, whole, BLOCK_SAMPLES):
                yield rest[at : at + BLOCK_SAMPLES]
            rest = rest[whole:]
        if len(rest):
            yield np.pad(rest, (0, BLOCK_SAMPLES - len(rest)))

    def _resampled(self, heed: Heed) -> Iterator[Samples]:
        """Mono pieces at 16 kHz. Float recordings may go over 1: turned down, not clipped."""
        mixer = Downmix(self.channels, self.rate_hz)
        stream = resampler(self.rate_hz)
        peak = 1.0
        for frames in Reader(self.path, self.rate_hz, self.channels, self.frames, heed).pieces():
            mono = np.ascontiguousarray(mixer.mix(frames), np.float32)
            peak = max(peak, float(np.abs(mono).max(initial=0.0)))
            if peak > 1.0:
                mono = mono / np.float32(peak)
            yield mono if stream is None else np.clip(stream.resample_chunk(mono), -1.0, 1.0)
        if stream is not None:
            yield np.clip(stream.resample_chunk(np.zeros(0, np.float32), last=True), -1.0, 1.0)


def open_recording(path: Path) -> Recording:
    """Open a file of sound: WAV, FLAC, OGG and whatever else libsndfile reads.

    Raises BadInputError for a file that is missing, a folder, empty, no audio, or without sound.
    """
    _refuse_what_is_no_file(path)
    try:
        with open_sound(path) as file:
            rate_hz, channels, frames = int(file.samplerate), int(file.channels), int(file.frames)
    except (sf.LibsndfileError, OSError, RuntimeError, ValueError) as error:
        raise BadInputError(
            f"{path} cannot be read as sound: give a WAV, FLAC or OGG recording."
        ) from error
    if frames == 0:
        raise BadInputError(f"{path} holds no sound: its header is there, but nothing follows it.")
    if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
        raise BadInputError(
            f"{path} is sampled at {rate_hz} Hz: give a recording of {LOWEST_RATE_HZ // 1000} to "
            f"{HIGHEST_RATE_HZ // 1000} kHz."
        )
    if channels > MOST_CHANNELS:
        raise BadInputError(
            f"{path} has {channels} channels: give a recording with at most {MOST_CHANNELS}."
        )
    known = frames if frames < _NO_SUCH_LENGTH else None
    notices = () if known is None else _notices(path, known / rate_hz)
    return Recording(path, rate_hz, channels, known, notices)


def utterances(
    recording: Recording,
    hang_over_s: float = RECORDING_HANG_OVER_S,
    longest_s: float = LONGEST_UTTERANCE_S,
    activity: VoiceActivity | None = None,
    heed: Heed = ignore,
) -> Iterator[Utterance]:
    """Utterances in order, read as they are asked for; blips are left out.

    ``heed`` is told what was found wrong with the file, on opening and on the way. Raises
    BadInputError if nothing of the file could be read.
    """
    for notice in recording.notices:
        heed(notice)
    endpointer = Endpointer(hang_over_s, longest_s, activity)
    for block in recording.blocks(heed):
        yield from (event for event in endpointer.push(block) if isinstance(event, Utterance))
    yield from (event for event in endpointer.flush() if isinstance(event, Utterance))


def _refuse_what_is_no_file(path: Path) -> None:
    stop_at_no_file(path, "the recording")
    try:
        with path.open("rb") as file:
            first = file.read(1)
    except OSError as error:
        raise BadInputError(f"{path} cannot be opened: {error.strerror}.") from error
    if not first:
        raise BadInputError(f"{path} is empty: nothing was recorded in it.")


def _notices(path: Path, end_s: float) -> tuple[Notice, ...]:
    wav = wav_length(path)
    if wav is not None and wav.breaks_off:
        promised = f"{wav.promised_bytes / wav.bytes_per_s:.1f} s" if wav.bytes_per_s else "more"
        sentence = f"its header promises {promised}; all that is there is heard."
        return (Notice(end_s, f"{path} breaks off at {end_s:.1f} s: {sentence}"),)
    if wav is not None and wav.never_finished:
        sentence = f"{path} was not closed by its recorder: all {end_s:.1f} s of it are heard."
        return (Notice(end_s, sentence),)
    if ogg_breaks_off(path):
        sentence = "it lacks its last page; all that is there is heard."
        return (Notice(end_s, f"{path} breaks off at {end_s:.1f} s: {sentence}"),)
    return ()
