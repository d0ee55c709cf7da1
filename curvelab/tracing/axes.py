"""The axes of a picture: numbers at pixels and pixels of numbers, from marks, whatever the picture shows besides."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from curvelab.errors import Fault, InputError
from curvelab.tracing.frame import Axis, Frame
from curvelab.tracing.map import CLICK_PX, Floats, PaperMap, Ruler, fit_map
from curvelab.tracing.measure import Measure
from curvelab.units import Quantity, from_unit

FARTHEST: Final = 3.0
"""How far beyond the marks a place is read, in spans of the axes; from there on a leaning sheet ends somewhere. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Axes:
    """The axis of flow and one of values as they lie in a picture."""

    flow: Ruler
    value: Ruler
    paper_map: PaperMap
    flow_unit: str
    measure: Measure
    """Of the values."""

    @property
    def value_unit(self) -> str:
        """Unit that the axis of values is printed in."""
        return self.measure.unit

    @property
    def span_si(self) -> float:
        """Span of the axis of values, from the least to the greatest mark, SI."""
        return float(self._value_si(self.value.high) - self._value_si(self.value.low))

    def in_units(self, pixels: ArrayLike) -> Floats:
        """Flow and value of pixels, in the units of the axes; both shape (n, 2).

        Raises
        ------
        InputError
            For a place too far beyond the marks.
        """
        pixels = np.atleast_2d(np.asarray(pixels, dtype=np.float64))
        paper = self.paper_map.to_paper(pixels)
        back = self.paper_map.to_pixel(paper)
        far = ~((np.abs(paper - 0.5) <= 0.5 + FARTHEST) & (np.abs(back - pixels) < 1.0)).all(axis=1)
        if far.any():
            place = int(np.flatnonzero(far)[0])
            raise InputError(Fault("", f"points.{place}", "lies too far from the marks", "place it on the chart"))
        return np.stack([self.flow.value(paper[:, 0]), self.value.value(paper[:, 1])], axis=-1)

    def pixels(self, numbers: ArrayLike) -> Floats:
        """Pixels of flows and values in the units of the axes, both shape (n, 2); above 0 only on a log axis."""
        flow, value = np.atleast_2d(np.asarray(numbers, dtype=np.float64)).T
        return self.paper_map.to_pixel(np.stack([self.flow.share(flow), self.value.share(value)], axis=-1))

    def in_si(self, numbers: Floats) -> Floats:
        """Flows and values in SI of such in the units of the axes, both shape (n, 2). [m³/s], …"""
        flow = np.asarray(from_unit(numbers[:, 0], self.flow_unit, Quantity.FLOW))
        return np.stack([flow, self._value_si(numbers[:, 1])], axis=-1)

    def _value_si(self, value: ArrayLike) -> Floats:
        return np.asarray(value, dtype=np.float64) * self.measure.one_si

    def moved(self, pixel: Floats, sure_px: Floats) -> Axes:
        """The same axes by marks at other pixels, with how sure each is; both shape (marks, 2)."""
        return replace(self, paper_map=fit_map(self.paper_map.paper, pixel, sure_px))


def axes_of(frame: Frame, axis: Axis) -> Axes:
    """The axes by the marks of a frame as they were clicked.

    Raises
    ------
    InputError
        If the marks don't tell them.
    """
    marks = frame.marks_of(axis)
    flows, values = [m.flow for m in marks], [float(getattr(m, axis)) for m in marks]
    for name, numbers in (("flow", flows), (axis, values)):
        if min(numbers) == max(numbers):
            raise InputError(Fault("", "mark", f"all have {name} {numbers[0]:g}", "mark both ends of each axis"))
    flow = Ruler.over(flows, log=frame.flow_scale == "log")
    value = Ruler.over(values, log=frame.scale_of(axis) == "log")
    paper = np.stack([flow.share(flows), value.share(values)], axis=-1)
    paper_map = fit_map(paper, np.array([m.pixel for m in marks]), CLICK_PX)
    return Axes(flow, value, paper_map, frame.flow, frame.measure(axis))
