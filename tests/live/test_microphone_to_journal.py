"""A real sound server, sound in real time, findings read from the journal."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from dictation.audio.spool import spooled_until_s
from dictation.visit.apply import fold
from dictation.visit.facts import Captured, Fact, Gap, Spoke
from dictation.visit.journal import Journal
from dictation.visit.state import Visit
from grammar.findings import Finding, Ovary, Pregnancy, Side, UterineState, Uterus
from tests.bench.virtual_microphone import VirtualMicrophone, missing_commands
from tests.live.phrases import play_list
from tests.live.program import Listening, spelt

pytestmark = pytest.mark.skipif(
    bool(missing_commands()), reason=f"no sound server: {', '.join(missing_commands())}"
)

LEFT = "left ovary CL twenty two with a cavity six millimetres"
SWEEP = "cervix normal, body clear, left horn clear"
PREGNANT = "right horn, pregnant about forty five days"
RIGHT = "right ovary CL twenty four"


@pytest.fixture(scope="module")
def microphone() -> Iterator[VirtualMicrophone]:
    with VirtualMicrophone() as plugged_in:
        yield plugged_in


def visit_in(folder: Path) -> Visit:
    with Journal.read(folder) as journal:
        return fold(journal.acts())


def facts_in(folder: Path) -> list[Fact]:
    with Journal.read(folder) as journal:
        return [fact for act in journal.acts() for fact in act.facts]


def findings_in(folder: Path) -> list[Finding]:
    return [r.finding for exam in visit_in(folder).exams for r in exam.standing]


def run_listen(environment: dict[str, str], *options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "dictation", "listen", *options],
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_what_is_said_is_recorded_through_unplugging_and_a_crash(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    with Listening(folder, microphone.environment) as listening:
        microphone.play(play_list(tmp_path / "1.wav", SWEEP))
        listening.wait_for_heard("horn clear")
        microphone.unplug()
        listening.wait_for(lambda e: e.get("state") == "lost")
        microphone.plug_in()
        listening.wait_for(lambda e: e.get("state") == "gap")
        microphone.play(play_list(tmp_path / "2.wav", PREGNANT))
        listening.wait_for_heard("forty five")
        microphone.play(play_list(tmp_path / "3.wav", RIGHT, pause_s=0.0))
        listening.kill()
    assert not any("twenty four" in spelt(u.text) for u in visit_in(folder).phrases)
    before = len(visit_in(folder).phrases)
    with Listening(folder, microphone.environment) as listening:
        pass
    assert listening.code == 0
    ovaries = [f for f in findings_in(folder) if isinstance(f, Ovary)]
    assert [(o.side, o.size_mm) for o in ovaries] == [(Side.RIGHT, 24.0)]
    horns = [f.state for f in findings_in(folder) if isinstance(f, Uterus) and f.side is Side.LEFT]
    assert horns == [UterineState.CLEAR]
    (pregnancy,) = [f for f in findings_in(folder) if isinstance(f, Pregnancy)]
    assert pregnancy.age_days == 45
    facts = facts_in(folder)
    assert len([fact for fact in facts if isinstance(fact, Captured)]) == before + 1
    gaps = [fact for fact in facts if isinstance(fact, Gap)]
    assert ["back" in gap.why for gap in gaps] == [True, False]
    assert all(gap.until_s > gap.from_s for gap in gaps)
    assert spooled_until_s(folder) >= gaps[-1].until_s


def test_it_does_not_hear_its_own_voice(microphone: VirtualMicrophone, tmp_path: Path) -> None:
    folder = tmp_path / "visit"
    with Listening(folder, microphone.environment, "--speak", "all") as listening:
        for name in ("1.wav", "2.wav"):
            microphone.play(play_list(tmp_path / name, LEFT, pause_s=5.0))
            listening.wait_for_heard("twenty two")
    spoke = [fact for fact in facts_in(folder) if isinstance(fact, Spoke)]
    assert spoke  # where it is in time; on a busy machine it may be too late
    assert "cavity" in spoke[0].text
    for phrase in visit_in(folder).phrases:
        assert phrase.at_s is not None
        assert phrase.until_s is not None
        apart = [s.until_s <= phrase.at_s + 0.3 or phrase.until_s <= s.from_s + 0.3 for s in spoke]
        assert all(apart)


def test_words_appear_while_they_are_spoken(microphone: VirtualMicrophone, tmp_path: Path) -> None:
    with Listening(tmp_path / "visit", microphone.environment) as listening:
        microphone.play(play_list(tmp_path / "1.wav", LEFT, pause_s=0.3))
        listening.wait_for_heard("twenty two")
    kinds = [event["event"] for event in listening.seen]
    assert "partial" in kinds[: kinds.index("heard")]


def test_without_a_microphone_one_sentence_says_so(tmp_path: Path) -> None:
    environment = {**os.environ, "PULSE_SERVER": f"unix:{tmp_path}/none", "HOME": str(tmp_path)}
    done = run_listen(environment, "--out", str(tmp_path / "visit"))
    assert done.returncode == 4
    assert len(done.stderr.strip().splitlines()) == 1
    assert "microphone" in done.stderr
    assert not (tmp_path / "visit").exists()


def test_a_name_that_fits_no_microphone_lists_those_that_are_there(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    done = run_listen(
        microphone.environment, "--out", str(tmp_path / "visit"), "--device", "trumpet"
    )
    assert done.returncode == 2
    assert "trumpet" in done.stderr
    assert "'pulse'" in done.stderr


def test_a_second_program_on_a_visit_only_reads_it(
    microphone: VirtualMicrophone, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    with Listening(folder, microphone.environment):
        done = run_listen(microphone.environment, "--out", str(folder))
    assert done.returncode == 2
    assert "only read" in done.stderr
    assert "Visit of" in done.stdout
