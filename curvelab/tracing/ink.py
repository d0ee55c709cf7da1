"""How a curve looks on a flat chart, and how much of it each pixel shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.tracing.map import Floats
from curvelab.tracing.ruling import Ruling
from curvelab.tracing.sheet import Array32, Sheet

FAINTEST: Final = 0.05
"""Least contrast of a line that is followed. [-]"""
OWN_HUE: Final = 0.15
"""Difference of ink, over ink, that still counts as the same. [-]"""
HUE_SPREAD: Final = 0.35
"""How soon more than that counts as another ink. [-]"""
RULE_MARGIN: Final = 0.25
"""How much more than a ruled line's own ink shows that the curve lies on top of it. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Ink:
    """Amount of one curve's ink on the pixels of a part of a sheet."""

    amount: Array32
    """1 on the line's middle, 0 on paper, shape (height, width)."""
    trust: Array32
    """How far the pixel tells anything, 0 to 1: not under a ruled line, nor off the picture; same shape."""
    any_ink: Array32
    """Contrast of any ink but that of ruled lines, over the curve's own; same shape."""
    corner: tuple[int, int]
    """Left and top pixel of the part on the sheet."""

    def at(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Amount (weighted by trust) and trust at places on the sheet, between pixels by straight lines."""
        rows, columns = self.amount.shape
        u, v = x - self.corner[0] - 0.5, y - self.corner[1] - 0.5
        inside = (u >= 0.0) & (v >= 0.0) & (u < columns - 1.001) & (v < rows - 1.001)
        u, v = np.where(inside, u, 0.0), np.where(inside, v, 0.0)
        column, row = u.astype(np.intp), v.astype(np.intp)
        u, v = u - column, v - row
        base = row * columns + column
        trust, amount = self.trust.ravel(), self.amount.ravel()
        total = np.zeros(x.shape)
        sure = np.zeros(x.shape)
        for step, share in (
            (0, (1 - u) * (1 - v)),
            (1, u * (1 - v)),
            (columns, (1 - u) * v),
            (columns + 1, u * v),
        ):
            weight = share * trust[base + step]
            sure += weight
            total += weight * amount[base + step]
        return total * inside, sure * inside

    def clutter(self, place: Floats, reach: float) -> float:
        """The strongest ink of any kind in the square about a place. [-]"""
        x, y = place[0] - self.corner[0], place[1] - self.corner[1]
        rows = slice(max(0, int(y - reach)), max(0, int(y + reach) + 1))
        columns = slice(max(0, int(x - reach)), max(0, int(x + reach) + 1))
        part = self.any_ink[rows, columns]
        return float(part.max()) if part.size else 0.0


def ink_of(sheet: Sheet, ruling: Ruling, ink: NDArray[np.floating], part: tuple[slice, slice] | None = None) -> Ink:
    """How much of ``ink`` (contrast of the line's middle, shape (3,)) pixels show; all of them without ``part``.

    Amounts stand in ratio to the ink's own. A pixel that is partly covered has the same hue, so that hue parts inks of
    any strength; under a ruled line only what goes beyond that line's own ink speaks of the curve.
    """
    part = part or (slice(None), slice(None))
    contrast = sheet.contrast[part]
    ink = np.asarray(ink, dtype=np.float32)
    square = np.float32(ink @ ink)
    amount = contrast @ (ink / square)
    other = np.einsum("ijk,ijk->ij", contrast, contrast) / square - amount**2
    np.sqrt(np.maximum(other, 0.0, out=other), out=other)
    other /= np.maximum(amount, np.float32(0.4))
    np.subtract(other, np.float32(OWN_HUE), out=other)
    np.maximum(other, 0.0, out=other)
    own = np.exp(-((other / np.float32(HUE_SPREAD)) ** 2))
    amount = np.clip(amount, -0.3, 1.3) * own
    trust = sheet.seen[part].astype(np.float32)
    share = ruling.share[part]
    ruled = share > 0.0
    if ruled.any():
        under = np.clip(ruling.ink @ (ink / square), 0.0, 1.0)[ruling.which[part][ruled]] * share[ruled]
        here = amount[ruled]
        on_top = np.clip((here - under - RULE_MARGIN) / 0.35, 0.0, 1.0)
        trust[ruled] *= 1.0 - np.minimum(1.3 * share[ruled], 1.0) * (1.0 - on_top)
        amount[ruled] = np.clip((here - under) / np.maximum(1.0 - under, 0.2), -0.3, 1.3)
    corner = (part[1].start or 0, part[0].start or 0)
    any_ink = np.abs(sheet.tone[part]) * (1.0 - np.minimum(2.0 * share, 1.0))
    any_ink /= max(float(abs(ink.mean())), FAINTEST)
    return Ink(amount.astype(np.float32), trust, any_ink.astype(np.float32), corner)
