"""What every formula does first: take numbers, lists or columns as float arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def floats(value: ArrayLike) -> FloatArray:
    """The value as an array of floats; no copy where it is one already."""
    return np.asarray(value, dtype=np.float64)
