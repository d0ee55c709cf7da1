"""Where a curve known by its colour alone may be taken up."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy import ndimage

from curvelab.errors import Fault, InputError
from curvelab.tracing.ink import FAINTEST, ink_of
from curvelab.tracing.map import Floats
from curvelab.tracing.ruling import Ruling
from curvelab.tracing.sheet import Sheet
from curvelab.tracing.start import contrast_of

ENOUGH: Final = 0.5
"""Least amount of the colour, over what was asked for. [-]"""
BRIDGE: Final = 5
"""Half the gap between pieces that count as one. [px]"""
SHORTEST: Final = 0.03
"""Least width of such a piece, in spans of the axis of flow. [-]"""
MOST: Final = 4
"""Most pieces that are offered. [-]"""


def seek(sheet: Sheet, ruling: Ruling, rgb: tuple[int, int, int]) -> list[Floats]:
    """Places on lines of a colour, shape (2,) each, those on the widest pieces first.

    Raises
    ------
    InputError
        If the colour is that of the paper, or no line has it.
    """
    (left, bottom), (right, top) = sheet.of_paper([[0.0, 0.0], [1.0, 1.0]])
    high, wide = sheet.seen.shape
    part = (slice(max(0, int(top)), min(high, int(bottom))), slice(max(0, int(left)), min(wide, int(right))))
    paper = np.median(sheet.paper_colour.reshape(-1, 3), axis=0)
    wanted = contrast_of(rgb, paper)
    if float(np.abs(wanted).max()) < FAINTEST:
        raise InputError(Fault("", "", "is the colour of the paper", "pick the colour on the curve itself"))
    ink = ink_of(sheet, ruling, wanted, part)
    shown = (ink.amount * ink.trust > ENOUGH).astype(np.uint8)
    joined = ndimage.maximum_filter(shown, size=2 * BRIDGE + 1)
    pieces, count = ndimage.label(joined)
    found: list[tuple[int, Floats]] = []
    for number, box in enumerate(ndimage.find_objects(pieces, count), start=1):
        width = box[1].stop - box[1].start
        if width < SHORTEST * (right - left):
            continue
        inside = (pieces[box] == number) & (shown[box] > 0)
        columns = np.flatnonzero(inside.any(axis=0))
        column = int(columns[np.argmin(np.abs(columns - width / 2))])
        row = int(np.argmax(np.where(inside[:, column], ink.amount[box][:, column], -1.0)))
        place = [part[1].start + box[1].start + column + 0.5, part[0].start + box[0].start + row + 0.5]
        found.append((width, np.array(place)))
    if not found:
        raise InputError(Fault("", "", "no line has it", "pick the colour on the curve itself, or give a seed"))
    found.sort(key=lambda pair: -pair[0])
    return [place for _, place in found[:MOST]]
