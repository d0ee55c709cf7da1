"""Several pumps on the bench: each by itself as a thin line, and where its name may stand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.axes import Axes
from curvelab.layout.labels import Box, Grid, Wish
from curvelab.layout.lines import Units
from curvelab.layout.placing import Frame, Label, single
from curvelab.layout.words import Forms
from curvelab.studies.curves import Curves

Floats = NDArray[np.float64]

_SHARES: Final = (0.9, 0.7, 0.5, 0.3)
"""Where along a thin line its name may stand."""


@dataclass(frozen=True, slots=True, eq=False)
class Thin:
    """One pump by itself, as far as it lies within the frame. Display units."""

    flow: Floats
    head: Floats
    in_line: bool


def thin_lines(curves: Curves, units: Units, shown: Axes) -> tuple[Thin, ...]:
    """The lines of several pumps; none for a pump alone."""
    found: list[Thin] = []
    for line in curves.pumps:
        flow, head = units.flow.from_si(line.flow_m3_s), units.head.from_si(line.head_m)
        inside = (head <= shown.head.end) & (flow <= shown.flow.end)
        found.append(Thin(flow[inside], head[inside], line.in_line))
    return tuple(found)


def thin_grid(grid: Grid, thin: Iterable[Thin], frame: Frame) -> None:
    """Take the lines."""
    for line in thin:
        grid.line(frame.x(line.flow), frame.y(line.head), pad=1.0)


def thin_labels(thin: Iterable[Thin], words: tuple[Forms, ...], frame: Frame, inner: Box) -> Iterable[Label]:
    """A name for each, under or over its line; equal pumps with equal shares have one."""
    said: set[Forms] = set()
    for number, (line, forms) in enumerate(zip(thin, words, strict=False)):
        if line.flow.size < 2 or forms in said:
            continue
        said.add(forms)
        x, y = frame.x(line.flow), frame.y(line.head)
        wishes: list[Wish] = []
        for rank, share in enumerate(_SHARES):
            at = float(x[0]) + share * float(x[-1] - x[0])
            height = float(np.interp(at, x, y))
            wishes.append(Wish(x=at, y=height - 4.0, corner=(0.5, 1.0), cost=6.0 * rank))
            wishes.append(Wish(x=at, y=height + 4.0, corner=(0.5, 0.0), cost=6.0 * rank + 4.0))
        yield Label(f"pump-{number}", single("pump-note", forms), tuple(wishes), inner, 40.0, ((inner, 70.0),))
