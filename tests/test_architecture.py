"""Who may import whom. The flow has one direction, and the grammar touches nothing."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

SURFACES = ("dictation.console", "dictation.review", "dictation.archive", "dictation.cli")

FORBIDDEN: dict[str, tuple[str, ...]] = {
    "grammar": ("dictation", "tests", "sqlite3", "time", "socket", "subprocess"),
    "dictation/audio": (
        *SURFACES,
        "dictation.session",
        "dictation.records",
        "dictation.recognition",
        "grammar",
    ),
    "dictation/recognition": (*SURFACES, "dictation.session", "dictation.records"),
    "dictation/reader": (
        *SURFACES,
        "dictation.session",
        "dictation.records",
        "dictation.recognition",
        "dictation.audio",
        "grammar",
        "rich",
    ),
    "dictation/session": (*SURFACES, "dictation.records", "rich"),
    "dictation/records": (*SURFACES, "dictation.recognition", "dictation.audio", "rich"),
    "dictation/archive": (
        "dictation.console",
        "dictation.review",
        "dictation.cli",
        "sqlite3",
        "rich",
    ),
    "dictation/review": (
        "dictation.recognition",
        "dictation.console",
        "dictation.archive",
        "dictation.cli",
        "sqlite3",
        "rich",
    ),
    "dictation/console": (
        "dictation.recognition",
        "dictation.audio",
        "dictation.review",
        "dictation.archive",
        "dictation.cli",
        "sqlite3",
    ),
}
"""A folder, and what nothing in it may import."""

CLOCK = {("datetime", "now"), ("datetime", "utcnow"), ("date", "today"), ("time", "time")}


def modules(folder: str) -> list[Path]:
    found = sorted((ROOT / folder).rglob("*.py"))
    assert found, f"no module in {folder}"
    return found


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: a relative import hides where it leads"
            assert node.module is not None
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def calls(path: Path) -> Iterator[tuple[str, str]]:
    """Calls as (object, name); the object is empty for a bare name."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Name):
            yield "", node.func.id
        elif isinstance(node.func, ast.Attribute):
            owner = node.func.value
            yield (owner.id if isinstance(owner, ast.Name) else "?"), node.func.attr


@pytest.mark.parametrize("folder", list(FORBIDDEN))
def test_nothing_reaches_back_up_the_flow(folder: str) -> None:
    for path in modules(folder):
        for name in imports(path):
            for forbidden in FORBIDDEN[folder]:
                reaches = name == forbidden or name.startswith(f"{forbidden}.")
                assert not reaches, f"{path.relative_to(ROOT)} imports {name}"


def test_the_product_imports_nothing_of_the_tests() -> None:
    for path in (*modules("grammar"), *modules("dictation")):
        for name in imports(path):
            assert name.split(".")[0] != "tests", f"{path.relative_to(ROOT)} imports {name}"


LEARNING = "dictation/recognition/learning"
"""Needs what nobody who only listens has installed."""


def test_nothing_that_listens_learns() -> None:
    for path in modules("dictation"):
        where = path.relative_to(ROOT)
        if where.is_relative_to(LEARNING):
            continue
        for name in imports(path):
            assert not name.startswith(LEARNING.replace("/", ".")), f"{where} imports {name}"


def test_every_room_has_its_rule() -> None:
    folders = {f"dictation/{p.parent.name}" for p in (ROOT / "dictation").glob("*/__init__.py")}
    assert folders - set(FORBIDDEN) == {"dictation/cli"}


def test_the_grammar_knows_no_clock_and_opens_nothing_but_its_own_data() -> None:
    for path in modules("grammar"):
        where = path.relative_to(ROOT)
        for owner, name in calls(path):
            assert (owner, name) not in CLOCK, f"{where} asks what time it is"
            assert name not in {"open", "write_text", "write_bytes", "print", "input"}, where
            if name in {"read_text", "read_bytes"}:
                text = path.read_text(encoding="utf-8")
                assert 'resources.files("grammar")' in text, f"{where} reads a file"


def test_the_walk_finds_what_it_looks_for() -> None:
    assert "sqlite3" in set(imports(ROOT / "dictation/session/journal.py"))
    assert ("date", "today") in set(calls(ROOT / "dictation/cli/parse.py"))
