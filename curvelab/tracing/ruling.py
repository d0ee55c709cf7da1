"""Ruled lines of a flat chart: grid, frame and axes, found by their running level or upright across all of it.

They are not rubbed out: where one lies, a curve may pass over it or under it. What is found says how much of a pixel is
ruling, and in what ink, so that a tracer knows what it can't see there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from curvelab.tracing.map import Floats
from curvelab.tracing.sheet import Array32, Sheet

STRETCHES: Final = 10
"""Stretches of an axis in each of which a ruled line is looked for. [-]"""
ENOUGH: Final = 0.7
"""Share of them that must show it. [-]"""
DRIFT: Final = 2
"""Pixels that it may stray by, along the axis, where marks or lens bend it. [px]"""
FAINTEST: Final = 0.012
"""Least contrast of a ruled line's mean over a stretch. [-]"""
PALEST: Final = 0.03
"""Least contrast of its middle; what is paler can't be taken for a curve. [-]"""
REACH: Final = 6
"""Half the width of the widest ruling. [px]"""


@dataclass(frozen=True, slots=True, eq=False)
class Ruling:
    """Where ruled lines are."""

    share: Array32
    """How much of each pixel is ruling, 0 to 1, shape (height, width)."""
    which: NDArray[np.int16]
    """The line that a pixel is ruled by, −1 for none, same shape."""
    ink: Array32
    """Contrast of each line's middle, red, green and blue, shape (lines, 3)."""
    level: NDArray[np.bool_]
    """Lines of one value are level, those of one flow are upright; shape (lines,)."""
    runs: tuple[Floats, ...]
    """Of each line the row it runs in at every column, or, upright, the column at every row. [px]"""

    def without(self, line: int) -> Ruling:
        """All but one line."""
        share = np.where(self.which == line, np.float32(0.0), self.share)
        return replace(self, share=share, which=np.where(self.which == line, np.int16(-1), self.which))


def find_ruling(sheet: Sheet) -> Ruling:
    """The ruled lines of a sheet."""
    tone = sheet.tone
    high, wide = tone.shape
    share = np.zeros((high, wide), dtype=np.float32)
    which = np.full((high, wide), -1, dtype=np.int16)
    inks: list[Array32] = []
    levels: list[bool] = []
    runs: list[Floats] = []
    (left, bottom), (right, top) = sheet.of_paper([[0, 0], [1, 1]])
    for level, start, end in ((True, left, right), (False, top, bottom)):
        image = tone if level else tone.swapaxes(0, 1)
        colour = sheet.contrast if level else sheet.contrast.swapaxes(0, 1)
        for row, profile in _lines(image, max(0, int(start)), min(image.shape[1], int(end))):
            own = _ink(colour, row)
            if np.abs(own).max() >= PALEST:
                part, number = (share, which) if level else (share.swapaxes(0, 1), which.swapaxes(0, 1))
                _paint(part, number, row, profile, len(inks))
                inks.append(own)
                levels.append(level)
                runs.append(row)
    ink = np.array(inks, dtype=np.float32).reshape(-1, 3)
    return Ruling(share, which, ink, np.array(levels, dtype=np.bool_), tuple(runs))


