"""Places where another line of the same ink leaves the one that was followed: which of the two goes on is then a guess.

The strip along the line is laid straight. In it another line is a ray that leaves the middle at a slant; where one
comes in from the other side too, the two just cross.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.tracing.follow import STEP
from curvelab.tracing.ink import Ink
from curvelab.tracing.line import Line, Stretch
from curvelab.tracing.map import Floats

FARTHEST: Final = 22
"""How far aside such a line is looked for. [px]"""
SLANTS: Final = (0.1, 0.15, 0.22, 0.32, 0.46, 0.66, 0.95)
"""Pixels aside for one along; what leaves more steeply is never taken for the line. [-]"""
ENOUGH: Final = 0.6
"""Least share of the line's own ink all along the ray. [-]"""
IN_SIGHT: Final = 0.6
"""Least share of the ray that isn't under ruled lines. [-]"""
NEAR: Final = 16.0
"""Rays whose feet are as near belong to one crossing. [px]"""


def branches(ink: Ink, line: Line, width: float) -> Iterator[Stretch]:
    """The stretches about such places; ``width`` of the line in px."""
    strip, trust = _strip(ink, line)
    first = int(np.ceil(0.5 * width + 3.0))
    feet = {
        (side, forward): _feet(strip, trust, first, side=side, forward=forward)
        for side in (1, -1)
        for forward in (1, -1)
    }
    told: list[int] = []
    reach = int(NEAR / STEP)
    for (side, forward), places in feet.items():
        opposite = np.flatnonzero(feet[-side, -forward])
        for place in np.flatnonzero(places).tolist():
            crosses = opposite.size and np.abs(opposite - place).min() <= 2 * reach
            if not crosses and all(abs(place - other) > 2 * reach for other in told):
                told.append(place)
    for place in sorted(told):
        low, high = max(place - reach, 0), min(place + reach, len(line.places) - 1)
        yield Stretch(line.places[low], line.places[high], "another line of the same ink leaves it there")


def _strip(ink: Ink, line: Line) -> tuple[Floats, Floats]:
    """Amount and trust beside the line, shape (places, 2 FARTHEST + 1); the line itself in the middle column."""
    aside = np.arange(-FARTHEST, FARTHEST + 1, dtype=np.float64)
    x = line.places[:, :1] + aside * line.normals[:, :1]
    y = line.places[:, 1:] + aside * line.normals[:, 1:]
    amount, trust = ink.at(x, y)
    return amount / np.maximum(trust, 1e-6) * (trust > 0.3), trust


def _feet(strip: Floats, trust: Floats, first: int, *, side: int, forward: int) -> NDArray[np.bool_]:
    """Places from which a ray of ink goes to a side, forward or back; shape (places,)."""
    found = np.zeros(len(strip), dtype=np.bool_)
    aside = np.arange(first, FARTHEST - 1)
    wide = np.maximum(np.maximum(strip[:, :-2], strip[:, 1:-1]), strip[:, 2:])  # a pixel to each side counts too
    columns = FARTHEST - 1 + side * aside
    places = np.arange(len(strip))[:, None]
    for slant in SLANTS:
        rows = places + forward * np.rint(aside / slant / STEP).astype(int)
        inside = (rows >= 0) & (rows < len(strip))
        rows = np.clip(rows, 0, len(strip) - 1)
        seen = inside & (trust[rows, columns + 1] > 0.3)
        dark = (~seen | (wide[rows, columns] > ENOUGH)).all(axis=1)
        found |= dark & (seen.mean(axis=1) > IN_SIGHT)
    return found
