"""Ruled lines of a flat chart: grid, frame and axes, found by their running level or upright across all of it.

They are not rubbed out: where one lies, a curve may pass over it or under it. What is found says how much of a pixel is
ruling, and in what ink, so that a tracer knows what it can't see there.
"""

from __future__ import annotations

from collections.abc import Iterator
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
WIDE_DRIFT: Final = 5
"""As ``DRIFT``, of marks that nothing has put right yet. [px]"""
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
    stray_px: tuple[float, float]
    """How far upright lines stray from being upright, and level ones from being level; 0 where there are none."""

    def without(self, line: int) -> Ruling:
        """All but one line."""
        share = np.where(self.which == line, np.float32(0.0), self.share)
        return replace(self, share=share, which=np.where(self.which == line, np.int16(-1), self.which))


def find_ruling(sheet: Sheet, *, drift: int = DRIFT) -> Ruling:
    """The ruled lines of a sheet, which may lean or bend by ``drift`` pixels to each side."""
    tone = sheet.tone
    high, wide = tone.shape
    share = np.zeros((high, wide), dtype=np.float32)
    which = np.full((high, wide), -1, dtype=np.int16)
    inks: list[Array32] = []
    levels: list[bool] = []
    runs: list[Floats] = []
    strays: list[float] = []
    (left, bottom), (right, top) = sheet.of_paper([[0, 0], [1, 1]])
    for level, start, end, between in ((False, top, bottom, (left, right)), (True, left, right, (top, bottom))):
        image = tone if level else tone.swapaxes(0, 1)
        colour = sheet.contrast if level else sheet.contrast.swapaxes(0, 1)
        ridges = _Ridges.of(image, max(0, int(start)), min(image.shape[1], int(end)))
        strays.append(ridges.stray(*between))
        for row, profile in ridges.lines(image.shape[1], drift):
            own = _ink(colour, row)
            if np.abs(own).max() >= PALEST:
                part, number = (share, which) if level else (share.swapaxes(0, 1), which.swapaxes(0, 1))
                _paint(part, number, row, profile, len(inks))
                inks.append(own)
                levels.append(level)
                runs.append(row)
    ink = np.array(inks, dtype=np.float32).reshape(-1, 3)
    return Ruling(share, which, ink, np.array(levels, dtype=np.bool_), tuple(runs), (strays[0], strays[1]))


