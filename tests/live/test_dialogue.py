"""Asked aloud and answered by voice: real sound both ways, nothing touched."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from dictation.audio.voice import Synthesiser, as_heard
from dictation.bench.virtual_microphone import LOUDSPEAKER, VirtualMicrophone, missing_commands
from dictation.recognition.protocol import Samples
from dictation.session.fold import fold
from dictation.session.journal import Journal
from dictation.session.live_events import Spoke
from dictation.session.visit import Visit
from tests.live.program import Event

_LACKING = (*missing_commands(), *(() if shutil.which("espeak-ng") else ("espeak-ng",)))
pytestmark = pytest.mark.skipif(bool(_LACKING), reason=f"not there: {', '.join(_LACKING)}")

LEFT = "left ovary CL twenty two with a cavity six millimetres"
RIGHT = "right ovary CL twenty four"


@pytest.fixture
def microphone() -> Iterator[VirtualMicrophone]:
    with VirtualMicrophone(loudspeaker=True) as plugged_in:
        yield plugged_in


class Loudspeaker:
    """Records what comes out of the loudspeaker."""

    def __init__(self, microphone: VirtualMicrophone, path: Path) -> None:
        self._path = path
        self._process = microphone.record(LOUDSPEAKER, path)

    def stop(self) -> Samples:
        self._process.terminate()
        self._process.wait(10)
        raw = np.frombuffer(self._path.read_bytes()[: self._path.stat().st_size // 2 * 2], "<i2")
        return (raw / 32768.0).astype(np.float32)


def said(text: str) -> Samples:
    return as_heard(*Synthesiser().speak(text))


def came_out(text: str, sound: Samples) -> float:
    """How like a sentence the likest stretch of the sound is, 0 to 1."""
    wave = said(text)
    size = 1 << (len(sound) + len(wave)).bit_length()
    match = np.fft.irfft(np.fft.rfft(sound, size) * np.conj(np.fft.rfft(wave, size)), size)
    place = int(np.argmax(match[: len(sound)]))
    same = sound[place : place + len(wave)]
    return float(match[place] / (np.linalg.norm(same) * np.linalg.norm(wave) + 1e-9))


def visit_in(folder: Path) -> tuple[Visit, list[Spoke]]:
    with Journal.read(folder) as journal:
        entries = list(journal.entries())
    return fold(entries), [e.event for e in entries if isinstance(e.event, Spoke)]


def is_query(event: Event) -> bool:
    return event["event"] == "query" and event.get("state") == "open"
