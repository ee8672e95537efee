"""Sentences spoken by the training voices, on every core: a table of sentences -> corpora.

The held-out voices (piper, festival, flite slt, espeak en-029 and en-gb-scotland, Kokoro's kumo)
are not in this file. Which voice speaks what, how fast and how high follows from the seed and the
place in the table. The validating voices, flite kal16 and three of Kokoro's, speak nothing else.
Kokoro's speakers beyond the five of its package are read from the folder that KOKORO_STYLES names
(``synthesis``); half of what they say is said by two of them mixed.
"""

from __future__ import annotations

import random
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import soxr
from numpy.typing import NDArray

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.console.terminal import bar
from dictation.errors import MissingError
from tests.bench.shed_noise import active_rms
from tests.bench.speech import ACTIVE_LEVEL, in_breaths, intake
from tests.bench.synthesis import ENGINES, Sound, Speak
from tests.training.corpus import TRADE, Recording, read_corpus, write_corpus
from tests.training.sentences import Sentence, read_sentences

USUAL = ("flite", "espeak", "hibari")
PART = 500
"""Sentences that are kept together: what a stop may cost."""
LONGEST_S = 12.0
SHORTEST_S = 0.15
#: Share of the sentences that an engine speaks, in parts, among those asked for.
PARTS = {"flite": 40, "espeak": 22, "hibari": 38, "kokoro": 38}
#: Share of the trade phrases that is spoken quickly, broken by drawn breaths, trailing off.
BREATHLESS_SHARE = 0.25
_HURRY = 1.15
_FADE_DB = (2.0, 10.0)
_ESPEAK_ACCENTS = ("en", "en-us", "en-gb-x-rp", "en-gb-x-gbclan", "en-gb-x-gbcwmd", "en-us-nyc")
_ESPEAK_VARIANTS = (
    *(f"m{n}" for n in range(1, 9)),
    *(f"f{n}" for n in range(1, 6)),
    *("Alicia", "belinda", "linda", "Andrea", "steph", "Michael", "Mario", "Denis", "Gene", "Lee"),
)
_ACCENTS = ("us", "british")
_AMERICAN = (
    *(f"af_{name}" for name in ("alloy", "aoede", "bella", "heart", "jessica", "kore", "nicole")),
    *(f"af_{name}" for name in ("river", "sarah", "sky")),
    *(f"am_{name}" for name in ("adam", "echo", "eric", "fenrir", "liam", "michael", "onyx")),
    *(f"am_{name}" for name in ("puck", "santa")),
)
_BRITISH = (
    *(f"bf_{name}" for name in ("alice", "emma", "isabella", "lily")),
    *(f"bm_{name}" for name in ("daniel", "george", "lewis")),
)
_ELSEWHERE = (
    *("ef_dora", "em_alex", "em_santa", "ff_siwis", "hf_alpha", "hf_beta", "hm_omega", "hm_psi"),
    *("if_sara", "im_nicola", "pf_dora", "pm_alex", "pm_santa", "zf_xiaobei", "zf_xiaoni"),
    *("zf_xiaoxiao", "zf_xiaoyi", "zm_yunjian", "zm_yunxi", "zm_yunxia", "zm_yunyang"),
    *("jf_alpha", "jf_gongitsune", "jf_nezumi"),
)
SPEAKERS: dict[str, tuple[str, ...]] = {
    "flite": ("kal", "awb", "awb", "rms", "rms"),
    "espeak": tuple(f"{a}+{v}" for a in _ESPEAK_ACCENTS for v in _ESPEAK_VARIANTS),
    "hibari": _ACCENTS,
    "kokoro": (
        *(f"{s}/us" for s in (*_AMERICAN, *_ELSEWHERE)),
        *(f"{s}/british" for s in (*_BRITISH, *_BRITISH, *_ELSEWHERE)),
    ),
}
VALIDATING: dict[str, tuple[str, ...]] = {
    "flite": ("kal16",),
    "kokoro": ("jf_tebukuro/us", "jf_tebukuro/british", "bm_fable/british", "af_nova/us"),
}

Samples = NDArray[np.int16]


@cache
def _speaker(engine: str, name: str) -> Speak:
    return ENGINES[engine].speaker(name)


def _at_16_khz(sound: Sound) -> NDArray[np.float32]:
    """With the silence at either end off; empty when nothing is left."""
    samples, rate_hz = sound
    if rate_hz != SAMPLE_RATE_HZ:
        samples = soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ)
    loud = np.flatnonzero(np.abs(samples) > 0.01 * max(np.abs(samples).max(initial=0.0), 1e-9))
    if not len(loud):
        return np.zeros(0, np.float32)
    return np.asarray(samples[max(0, loud[0] - 400) : loud[-1] + 800], np.float32)


