"""The demonstration is cut breath by breath, can be read, and holds one planted contradiction."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from dictation.audio.recording import open_recording, utterances
from grammar.checks import check_visit
from grammar.exam import (
    Exam,
    FindingState,
    KnownAnimal,
    RecordedFinding,
    Service,
    Severity,
)
from grammar.findings import (
    CommandName,
    FetalSex,
    Finding,
    Measurement,
    OvarianStructure,
    Ovary,
    Plan,
    Pregnancy,
    Reading,
    Seen,
    Side,
    SweepStructure,
    Uterus,
)
from grammar.parse import parse

from .conftest import Row


@dataclass(frozen=True, slots=True)
class Breath:
    words: str
    kind: str
    reading: Reading


@pytest.fixture(scope="module")
def scenario(demo_path: Path) -> dict[str, Any]:
    return tomllib.loads(demo_path.with_suffix(".toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def breaths(scenario: dict[str, Any]) -> dict[str, list[Breath]]:
    """Every breath of the scenario with its reading, by tag."""
    day = scenario["visit"]["date"]
    return {
        exam["tag"]: [
            Breath(b["words"], b.get("kind", "exam"), parse(b["words"], day))
            for b in exam["breaths"]
        ]
        for exam in scenario["exam"]
    }


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def heard_in(spoken: list[Breath]) -> list[Finding]:
    """Findings of an exam after what was taken back and changed by voice."""
    kept: list[list[Finding]] = [[]]
    for breath in spoken:
        command = breath.reading.command
        if breath.kind == "chatter":
            continue
        if command is not None and command.name is CommandName.SCRATCH:
            kept.pop()
        elif command is not None and command.name is CommandName.CHANGE:
            (last,) = kept[-1]
            assert isinstance(last, Ovary)
            kept[-1] = [replace(last, size_mm=command.number)]
        else:
            kept.append(list(breath.reading.findings))
    return [finding for group in kept for finding in group]


def test_the_recording_is_cut_into_its_breaths(demo_path: Path, transcript: list[Row]) -> None:
    found = list(utterances(open_recording(demo_path)))
    assert len(found) == len(transcript)
    for utterance, row in zip(found, transcript, strict=True):
        assert row.at_s - 0.6 < utterance.at_s <= row.at_s, row.words
        assert row.until_s <= utterance.until_s < row.until_s + 0.6, row.words


def test_the_transcript_is_that_of_the_scenario(
    scenario: dict[str, Any], transcript: list[Row]
) -> None:
    planned = [
        (b["words"], b.get("kind", "exam"), exam["noise"])
        for exam in scenario["exam"]
        for b in exam["breaths"]
    ]
    assert [(row.words, row.kind, row.noise) for row in transcript] == planned


def test_the_demonstration_is_rich_enough(scenario: dict[str, Any]) -> None:
    exams = scenario["exam"]
    assert len(exams) >= 12
    assert {exam["noise"] for exam in exams} == {"quiet", "shed"}
    voices = {b.get("voice", exam["voice"]) for exam in exams for b in exam["breaths"]}
    assert len(voices) >= 4


def test_every_breath_of_the_exam_has_one_reading(breaths: dict[str, list[Breath]]) -> None:
    for breath in (b for spoken in breaths.values() for b in spoken):
        reading = breath.reading
        if breath.kind == "chatter":
            assert reading.unread is not None, breath.words
        else:
            assert reading.unread is None, breath.words
            assert reading.others == (), breath.words
            assert (reading.command is not None) == (breath.kind == "command"), breath.words


def ovary_words(findings: list[Finding], side: Side) -> str:
    """An ovary as the expected table writes it."""
    station = SweepStructure(f"{side}_ovary")
    words = []
    for finding in findings:
        if isinstance(finding, Seen) and finding.structure is station:
            words.append(str(finding.remark))
        elif isinstance(finding, Ovary) and finding.side in (side, Side.BOTH):
            structure = finding.structure
            size = "" if finding.size_mm is None else f" {finding.size_mm:g}"
            assert size or structure in (OvarianStructure.SMALL_FOLLICLES, OvarianStructure.STATIC)
            words.append(f"{structure}{size}")
    return ";".join(words)


def exam_row(findings: list[Finding]) -> dict[str, str]:
    """An exam as the expected table writes it."""
    row = dict.fromkeys(("status", "stated_age_days", "gravid_side", "fetal_sex"), "")
    uterus, plans = [], []
    for finding in findings:
        if isinstance(finding, Pregnancy):
            row["status"] = str(finding.status)
            row["stated_age_days"] = str(finding.age_days or "")
            row["gravid_side"] = str(finding.side or "")
        elif isinstance(finding, FetalSex):
            row["fetal_sex"] = str(finding.sex)
        elif isinstance(finding, Uterus) and finding.side in (None, Side.BOTH):
            depth = "" if finding.depth_mm is None else f" {finding.depth_mm:g}"
            uterus.append(f"{finding.state}{depth}")
        elif isinstance(finding, Plan):
            plans.append(" ".join(filter(None, (finding.action, finding.treatment_class))))
            row["recheck_in_days"] = str(finding.in_days or "")
    lengths = [f"{f.size_mm:g}" for f in findings if isinstance(f, Measurement)]
    return {
        **row,
        "recheck_in_days": row.get("recheck_in_days", ""),
        "crown_rump_mm": ";".join(lengths),
        "left_ovary": ovary_words(findings, Side.LEFT),
        "right_ovary": ovary_words(findings, Side.RIGHT),
        "uterus": ";".join(sorted(uterus)),
        "plan": ";".join(plans),
    }


def test_the_words_come_to_the_expected_exams(
    demo_path: Path, breaths: dict[str, list[Breath]]
) -> None:
    expected = rows_of(demo_path.with_name("demo_expected_exams.csv"))
    assert [row["tag"] for row in expected] == list(breaths)
    for row in expected:
        got = exam_row(heard_in(breaths[row["tag"]]))
        assert got == {name: row[name] for name in got}, row["tag"]


def service_of(row: dict[str, str]) -> tuple[Service, ...]:
    days = [row["service_1"], row["service_2"]]
    single = tuple(Service(date.fromisoformat(day)) for day in days if day)
    if not row["natural_from"]:
        return single
    first, last = (date.fromisoformat(row[name]) for name in ("natural_from", "natural_to"))
    return (*single, Service(first, last))


def test_one_contradiction_is_planted_and_nothing_else_is_queried(
    demo_path: Path, breaths: dict[str, list[Breath]], scenario: dict[str, Any]
) -> None:
    herd = {row["tag"]: row for row in rows_of(demo_path.with_name("demo_herd.csv"))}
    exams = []
    for number, (tag, spoken) in enumerate(breaths.items(), start=1):
        known = KnownAnimal(
            tag,
            animal_class=herd[tag]["class"],
            parity=int(herd[tag]["parity"]),
            calved_on=date.fromisoformat(day) if (day := herd[tag]["calved_on"]) else None,
            services=service_of(herd[tag]),
        )
        recorded = tuple(
            RecordedFinding(100 * number + place, finding, FindingState.ACCEPTED, "")
            for place, finding in enumerate(heard_in(spoken))
        )
        day_of_visit = scenario["visit"]["date"]
        exams.append(Exam(number, day_of_visit, tag, recorded, known, True, herd_list_given=True))
    grave = [
        (exams[number - 1].tag, flag.rule)
        for number, flags in check_visit(exams).items()
        for flag in flags
        if flag.severity is not Severity.NOTE
    ]
    expected = rows_of(demo_path.with_name("demo_expected_exams.csv"))
    assert grave == [(row["tag"], row["flagged"]) for row in expected if row["flagged"]]
    assert len(grave) == 1
