"""What vets say, in usage.txt and usage_2.txt, reads to the findings beside it; talk to none."""

from __future__ import annotations

import csv
import os
import random
from datetime import date
from pathlib import Path

import pytest

from grammar import parse
from grammar.fields import known
from grammar.findings import FINDING_NAMES, RENAMED, Command, Finding, Reading, plain
from grammar.partly import part_of
from grammar.vocabulary import built_in
from tests.grammar.writing import accepted, constraint_in_force

VISIT = date(2026, 11, 18)
LISTS = {"usage.txt": (261, 0), "usage_2.txt": (332, 6)}
"""How many phrases, and how many of them may read otherwise: before they were looked at, 215 of the
first list and 204 of the second."""
_HOW_IT_WAS_SAID = {"unit_assumed", "status_assumed", "stated_as", "tag_alone"}


def usage(name: str) -> list[tuple[str, str, bool]]:
    """Phrase, what it reads to, and whether it must be asked."""
    lines = (Path(__file__).parent / name).read_text(encoding="utf-8").splitlines()
    pairs = (line.split(" => ") for line in lines if line and not line.startswith("#"))
    return [(phrase.removeprefix("? "), meaning, phrase[0] == "?") for phrase, meaning in pairs]


def as_listed(what: Finding | Command) -> str:
    """A finding or a command in the notation of usage.txt, its fields in order of their names."""
    if isinstance(what, Command):
        fields = {n: getattr(what, n) for n in ("number", "side") if getattr(what, n) is not None}
        fields |= {n: True for n in ("other_side",) if getattr(what, n, None)}
        fields |= {n: v for n in ("instead_of",) if (v := getattr(what, n, None)) is not None}
        name = f"command {what.name}"
    else:
        fields = {n: v for n, v in known(what).items() if n not in _HOW_IT_WAS_SAID}
        name = FINDING_NAMES[type(what)]
        if name == "note":
            return f"note {fields['text']}"
    told = (f"{RENAMED.get(n, n)}={_value(plain(v))}" for n, v in fields.items())
    return " ".join((name, *sorted(told)))


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:g}" if isinstance(value, float) else str(value)


def _in_order(meaning: str) -> str:
    if meaning.startswith("note "):
        return meaning
    name, *fields = meaning.split(" ")
    head = [name, *(f for f in fields if "=" not in f)]
    return " ".join((*head, *sorted(f for f in fields if "=" in f)))


def as_meant(reading: Reading, meaning: str, asked: bool) -> bool:
    """Whether a phrase reads to its findings, in any order, and is asked about where it must be."""
    said = sorted(as_listed(each.what) for each in reading.said)
    return said == sorted(map(_in_order, meaning.split("; "))) and bool(reading.others) == asked


@pytest.mark.parametrize("name", LISTS)
def test_vets_usage_reads_to_the_findings_that_are_meant(name: str) -> None:
    phrases, (how_many, left_unread) = usage(name), LISTS[name]
    assert len({phrase for phrase, _, _ in phrases}) == len(phrases) == how_many
    wrong = [p for p, meaning, asked in phrases if not as_meant(parse(p, VISIT), meaning, asked)]
    assert len(wrong) <= left_unread, wrong


_WHO = "he she we they you the-lads my-brother nobody everybody the-driver".split()  # noqa: SIM905
_DOES = "had-lunch rang-home went-inside parked-up fell-asleep laughed bought-bread".split()  # noqa: SIM905
_WHEN = "last-night yesterday before-breakfast at-noon on-sunday again an-hour-ago twice".split()  # noqa: SIM905
_THING = "kettle radio phone jacket sandwich weather coffee football newspaper tractor".split()  # noqa: SIM905
_IS = "too-loud quite-nice rather-dear in-the-kitchen on-the-table behind-the-door broken".split()  # noqa: SIM905
_ASK = "where-did who-told why-would when-will how-did what-if".split()  # noqa: SIM905
_SAY = "well anyway honestly look listen so and right okay no yes actually sorry".split()  # noqa: SIM905
_CALL = "pass-me-the close-the mind-the hold-the open-the shut-the watch-the".split()  # noqa: SIM905
_OBJECT = "gate door rope bucket window torch box ladder hose wheelbarrow".split()  # noqa: SIM905
_TAIL = "please for-me would-you when-you-can there now mate".split()  # noqa: SIM905
EVERYDAY = (
    (_SAY, _WHO, _DOES, _WHEN),
    (_WHO, _DOES, _WHEN),
    (["the"], _THING, ["is"], _IS),
    (_SAY, ["the"], _THING, ["was"], _IS, _WHEN),
    (_ASK, _WHO, ["say-that"], _WHEN),
    (_CALL, _OBJECT),
    (_CALL, _OBJECT, _TAIL),
    (_SAY, _CALL, _OBJECT, _TAIL),
)


def everyday_sentence(rng: random.Random) -> str:
    """A sentence of everyday English without a word of the trade in its sense."""
    return " ".join(rng.choice(words) for words in rng.choice(EVERYDAY)).replace("-", " ")


def _taken_for_findings(sentence: str) -> bool:
    reading = parse(sentence, VISIT)
    other = any(not isinstance(s.what, Command) for each in reading.others for s in each)
    return bool(reading.findings) or other or part_of(reading, VISIT) is not None


def test_no_finding_comes_of_everyday_sentences() -> None:
    rng = random.Random(20261118)
    said: set[str] = set()
    while len(said) < 2000:
        said.add(everyday_sentence(rng))
    assert [sentence for sentence in sorted(said) if _taken_for_findings(sentence)] == []


def test_no_finding_and_no_command_comes_of_what_is_said_in_a_yard_and_a_house() -> None:
    lines = (Path(__file__).parent / "everyday.txt").read_text(encoding="utf-8").splitlines()
    said = [line for line in lines if line and not line.startswith("#")]
    assert len(said) == len(set(said)) > 200
    assert [s for s in said if parse(s, VISIT).said or _taken_for_findings(s)] == []


RECORDINGS = os.environ.get("HORNSWEEP_RECORDINGS")


@pytest.mark.skipif(not RECORDINGS, reason="HORNSWEEP_RECORDINGS names no folder of recordings")
def test_no_finding_comes_of_what_people_read_aloud() -> None:
    table = Path(RECORDINGS or "") / "recordings.csv"
    with table.open(encoding="utf-8", newline="") as rows:
        texts = {r["text"] for r in csv.DictReader(rows) if r["file"].startswith("reading/")}
    assert texts
    assert [text for text in sorted(texts) if _taken_for_findings(text)] == []


def test_an_everyday_word_alone_is_read_as_typed_and_offered_to_no_recogniser() -> None:
    alone, heard = built_in().alone, constraint_in_force()
    for phrase, stands_for in alone.items():
        assert parse(phrase, VISIT).said == parse(stands_for, VISIT).said != ()
        assert accepted(stands_for, heard)
    # these are heard as remarks, which want a place
    remarks = {"cannot reach", "out of reach", "nothing abnormal", "no abnormality"}
    assert {phrase for phrase in alone if accepted(phrase, heard)} == remarks
