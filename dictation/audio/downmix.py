"""Many channels to one, so that no speech is lost on the way.

A plain average cancels a pair of channels wired out of phase and pulls in the noise of a channel
that nobody speaks into. The first principal component of the channels does neither: a silent
channel gets no weight, an inverted one a negative weight, and equal channels are averaged.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dictation.audio.samples import Samples

MEMORY_S = 5.0
"""Time constant of the channels' running covariance. Shorter follows a failing microphone sooner;
longer keeps the weights steadier through a loud bang on one channel."""

GLIDE_S = 0.01
"""Time in which the weights move from one piece's to the next's."""

_SILENT_POWER = 1e-12  # mean square, -120 dBFS: below it the channels say nothing of themselves


class Downmix:
    """Streaming mix of ``channels`` channels at ``rate_hz``; weights sum to 1 in magnitude."""

    def __init__(self, channels: int, rate_hz: int) -> None:
        self._rate_hz = rate_hz
        self._covariance: NDArray[np.float64] = np.zeros((channels, channels))
        self._weights: NDArray[np.float64] = np.full(channels, 1.0 / channels)
        self._heard = False

    def mix(self, frames: NDArray[np.float32]) -> Samples:
        """Frames of shape (n, channels) to n samples."""
        if frames.shape[1] == 1:
            return frames[:, 0]
        if len(frames) == 0:
            return np.zeros(0, np.float32)
        before = self._weights if self._heard else None
        self._learn(frames)
        if before is None:
            before = self._weights
        # A step would be heard as a click; a long glide would weaken the first sound of a word.
        glide = np.minimum(np.arange(len(frames)) / (GLIDE_S * self._rate_hz), 1.0)[:, None]
        weights = before * (1.0 - glide) + self._weights * glide
        mixed: Samples = np.einsum("nc,nc->n", frames, weights).astype(np.float32)
        return mixed

    def _learn(self, frames: NDArray[np.float32]) -> None:
        centred = frames.astype(np.float64) - frames.mean(axis=0)
        keep = float(np.exp(-len(frames) / (MEMORY_S * self._rate_hz)))
        self._covariance = keep * self._covariance + centred.T @ centred / self._rate_hz
        if float(np.trace(self._covariance)) < _SILENT_POWER:
            return
        leading = np.linalg.eigh(self._covariance)[1][:, -1]
        leading = leading / float(np.abs(leading).sum())
        reference = float(leading @ self._weights)
        if not self._heard and abs(reference) < 0.1:
            reference = float(leading[int(np.argmax(np.abs(leading)))])
        self._weights = leading if reference >= 0 else -leading
        self._heard = True