@dataclass(frozen=True, slots=True, eq=False)
class _Ridges:
    """What stands out of the rows about it, in each stretch of the axis."""

    ridge: Array32
    """Contrast, shape (rows, stretches)."""
    floor: Floats
    """From where on it counts, shape (stretches,)."""
    middles: Floats
    """Columns in the middle of the stretches. [px]"""

    @classmethod
    def of(cls, tone: Array32, start: int, end: int) -> _Ridges:
        edges = np.linspace(start, end, STRETCHES + 1).astype(int)
        if np.diff(edges).min() < 8:
            return cls(np.zeros((tone.shape[0], 0), dtype=np.float32), np.zeros(0), np.zeros(0))
        ridge = np.stack([tone[:, a:b].mean(axis=1) for a, b in pairwise(edges)], axis=1)
        ridge = np.abs(ridge - ndimage.median_filter(ridge, (15, 1), mode="nearest"))
        floor = np.maximum(4.0 * np.median(ridge, axis=0) / 0.6745, FAINTEST)
        return cls(ridge, floor, 0.5 * (edges[:-1] + edges[1:]))

    def rows(self, drift: int) -> Iterator[int]:
        """Rows where a line may run, the strongest first."""
        if not self.middles.size:
            return
        ridge = self.ridge
        near = ndimage.maximum_filter1d(ridge, 2 * drift + 1, axis=0)
        shown = (near > self.floor).mean(axis=1)
        strength = np.where(shown >= ENOUGH, np.minimum(near, np.median(near, axis=1)[:, None]).mean(axis=1), 0.0)
        strength += 1e-3 * ridge.mean(axis=1) * (strength > 0.0)  # the middle of a plateau
        yield from (row for row in np.argsort(-strength).tolist() if strength[row] > 0.0)

    def places(self, row: int, drift: int) -> tuple[Floats, Floats]:
        """Columns and rows of the ridge near a row, of the stretches that have one."""
        rows = self.ridge.shape[0]
        middles: list[float] = []
        places: list[float] = []
        for stretch, middle in enumerate(self.middles.tolist()):
            low, high = max(0, row - drift - 1), min(rows, row + drift + 2)
            peak = low + int(np.argmax(self.ridge[low:high, stretch]))
            if self.ridge[peak, stretch] < self.floor[stretch]:
                continue
            low, high = max(0, peak - 2), min(rows, peak + 3)
            weight = self.ridge[low:high, stretch]
            places.append(float(weight @ (np.arange(low, high) + 0.5)) / float(weight.sum()))
            middles.append(middle)
        return np.array(middles), np.array(places)

    def lines(self, columns: int, drift: int) -> list[tuple[Floats, Floats]]:
        """Level lines: of each the row that it runs in at every column, and its profile across, 1 at most."""
        found: list[tuple[Floats, Floats]] = []
        along = np.arange(columns, dtype=np.float64) + 0.5
        taken = np.zeros(self.ridge.shape[0], dtype=np.bool_)
        for row in self.rows(drift):
            line = None if taken[row] else self._straight(row, drift)
            if line is None:
                continue
            where = np.polyval(line[0], along).astype(np.float64, copy=False)
            middle = int(np.polyval(line[0], self.middles.mean()))
            if not taken[min(max(middle, 0), taken.size - 1)]:
                found.append((where, line[1]))
            for place in (row, middle):
                taken[max(0, place - drift) : place + drift + 1] = True
        return found

    def _straight(self, row: int, drift: int) -> tuple[Floats, Floats] | None:
        """A straight line through the ridges near a row: its coefficients, and its profile at −6 to 6 pixels."""
        middles, places = self.places(row, drift)
        if len(places) < ENOUGH * self.middles.size:
            return None
        line = np.polyfit(middles, places, 1)
        miss = np.abs(np.polyval(line, middles) - places)
        good = miss <= max(2.5 * float(np.median(miss)), 0.3)
        line = np.polyfit(middles[good], places[good], 1)
        offsets = np.arange(-REACH, REACH + 1)
        at: Floats = np.arange(self.ridge.shape[0]) + 0.5
        across = np.median(
            [
                np.interp(np.polyval(line, middle) + offsets, at, self.ridge[:, stretch])
                for stretch, middle in enumerate(self.middles.tolist())
            ],
            axis=0,
        )
        return line, _falling(across / max(float(across[REACH - 1 : REACH + 2].max()), 1e-9))

    def _alone(self, row: int) -> bool:
        """Whether no other line lies so near that the two could be taken for each other."""
        rows = self.ridge.shape[0]
        near = self.ridge[max(0, row - 2 * WIDE_DRIFT) : min(rows, row + 2 * WIDE_DRIFT + 1)]
        tops = (near == ndimage.maximum_filter1d(near, 5, axis=0)) & (near > 0.4 * near.max(axis=0))
        return bool(np.median(tops.sum(axis=0)) <= 1.0)

    def stray(self, low: float, high: float) -> float:
        """How far lines between two rows lean or bend, nine in ten by no more. [px]

        Places that a curve or a label has moved are told by their jump and left out.
        """
        taken = np.zeros(self.ridge.shape[0], dtype=np.bool_)
        strays: list[float] = []
        for row in self.rows(WIDE_DRIFT):
            near = slice(max(0, row - 2 * WIDE_DRIFT), row + 2 * WIDE_DRIFT + 1)
            if taken[near].any() or not low - DRIFT <= row + 0.5 <= high + DRIFT:
                continue
            taken[row] = True
            middles, places = self.places(row, WIDE_DRIFT)
            if len(places) < ENOUGH * self.middles.size or not self._alone(row):
                continue
            bow = np.polyval(np.polyfit(middles, places, 2), middles)
            miss = np.abs(bow - places)
            good = miss <= max(2.5 * float(np.median(miss)), 0.3)
            bow = np.polyval(np.polyfit(middles[good], places[good], 2), self.middles)
            strays.append(float(np.ptp(bow)))
        return float(np.quantile(strays, 0.9)) if strays else 0.0


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
