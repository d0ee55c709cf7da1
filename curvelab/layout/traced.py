"""What is laid over a traced picture, in its own pixels: lines at round numbers, and the trace in pieces."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.axes import nice_step
from curvelab.tracing.axes import Axes
from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.map import Ruler

Floats = NDArray[np.float64]
LINES: Final = 5
"""Least lines of each direction, as far as round numbers give them. [-]"""
BENDS: Final = 9
"""Points of a line; a leaning sheet keeps it straight, a log axis too. [-]"""
GAP: Final = 4.0
"""From where on two neighbouring places are a gap, over the usual distance. [-]"""
MOST: Final = 600
"""Most places of a trace that are drawn. [-]"""


def grid_of(axes: Axes) -> Iterator[Floats]:
    """Upright and level lines at round numbers between the marks, shape (2, 2) each. [px]"""
    flows, values = _round_numbers(axes.flow), _round_numbers(axes.value)
    for flow in flows:
        yield axes.pixels([[flow, axes.value.low], [flow, axes.value.high]])
    for value in values:
        yield axes.pixels([[axes.flow.low, value], [axes.flow.high, value]])


def split(curve: TracedCurve) -> Iterator[tuple[str, Floats]]:
    """The trace in pieces: ``seen``, ``unsure``, or ``gap`` where nothing was seen between two places."""
    pixels, flow = curve.pixels, curve.flow_m3_s
    step = np.hypot(*np.diff(pixels, axis=0).T)
    usual = float(np.median(step)) if step.size else 0.0
    unsure = np.zeros(len(pixels), dtype=np.bool_)
    for doubt in curve.doubts:
        if doubt.to_flow_m3_s - doubt.from_flow_m3_s < 0.9 * float(np.ptp(flow)):  # what holds all along isn't drawn
            unsure |= (flow >= doubt.from_flow_m3_s) & (flow <= doubt.to_flow_m3_s)
    cut = step > max(GAP * usual, 8.0)
    start = 0
    for place in range(1, len(pixels) + 1):
        at_end = place == len(pixels)
        if not at_end and not cut[place - 1] and unsure[place] == unsure[place - 1]:
            continue
        stop = place + (0 if at_end or cut[place - 1] else 1)  # the next piece starts where this one ends
        piece = pixels[start:stop]
        if len(piece) > 1:
            yield ("unsure" if unsure[start] else "seen"), piece[:: max(1, len(pixels) // MOST)]
        if not at_end and cut[place - 1]:
            yield "gap", pixels[place - 1 : place + 1]
        start = place


def _round_numbers(ruler: Ruler) -> list[float]:
    if ruler.log:
        decades = range(int(np.floor(np.log10(ruler.low))), int(np.ceil(np.log10(ruler.high))) + 1)
        numbers = [factor * 10.0**decade for decade in decades for factor in (1.0, 2.0, 5.0)]
    else:
        step = nice_step((ruler.high - ruler.low) / (2 * LINES))
        first = int(np.ceil(ruler.low / step - 1e-9))
        numbers = [place * step for place in range(first, int(np.floor(ruler.high / step + 1e-9)) + 1)]
    inner = [n for n in numbers if ruler.low * (1 - 1e-9) <= n <= ruler.high * (1 + 1e-9)]
    return sorted({ruler.low, *inner, ruler.high})
