"""A microphone without hardware: PulseAudio with a null sink whose monitor is the default input.

The benches and the tests listen through it: PortAudio, its callback and the sound server are real.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType

from dictation.errors import MissingError

COMMANDS = ("pulseaudio", "pactl", "paplay", "parec")
SINK = "virtual"
LOUDSPEAKER = "loudspeaker"
PAREC = ("parec", "--latency-msec=20", "--rate=16000", "--channels=1", "--format=s16le", "--raw")


def missing_commands() -> tuple[str, ...]:
    """Commands of the sound server that this machine lacks."""
    return tuple(name for name in COMMANDS if shutil.which(name) is None)


class VirtualMicrophone:
    """A private sound server. ``play`` puts a file of sound into it in real time.

    Without ``loudspeaker`` what is played by anybody comes straight into the microphone; with it
    the programs on this server play into a second sink of that name, which is not heard unless
    ``leak`` lets it. Raises MissingError where there is no such server.
    """

    def __init__(self, loudspeaker: bool = False) -> None:
        self._loudspeaker = loudspeaker

    def __enter__(self) -> VirtualMicrophone:
        missing = missing_commands()
        if missing:
            raise MissingError(
                f"the virtual microphone needs {', '.join(missing)}: install PulseAudio (Debian: "
                "apt-get install pulseaudio pulseaudio-utils libasound2-plugins)."
            )
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
        try:
            self._wait_for_server()
            self.plug_in()
        except BaseException:
            self._end()
            raise
        return self

    def plug_in(self) -> None:
        """The microphone is there, and the default. A reader keeps its delay short."""
        found = self._control(
            "load-module", "module-null-sink", f"sink_name={SINK}", "rate=16000", "channels=1"
        )
        self._module = found.strip()
        if self._loudspeaker and LOUDSPEAKER not in self._control("list", "short", "sinks"):
            self._control(
                *("load-module", "module-null-sink", f"sink_name={LOUDSPEAKER}", "rate=16000"),
                "channels=1",
            )
        self._control("set-default-sink", LOUDSPEAKER if self._loudspeaker else SINK)
        self._control("set-default-source", f"{SINK}.monitor")
        self._keep_awake = subprocess.Popen(
            [*PAREC, f"--device={SINK}.monitor"],
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def unplug(self) -> None:
        """The microphone is gone."""
        self._stop_reader()
        self._control("unload-module", self._module)

    def play(self, path: Path) -> None:
        """Play a file of sound into the microphone to its end, in real time."""
        if self.begin(path).wait() != 0:
            raise MissingError(f"paplay cannot play {path}: is it a file of sound?")

    def begin(self, path: Path) -> subprocess.Popen[bytes]:
        """Play as ``play`` does, and return at once."""
        return subprocess.Popen(["paplay", f"--device={SINK}", str(path)], env=self.environment)

    def record(self, sink: str, into: Path) -> subprocess.Popen[bytes]:
        """Record what a sink plays as raw 16-bit samples at 16 kHz, until it is terminated."""
        file = into.open("wb")
        with file:
            return subprocess.Popen(
                [*PAREC, f"--device={sink}.monitor"], env=self.environment, stdout=file
            )

    def leak(self, share: float) -> None:
        """Let the microphone hear the loudspeaker, at this share of its amplitude."""
        self._control(
            *("load-module", "module-loopback", f"source={LOUDSPEAKER}.monitor", f"sink={SINK}"),
            "latency_msec=30",
        )
        inputs = self._control("list", "short", "sink-inputs").split()
        volume = round(65536 * share ** (1 / 3))  # PulseAudio's volumes are cubic
        self._control("set-sink-input-volume", inputs[0], str(volume))

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end()

    def _end(self) -> None:
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
        raise MissingError(f"pulseaudio did not come up ({log.strip()[-200:]}): is it installed?")

    def _stop_reader(self) -> None:
        if self._keep_awake is not None:
            self._keep_awake.terminate()
            self._keep_awake.wait(10)
            self._keep_awake = None
