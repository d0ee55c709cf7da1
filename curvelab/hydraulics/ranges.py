"""Arguments of the physics held to their valid ranges and handed back as arrays of floats."""

from __future__ import annotations

from math import inf

import numpy as np
from numpy.typing import ArrayLike

from curvelab import errors
from curvelab.hydraulics.constants import Floats


def require(name: str, value: ArrayLike, low: float = -inf, high: float = inf, *, hint: str = "") -> Floats:
    """The value as an array of floats; ``DomainError`` unless all of it is finite and from ``low`` to ``high``."""
    array = np.asarray(value, dtype=np.float64)
    errors.require(name, array, low, high, hint=hint)
    return array


def positive(name: str, value: ArrayLike, high: float = inf, *, hint: str = "") -> Floats:
    """The value as an array of floats; ``DomainError`` unless all of it is finite, more than 0 and at most ``high``."""
    array = require(name, value, 0.0, high, hint=hint)
    if not array.all():
        index = int(np.argmin(array)) if array.ndim else None
        place = "" if index is None else f" at index {index}"
        message = f"{name} must be more than 0 (got 0{place})" + (f"; {hint}" if hint else "")
        raise errors.DomainError(message, value=0.0, index=index, limits=(0.0, high), hint=hint)
    return array
