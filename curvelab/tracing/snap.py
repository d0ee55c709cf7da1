"""Marks moved from where they were clicked to the ruled lines that they are meant to lie on."""

from __future__ import annotations

from typing import Final

import numpy as np

from curvelab.tracing.map import CLICK_PX, Floats
from curvelab.tracing.ruling import Ruling
from curvelab.tracing.sheet import Sheet

REACH: Final = 3.0
"""How far from a ruled line a mark is taken to mean it. [px]"""
WIDE_REACH: Final = 8.0
"""The same, of marks that nothing has put right yet. [px]"""
ALONE: Final = 2.4
"""How much farther away the next line must lie. [-]"""
OFF_LINES_PX: Final = 1.5
"""Standard deviation of marks in a direction in which no ruled line tells how they miss. [px] Estimate."""
SNAPPED_PX: Final = 0.3
"""Standard deviation of a mark on a ruled line, across that line. [px] Estimate."""


def snap(sheet: Sheet, ruling: Ruling, pixel: Floats, *, reach: float = REACH) -> tuple[Floats, Floats]:
    """Marks on ruled lines, and how sure each is in x and y of the picture (standard deviations), both shape (n, 2).

    A mark stands on a number of the axis, which on most charts has its line. It is moved across a level line up or
    down, across an upright one left or right, each only where one line is within ``reach`` pixels and no other near;
    else it stays.
    """
    on_sheet = sheet.of_picture(pixel)
    off = off_lines(sheet, ruling, pixel)
    sure = np.tile([OFF_LINES_PX if name in off else CLICK_PX for name in ("upright", "level")], (len(pixel), 1))
    scale = _scale(sheet, on_sheet)
    moved = on_sheet.copy()
    for place, (x, y) in enumerate(on_sheet.tolist()):
        for axis, (along, across) in enumerate(((y, x), (x, y))):
            shift = _to_line(ruling, reach, level=axis == 1, along=along, across=across)
            if shift is not None:
                moved[place, axis] += shift
                sure[place, axis] = SNAPPED_PX * scale[place]
    return sheet.in_picture(moved), sure


def off_lines(sheet: Sheet, ruling: Ruling, pixel: Floats) -> tuple[str, ...]:
    """``upright`` or ``level``, where no mark at all lies near such a ruled line, as on most charts some do."""
    places = sheet.of_picture(pixel).tolist()
    upright = [shift for x, y in places for shift in _shifts(ruling, level=False, along=y, across=x)[:1]]
    level = [shift for x, y in places for shift in _shifts(ruling, level=True, along=x, across=y)[:1]]
    return tuple(
        name for name, shifts in (("upright", upright), ("level", level)) if all(abs(s) > REACH for s in shifts)
    )


def _shifts(ruling: Ruling, *, level: bool, along: float, across: float) -> list[float]:
    """From a place to the ruled lines of a direction, the nearest first."""
    return sorted(
        (
            float(run[min(max(int(along), 0), run.size - 1)]) - across
            for run, is_level in zip(ruling.runs, ruling.level, strict=True)
            if is_level == level
        ),
        key=abs,
    )


def _to_line(ruling: Ruling, reach: float, *, level: bool, along: float, across: float) -> float | None:
    """From a place to the only ruled line near it; nothing where there is none, or more."""
    shifts = _shifts(ruling, level=level, along=along, across=across)
    if not shifts or abs(shifts[0]) > reach or (len(shifts) > 1 and abs(shifts[1]) < ALONE * max(abs(shifts[0]), 3.0)):
        return None
    return shifts[0]


def _scale(sheet: Sheet, places: Floats) -> Floats:
    """Pixels of the picture for one of the sheet, at each place."""
    steps = [sheet.in_picture(places + step) - sheet.in_picture(places) for step in ([1.0, 0.0], [0.0, 1.0])]
    return np.sqrt(np.abs(steps[0][:, 0] * steps[1][:, 1] - steps[0][:, 1] * steps[1][:, 0]))
