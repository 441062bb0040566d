"""One flow or an array of them: a formula gives back what it was given."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
FloatOrArray = TypeVar("FloatOrArray", float, NDArray[np.float64])


def like(given: FloatOrArray, values: ArrayLike) -> FloatOrArray:
    """Return ``values`` as a float where ``given`` was one number, else as an array."""
    if isinstance(given, np.ndarray):
        return np.asarray(values, dtype=np.float64)
    return float(np.asarray(values, dtype=np.float64))
