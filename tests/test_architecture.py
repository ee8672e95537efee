"""Who may import whom. The flow has one direction, and the grammar touches nothing."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

ROOMS = (
    "grammar",
    "dictation/audio",
    "dictation/reader",
    "dictation/recognition",
    "dictation/visit",
    "dictation/decide",
    "dictation/records",
    "dictation/intake",
    "dictation/live",
    "dictation/console",
    "dictation/review",
    "dictation/archive",
    "dictation/cli",
)
"""The rooms in the order of the flow: each may import those before it, and nothing behind it."""

APART = {
    "dictation/reader": ("dictation.audio", "grammar"),
    "dictation/records": ("dictation.recognition", "dictation.audio", "dictation.reader"),
    "dictation/console": ("dictation.recognition",),
    "dictation/review": ("dictation.recognition", "dictation.live", "dictation.console"),
    "dictation/archive": ("dictation.console", "dictation.review"),
}
"""What a room does without, though it comes before it."""

DRAWING = ("rich", "prompt_toolkit", "jinja2", "starlette", "click")
"""Libraries that face a person, and the rooms in which they may be used."""

DRAWN_IN = ("dictation/records", "dictation/console", "dictation/review", "dictation/cli")

SQLITE = ("dictation/visit", "dictation/intake", "dictation/records")

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


def module(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def reaches(name: str, package: str) -> bool:
    return name == package or name.startswith(f"{package}.")


@pytest.mark.parametrize("room", ROOMS)
def test_nothing_reaches_back_up_the_flow(room: str) -> None:
    behind = [later.replace("/", ".") for later in ROOMS[ROOMS.index(room) + 1 :]]
    for path in modules(room):
        for name in imports(path):
            for forbidden in (*behind, *APART.get(room, ()), "tests"):
                where = path.relative_to(ROOT)
                assert not reaches(name, forbidden), f"{where} imports {name}"


@pytest.mark.parametrize("room", ROOMS)
def test_only_the_rooms_that_face_a_person_draw(room: str) -> None:
    for path in modules(room):
        for name in imports(path):
            if room not in DRAWN_IN:
                assert not any(reaches(name, each) for each in DRAWING), f"{path} imports {name}"
            if room not in SQLITE:
                assert name != "sqlite3", f"{path} imports {name}"


def test_the_grammar_touches_nothing() -> None:
    for path in modules("grammar"):
        for name in imports(path):
            for forbidden in ("dictation", "sqlite3", "time", "socket", "subprocess"):
                assert not reaches(name, forbidden), f"{path} imports {name}"


def test_every_room_has_its_place() -> None:
    rooms = {f"dictation/{p.parent.name}" for p in (ROOT / "dictation").glob("*/__init__.py")}
    assert rooms == set(ROOMS) - {"grammar"}


def test_a_room_holds_at_most_some_twenty_files() -> None:
    folders = {path.parent for path in (*modules("grammar"), *modules("dictation"))}
    crowded = {f: len(list(f.glob("*.py"))) for f in folders if len(list(f.glob("*.py"))) > 25}
    assert not crowded


def test_no_module_imports_itself_by_way_of_others() -> None:
    """Also not for types alone: two modules that need each other are one."""
    paths = {module(path): path for path in (*modules("grammar"), *modules("dictation"))}
    arrows = {
        name: {m for each in targets(path, paths) if (m := nearest(each, paths)) and m != name}
        for name, path in paths.items()
    }
    assert not list(circles(arrows))


def targets(path: Path, known: dict[str, Path]) -> Iterator[str]:
    """As ``imports``; of a package from which only modules are taken, those alone."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            inner = [f"{node.module}.{alias.name}" for alias in node.names]
            yield from (name if name in known else str(node.module) for name in inner)


def nearest(name: str, known: dict[str, Path]) -> str | None:
    """The module that an imported name is, or is in."""
    while name and name not in known:
        name = name.rpartition(".")[0]
    return name or None


def circles(arrows: dict[str, set[str]]) -> Iterator[tuple[str, ...]]:
    """Ways that end where they began, each once."""
    done: set[str] = set()

    def walk(name: str, way: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        if name in way:
            yield (*way[way.index(name) :], name)
            return
        if name in done:
            return
        for other in sorted(arrows.get(name, ()), key=str):
            assert other is not None
            yield from walk(other, (*way, name))
        done.add(name)

    for name in sorted(arrows):
        yield from walk(name, ())


def test_the_walk_finds_a_circle() -> None:
    assert list(circles({"a": {"b"}, "b": {"c"}, "c": {"a"}})) == [("a", "b", "c", "a")]


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
    assert "sqlite3" in set(imports(ROOT / "dictation/visit/journal.py"))
    assert ("date", "today") in set(calls(ROOT / "dictation/cli/parse.py"))
