"""Results are kept as they come; a second run goes on; figures are compared sound by sound."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from dictation.errors import BadInputError, WrongUseError
from tests.bench.measuring import Results, Work
from tests.bench.plan import Sound, plan
from tests.bench.recognition import Job, perform
from tests.bench.recorded import Comparison, Figures, compare, read_recorded
from tests.bench.synthesis import ENGINES
from tests.bench.voices import Split


def _job(out: Path | None, **changed: object) -> Job:
    settings: dict[str, object] = {
        "size": "small",
        "split": Split.TUNE,
        "engines": ("guided", "unguided"),
        "model_dir": None,
        "limit": 4,
        "out": out,
        "resume": False,
        "jobs": 1,
        "show_errors": True,
    }
    return Job(**(settings | changed))  # type: ignore[arg-type]


@pytest.fixture(autouse=True)
def _voices() -> None:
    if ENGINES["flite"].missing() or ENGINES["espeak"].missing():
        pytest.skip("flite and espeak-ng are needed to speak the small bench")


def test_a_run_that_was_cut_short_goes_on_and_ends_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = perform(_job(tmp_path / "whole"))
    results = tmp_path / "whole" / "results.jsonl"
    lines = results.read_text(encoding="utf-8").splitlines()
    assert len(lines) == 1 + len(whole) == 5
    cut = tmp_path / "cut"
    cut.mkdir()
    torn = "\n".join(lines[:3]) + "\n" + lines[3][:40]
    (cut / "results.jsonl").write_text(torn, encoding="utf-8")
    again = perform(_job(cut, resume=True))
    assert [row.sound.key for row in again] == [row.sound.key for row in whole]
    assert [row.taken["guided"].heard for row in again] == [
        row.taken["guided"].heard for row in whole
    ]
    assert again[0] == whole[0]
    for name in ("tables.txt", "errors.txt", "reliability.svg"):
        assert (cut / name).stat().st_size
    printed = capsys.readouterr().out
    assert "wrong, not asked" in printed
    assert "guided, by condition" in printed


def _work(**settings: str) -> Work:
    sounds = (Sound("phrase", "cow one", "flite-rms", "clean", Split.TUNE, 0),)
    return Work(sounds, ("guided",), None, {"program": "one", **settings})


def test_results_are_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "results.jsonl"
    Results(path, _work(), resume=False).close()
    with pytest.raises(WrongUseError, match="--resume"):
        Results(path, _work(), resume=False)


def test_results_of_another_program_are_not_mixed_in(tmp_path: Path) -> None:
    path = tmp_path / "results.jsonl"
    Results(path, _work(), resume=False).close()
    with pytest.raises(WrongUseError, match="another program"):
        Results(path, _work(program="two"), resume=True)


def test_a_file_that_is_no_results_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "results.jsonl"
    path.write_text("{not json}\n", encoding="utf-8")
    with pytest.raises(BadInputError, match=r"results\.jsonl"):
        Results(path, _work(), resume=True)


def test_an_unknown_engine_is_named() -> None:
    with pytest.raises(WrongUseError, match="nobody"):
        perform(_job(None, engines=("nobody",)))


def test_resuming_needs_a_folder() -> None:
    with pytest.raises(WrongUseError, match="--out"):
        perform(_job(None, resume=True))


def _figures(right: int, silent: int = 0) -> Figures:
    return Figures(3, right, silent, asked=False)


def test_a_fall_in_many_sounds_is_a_failure_and_in_few_is_chance() -> None:
    recorded = {str(n): _figures(3) for n in range(50)}
    few = recorded | {str(n): _figures(2) for n in range(4)}
    many = recorded | {str(n): _figures(2) for n in range(8)}
    assert compare(recorded, few).failures() == ()
    assert len(compare(recorded, many).failures()) == 1


def test_as_many_better_as_worse_is_no_fall() -> None:
    assert Comparison(100, 9, 9, 9, 9).failures() == ()


def test_silent_errors_are_compared_on_their_own() -> None:
    recorded = {str(n): _figures(3) for n in range(50)}
    wrong = recorded | {str(n): _figures(3, silent=1) for n in range(8)}
    (failure,) = compare(recorded, wrong).failures()
    assert "stored wrong unasked" in failure


def test_recorded_figures_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "recorded.json"
    path.write_text(json.dumps({"sounds": {"a": [1]}}), encoding="utf-8")
    with pytest.raises(BadInputError, match=r"recorded\.json"):
        read_recorded(path)


def test_the_small_plan_needs_debian_voices_only() -> None:
    assert {s.voice.split("-")[0] for s in plan("small", Split.TUNE)} <= {"flite", "espeak", ""}
