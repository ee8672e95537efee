"""What a program reaches for while it runs: strace follows it, and here its lines are read."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from ipaddress import ip_address
from pathlib import Path

NAME_SERVICE_PORT = 53
RESOLVERS = ("/systemd/resolve/", "/avahi-daemon/")
"""Parts of the paths of sockets through which other programs look names up for us."""

_OPENING = ("open", "openat", "openat2", "creat")
_MAKING = (
    *("mkdir", "mkdirat", "rename", "renameat", "renameat2", "link", "linkat"),
    *("symlink", "symlinkat", "mknod", "mknodat"),
)
_REACHING = ("connect", "bind", "sendto", "sendmsg", "sendmmsg")

# A file for each thread (-ff), so that no line is cut by another; paths beside handles (-y).
_STRACE = ("strace", "-f", "-ff", "--seccomp-bpf", "-y", "-qq", "-s", "80", "-e")
_CALLS = "trace=" + ",".join((*_OPENING, *_MAKING, *_REACHING))

_CALL = re.compile(r"^(\w+)\((.*)")
_DONE = re.compile(r"\) += \d+(?:<([^>]*)>)?[^>]*$")
_WRITING = re.compile(r"\bO_(CREAT|WRONLY|RDWR|TRUNC|TMPFILE)\b")
_LAST_NAME = re.compile(r'(?:(?:AT_FDCWD|\d+)<([^>]*)>, )?"((?:[^"\\]|\\.)*)"[^"]*$')
_FAMILY = re.compile(r"\bsa_family=(AF_\w+)")
_PORT = re.compile(r"\bsin6?_port=htons\((\d+)\)")
_ADDRESS = re.compile(r'\binet_(?:addr\(|pton\(AF_INET6, )"([^"]+)"')


@cache
def why_not_traced() -> str:
    """Why nothing can be followed on this machine, or an empty text."""
    if shutil.which("strace") is None:
        return "strace is not installed"
    tried = subprocess.run([*_STRACE, _CALLS, "true"], capture_output=True, text=True, check=False)
    return "" if tried.returncode == 0 else f"strace may not trace here: {tried.stderr.strip()}"


def reaches_out(line: str) -> bool:
    """Whether a line of a trace is a name look-up or an address beyond this machine, tried even."""
    call = _CALL.match(line)
    if call is None or call[1] not in _REACHING or (family := _FAMILY.search(call[2])) is None:
        return False
    if family[1] == "AF_UNIX":
        return any(part in call[2] for part in RESOLVERS)
    if family[1] not in {"AF_INET", "AF_INET6"}:
        return family[1] not in {"AF_NETLINK", "AF_UNSPEC"}
    port, address = _PORT.search(call[2]), _ADDRESS.search(call[2])
    if port is None or address is None:  # not understood: let a person look
        return True
    return int(port[1]) == NAME_SERVICE_PORT or not ip_address(address[1]).is_loopback


def written(line: str, start: Path) -> Path | None:
    """The file that a line of a trace makes or opens for writing; ``start``: where it began."""
    call = _CALL.match(line)
    if call is None or (done := _DONE.search(line)) is None:
        return None
    if call[1] in _OPENING:
        opened = call[1] == "creat" or _WRITING.search(call[2])
        return Path(done[1]) if opened and done[1] else None
    if call[1] in _MAKING and (name := _LAST_NAME.search(call[2])):
        return Path(os.path.normpath(start / (name[1] or "") / name[2]))
    return None


@dataclass(frozen=True, slots=True)
class Trace:
    """What a program did. ``reached``: lines of strace; ``wrote``: files made or written to."""

    code: int
    output: str
    reached: tuple[str, ...]
    wrote: frozenset[Path]

    def left(self, kept: Iterable[Path], passing: Path) -> list[str]:
        """What went out, and files outside the folders ``kept``, less those of ``passing`` that
        are gone again.
        """
        folders = tuple(kept)
        strays = (
            str(path)
            for path in self.wrote
            if not any(path.is_relative_to(folder) for folder in folders)
            and (not path.is_relative_to(passing) or path.exists())
        )
        return [*self.reached, *sorted(strays)]


@dataclass(slots=True)
class Followed:
    """A program under strace, in a process group of its own. ``lines``: where strace writes."""

    process: subprocess.Popen[str]
    start: Path
    lines: Path

    def stop(self) -> None:
        """As Ctrl-C does; strace itself waits until the program has ended."""
        os.killpg(self.process.pid, signal.SIGINT)

    def kill(self) -> None:
        """End it where a test has failed."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)

    def end(self, typed: str = "") -> Trace:
        """What it did, once it has ended."""
        output, _ = self.process.communicate(typed, timeout=300)
        files = sorted(self.lines.iterdir())
        assert files, "strace wrote nothing"
        lines = [line for file in files for line in file.read_text("utf-8").splitlines()]
        paths = (written(line, self.start) for line in lines)
        return Trace(
            self.process.returncode,
            output,
            tuple(line for line in lines if reaches_out(line)),
            frozenset(path for path in paths if path is not None),
        )


def follow(
    command: Iterable[str], environment: Mapping[str, str], start: Path, lines: Path
) -> Followed:
    """Start a program in the folder ``start`` under strace, which writes into ``lines``."""
    lines.mkdir()
    process = subprocess.Popen(
        [*_STRACE, _CALLS, "-o", str(lines / "thread"), *command],
        cwd=start,
        env=dict(environment),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    return Followed(process, start, lines)