def _lines(tone: Array32, start: int, end: int) -> list[tuple[Floats, Floats]]:
    """Level lines: of each the row it runs in at every column, and its profile across, at −6 to 6 pixels, 1 at most."""
    edges = np.linspace(start, end, STRETCHES + 1).astype(int)
    if np.diff(edges).min() < 8:
        return []
    ridge = np.stack([tone[:, a:b].mean(axis=1) for a, b in pairwise(edges)], axis=1)
    ridge = ridge - ndimage.median_filter(ridge, (15, 1), mode="nearest")
    ridge = np.abs(ridge)
    floor = np.maximum(4.0 * np.median(ridge, axis=0) / 0.6745, FAINTEST)
    near = ndimage.maximum_filter1d(ridge, 2 * DRIFT + 1, axis=0)
    shown = (near > floor).mean(axis=1)
    strength = np.where(shown >= ENOUGH, np.minimum(near, np.median(near, axis=1)[:, None]).mean(axis=1), 0.0)
    strength += 1e-3 * ridge.mean(axis=1) * (strength > 0.0)  # the middle of a plateau
    found: list[tuple[Floats, Floats]] = []
    columns: Floats = np.arange(tone.shape[1]) + 0.5
    taken = np.zeros(strength.size, dtype=np.bool_)
    for row in np.argsort(-strength).tolist():
        if strength[row] <= 0.0:
            break
        line = None if taken[row] else _straight(ridge, floor, row, edges)
        if line is None:
            continue
        where = np.polyval(line[0], columns).astype(np.float64, copy=False)
        middle = int(np.polyval(line[0], 0.5 * (start + end)))
        if not taken[min(max(middle, 0), taken.size - 1)]:
            found.append((where, line[1]))
        for place in (row, middle):
            taken[max(0, place - DRIFT) : place + DRIFT + 1] = True
    return found


def _straight(ridge: Array32, floor: Floats, row: int, edges: NDArray[np.int_]) -> tuple[Floats, Floats] | None:
    """A straight line through the ridges near a row: its coefficients, and its profile."""
    rows = ridge.shape[0]
    middles: list[float] = []
    places: list[float] = []
    for stretch in range(ridge.shape[1]):
        low, high = max(0, row - DRIFT - 1), min(rows, row + DRIFT + 2)
        peak = low + int(np.argmax(ridge[low:high, stretch]))
        if ridge[peak, stretch] < floor[stretch]:
            continue
        low, high = max(0, peak - 2), min(rows, peak + 3)
        weight = ridge[low:high, stretch]
        places.append(float(weight @ (np.arange(low, high) + 0.5)) / float(weight.sum()))
        middles.append(0.5 * float(edges[stretch] + edges[stretch + 1]))
    if len(places) < ENOUGH * ridge.shape[1]:
        return None
    line = np.polyfit(middles, places, 1)
    miss = np.abs(np.polyval(line, middles) - places)
    good = miss <= max(2.5 * float(np.median(miss)), 0.3)
    line = np.polyfit(np.array(middles)[good], np.array(places)[good], 1)
    offsets = np.arange(-REACH, REACH + 1)
    at: Floats = np.arange(rows) + 0.5
    across: Floats = np.median(
        [
            np.interp(np.polyval(line, 0.5 * (edges[s] + edges[s + 1])) + offsets, at, ridge[:, s])
            for s in range(ridge.shape[1])
        ],
        axis=0,
    )
    return line, _falling(across / max(float(across[REACH - 1 : REACH + 2].max()), 1e-9))


def _falling(profile: Floats) -> Floats:
    """A profile that only falls away from its middle: a neighbour's line is none of its own."""
    left = np.minimum.accumulate(profile[REACH::-1])[::-1]
    right = np.minimum.accumulate(profile[REACH:])
    return np.clip(np.concatenate([left, right[1:]]), 0.0, 1.0)


def _paint(share: Array32, which: NDArray[np.int16], row: Floats, profile: Floats, number: int) -> None:
    rows, columns = share.shape
    offsets = np.arange(-REACH, REACH + 1)
    base = np.floor(row).astype(int)
    for offset in range(-REACH, REACH + 1):
        at = base + offset
        inside = (at >= 0) & (at < rows)
        column = np.arange(columns)[inside]
        value = np.interp(at[inside] + 0.5 - row[inside], offsets, profile)
        stronger = value > np.maximum(share[at[inside], column], 0.05)
        share[at[inside][stronger], column[stronger]] = value[stronger]
        which[at[inside][stronger], column[stronger]] = number


def _ink(contrast: Array32, row: Floats) -> Array32:
    rows = contrast.shape[0]
    column = np.arange(0, row.size, max(1, row.size // 300))
    at = np.clip(np.floor(row[column]).astype(int), 0, rows - 1)
    return np.median(contrast[at, column], axis=0).astype(np.float32)
