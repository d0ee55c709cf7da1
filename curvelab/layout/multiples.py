"""Pumps' curves side by side: shapes in display units, the axes that all of them share, and a plot's pixels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import ceil

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.curve import CurveTable
from curvelab.layout.axes import Axis, head_end, nice_step
from curvelab.model.curvetables import npshr_columns
from curvelab.model.pump import Pump, ReturnTest
from curvelab.studies.pumptest import PumpTest
from curvelab.units import Quantity, System, display_unit

Floats = NDArray[np.float64]
COUNT = 60
"""Points of a drawn curve besides its own. [-]"""
HEAD_ROOM = 1.05
"""Head axis over the greatest head shown. [-]"""
_NONE: Floats = np.empty((2, 0))


@dataclass(frozen=True, slots=True)
class Tested:
    """A test of the pump as a point at the curve's own speed. Display units."""

    flow: float
    head: float
    doubt: float
    """How far the head may lie off, nine times in ten."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Shape:
    """What is drawn of a pump. Flow and value in display units, shape (2, points); no points where nothing is known."""

    head: Floats
    npshr: Floats
    low: Floats
    high: Floats
    """Edges of an estimate's band."""
    points: Floats
    """The digitised points; of an estimate those that were measured."""
    tested: tuple[Tested, ...] = ()
    worn: Floats = field(default_factory=lambda: _NONE)
    """The head curve as the tests found it."""


@dataclass(frozen=True, slots=True)
class Plot:
    """Where things stand in a picture. [px], x right and y down from the picture's upper left corner."""

    width: float
    height: float
    left: float
    right: float
    """Edges of the frame."""
    top: float
    bottom: float
    flow: Axis
    head: Axis

    def x(self, flow: Floats | float) -> Floats:
        """Across. [px]"""
        return self.left + np.asarray(flow, float) / self.flow.end * (self.right - self.left)

    def y(self, head: Floats | float) -> Floats:
        """Down. [px]"""
        return self.bottom - np.asarray(head, float) / self.head.end * (self.bottom - self.top)

    def px(self, curve: Floats) -> Floats:
        """A curve's points, shape (2, points). [px]"""
        return np.stack((self.x(curve[0]), self.y(curve[1])))


def shape_of(
    pump: Pump,
    system: System,
    *,
    tests: Sequence[ReturnTest] = (),
    found: PumpTest | None = None,
    measured: Sequence[tuple[float, float]] = (),
) -> Shape:
    """What is drawn of a pump.

    Parameters
    ----------
    tests, found : optional
        Tests of the pump and what follows from them, reading by reading.
    measured : sequence of (flow, head), optional
        Points that an estimate rests on. [m³/s], [m]
    """
    flow, head = display_unit(Quantity.FLOW, system), display_unit(Quantity.HEAD, system)

    def shown(flow_m3_s: Floats, head_m: Floats) -> Floats:
        if not flow_m3_s.size:
            return _NONE
        between: Floats = np.linspace(float(flow_m3_s[0]), float(flow_m3_s[-1]), COUNT)
        at: Floats = np.unique(np.concatenate((between, flow_m3_s)))
        along: Floats = CurveTable.of([(flow_m3_s, head_m)])(np.zeros(1, np.int64), at[None, :])[0]
        return np.stack((flow.from_si(at), head.from_si(along)))

    points = pump.head
    curve = shown(points.flow_m3_s, points.values_si)
    flows: Floats = np.array([at for at, _ in measured], float) if points.low else points.flow_m3_s
    heads: Floats = np.array([value for _, value in measured], float) if points.low else points.values_si
    return Shape(
        head=curve,
        npshr=shown(*npshr_columns(pump)),
        low=shown(points.flow_m3_s, points.low_m) if points.low else _NONE,
        high=shown(points.flow_m3_s, points.high_m) if points.low else _NONE,
        points=np.stack((flow.from_si(flows), head.from_si(heads))),
        tested=tuple(_tested(pump, tests, found, curve, system)) if found is not None else (),
        worn=_NONE if found is None or found.wear is None else np.stack((curve[0], found.wear * curve[1])),
    )


def _tested(
    pump: Pump, tests: Sequence[ReturnTest], found: PumpTest, curve: Floats, system: System
) -> Iterator[Tested]:
    """Each reading at the curve's own speed: flows go with the speed, and the wear is a share of the head there."""
    flows: list[float] = curve[0].tolist()
    heads: list[float] = curve[1].tolist()
    for test, reading in zip(tests, found.readings, strict=True):
        if reading.wear is None or reading.flow_m3_s is None:
            continue
        ratio = 1.0 if test.speed is None else test.speed.si / pump.speed.si
        flow = display_unit(Quantity.FLOW, system).from_si(reading.flow_m3_s / ratio)
        head = float(np.interp(flow, flows, heads))
        yield Tested(flow, reading.wear * head, (reading.doubt or 0.0) * head)


def common_axes(shapes: Sequence[Shape], system: System) -> tuple[Axis, Axis]:
    """Flow and head axis that hold every shape; the head axis snaps to the ends that the page's charts have."""
    flow = max((float(shape.head[0, -1]) for shape in shapes), default=1.0)
    tops = [float(edge[1].max()) for shape in shapes for edge in (shape.head, shape.npshr, shape.high) if edge.size]
    tops += [tested.head + tested.doubt for shape in shapes for tested in shape.tested]
    step = nice_step(flow / 5.0)
    end = head_end(max(tops, default=1.0) * HEAD_ROOM, metric=system is System.METRIC)
    return Axis(0.0, step * ceil(flow / step - 1e-9), step), Axis(0.0, end, nice_step(end / 5.0))


def sparse(axis: Axis, room_px: float, least_px: float) -> Axis:
    """The same axis with its numbers at least so far apart. [px]"""
    return Axis(axis.low, axis.end, nice_step(axis.end * least_px / room_px))
