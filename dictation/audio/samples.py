"""Sound as every room of the tool passes it on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
"""Mono sound of ``SAMPLE_RATE_HZ``; shape (n,), values from -1 to 1."""

SAMPLE_RATE_HZ = 16_000