def _kept(samples: NDArray[np.float32]) -> Samples | None:
    """As it is stored; None when it is too short or too long."""
    if not SHORTEST_S < len(samples) / SAMPLE_RATE_HZ < LONGEST_S:
        return None
    return np.asarray(samples / np.abs(samples).max() * 23_000, np.int16)


def _mixed(engine: str, name: str, speakers: dict[str, tuple[str, ...]], rng: random.Random) -> str:
    """The speaker, or by chance that speaker and another of the same accent."""
    if engine != "kokoro" or speakers is VALIDATING or rng.random() < 0.5:
        return name
    speaker, accent = name.split("/")
    return f"{speaker}+{rng.choice(speakers[engine]).split('/')[0]}/{accent}"


def _breathless(
    say: Speak, text: str, rate: float, pitch: float, rng: random.Random
) -> NDArray[np.float32]:
    """The words as the benches' breathless voices say them, with breaths of other lengths."""
    whole: list[NDArray[np.float32]] = []
    for part in in_breaths(text):
        sound = _at_16_khz(say(part, rate * _HURRY, pitch))
        if whole and len(sound):
            drawn = intake(rng.randrange(100, 1000), rng.uniform(0.1, 0.5), rng.uniform(0.05, 0.4))
            whole.append(drawn * np.float32(active_rms(sound) / ACTIVE_LEVEL))
        whole.append(sound)
    joined = np.concatenate(whole)
    fade = np.geomspace(1, 10 ** (-rng.uniform(*_FADE_DB) / 20), len(joined))
    return np.asarray(joined * fade, np.float32)


def speak(task: tuple[int, Sentence, int, tuple[str, ...]]) -> Recording | None:
    """One sentence spoken; None where no engine will, or where the length will not do."""
    place, sentence, seed, engines = task
    rng = random.Random(f"{seed} {place}")
    speakers = VALIDATING if sentence.validation else SPEAKERS
    names = [name for name in engines if name in speakers]
    if not names:
        return None
    engine = rng.choices(names, [PARTS[name] for name in names])[0]
    name = _mixed(engine, rng.choice(speakers[engine]), speakers, rng)
    rate, pitch = rng.uniform(0.78, 1.35), rng.uniform(0.8, 1.3)
    in_a_hurry = sentence.kind == TRADE and rng.random() < BREATHLESS_SHARE
    try:
        say = _speaker(engine, name)
        spoken = _kept(
            _breathless(say, sentence.spoken, rate, pitch, rng)
            if in_a_hurry
            else _at_16_khz(say(sentence.spoken, rate, pitch))
        )
    except Exception as error:  # three foreign engines; one bad sentence must not end the run
        print(f"{engine} could not say '{sentence.spoken}': {error}", file=sys.stderr)
        return None
    if spoken is None:
        return None
    voice = f"{engine}-{name}"
    return Recording(spoken, sentence.kind, voice, sentence.written, sentence.validation)


def speak_all(table: Path, seed: int, engines: tuple[str, ...], jobs: int, folder: Path) -> str:
    """Speak a table of sentences, part by part; parts that are in ``folder`` are not spoken again.

    How much was spoken, in a sentence.
    """
    tasks = [(i, s, seed, engines) for i, s in enumerate(read_sentences(table))]
    folder.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(jobs, get_context("spawn")) as pool, bar("speaking") as progress:
        for at in range(0, len(tasks), PART):
            stem = folder / f"{at:06d}"
            if not stem.with_suffix(".tsv").is_file():
                spoken = pool.map(speak, tasks[at : at + PART], chunksize=16)
                write_corpus([s for s in spoken if s is not None], stem)
            progress.show(at + PART, len(tasks))
    spoken_of = [r for stem in stems(folder) for r in read_corpus(stem)]
    hours = sum(len(r.samples) for r in spoken_of) / SAMPLE_RATE_HZ / 3600
    voices = len({r.voice for r in spoken_of})
    return f"{len(spoken_of)} of {len(tasks)} sentences, {hours:.2f} h, {voices} voices"


def engines_here(asked: tuple[str, ...]) -> tuple[str, ...]:
    """The synthesisers asked for, else of the usual ones those that are here.

    Raises MissingError where one that was asked for is not here, or none is.
    """
    there = tuple(name for name in asked or USUAL if not ENGINES[name].missing())
    if not there or (asked and there != asked):
        lacking = " and ".join(name for name in asked or USUAL if name not in there)
        raise MissingError(f"{lacking} cannot speak on this machine: install them first.")
    return there


def stems(folder: Path) -> list[Path]:
    """The corpora of a folder."""
    return [path.with_suffix("") for path in sorted(folder.glob("*.tsv"))]
