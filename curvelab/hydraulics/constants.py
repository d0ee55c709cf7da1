"""Physical constants used throughout, SI."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""What the functions of this layer return; 0-d where all arguments are scalars."""

G: Final = 9.80665
"""Standard acceleration of free fall. [m/s²] Exact by definition: 3rd CGPM, 1901."""

AIR_SEA_LEVEL_PA: Final = 101_325.0
"""Pressure of the standard atmosphere at height 0. [Pa] ISO 2533:1975; the same in the US Standard Atmosphere 1976."""

ICE_POINT_K: Final = 273.15
"""0 °C. [K] Exact by definition of the Celsius scale."""

REFERENCE_TEMPERATURE_K: Final = 293.15
"""20 °C, at which priming lifts and hose ratings are stated. [K] Common practice, no source."""
