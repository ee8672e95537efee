"""The machine's sound devices through PortAudio, found by name."""

from __future__ import annotations

import os
import sys
import threading
import types
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from dictation.errors import MissingError, WrongUseError

PULSE_LATENCY_MS = "30"
"""Without it PulseAudio may idle at two seconds of delay and drop sound when it wakes up."""

PLAYING = threading.Lock()
"""Held while an output is open: PortAudio must not be started anew under it."""

_HELD = ("unavailable", "busy", "-9985")
"""In PortAudio's words for a device that another program holds."""


@dataclass(frozen=True, slots=True)
class Device:
    """An input of this machine. ``number`` holds until PortAudio is started anew."""

    number: int
    name: str
    rate_hz: int
    channels: int


def port_audio() -> types.ModuleType:
    """The sounddevice module. Raises MissingError where PortAudio cannot be loaded."""
    os.environ.setdefault("PULSE_LATENCY_MSEC", PULSE_LATENCY_MS)
    try:
        import sounddevice
    except (ImportError, OSError) as error:
        raise MissingError(
            "the sound library PortAudio is not on this machine: install it (Debian: apt-get "
            "install libportaudio2)."
        ) from error
    return sounddevice  # type: ignore[no-any-return]


def sound_errors() -> tuple[type[Exception], ...]:
    """What the sound system raises: no PortAudio, no device, one that has gone or cannot do it."""
    try:
        return MissingError, port_audio().PortAudioError, OSError, ValueError
    except MissingError:
        return (MissingError,)


def look_again() -> None:
    """Start PortAudio anew: it lists devices only once, and keeps those that are gone.

    Waits for what is being played: every stream ends with PortAudio.
    """
    sound = port_audio()
    with PLAYING:
        sound._terminate()
        sound._initialize()


def inputs() -> tuple[Device, ...]:
    """All inputs, in PortAudio's order."""
    found = port_audio().query_devices()
    return tuple(
        Device(number, str(d["name"]), int(d["default_samplerate"]), int(d["max_input_channels"]))
        for number, d in enumerate(found)
        if d["max_input_channels"] > 0
    )


def choose_input(name: str | None) -> Device:
    """The input whose name holds ``name``, or the system's own choice where none is named.

    Raises MissingError where there is none, WrongUseError where the name fits none or several.
    """
    there = inputs()
    if not there:
        raise MissingError(
            "there is no microphone on this machine: plug one in, or use hornsweep replay for "
            "recordings."
        )
    if name is None:
        default = port_audio().default.device[0]
        return next((d for d in there if d.number == default), there[0])
    same = [d for d in there if d.name.lower() == name.lower()]
    fitting = same or [d for d in there if name.lower() in d.name.lower()]
    if len(fitting) == 1:
        return fitting[0]
    names = ", ".join(f"'{d.name}'" for d in (fitting or there))
    if fitting:
        raise WrongUseError(f"'{name}' fits several microphones: say more of the name ({names}).")
    raise WrongUseError(f"no microphone is called '{name}': there are {names}.")


def why_not(device: Device, error: Exception) -> str:
    """Why a device could not be opened, and what to do, in one sentence."""
    told = " ".join(str(error).split())
    if any(word in told.lower() for word in _HELD):
        return (
            f"the microphone '{device.name}' is held by another program: close that program or "
            "choose another with --device."
        )
    return (
        f"the microphone '{device.name}' cannot be opened ({told}): choose another with --device."
    )


@contextmanager
def without_driver_talk() -> Iterator[None]:
    """PortAudio and ALSA write to the error output as they please, over the screen: not here.

    What this program writes to ``sys.stderr`` still goes where it went.
    """
    sys.stderr.flush()
    kept = os.dup(2)
    ours = sys.stderr
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    try:
        with os.fdopen(os.dup(kept), "w", encoding="utf-8", buffering=1) as still_heard:
            sys.stderr = still_heard
            yield
    finally:
        sys.stderr = ours
        os.dup2(kept, 2)
        os.close(kept)
