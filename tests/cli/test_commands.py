"""The commands: exit codes, one sentence for every mistake, and the contract of their output."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from dictation.cli.app import COMMANDS, run

RATE_HZ = 16_000


@pytest.fixture
def phrases(tmp_path: Path) -> Path:
    path = tmp_path / "phrases.txt"
    path.write_text(
        "cow eight three seven\npregnant forty-five days\nleft ovary CL ninety\n", encoding="utf-8"
    )
    return path


def sound(path: Path, seconds: float, level: float = 0.0) -> Path:
    noise = np.random.default_rng(7).standard_normal(int(seconds * RATE_HZ)) * level
    sf.write(path, noise.astype(np.float32), RATE_HZ)
    return path


def one_sentence(text: str) -> str:
    lines = [line for line in text.splitlines() if line]
    assert len(lines) == 1, text
    assert "Traceback" not in text
    return lines[0]


def test_reading_typed_words_loads_nothing_for_sound_or_screen() -> None:
    program = (
        "import sys; from dictation.cli.app import run; run(['parse', 'left ovary CL twenty']);"
        "print([n for n in ('numpy', 'onnxruntime', 'rich', 'soundfile') if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


def test_replay_writes_the_files_of_the_contract(
    phrases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "visit"
    assert run(["replay", str(phrases), "--out", str(out), "--date", "2026-11-18"]) == 0
    assert {"visit.sqlite", "audio", "exams.csv", "findings.csv"} <= {
        path.name for path in out.iterdir()
    }
    assert "To settle" in capsys.readouterr().out
    assert b"837" in (out / "exams.csv").read_bytes()


def test_json_lines_are_one_event_a_line(
    phrases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["replay", str(phrases), "--out", str(tmp_path / "v"), "--json"]) == 0
    events = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    kinds = [event["event"] for event in events]
    assert kinds.count("heard") == 3
    assert set(kinds) <= {"heard", "finding", "query", "flag", "exam_closed", "visit_closed"}
    assert kinds[-1] == "visit_closed"
    for event in events:
        assert {"at_s", "until_s", "text", "confidence", "alternatives"} <= set(event)
    finding = next(event for event in events if event["event"] == "finding")
    assert finding["finding"]["tag"] == "837"


def test_strict_exits_with_one_where_something_is_left_to_settle(
    phrases: Path, tmp_path: Path
) -> None:
    assert run(["replay", str(phrases), "--out", str(tmp_path / "a"), "--strict"]) == 1
    clean = tmp_path / "clean.txt"
    clean.write_text("cow eight three seven\nopen\n", encoding="utf-8")
    assert run(["replay", str(clean), "--out", str(tmp_path / "b"), "--strict"]) == 0
    assert run(["check", str(tmp_path / "a"), "--strict"]) == 1
    assert run(["check", str(tmp_path / "b"), "--strict"]) == 0


def test_a_folder_with_a_visit_is_gone_on_with_and_says_so(
    phrases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = ["--out", str(tmp_path / "visit"), "--date", "2026-11-18"]
    run(["replay", str(phrases), *out])
    before = (tmp_path / "visit" / "exams.csv").read_bytes()
    capsys.readouterr()
    assert run(["replay", str(phrases), *out]) == 0
    told = capsys.readouterr().err
    assert "it goes on there" in told
    assert "nothing of it is taken twice" in told
    assert (tmp_path / "visit" / "exams.csv").read_bytes() == before


def test_the_visit_of_another_day_is_not_mixed_in(
    phrases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(tmp_path / "visit")
    run(["replay", str(phrases), "--out", out, "--date", "2026-11-18"])
    capsys.readouterr()
    assert run(["replay", str(phrases), "--out", out, "--date", "2026-11-19"]) == 2
    assert "2026-11-18" in one_sentence(capsys.readouterr().err)


def test_without_out_the_folder_is_named_by_the_date(
    phrases: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["replay", str(phrases), "--date", "2026-11-18T09:00"]) == 0
    exams = (tmp_path / "visit-2026-11-18" / "exams.csv").read_text(encoding="utf-8")
    assert "2026-11-18T09:00:00" in exams


def test_parse_json_is_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["parse", "left ovary CL twenty-two", "next", "lovely day", "--json"]) == 0
    ovary, following, chat = json.loads(capsys.readouterr().out)
    assert ovary["findings"][0]["finding"] == "ovary"
    assert ovary["findings"][0]["size_mm"] == 22
    assert (ovary["command"], ovary["unread"]) == (None, None)
    assert following["command"]["command"] == "next_animal"
    assert set(chat["unread"]) == {"at", "why"}
    assert run(["parse", "lovely day", "--strict"]) == 1


def test_check_json_is_the_contract(
    phrases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["replay", str(phrases), "--out", str(tmp_path / "v")])
    capsys.readouterr()
    assert run(["check", str(tmp_path / "v"), "--json"]) == 0
    flags = json.loads(capsys.readouterr().out)
    assert flags
    for flag in flags:
        assert set(flag) == {"exam", "tag", "rule", "severity", "why", "figures", "source"}
        assert flag["severity"] in {"note", "query", "stop"}


def test_a_herd_list_given_to_check_is_used_for_that_look_only(
    phrases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    herd = tmp_path / "herd.csv"
    herd.write_text("tag\n111\n", encoding="utf-8")
    run(["replay", str(phrases), "--out", str(tmp_path / "v")])
    capsys.readouterr()
    run(["check", str(tmp_path / "v"), "--herd", str(herd), "--json"])
    assert "tag_not_on_list" in capsys.readouterr().out
    run(["check", str(tmp_path / "v"), "--json"])
    assert "tag_not_on_list" not in capsys.readouterr().out


def test_export_writes_the_same_files_elsewhere(phrases: Path, tmp_path: Path) -> None:
    run(["replay", str(phrases), "--out", str(tmp_path / "v")])
    out = tmp_path / "farm"
    assert run(["export", str(tmp_path / "v"), "--to", "csv", "--out", str(out)]) == 0
    for name in ("exams.csv", "findings.csv"):
        assert (out / name).read_bytes() == (tmp_path / "v" / name).read_bytes()


WRONG: tuple[tuple[list[str], int, str], ...] = (
    (["milk"], 2, "milk"),
    (["replay"], 2, "replay --help"),
    (["replay", "nothere.wav"], 3, "not there"),
    (["replay", "{empty}"], 3, "empty"),
    (["replay", "{noaudio}"], 3, "sound"),
    (["replay", "{blank}"], 3, "no phrase"),
    (["replay", "{binary}"], 3, "line 1"),
    (["replay", "{phrases}", "--date", "18.11.2026"], 2, "2026-11-18"),
    (["replay", "{phrases}", "--herd", "{badherd}"], 3, "line 2, column parity"),
    (["replay", "{phrases}", "--out", "{blank}"], 2, "not a folder"),
    (["replay", "{noaudio}", "--engine", "guided-ish"], 2, "guided"),
    (["check", "nowhere"], 3, "nowhere"),
    (["check", "{folder}"], 3, "holds no visit"),
    (["export", "{folder}", "--to", "csv"], 3, "holds no visit"),
    (["export", "{folder}", "--to", "paper"], 2, "paper"),
    (["parse"], 2, "PHRASES"),
)


@pytest.mark.parametrize(("arguments", "code", "told"), WRONG, ids=lambda v: str(v)[:50])
def test_a_mistake_is_one_sentence_and_its_exit_code(  # noqa: PLR0913, PLR0917
    arguments: list[str],
    code: int,
    told: str,
    phrases: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    names = {
        "empty": ("empty.wav", b""),
        "noaudio": ("noaudio.wav", b"this is no sound at all" * 50),
        "blank": ("blank.txt", b"\n\n"),
        "binary": ("binary.txt", b"\xff\xfe\x00\x01"),
        "badherd": ("herd.csv", b"tag,parity\n1,two\n"),
    }
    for name, content in names.values():
        (tmp_path / name).write_bytes(content)
    (tmp_path / "folder").mkdir()
    places = {key: name for key, (name, _) in names.items()}
    places |= {"folder": "folder", "phrases": str(phrases)}
    assert run([part.format(**places) for part in arguments]) == code
    assert told in one_sentence(capsys.readouterr().err)


def test_a_bad_file_loses_nothing_that_was_recorded(
    phrases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "visit"
    empty = tmp_path / "empty.wav"
    empty.write_bytes(b"")
    assert run(["replay", str(phrases), str(empty), "--out", str(out)]) == 3
    assert "empty" in capsys.readouterr().err
    assert b"837" in (out / "exams.csv").read_bytes()


@pytest.mark.parametrize(("level", "seconds"), [(0.0, 20.0), (0.05, 20.0)])
def test_silence_and_noise_leave_no_finding_and_say_so(
    level: float, seconds: float, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sound(tmp_path / "shed.wav", seconds, level)
    assert run(["replay", str(path), "--out", str(tmp_path / "v"), "--strict"]) == 0
    told = capsys.readouterr()
    assert "No speech was found" in told.err
    assert (tmp_path / "v" / "findings.csv").read_text(encoding="utf-8").count("\n") == 1


def test_a_truncated_recording_is_heard_as_far_as_it_goes_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sound(tmp_path / "cut.wav", 5.0)
    path.write_bytes(path.read_bytes()[: 3 * RATE_HZ * 2])
    assert run(["replay", str(path), "--out", str(tmp_path / "v")]) == 0
    assert "breaks off" in capsys.readouterr().err


@pytest.fixture
def closed_folder(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "closed"
    folder.mkdir()
    folder.chmod(0o500)
    if os.access(folder, os.W_OK):  # root may write anywhere: a file system that nobody may write
        folder.chmod(0o700)
        mounted = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "ro", "tmpfs", str(folder)],
            capture_output=True,
            check=False,
        )
        if mounted.returncode != 0:
            pytest.skip("a folder that cannot be written: root, and nothing may be mounted here")
        yield folder
        subprocess.run(["umount", str(folder)], check=True)
        return
    yield folder
    folder.chmod(0o700)


def test_a_folder_that_cannot_be_written_is_told(
    closed_folder: Path, phrases: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["replay", str(phrases), "--out", str(closed_folder / "visit")]) == 4
    assert "cannot be written" in one_sentence(capsys.readouterr().err)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "small"
    folder.mkdir()
    try:
        mounted = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(folder)],
            capture_output=True,
            check=False,
        )
    except FileNotFoundError:
        pytest.skip("a full disk: there is no mount command")
    if mounted.returncode != 0:
        pytest.skip("a full disk: a tmpfs may not be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_is_told_and_the_visit_up_to_there_is_kept(
    small_disk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "long.txt"
    lines = [f"next cow {tag}\nleft ovary CL twenty-two" for tag in range(1000, 1500)]
    path.write_text("\n".join(lines), encoding="utf-8")
    assert run(["replay", str(path), "--out", str(small_disk / "v")]) == 4
    err = capsys.readouterr().err
    assert "full" in err or "room" in err
    assert "Traceback" not in err
    assert run(["check", str(small_disk / "v"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("name", list(COMMANDS))
def test_help_of_every_command_has_an_example(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([name, "--help"]) == 0
    assert "Example: hornsweep " + name in " ".join(capsys.readouterr().out.split())


def test_a_mistake_of_ours_says_where_its_details_are(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def break_down(text: str, day: object) -> object:
        raise RuntimeError("broken on purpose")

    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr("dictation.cli.parse.parse", break_down)
    assert run(["parse", "open"]) == 5
    told = one_sentence(capsys.readouterr().err)
    log = next(tmp_path.glob("hornsweep-*.log"))
    assert str(log) in told
    assert "broken on purpose" in log.read_text(encoding="utf-8")


def test_python_m_dictation_is_the_command() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "dictation", "parse", "open"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert "open" in done.stdout
    assert done.stderr == ""


def test_ready_names_model_microphone_disk_and_clock(capsys: pytest.CaptureFixture[str]) -> None:
    code = run(["ready", "--json"])
    found = {each["what"]: each for each in json.loads(capsys.readouterr().out)}
    assert list(found) == ["model", "microphone", "disk", "clock", "voice", "PDF"]
    missing = [each for each in found.values() if each["needed"] and not each["there"]]
    assert code == (4 if missing else 0)
    assert all(each["told"] for each in found.values())


def test_own_words_are_read_by_every_command_and_their_mistakes_named_by_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = tmp_path / "words.toml"
    words.write_text('[terms]\ncorpus_luteum = ["yellow one"]\n', encoding="utf-8")
    assert run(["--words", str(words), "parse", "--explain", "left ovary yellow one 22"]) == 0
    told = capsys.readouterr().out
    assert "left ovary corpus luteum 22 mm" in told
    assert "corpus luteum (your own word)" in told
    assert run(["parse", "--strict", "left ovary yellow one 22"]) == 1
    capsys.readouterr()
    words.write_text('[terms]\n\nfolicle = ["bubble"]\n', encoding="utf-8")
    assert run(["--words", str(words), "parse", "open"]) == 3
    assert one_sentence(capsys.readouterr().err).startswith(f"{words}, line 3: ")
    assert run(["--words", str(tmp_path / "none.toml"), "parse", "open"]) == 3
    assert "none.toml is not there" in one_sentence(capsys.readouterr().err)


def test_an_electronic_number_typed_as_a_line_names_the_animal(tmp_path: Path) -> None:
    path = tmp_path / "phrases.txt"
    path.write_text("982 000123456789\nopen\n", encoding="utf-8")
    assert run(["replay", str(path), "--out", str(tmp_path / "v"), "--date", "2026-11-18"]) == 0
    assert b"982000123456789" in (tmp_path / "v" / "exams.csv").read_bytes()
