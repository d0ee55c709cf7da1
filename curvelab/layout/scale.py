"""The one scale of the run: from metres to pixels, as large as fits, and kept while somebody drags."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.sizes import RunSize
from curvelab.studies.run import Run

FACTORS = (1, 2, 5, 10)
"""How much larger than the lengths the heights may be drawn."""
_TOP, _LEFT = 20.0, 64.0  # free above and left of what is drawn, for words and earth [px]
_FLAG = 28.0  # free above the governing point, for its flag [px]
_HELD_EDGE = 8.0  # as near to an edge as a drawing may come that is kept at its scale [px]
_HELD_RIGHT = 34.0  # the same at the right, with the tank [px]
_SAME_M = 1e-6  # heights that differ by less are the same

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Scale:
    """From metres to pixels: x right of the pump, height above it."""

    pump_x: float
    pump_y: float
    across: float
    """[px/m]"""
    factor: int

    def x(self, right_m: Floats | float) -> Floats:
        """Place of a distance along the ground from the pump."""
        return self.pump_x + np.asarray(right_m, float) * self.across

    def y(self, height_m: Floats | float) -> Floats:
        """Place of a height above the pump."""
        return self.pump_y + np.asarray(height_m, float) * self.up

    @property
    def up(self) -> float:
        """Of heights. [px/m]"""
        return self.across * self.factor


@dataclass(frozen=True, slots=True)
class Extent:
    """What has to be drawn, in metres from the pump."""

    left: float
    right: float
    low: float
    high: float
    flag: float
    """Height of the governing point."""


def scale_of(extent: Extent, size: RunSize, width_px: float, held: Scale | None = None) -> Scale:
    """The largest scale at which all of it fits, the flag over the governing point included.

    Parameters
    ----------
    width_px : float
        Width of the frame as the browser has it. [px]
    held : Scale, optional
        The scale now, while something is dragged: kept as long as everything stays on the sheet, so that what is
        dragged stays under the pointer.
    """
    if held is not None and held.pump_x == size.pump_x and _fits(extent, held, size, width_px):
        return held
    low, high = min(extent.low, 0.0), max(extent.high, 0.0)
    needs = (
        (size.height - _TOP - size.base, max(high - low, 0.1)),
        (size.height - _FLAG - size.base, max(extent.flag - low, 0.1)),
    )
    up = min(room / tall for room, tall in needs)
    across = min(
        (width_px - size.pump_x - size.right) / max(extent.right, 1.0),
        (size.pump_x - _LEFT) / max(-extent.left, 1.0),
        up,
    )
    tall = needs[0][1] * across
    fitting = [factor for factor in FACTORS if across * factor <= up * (1.0 + 1e-9)]
    enough = [factor for factor in fitting if tall * factor >= size.least]
    factor = enough[0] if enough else fitting[-1]
    if held is not None and held.factor in fitting and tall * held.factor >= 0.6 * size.least:
        factor = held.factor
    spare = needs[0][0] - tall * factor
    return Scale(float(size.pump_x), size.base + 0.3 * spare - low * across * factor, across, factor)


def carried(held: Scale, before: Run, after: Run) -> Scale:
    """A held scale for the next drawing: where the pump alone moved up or down its bank, the land stays."""
    up = float(before.suction_height_m[0] - after.suction_height_m[0])
    outlet = float(before.height_m[-1] - after.height_m[-1])
    return replace(held, pump_y=held.pump_y + up * held.up) if abs(up - outlet) < _SAME_M else held


def _fits(extent: Extent, scale: Scale, size: RunSize, width_px: float) -> bool:
    return bool(
        scale.x(extent.left) >= _HELD_EDGE
        and scale.x(extent.right) <= width_px - _HELD_RIGHT
        and scale.y(min(extent.low, 0.0)) >= _HELD_EDGE
        and scale.y(extent.high) <= size.height - _HELD_EDGE
        and scale.y(extent.flag) <= size.height - _FLAG
    )
