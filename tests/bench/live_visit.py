"""A visit of twelve cows as it is spoken at the crush, and what came of it on which cow.

The words, tags and the order are our own. A comma is a short pause (people draw breath between
'twenty' and 'four'), a bar a long one (the probe is turned). Between phrases there is talk that is
for nobody here. The voices are of the held-out side: nothing was taught or tuned on them.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice

import numpy as np

from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.visit.facts import HerdListed
from dictation.visit.parts import Fate
from dictation.visit.state import Visit
from grammar.exam import Exam, FindingState, KnownAnimal
from grammar.findings import Animal, Finding, finding_record
from grammar.parse import parse
from tests.bench.chatter import chatter
from tests.bench.conditions import condition, heard_in
from tests.bench.joining import joined, spoken_part
from tests.bench.judging import DAY
from tests.bench.speech import spoken
from tests.bench.voices import Split, voice

SHORT_S, LONG_S = 0.3, 0.8
"""What a comma and a bar stand for."""

BETWEEN_S, COW_S, LEAD_S = (0.8, 1.6), 2.5, 1.0
"""Silence between phrases, at least and at most, and before the next cow."""

TALK_EVERY = 6
"""So many phrases lie between two sentences of talk."""

COWS: Mapping[str, tuple[str, ...]] = {
    "412": (
        "next cow four one two",
        "cervix normal",
        "left ovary CL | twenty two millimetres",
        "right ovary follicle twelve",
        "breed her on heat",
    ),
    "837": ("next cow eight three seven", "pregnant | fifty days | right horn", "heartbeat seen"),
    "2605": (
        "cow two six oh five",
        "left ovary static",
        "right ovary static",
        "open",
        "condition score two point five",
    ),
    "519": ("next animal five one nine", "pregnant forty , five days", "single"),
    "733": (
        "next cow seven three three",
        "open",
        "left ovary CL twenty , four",
        "right ovary follicle | eighteen millimetres",
        "give her prostaglandin",
    ),
    "1083": ("next cow one oh eight three", "twins one each horn", "pregnant sixty days"),
    "648": (
        "cow six four eight",
        "right ovary luteal cyst thirty , five",
        "uterus clear",
        "open",
        "recheck in two weeks",
    ),
    "831": ("next cow eight three one", "pregnant | nine weeks", "crown rump forty , two"),
    "95": ("next cow ninety five", "left horn cloudy fluid twenty millimetres", "open"),
    "276": (
        "cow two seven six",
        "left ovary CL | twenty six",
        "right ovary no structures",
        "open",
        "condition score three",
    ),
    "588": ("next cow five eight eight", "pregnant a hundred , and twenty days", "heartbeat seen"),
    "364": ("next cow three six four", "right ovary follicular cyst thirty", "open", "cull"),
}
_PAUSES = re.compile(r" ([,|]) ")


@dataclass(frozen=True, slots=True)
class Said:
    """A phrase of the visit's sound. ``tag``: of which cow; None for talk.

    ``from_s``, ``until_s``: its first and last voiced sample; ``short_pause``: inside a number.
    """

    words: str
    tag: str | None
    from_s: float
    until_s: float
    short_pause: bool = False


@dataclass(slots=True)
class Outcome:
    """What came of a visit.

    ``own``: findings that stand on their own cow; ``asked``: that are asked about there;
    ``elsewhere``: on another cow; ``lost``; ``added``: findings that nobody said, not asked about.
    ``questions``: raised; ``cut``: numbers with a pause in them that were two utterances, and
    ``cut_for_good``: whose value stands nowhere on the cow; ``paused``: of so many.
    """

    said: int = 0
    own: int = 0
    asked: int = 0
    elsewhere: int = 0
    lost: int = 0
    added: int = 0
    questions: int = 0
    paused: int = 0
    cut: int = 0
    cut_for_good: int = 0
    wrong: list[str] = field(default_factory=list)


def plain(words: str) -> str:
    """The words without the marks of pauses."""
    return _PAUSES.sub(" ", words)


def herd() -> HerdListed:
    """The list of the farm: these cows and as many others."""
    others = (str(int(tag) + 3) for tag in COWS)
    return HerdListed("bench", "herd.csv", tuple(map(KnownAnimal, [*COWS, *others])))


def visit_sound(speaker: str, noise: str, cows: int) -> tuple[Samples, tuple[Said, ...]]:
    """The sound of the first so many cows, mono float32 at 16 kHz, and where what is said in it."""
    chance, by = random.Random(speaker), voice(speaker)
    parts: list[Samples] = [_silence(LEAD_S)]
    told: list[Said] = []
    for words, tag in _phrases(cows):
        sound = _uttered(words, speaker)
        first_s = sum(map(len, parts)) / SAMPLE_RATE_HZ
        from_s, until_s = (first_s + at for at in spoken_part(sound))
        told.append(Said(words, tag, from_s, until_s, " , " in words))
        parts += [sound, _silence(chance.uniform(*BETWEEN_S))]
    parts.append(_silence(LEAD_S + 1.0))
    key = f"live/{speaker}"
    return heard_in(np.concatenate(parts), condition(noise), by.split, key), tuple(told)


def _phrases(cows: int) -> Iterator[tuple[str, str | None]]:
    talk = chatter(Split.HELD_OUT)
    count = 0
    for tag, phrases in islice(COWS.items(), cows):
        for words in phrases:
            count += 1
            yield words, tag
            if count % TALK_EVERY == 0:
                yield next(talk), None


def _uttered(words: str, speaker: str) -> Samples:
    pieces = _PAUSES.split(words)
    sounds = [spoken(piece, voice(speaker)) for piece in pieces[::2]]
    gaps_s = [SHORT_S if mark == "," else LONG_S for mark in pieces[1::2]]
    return joined(sounds, gaps_s)


def _silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * SAMPLE_RATE_HZ), np.float32)


def outcome_of(visit: Visit, told: tuple[Said, ...]) -> Outcome:
    """What stands on which cow beside what was said of her."""
    found = Outcome(questions=len(visit.queries))
    stands = {tag: _standing(visit, tag, asked=False) for tag in COWS}
    queried = {tag: _standing(visit, tag, asked=True) for tag in COWS}
    left = sum(stands.values(), Counter())
    nowhere = _of((exam for exam in visit.exams if exam.tag not in COWS), asked=False)
    for each in told:
        for finding in _findings(each):
            _judge(_words(finding), each, found, stands, queried)
        if each.short_pause:
            _judge_pause(visit, each, found)
    unsaid = sum(stands.values(), Counter()) + nowhere
    found.added = unsaid.total()
    found.wrong += [f"not said: {words}" for words in unsaid.elements()]
    assert left.total() >= found.own
    return found


def _judge(
    words: str,
    each: Said,
    found: Outcome,
    stands: dict[str, Counter[str]],
    queried: dict[str, Counter[str]],
) -> None:
    assert each.tag is not None
    found.said += 1
    elsewhere = next((t for t in stands if t != each.tag and stands[t][words] > 0), None)
    if stands[each.tag][words]:
        stands[each.tag][words] -= 1
        found.own += 1
    elif queried[each.tag][words]:
        queried[each.tag][words] -= 1
        found.asked += 1
    elif elsewhere is not None and words not in _said_of(elsewhere):
        stands[elsewhere][words] -= 1
        found.elsewhere += 1
        found.wrong.append(f"{each.tag}: '{plain(each.words)}' stands on {elsewhere}")
    else:
        found.lost += 1
        found.wrong.append(f"{each.tag}: '{plain(each.words)}' does not stand")


def _judge_pause(visit: Visit, each: Said, found: Outcome) -> None:
    inside = [
        p
        for p in visit.phrases
        if p.at_s is not None and p.until_s is not None
        if each.from_s < p.until_s - 0.2 and p.at_s + 0.3 < each.until_s
    ]
    found.paused += 1
    first = [p for p in inside if p.fate is not Fate.SILENT]
    parts = [p for p in first if p.until_s is not None and p.until_s < each.until_s - 0.1]
    found.cut += bool(parts)
    assert each.tag is not None
    there = _standing(visit, each.tag, asked=False) + _standing(visit, each.tag, asked=True)
    found.cut_for_good += bool(parts) and not all(there[_words(f)] for f in _findings(each))


def _findings(each: Said) -> tuple[Finding, ...]:
    if each.tag is None:
        return ()
    whats = parse(plain(each.words), DAY).findings
    return tuple(f for f in whats if not isinstance(f, Animal))


def _said_of(tag: str) -> set[str]:
    return {_words(f) for words in COWS[tag] for f in _findings(Said(words, tag, 0.0, 0.0))}


def _standing(visit: Visit, tag: str, *, asked: bool) -> Counter[str]:
    return _of((exam for exam in visit.exams if exam.tag == tag), asked=asked)


def _of(exams: Iterator[Exam], *, asked: bool) -> Counter[str]:
    return Counter(
        _words(r.finding)
        for exam in exams
        for r in exam.standing
        if (r.state is FindingState.QUERIED) is asked and not isinstance(r.finding, Animal)
    )


_HOW = ("unit_assumed", "approximate", "stated_as", "status_assumed")


def _words(finding: Finding) -> str:
    """The values of a finding, however it was said."""
    record = {k: v for k, v in finding_record(finding).items() if v is not None and k not in _HOW}
    return ", ".join(f"{name}={value}" for name, value in sorted(record.items()))
