"""Playing a kept utterance: through the sound system, or a player that is installed."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

import soundfile as sf

from dictation.audio.devices import port_audio, sound_errors
from dictation.audio.keep import load_utterance
from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.errors import MissingError

PLAYERS: tuple[tuple[str, ...], ...] = (
    ("ffplay", "-v", "quiet", "-nodisp", "-autoexit"),
    ("pw-play",),
    ("paplay",),
    ("aplay", "-q"),
    ("afplay",),
)
"""Programs that play a WAV file, with what makes each play it quietly and end."""

LONGEST_S = 60
"""A player that takes longer than any utterance lasts is stopped."""


def play(path: Path) -> None:
    """Play an utterance to its end. Raises MissingError where nothing here can be heard."""
    samples = load_utterance(path)
    try:
        port_audio().play(samples, SAMPLE_RATE_HZ, blocking=True)
    except sound_errors():
        _with_a_player(path)


def _with_a_player(path: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "utterance.wav"
        sf.write(wav, load_utterance(path), SAMPLE_RATE_HZ, subtype="PCM_16")
        for player in PLAYERS:
            if shutil.which(player[0]) is None:
                continue
            done = subprocess.run(
                [*player, str(wav)], capture_output=True, check=False, timeout=LONGEST_S
            )
            if done.returncode == 0:
                return
    raise MissingError(
        "There is no sound output on this machine: connect a loudspeaker or headphones;"
        f" the sound is kept in {path}."
    )
