"""Faults while a visit is taken, and whether what the program advises then is right.

``python -m tests.live.faults DIR`` prints a table: of each fault how many phrases were lost or
doubled once its advice was followed, and whether the advice was wrong. Needs root, to mount small
file systems.
"""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from dictation.intake.reading import read_visit
from tests.live.whole import whole

PHRASES = 240
LINES = tuple(
    line
    for tag in range(400, 400 + PHRASES // 4)
    for line in (f"next cow {tag}", "left ovary CL 22", "right ovary follicle 9", "open")
)
AGAIN = "same command again"
SMALL_KB = (100, 150, 200, 280, 400)
ROOM = "64m"


@dataclass(frozen=True, slots=True)
class Outcome:
    """``code``: of the command that met the fault; ``told``: what it said."""

    fault: str
    code: int
    told: str
    taken: int
    lost: int
    doubled: int
    wrong_advice: bool


def command(script: Path, out: Path) -> list[str]:
    """The replay of all phrases into a folder."""
    return [sys.executable, "-m", "dictation", "replay", str(script), "--out", str(out)]


@contextmanager
def disk(at: Path, options: str) -> Iterator[Path]:
    """A file system in memory. Raises CalledProcessError where it cannot be mounted."""
    at.mkdir(parents=True)
    subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(at)], check=True)
    try:
        yield at
    finally:
        subprocess.run(["umount", "-l", str(at)], check=True)


def remount(at: Path, options: str) -> None:
    """The same file system with other options."""
    subprocess.run(["mount", "-o", f"remount,{options}", str(at)], check=True)


def run_to_end(arguments: list[str]) -> tuple[int, str]:
    """Exit code, and what was said on standard error."""
    done = subprocess.run(arguments, capture_output=True, text=True, check=False, timeout=300)
    return done.returncode, done.stderr


def taken_in(folder: Path) -> list[str]:
    """The texts of the phrases of a visit; none where there is no visit yet."""
    try:
        return [phrase.text for phrase in read_visit(folder)[0].phrases]
    except Exception:
        return []


def outcome(fault: str, met: tuple[int, str], taken: int, follow: list[str], out: Path) -> Outcome:
    """What became of a fault once the command that was advised has run."""
    code, told = met
    counted = re.search(r"([0-9]+) of 240 phrases|[Nn]othing of", told)
    honest = counted is None or int(counted[1] or 0) == taken
    advised = AGAIN in told or code in (0, -signal.SIGKILL)
    again, _ = run_to_end(follow)
    texts = taken_in(out)
    whole(out)
    lost = sum(texts.count(text) < LINES.count(text) for text in set(LINES))
    doubled = sum(texts.count(text) > LINES.count(text) for text in set(LINES))
    return Outcome(fault, code, told, taken, lost, doubled, not (honest and advised and again == 0))


def full(script: Path, at: Path, size_kb: int) -> Outcome:
    """Room runs out in the middle, and is made."""
    with disk(at, f"size={size_kb}k") as there:
        out = there / "visit"
        met = run_to_end(command(script, out))
        taken = len(taken_in(out))
        remount(there, f"size={ROOM}")
        return outcome(f"disk of {size_kb} kB", met, taken, command(script, out), out)


def no_inodes(script: Path, at: Path, count: int) -> Outcome:
    """No name for another file is left in the file system."""
    with disk(at, f"size={ROOM},nr_inodes={count}") as there:
        out = there / "visit"
        met = run_to_end(command(script, out))
        taken = len(taken_in(out))
        remount(there, "nr_inodes=10000")
        follow = command(script, out)
        if "hornsweep export" in met[1]:  # all is taken; the files alone are missing
            follow = [*follow[:3], "export", str(out), "--to", "csv", "--out", str(out)]
            met = met[0], f"{met[1]} {AGAIN}"
        return outcome(f"{count} inodes", met, taken, follow, out)


def read_only(script: Path, at: Path) -> Outcome:
    """The disk has become one that cannot be written."""
    with disk(at, f"size={ROOM}") as there:
        out = there / "visit"
        remount(there, "ro")
        met = run_to_end(command(script, out))
        remount(there, "rw")
        return outcome("read-only disk", met, 0, command(script, out), out)


def _meanwhile(
    script: Path, out: Path, act: Callable[[subprocess.Popen[str]], None]
) -> tuple[int, str]:
    process = subprocess.Popen(
        command(script, out), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    for line in process.stdout:
        if "cow 404" in line:
            break
    act(process)
    _, told = process.communicate(timeout=300)
    return process.returncode, told


def moved(script: Path, at: Path) -> Outcome:
    """Somebody moves the folder in the middle: what is told names the way on."""
    at.mkdir(parents=True)
    out, there = at / "visit", at / "moved"

    def rename(process: subprocess.Popen[str]) -> None:
        out.rename(there)

    met = _meanwhile(script, out, rename)
    taken = len(taken_in(there))
    right = "moved" in met[1] and not out.exists()
    met = met if right else (met[0], "")
    return outcome("folder moved", met, taken, command(script, there), there)


def ended(script: Path, at: Path, name: str) -> Outcome:
    """A signal, or a kill."""
    at.mkdir(parents=True)
    out = at / "visit"

    def send(process: subprocess.Popen[str]) -> None:
        time.sleep(0.05)
        process.send_signal(getattr(signal, name))

    met = _meanwhile(script, out, send)
    return outcome(name, met, len(taken_in(out)), command(script, out), out)


def unread(script: Path, at: Path) -> Outcome:
    """The reader of the output goes away."""
    at.mkdir(parents=True)
    out = at / "visit"

    process = subprocess.Popen(
        command(script, out), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.readline()
    process.stdout.close()
    told = process.stderr.read()
    met = process.wait(300), told
    return outcome("closed pipe", met, len(taken_in(out)), command(script, out), out)


FAULTS: dict[str, Callable[[Path, Path], Outcome]] = {
    **{f"disk of {kb} kB": partial(full, size_kb=kb) for kb in SMALL_KB},
    **{f"{count} inodes": partial(no_inodes, count=count) for count in (2, 4, 5, 6, 7, 9)},
    "read-only disk": read_only,
    "folder moved": moved,
    "closed pipe": unread,
    **{name: partial(ended, name=name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGKILL")},
}


def tried(fault: str, folder: Path) -> Outcome:
    """Meet a fault under a folder of its own."""
    script = folder / "p.txt"
    script.write_text("".join(f"{line}\n" for line in LINES), encoding="utf-8")
    return FAULTS[fault](script, folder / fault.replace(" ", "-"))


if __name__ == "__main__":
    outcomes = [tried(fault, Path(sys.argv[1])) for fault in FAULTS]
    print(f"{'fault':16} {'code':>5} {'taken':>6} {'lost':>5} {'doubled':>8} {'wrong advice':>13}")
    for each in outcomes:
        counts = f"{each.taken:6} {each.lost:5} {each.doubled:8} {each.wrong_advice:13}"
        print(f"{each.fault:16} {each.code:5} {counts}")
        if each.wrong_advice or each.lost or each.doubled:
            print(f"    {each.told.strip()[-400:]}")
