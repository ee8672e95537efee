"""``hornsweep export``: every format from a folder, and what is said of what is left out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import vobject

from dictation.cli.app import run

PHRASES = (
    "next cow 837",
    "pregnant forty-five days",
    "recheck in two weeks",
    "next cow 412",
    "open",
    "prostaglandin",
)


@pytest.fixture
def visit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    phrases = tmp_path / "phrases.txt"
    phrases.write_text("\n".join(PHRASES) + "\n", encoding="utf-8")
    folder = tmp_path / "visit"
    arguments = ["replay", str(phrases), "--out", str(folder), "--date", "2026-11-18T09:00"]
    assert run(arguments) == 0
    capsys.readouterr()
    return folder


def test_icar_writes_its_files_and_names_what_is_left_out(
    visit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--herd-id", "123450", "--vet", "First vet", "--zone", "Europe/Dublin"]
    out = tmp_path / "out"
    assert run(["export", str(visit), "--to", "icar", "--out", str(out), *options]) == 0
    told = capsys.readouterr()
    assert told.out == ""
    assert "Left out: prostaglandin of 412 (" in told.err
    first, second = json.loads((out / "pregnancy_checks.json").read_text("utf-8"))["member"]
    assert (first["result"], first["foetalAge"], second["result"]) == ("Pregnant", 45, "Empty")
    assert first["eventDateTime"] == "2026-11-18T09:00:00Z"
    assert first["responsible"] == "First vet"
    assert {path.name for path in out.iterdir()} == {"pregnancy_checks.json"}


def test_without_a_herd_number_icar_says_how_to_give_one(
    visit: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["export", str(visit), "--to", "icar"]) == 1
    told = capsys.readouterr().err
    assert "--herd-id" in told
    assert len(told.strip().splitlines()) == 1
    assert not list(visit.glob("*.json"))


def test_a_second_export_of_the_same_visit_gives_the_same_files(
    visit: Path, tmp_path: Path
) -> None:
    for form in ("icar", "calendar", "csv", "text"):
        for out in ("one", "two"):
            options = ["--out", str(tmp_path / out), "--herd-id", "1"]
            assert run(["export", str(visit), "--to", form, *options]) == 0
    one = {path.name: path.read_bytes() for path in (tmp_path / "one").iterdir()}
    two = {path.name: path.read_bytes() for path in (tmp_path / "two").iterdir()}
    assert one == two
    assert len(one) == 6


def test_a_visit_that_went_on_updates_its_calendar(visit: Path, tmp_path: Path) -> None:
    def events() -> dict[str, int]:
        assert run(["export", str(visit), "--to", "calendar", "--out", str(tmp_path / "c")]) == 0
        file = vobject.readOne((tmp_path / "c" / "calendar.ics").read_text("utf-8"))
        return {event.uid.value: int(event.sequence.value) for event in file.vevent_list}

    before = events()
    more = tmp_path / "more.txt"
    more.write_text("cow 99\npregnant forty days\n", encoding="utf-8")
    assert run(["replay", str(more), "--out", str(visit), "--date", "2026-11-18"]) == 0
    after = events()
    assert set(before) < set(after)
    assert all(after[uid] > sequence for uid, sequence in before.items())


def test_the_list_is_written_for_print(visit: Path, tmp_path: Path) -> None:
    code = run(["export", str(visit), "--to", "list", "--out", str(tmp_path / "l")])
    text = (tmp_path / "l" / "list.html").read_text("utf-8")
    assert "draft, " in text
    assert "women of child-bearing age" in text
    try:
        import weasyprint  # noqa: F401
    except OSError:
        assert code == 4
        pytest.skip("PDF: the library Pango is not on this machine")
    assert code == 0
    assert (tmp_path / "l" / "list.pdf").read_bytes().startswith(b"%PDF-")


def test_without_the_extra_the_list_is_for_the_browser_to_print(
    visit: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    assert run(["export", str(visit), "--to", "list", "--out", str(tmp_path / "l")]) == 0
    told = capsys.readouterr().err
    assert "hornsweep[pdf]" in told
    assert f"Written: {tmp_path / 'l' / 'list.html'}" in told
    assert [path.name for path in (tmp_path / "l").iterdir()] == ["list.html"]


def test_a_zone_that_is_none_is_told(visit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["export", str(visit), "--to", "icar", "--zone", "Farm/Yard"]) == 2
    assert "no time zone" in capsys.readouterr().err


def test_the_command_loads_no_library_of_a_format_that_was_not_asked_for(visit: Path) -> None:
    import subprocess
    import sys

    heavy = ("weasyprint", "openpyxl", "icalendar", "jinja2")
    code = (
        "import sys; from dictation.cli.app import run;"
        f"run(['export', {str(visit)!r}, '--to', 'csv']);"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_format_that_has_nothing_to_say_writes_no_file_and_exits_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    phrases = tmp_path / "phrases.txt"
    phrases.write_text("cow 5\nleft ovary follicle ten\n", encoding="utf-8")
    visit, out = str(tmp_path / "visit"), tmp_path / "out"
    assert run(["replay", str(phrases), "--out", visit, "--date", "2026-11-18"]) == 0
    for form in ("icar", "calendar"):
        capsys.readouterr()
        assert run(["export", visit, "--to", form, "--out", str(out)]) == 1
        assert "no file was written" in capsys.readouterr().err
    assert list(out.iterdir()) == []


def test_the_calendar_names_who_is_in_calf_and_has_no_day(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    phrases = tmp_path / "phrases.txt"
    words = "cow 5\npregnant forty days\nnext cow 6\npregnant\nnext cow 7\nin calf\nlost it\n"
    phrases.write_text(words, encoding="utf-8")
    visit = str(tmp_path / "visit")
    assert run(["replay", str(phrases), "--out", visit, "--date", "2026-11-18"]) == 0
    capsys.readouterr()
    assert run(["export", visit, "--to", "calendar"]) == 0
    left = capsys.readouterr().err.splitlines()[0]
    assert left == (
        "Left out, no day of calving: 6 (no age or service to reckon with, or they contradict);"
        " 7 (lost)."
    )


def test_the_farmer_s_message_has_forty_words_and_names_what_is_not_settled(
    visit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert run(["export", str(visit), "--to", "text", "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out.strip()
    assert (tmp_path / "message.txt").read_text("utf-8").strip() == told
    assert told == (
        "18 Nov: 2 scanned, 1 in calf, 1 open. Prostaglandin: 412. Look again 2 Dec: 837. Draft."
    )
    many = tmp_path / "many.txt"
    lines = [f"next cow {n}\nopen\nprostaglandin\nrecheck in {n} days\n" for n in range(20, 60)]
    many.write_text("".join(lines), encoding="utf-8")
    folder = str(tmp_path / "many")
    assert run(["replay", str(many), "--out", folder, "--date", "2026-11-18"]) == 0
    capsys.readouterr()
    assert run(["export", folder, "--to", "text"]) == 0
    read = capsys.readouterr()
    assert len(read.out.split()) <= 40
    assert "Prostaglandin: 40 cows." in read.out
    assert read.err.startswith("Left out for length: ")
