"""The microphone's ring and clock, driven as the driver does; no device is needed."""

from __future__ import annotations

import types

import numpy as np
import pytest

from dictation.audio import devices, microphone
from dictation.audio.microphone import BLOCK_FRAMES, RING_S, Microphone
from dictation.audio.reading import Interruption, Notice
from dictation.audio.samples import SAMPLE_RATE_HZ, Samples
from dictation.errors import MissingError, WrongUseError


class Driver:
    """A sound system of two inputs whose blocks come when the test says so."""

    PortAudioError = RuntimeError

    def __init__(self) -> None:
        self.default = types.SimpleNamespace(device=(0, 2))
        self.refuses = ""
        self.rates = [SAMPLE_RATE_HZ]
        self.active = True

    def query_devices(self) -> list[dict[str, object]]:
        names = ("Built-in", "Headset A", "Loudspeaker")
        inputs = (1, 1, 0)
        return [
            {"name": name, "default_samplerate": 48_000.0, "max_input_channels": count}
            for name, count in zip(names, inputs, strict=True)
        ]

    def InputStream(self, **settings: object) -> Driver:  # noqa: N802 - the driver's own name
        if self.refuses:
            raise RuntimeError(self.refuses)
        if settings["samplerate"] not in self.rates:
            raise RuntimeError("Invalid sample rate")
        self.callback = settings["callback"]
        return self

    def start(self) -> None:
        """Nothing to start."""

    def abort(self) -> None:
        """Nothing to stop."""

    def close(self) -> None:
        """Nothing to close."""

    def block(self, value: float = 0.1) -> None:
        """The driver hands over one block."""
        data = np.full((BLOCK_FRAMES, 1), value, np.float32)
        self.callback(data, BLOCK_FRAMES, None, None)  # type: ignore[operator]


class Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def driver(monkeypatch: pytest.MonkeyPatch) -> Driver:
    made = Driver()
    for module in (devices, microphone):
        monkeypatch.setattr(module, "port_audio", lambda: made)
    return made


def heard(source: Microphone, notices: list[Notice]) -> Samples:
    source.stop()
    return np.concatenate([np.zeros(0, np.float32), *source.blocks(notices.append)])


def test_every_block_comes_out_once_in_order(driver: Driver) -> None:
    source = Microphone()
    for value in (0.1, 0.2, 0.3):
        driver.block(value)
    samples = heard(source, [])
    assert [round(float(x), 1) for x in samples[::BLOCK_FRAMES]] == [0.1, 0.2, 0.3]


def test_blocks_without_room_are_counted_and_leave_silence(driver: Driver) -> None:
    source = Microphone()
    room = int(RING_S * SAMPLE_RATE_HZ / BLOCK_FRAMES)
    notices: list[Notice] = []
    blocks = source.blocks(notices.append)
    for _ in range(room + 5):
        driver.block()
    first = next(blocks)
    driver.block(0.3)
    samples = np.concatenate([first, heard(source, notices)])
    assert source.overruns == 5
    assert "5 blocks" in notices[0].sentence
    assert len(samples) == (room + 6) * BLOCK_FRAMES
    lost = samples[room * BLOCK_FRAMES : -BLOCK_FRAMES]
    assert not lost.any()
    assert np.allclose(samples[-BLOCK_FRAMES:], 0.3)


def test_the_time_under_a_closed_lid_is_an_interruption(driver: Driver) -> None:
    clock = Clock()
    source = Microphone(now=clock)
    driver.block()
    clock.now_s += 600.0
    driver.block()
    notices: list[Notice] = []
    heard(source, notices)
    (slept,) = notices
    assert isinstance(slept, Interruption)
    assert slept.until_s - slept.at_s == pytest.approx(600.0, abs=0.1)
    assert "600 s" in slept.sentence


def test_a_device_that_cannot_do_16_khz_is_resampled(driver: Driver) -> None:
    driver.rates = [48_000]
    source = Microphone()
    for _ in range(150):
        driver.block()
    samples = heard(source, [])
    assert len(samples) == pytest.approx(150 * BLOCK_FRAMES / 3, rel=0.05)


@pytest.mark.parametrize(("name", "found"), [(None, "Built-in"), ("headset", "Headset A")])
def test_a_device_is_found_by_part_of_its_name(
    driver: Driver, name: str | None, found: str
) -> None:
    assert Microphone(name).device.name == found


@pytest.mark.parametrize("name", ["trumpet", "loudspeaker"])
def test_a_name_that_is_no_microphones_lists_them(driver: Driver, name: str) -> None:
    with pytest.raises(WrongUseError, match=r"'Built-in', 'Headset A'"):
        Microphone(name)


def test_a_device_held_by_another_program_is_said_so(driver: Driver) -> None:
    driver.refuses = "Error opening InputStream: Device unavailable [PaErrorCode -9985]"
    with pytest.raises(MissingError, match="held by another program"):
        Microphone("headset")
