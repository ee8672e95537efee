"""A microphone without hardware: PulseAudio with a null sink whose monitor is the default input."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType

COMMANDS = ("pulseaudio", "pactl", "paplay", "parec")
SINK = "virtual"


def missing_commands() -> tuple[str, ...]:
    """Commands of the sound server that this machine lacks."""
    return tuple(name for name in COMMANDS if shutil.which(name) is None)


class VirtualMicrophone:
    """A private sound server. ``play`` puts a file of sound into it in real time."""

    def __enter__(self) -> VirtualMicrophone:
        self._folder = Path(tempfile.mkdtemp(prefix="vmic."))  # short: a socket's path is limited
        socket = self._folder / "native"
        script = self._folder / "default.pa"
        script.write_text(
            f"load-module module-native-protocol-unix socket={socket} auth-anonymous=1\n",
            encoding="utf-8",
        )
        self.environment = {
            **os.environ,
            "PULSE_SERVER": f"unix:{socket}",
            "XDG_RUNTIME_DIR": str(self._folder),
            "PULSE_LATENCY_MSEC": "30",
        }
        self._server = subprocess.Popen(
            [
                *("pulseaudio", "-n", "-F", str(script), "--daemonize=no", "--exit-idle-time=-1"),
                *("--disable-shm=yes", "--use-pid-file=no"),
                f"--log-target=file:{self._folder / 'log'}",
            ],
            env={
                **self.environment,
                "HOME": str(self._folder),
                "PULSE_STATE_PATH": str(self._folder),
            },
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._keep_awake: subprocess.Popen[bytes] | None = None
        self._wait_for_server()
        self.plug_in()
        return self

    def plug_in(self) -> None:
        """The microphone is there, and the default. A reader keeps its delay short."""
        found = self._control(
            "load-module", "module-null-sink", f"sink_name={SINK}", "rate=16000", "channels=1"
        )
        self._module = found.strip()
        self._control("set-default-sink", SINK)
        self._control("set-default-source", f"{SINK}.monitor")
        self._keep_awake = subprocess.Popen(
            ["parec", "--latency-msec=20", "--rate=16000", "--channels=1", "--format=s16le"],
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def unplug(self) -> None:
        """The microphone is gone."""
        self._stop_reader()
        self._control("unload-module", self._module)

    def play(self, path: Path) -> None:
        """Play a file of sound to its end, in real time."""
        subprocess.run(["paplay", str(path)], env=self.environment, check=True, timeout=120)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stop_reader()
        self._server.terminate()
        self._server.wait(10)
        shutil.rmtree(self._folder, ignore_errors=True)

    def _control(self, *arguments: str) -> str:
        done = subprocess.run(
            ["pactl", *arguments], env=self.environment, capture_output=True, text=True, check=True
        )
        return done.stdout

    def _wait_for_server(self) -> None:
        for _ in range(200):
            if self._server.poll() is not None:
                break
            asked = subprocess.run(
                ["pactl", "info"], env=self.environment, capture_output=True, check=False
            )
            if asked.returncode == 0:
                return
            time.sleep(0.05)
        log = (self._folder / "log").read_text(encoding="utf-8", errors="replace")
        raise RuntimeError(f"pulseaudio did not come up: {log}")

    def _stop_reader(self) -> None:
        if self._keep_awake is not None:
            self._keep_awake.terminate()
            self._keep_awake.wait(10)
            self._keep_awake = None
