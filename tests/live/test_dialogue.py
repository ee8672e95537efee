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
import soxr

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.audio.voice import Synthesiser
from dictation.live.answering_aloud import LONGEST_QUESTION_S, aloud
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


def said(text: str, most_s: float = LONGEST_QUESTION_S) -> Samples:
    samples, rate_hz = Synthesiser().speak(aloud(text), most_s)
    return np.asarray(soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ), np.float32)


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


def until_asked_aloud(
    listening: Listening, microphone: VirtualMicrophone, folder: Path, sounds: list[Path]
) -> Spoke:
    """Say it of one cow after another until the tool has asked: on a busy machine it is too late
    for that, and leaves it to the screen."""
    for sound in sounds:
        microphone.play(sound)
        listening.wait_for(lambda e: in_state(e, "open"))
        time.sleep(0.3)
        asked = [spoke for spoke in visit_in(folder)[1] if "?" in spoke.text]
        if asked:
            return asked[-1]
        time.sleep(2.0)
    pytest.skip("this machine is too busy to ask in time")


def cows(folder: Path, number: int = 4) -> list[Path]:
    """The same doubtful words, each time of another cow."""
    return [spoken(f"next cow. {DOUBTFUL}", folder / f"cow{n}.wav") for n in range(number)]


def test_a_question_is_asked_aloud_and_answered_by_voice(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    loudspeaker = Loudspeaker(microphone, tmp_path / "out.raw")
    with Listening(folder, microphone.environment, "--speak", "values") as listening:
        spoke = until_asked_aloud(listening, microphone, folder, cows(tmp_path))
        time.sleep(spoke.until_s - spoke.from_s + 0.5)
        microphone.play(spoken("yes", tmp_path / "yes.wav"))
        listening.wait_for(lambda e: in_state(e, "answered"))
        time.sleep(0.5)
    visit, _ = visit_in(folder)
    (query,) = [q for q in visit.queries if q.state is QueryState.ANSWERED]
    (finding,) = [r.recorded for r in visit.findings_of(query.phrase)][-1:]
    assert isinstance(finding.finding, Ovary)
    assert (finding.finding.size_mm, finding.state) == (99.0, FindingState.ACCEPTED)
    assert spoke.text == "ninety nine?"
    assert came_out(spoke.text, loudspeaker.stop()) > 0.8


def test_its_own_voice_from_a_loudspeaker_is_never_a_finding(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    microphone.leak(1.0)
    folder = tmp_path / "visit"
    with Listening(folder, microphone.environment, "--speak", "all") as listening:
        for words, heard in ((LEFT, "twenty two"), (RIGHT, "twenty four")):
            microphone.play(play_list(tmp_path / "said.wav", words))
            listening.wait_for_heard(heard)
            time.sleep(4.0)
    visit, spokes = visit_in(folder)
    assert spokes
    found = [r.finding for exam in visit.exams for r in exam.standing]
    assert [f.size_mm for f in found if isinstance(f, Ovary)] == [22.0, 24.0]
    assert len(found) == 2


def test_with_a_headset_who_speaks_makes_it_stop_and_is_heard(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    other = play_list(tmp_path / "other.wav", RIGHT)
    options = ("--speak", "all", "--headset")
    with Listening(folder, microphone.environment, *options) as listening:
        loudspeaker = Loudspeaker(microphone, tmp_path / "out.raw")
        microphone.play(play_list(tmp_path / "1.wav", LEFT))
        listening.wait_for_heard("twenty two")
        microphone.play(other)
        listening.wait_for_heard("twenty four")
        time.sleep(0.5)
        sound = loudspeaker.stop()
    visit, spokes = visit_in(folder)
    last = visit.phrases[-1]
    assert "right ovary cl twenty four" in spelt(last.text)
    assert last.fate is Fate.RECORDED
    for spoke in spokes[:1]:
        assert spoke.headset
        assert came_out(spoke.text, sound) < 0.95
