"""``hornsweep listen --wall``: the page follows a real microphone, and a touch is written."""

from __future__ import annotations

import json
import queue
import ssl
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx2
import pytest

from dictation.visit.apply import fold
from dictation.visit.inputs import INPUTS, TagChanged
from dictation.visit.journal import Journal
from tests.bench.virtual_microphone import VirtualMicrophone, missing_commands
from tests.live.phrases import play_list

pytestmark = pytest.mark.skipif(
    bool(missing_commands()), reason=f"no sound server: {', '.join(missing_commands())}"
)
LONGEST_WAIT_S = 90.0


class Wall:
    """A wall that follows; what it was told."""

    def __init__(self, address: str) -> None:
        self.origin = address.split("/enter", maxsplit=1)[0]
        # As a person does who has compared the fingerprint: the certificate that is served.
        trusting: ssl.SSLContext | bool = True
        if address.startswith("https"):
            host, port = self.origin.removeprefix("https://").rsplit(":", 1)
            served = ssl.get_server_certificate((host, int(port)))
            trusting = ssl.create_default_context(cadata=served)
        self.client = httpx2.Client(base_url=self.origin, verify=trusting, timeout=60)
        assert self.client.get(address).status_code == 200
        self.csrf = self.client.get("/").text.split('data-csrf="')[1].split('"')[0]
        self.seen: dict[str, Any] = {}
        self._coming: queue.SimpleQueue[dict[str, Any] | None] = queue.SimpleQueue()
        threading.Thread(target=self._follow, daemon=True).start()

    def wait_for(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """What is shown once it is as wanted. Raises AssertionError where the line breaks first."""
        while not (self.seen and wanted(self.seen)):
            news = self._coming.get(timeout=LONGEST_WAIT_S)
            assert news is not None, f"the line broke; shown was {self.seen}"
            self.seen = news
        return self.seen

    def wait_for_the_end(self) -> None:
        """Until the line breaks."""
        while (news := self._coming.get(timeout=LONGEST_WAIT_S)) is not None:
            self.seen = news

    def touch(self, **fields: str | int) -> str:
        form = {"csrf": self.csrf, "based_on": str(self.seen["seq"])}
        form |= {name: str(value) for name, value in fields.items()}
        answer = self.client.post("/act", data=form, headers={"origin": self.origin})
        told: str = answer.json()["told"]
        return told

    def _follow(self) -> None:
        try:
            with self.client.stream("GET", "/events") as news:
                for line in news.iter_lines():
                    if line.startswith("data: "):
                        self._coming.put(json.loads(line.removeprefix("data: ")))
        except httpx2.HTTPError:
            pass
        self._coming.put(None)


@contextmanager
def listening(
    microphone: VirtualMicrophone, folder: Path, *options: str
) -> Iterator[tuple[subprocess.Popen[str], Wall]]:
    """``hornsweep listen --wall`` as a process, and a wall that follows it from the start."""
    command = [sys.executable, "-m", "dictation", "listen", "--out", str(folder), "--json"]
    process = subprocess.Popen(
        [*command, "--wall", *options],
        env=microphone.environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None
    try:
        address = next(line.split()[-1] for line in process.stderr if "/enter?token=" in line)
        threading.Thread(target=process.stderr.read, daemon=True).start()
        yield process, Wall(address)
    finally:
        process.terminate()
        process.wait(60)


def test_the_wall_follows_speech_shows_a_lost_microphone_and_writes_what_is_touched(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "visit"
    with (
        VirtualMicrophone() as microphone,
        listening(microphone, folder, "--host", "0.0.0.0") as (process, wall),
    ):
        assert wall.origin.startswith("https://")
        wall.wait_for(lambda now: now["state"] == "listening")
        microphone.play(
            play_list(tmp_path / "1.wav", "cow four one two", "right ovary CL twenty four")
        )
        wall.wait_for(lambda now: now["tag"] == "412")
        now = wall.wait_for(lambda now: "24 mm" in now["words"])
        assert [mark["station"] for mark in now["marks"] if mark["said"]] == ["right ovary"]
        told = wall.touch(action="tag", exam=now["exam"], text="413")
        assert told == "Tag 412: tag 412 became tag 413."
        wall.wait_for(lambda now: now["tag"] == "413")
        microphone.unplug()
        wall.wait_for(lambda now: now["state"] == "microphone lost" and not now["heard"])
        microphone.plug_in()
        wall.wait_for(lambda now: now["state"] == "listening" and now["heard"])
        process.terminate()
        wall.wait_for(lambda now: now["state"] == "listening has ended")
        wall.wait_for_the_end()
    with Journal.read(folder) as journal:
        visit = fold(journal.acts())
    assert [exam.tag for exam in visit.exams] == ["413"]
    touched = [act for act in visit.acts.values() if act.kind == INPUTS[TagChanged]]
    assert [act.who for act in touched] == ["recorder"]


def test_a_wall_knows_at_once_that_the_program_is_gone(tmp_path: Path) -> None:
    with (
        VirtualMicrophone() as microphone,
        listening(microphone, tmp_path / "visit") as (process, wall),
    ):
        wall.wait_for(lambda now: now["state"] == "listening")
        process.kill()
        wall.wait_for_the_end()
        assert wall.seen["state"] == "listening"
