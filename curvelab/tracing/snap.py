"""Marks moved from where they were clicked to the ruled lines that they are meant to lie on."""

from __future__ import annotations

from typing import Final

import numpy as np

from curvelab.tracing.map import CLICK_PX, Floats
from curvelab.tracing.ruling import Ruling
from curvelab.tracing.sheet import Sheet

REACH: Final = 3.0
"""How far from a ruled line a mark is taken to mean it. [px]"""
ALONE: Final = 7.0
"""No other line may lie as near as this. [px]"""
SNAPPED_PX: Final = 0.3
"""Standard deviation of a mark on a ruled line, across that line. [px] Estimate."""


def snap(sheet: Sheet, ruling: Ruling, pixel: Floats) -> tuple[Floats, Floats]:
    """Marks on ruled lines, and how sure each is in x and y of the picture (standard deviations), both shape (n, 2).

    A mark stands on a number of the axis, which on most charts has its line. It is moved across a level line up or
    down, across an upright one left or right, each only where one line is near and no other; else it stays.
    """
    on_sheet = sheet.of_picture(pixel)
    sure = np.full(pixel.shape, CLICK_PX)
    scale = _scale(sheet, on_sheet)
    moved = on_sheet.copy()
    for place, (x, y) in enumerate(on_sheet.tolist()):
        for axis, (along, across) in enumerate(((y, x), (x, y))):
            shift = _to_line(ruling, level=axis == 1, along=along, across=across)
            if shift is not None:
                moved[place, axis] += shift
                sure[place, axis] = SNAPPED_PX * scale[place]
    return sheet.in_picture(moved), sure


def _to_line(ruling: Ruling, *, level: bool, along: float, across: float) -> float | None:
    """From a place to the only ruled line near it; nothing where there is none, or more."""
    shifts = sorted(
        (
            float(run[min(max(int(along), 0), run.size - 1)]) - across
            for run, is_level in zip(ruling.runs, ruling.level, strict=True)
            if is_level == level
        ),
        key=abs,
    )
    if not shifts or abs(shifts[0]) > REACH or (len(shifts) > 1 and abs(shifts[1]) < ALONE):
        return None
    return shifts[0]


def _scale(sheet: Sheet, places: Floats) -> Floats:
    """Pixels of the picture for one of the sheet, at each place."""
    steps = [sheet.in_picture(places + step) - sheet.in_picture(places) for step in ([1.0, 0.0], [0.0, 1.0])]
    return np.sqrt(np.abs(steps[0][:, 0] * steps[1][:, 1] - steps[0][:, 1] * steps[1][:, 0]))
