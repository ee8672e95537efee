# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""Training sound on the accelerator: recordings placed, bent, echoed, drowned, levelled in batches.

Noise is the shed's own, from the generators of the benches, but only what is not held out: 50 Hz
fans, clanks and moans of seeds under 1000, reverberation up to 0.6 s, and no radio voice. Every row
of a batch is full length, filled with its own noise, because the encoder normalises over time and
padding would change what it hears.
"""

from __future__ import annotations

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from dictation.audio.samples import SAMPLE_RATE_HZ
from dictation.recognition.level import FRAME_SAMPLES, TARGET_LEVEL
from tests.bench import shed_noise
from tests.training.conditions import Conditions

NOISE_S = 20.0
LATE_S = (0.04, 0.14)
"""What is missing where a headset wakes late: part of a word, so that its words are still true."""
LONGEST_ECHO_S = 0.6
REAL_TIMES = 2
REAL_ROOM_SHARE = 0.5
"""Of the echoes, where real rooms are at hand."""


def noise_bank(device: torch.device, seed: int, real: NDArray[np.float32] | None = None) -> Tensor:
    """Noises [kinds, samples] of NOISE_S each, RMS 1; of real ones REAL_TIMES as many."""
    make = [shed_noise.coloured(NOISE_S, seed + k, 0.5 * (k % 5)) for k in range(15)]
    make += [shed_noise.fan(NOISE_S, seed + k, 50.0, 1000.0 + 100 * k) for k in range(10)]
    make += [shed_noise.vacuum_pump(NOISE_S, seed + k) for k in range(5)]
    make += [shed_noise.shed(NOISE_S, (seed + 7 * k) % 900) for k in range(20)]
    make += [shed_noise.clanks(NOISE_S, (seed + 3 * k) % 1000, 1.0) for k in range(8)]
    make += [shed_noise.moans(NOISE_S, (seed + 5 * k) % 1000, 0.4) for k in range(8)]
    bank = np.stack([m / max(shed_noise.rms(m), 1e-6) for m in make])
    if real is not None:
        bank = np.concatenate([bank, *[real] * REAL_TIMES])
    return torch.from_numpy(bank.astype(np.float32)).to(device)


class Sounds:
    """All recordings on one device, and what can be done to them."""

    def __init__(
        self,
        recordings: list[np.ndarray],
        noise: Tensor,
        device: torch.device,
        rooms: NDArray[np.float32] | None = None,
    ) -> None:
        self.lengths = np.array([len(r) for r in recordings])
        self._begins = np.concatenate([[0], np.cumsum(self.lengths)[:-1]])
        self._all = torch.from_numpy(np.concatenate([*recordings, np.zeros(2, np.int16)])).to(
            device
        )
        self._noise = noise
        self._rooms = None if rooms is None else torch.from_numpy(rooms).to(device)
        self._device = device

    def batch(
        self, chosen: np.ndarray, conditions: Conditions, chance: torch.Generator
    ) -> tuple[Tensor, Tensor, Tensor]:
        """Heard [rows, samples], the same without harm, and which rows say nothing [rows]."""
        speech = self._placed(chosen, conditions, chance)
        silent = self._chance(len(chosen), conditions.silent, chance)
        harmed = self._in_noise(
            self._in_room(speech, conditions, chance), silent, conditions, chance
        )
        harmed = self._through_line(harmed, conditions, chance)
        gain = self._between(len(chosen), conditions.gain_db, chance)
        return levelled(harmed) * 10 ** (gain / 20), levelled(speech), silent[:, 0]

    def _between(self, rows: int, limits: tuple[float, float], chance: torch.Generator) -> Tensor:
        drawn = torch.rand(rows, 1, generator=chance, device=self._device)
        return limits[0] + (limits[1] - limits[0]) * drawn

    def _chance(self, rows: int, share: float, chance: torch.Generator) -> Tensor:
        return torch.rand(rows, 1, generator=chance, device=self._device) < share

    def _placed(self, chosen: np.ndarray, how: Conditions, chance: torch.Generator) -> Tensor:
        """Faster or slower, with silence before and behind."""
        rows = len(chosen)
        begins = torch.from_numpy(self._begins[chosen]).to(self._device)[:, None]
        lengths = torch.from_numpy(self.lengths[chosen]).to(self._device)[:, None]
        speed = self._between(rows, how.speed, chance)
        lead = self._between(rows, how.lead_s, chance) * SAMPLE_RATE_HZ
        tail = self._between(rows, how.tail_s, chance) * SAMPLE_RATE_HZ
        samples = int((lengths / speed + lead + tail).max())
        at = (torch.arange(samples, device=self._device)[None] - lead) * speed
        late = self._chance(rows, how.late, chance) * self._between(rows, LATE_S, chance)
        inside = (at >= late * SAMPLE_RATE_HZ) & (at < lengths - 1)
        at = at.clamp(min=0).minimum(lengths - 1.0)
        whole = at.floor()
        part = at - whole
        place = begins + whole.long()
        one, other = self._all[place].float(), self._all[place + 1].float()
        return torch.where(inside, one + (other - one) * part, 0.0) / 32768

    def _in_room(self, speech: Tensor, how: Conditions, chance: torch.Generator) -> Tensor:
        """With a tilted spectrum and, by chance, an echo."""
        rows, samples = speech.shape
        size = samples + int(LONGEST_ECHO_S * SAMPLE_RATE_HZ)
        t = torch.arange(size - samples, device=self._device)[None] / SAMPLE_RATE_HZ
        rt60 = self._between(rows, (0.1, LONGEST_ECHO_S), chance)
        room = torch.randn(rows, t.shape[1], generator=chance, device=self._device)
        room = room * 10 ** (-3 * t / rt60) * (t > 0.003)
        loud = 10 ** (self._between(rows, (-14.0, -3.0), chance) / 20)
        room = room * loud / room.square().sum(1, keepdim=True).sqrt()
        room = self._real_rooms(room, chance) * self._chance(rows, how.echo, chance)
        room[:, 0] = 1.0
        spectrum = torch.fft.rfft(speech, size) * torch.fft.rfft(room, size)
        bands = torch.randn(rows, 1, 9, generator=chance, device=self._device)
        tilt = torch.nn.functional.interpolate(bands, spectrum.shape[1], mode="linear")[:, 0]
        spectrum = spectrum * 10 ** (tilt * how.equaliser_db / 2 / 20)
        spectrum = spectrum * self._notches(rows, spectrum.shape[1], how.notched, chance)
        return torch.fft.irfft(spectrum, size)[:, :samples]

    def _real_rooms(self, made: Tensor, chance: torch.Generator) -> Tensor:
        """Of made rooms [rows, samples], some exchanged for real ones, where there are any."""
        if self._rooms is None:
            return made
        drawn = (len(made),)
        which = torch.randint(len(self._rooms), drawn, generator=chance, device=self._device)
        real = self._chance(len(made), REAL_ROOM_SHARE, chance)
        return torch.where(real, self._rooms[which][:, : made.shape[1]], made)

    def _notches(self, rows: int, bins: int, share: float, chance: torch.Generator) -> Tensor:
        """Factors [rows, bins], small in one band of a row by chance, 1 elsewhere."""
        hz = torch.linspace(0, SAMPLE_RATE_HZ / 2, bins, device=self._device)[None]
        middle = self._between(rows, (300.0, 5000.0), chance)
        half = self._between(rows, (0.05, 0.2), chance) * middle
        gone = self._chance(rows, share, chance) & ((hz - middle).abs() < half)
        return torch.where(gone, 10 ** (-30 / 20), 1.0)

    def _in_noise(
        self, speech: Tensor, silent: Tensor, how: Conditions, chance: torch.Generator
    ) -> Tensor:
        rows, samples = speech.shape
        level = active_level(speech)
        snr = self._between(rows, how.snr_db, chance)
        quiet = self._between(rows, (30.0, 55.0), chance)
        snr = torch.where(self._chance(rows, how.clean, chance), quiet, snr)
        noise = self._stretch(rows, samples, chance)
        second = self._stretch(rows, samples, chance)
        noise = noise + second * 0.7 * self._chance(rows, 0.3, chance)
        noise = noise / noise.square().mean(1, keepdim=True).sqrt().clamp(min=1e-3)
        others = self._others(rows, samples, chance) * self._between(rows, (0.2, 0.8), chance)
        noise = noise + others * (self._chance(rows, how.talked_over, chance) & ~silent)
        noise = noise / noise.square().mean(1, keepdim=True).sqrt().clamp(min=1e-3)
        return torch.where(silent, 0.0, speech) + noise * level / 10 ** (snr / 20)

    def _stretch(self, rows: int, samples: int, chance: torch.Generator) -> Tensor:
        kinds, length = self._noise.shape
        kind = torch.randint(kinds, (rows, 1), generator=chance, device=self._device)
        begin = torch.randint(length, (rows, 1), generator=chance, device=self._device)
        at = (begin + torch.arange(samples, device=self._device)[None]) % length
        return self._noise[kind, at]

    def _others(self, rows: int, samples: int, chance: torch.Generator) -> Tensor:
        """Stretches of any of the recordings, one behind the other as they lie, RMS 1."""
        last = len(self._all) - samples
        begin = torch.randint(last, (rows, 1), generator=chance, device=self._device)
        heard = self._all[begin + torch.arange(samples, device=self._device)[None]].float()
        return heard / heard.square().mean(1, keepdim=True).sqrt().clamp(min=1.0)

    def _through_line(self, sound: Tensor, how: Conditions, chance: torch.Generator) -> Tensor:
        """Through a headset's band, an eight-bit line, an overdriven input; each by chance."""
        rows, samples = sound.shape
        hz = torch.fft.rfftfreq(samples, 1 / SAMPLE_RATE_HZ, device=self._device)[None].clamp(min=1)
        low, high = (
            self._between(rows, (120, 320), chance),
            self._between(rows, (3300, 7500), chance),
        )
        passed = ((1 + (low / hz) ** 8) * (1 + (hz / high) ** 8)).rsqrt()
        narrow = torch.fft.irfft(torch.fft.rfft(sound) * passed, samples)
        sound = torch.where(self._chance(rows, how.band, chance), narrow, sound)
        peak = sound.abs().amax(1, keepdim=True).clamp(min=1e-6)
        scaled = sound / peak
        bent = scaled.sign() * torch.log1p(255 * scaled.abs()) / np.log(256.0)
        bent = torch.round(bent * 127) / 127
        coded = bent.sign() * (torch.exp(bent.abs() * np.log(256.0)) - 1) / 255
        scaled = torch.where(self._chance(rows, how.coded, chance), coded, scaled)
        over = self._between(rows, (0.25, 0.8), chance)
        clipped = scaled.minimum(over).maximum(-over)
        return torch.where(self._chance(rows, how.clipped, chance), clipped, scaled)


def active_level(speech: Tensor) -> Tensor:
    """RMS [rows, 1] over the samples above the share of the peak that the benches count."""
    size = speech.abs()
    active = size > shed_noise.ACTIVE_SHARE_OF_PEAK * size.amax(1, keepdim=True)
    power = (speech.square() * active).sum(1, keepdim=True)
    return (power / active.sum(1, keepdim=True).clamp(min=1)).sqrt()


def levelled(sound: Tensor) -> Tensor:
    """Brought to the level that the recogniser brings every utterance to."""
    sound = sound - sound.mean(1, keepdim=True)
    frames = sound.shape[1] // FRAME_SAMPLES
    power = sound[:, : frames * FRAME_SAMPLES].reshape(len(sound), frames, FRAME_SAMPLES)
    loud = power.square().mean(2).sqrt().quantile(0.95, dim=1, keepdim=True)
    return (sound * TARGET_LEVEL / loud.clamp(min=1e-4)).clamp(-1, 1)
