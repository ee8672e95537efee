"""Asked aloud and answered by voice: real sound both ways, nothing touched."""

from __future__ import annotations

import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.voice import Synthesiser, as_heard
from dictation.live.answering_aloud import aloud
from dictation.visit.apply import fold
from dictation.visit.facts import Spoke
from dictation.visit.journal import Journal
from dictation.visit.parts import Fate, QueryState
from dictation.visit.state import Visit
from grammar.exam import FindingState
from grammar.findings import Ovary
from tests.bench.virtual_microphone import LOUDSPEAKER, VirtualMicrophone, missing_commands
from tests.live.phrases import play_list
from tests.live.program import Event, Listening, spelt

_VOICES = tuple(name for name in ("espeak-ng", "flite") if shutil.which(name) is None)
_LACKING = (*missing_commands(), *_VOICES)
pytestmark = pytest.mark.skipif(bool(_LACKING), reason=f"not there: {', '.join(_LACKING)}")

LEFT = "left ovary CL twenty two with a cavity six millimetres"
DOUBTFUL = "left ovary CL ninety nine millimetres"
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
        acts = list(journal.acts())
    return fold(acts), [fact for act in acts for fact in act.facts if isinstance(fact, Spoke)]


def spoken(words: str, path: Path) -> Path:
    """A file in which a man says these words to the microphone."""
    subprocess.run(["flite", "-voice", "rms", "-t", words, "-o", str(path)], check=True)
    samples, rate_hz = sf.read(path, dtype="float32")
    quiet = np.zeros(rate_hz // 4, np.float32)
    sf.write(path, np.concatenate([quiet, samples, quiet]), rate_hz)
    return path


def seconds(path: Path) -> float:
    return float(sf.info(path).duration)


def in_state(event: Event, state: str) -> bool:
    return event["event"] == "query" and event.get("state") == state


def test_a_question_is_asked_aloud_and_answered_by_voice(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    loudspeaker = Loudspeaker(microphone, tmp_path / "out.raw")
    with Listening(folder, microphone.environment, "--speak", "values") as listening:
        microphone.play(spoken(DOUBTFUL, tmp_path / "1.wav"))
        asked = listening.wait_for(lambda e: in_state(e, "open"))
        time.sleep(len(said(aloud(str(asked["text"])))) / SAMPLE_RATE_HZ + 1.0)
        microphone.play(spoken("yes", tmp_path / "2.wav"))
        listening.wait_for(lambda e: in_state(e, "answered"))
        time.sleep(1.0)
    visit, spoke = visit_in(folder)
    (query,) = visit.queries
    assert query.state is QueryState.ANSWERED
    (finding,) = [r for exam in visit.exams for r in exam.standing if isinstance(r.finding, Ovary)]
    assert isinstance(finding.finding, Ovary)
    assert (finding.finding.size_mm, finding.state) == (99.0, FindingState.ACCEPTED)
    assert "99" in spoke[0].text
    assert came_out(spoke[0].text, loudspeaker.stop()) > 0.8
    assert [spelt(u.text) for u in visit.phrases] == [DOUBTFUL.lower(), "yes"]


@pytest.mark.parametrize("leak", [0.0, 0.15])
def test_who_speaks_before_the_tool_has_ended_makes_it_stop_and_is_heard(
    microphone: VirtualMicrophone, tmp_path: Path, leak: float
) -> None:
    if leak:
        microphone.leak(leak)
    folder = tmp_path / "visit"
    other = play_list(tmp_path / "3.wav", RIGHT)
    with Listening(folder, microphone.environment, "--speak", "values") as listening:
        microphone.play(play_list(tmp_path / "1.wav", LEFT))
        listening.wait_for_heard("twenty two")
        time.sleep(4.0)  # it says what it recorded, and so learns whether it hears itself
        loudspeaker = Loudspeaker(microphone, tmp_path / "out.raw")
        microphone.play(spoken(DOUBTFUL, tmp_path / "2.wav"))
        listening.wait_for(lambda e: in_state(e, "open"))
        time.sleep(0.2)
        microphone.play(other)
        listening.wait_for_heard("twenty four")
        time.sleep(0.5)
        sound = loudspeaker.stop()
    visit, spoke = visit_in(folder)
    question = next(s.text for s in spoke if "99" in s.text)
    loud = np.flatnonzero(np.abs(sound) > 0.02)
    whole_s = len(said(question)) / SAMPLE_RATE_HZ
    assert whole_s > 2.0
    first_s = (loud[-1] - loud[0]) / SAMPLE_RATE_HZ
    assert came_out(question, sound) < 0.8, f"all of it came out, {first_s:.1f} s"
    last = visit.phrases[-1]
    assert "right ovary cl twenty four" in spelt(last.text)
    assert last.fate is (Fate.ASKED if leak else Fate.RECORDED), last.doubts
