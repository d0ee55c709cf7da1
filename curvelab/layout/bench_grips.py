"""Handles on the bench: where they stand, and which flow, height or lift a place under the pointer means.

Places are pixels from the upper left corner of the bench, x right and y down; heights are SI.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.grips import LIFT, RISE, Grip, Land, Step
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.model.setup import Setup

Amount = TypeVar("Amount", float, NDArray[np.float64])
FLOW, FOOT, LEVEL = "flow", "foot", "level"
LENGTH = "discharge.leg.0.length"
"""Path of the hose that is made longer or shorter for another flow."""


@dataclass(frozen=True, slots=True)
class Bearings:
    """Where on the bench its axes lie."""

    scene: Scene
    size: BenchSize
    plot_px: float
    """Width of the chart as the browser has it."""

    @property
    def across(self) -> float:
        """Of the flow axis. [px a unit]"""
        return self.plot_px / self.scene.axes.flow.end

    @property
    def up(self) -> float:
        """Of the head axis. [px a unit]"""
        axis = self.scene.axes.head
        return self.size.chart / (axis.end - axis.low)

    @property
    def strip_up(self) -> float:
        """Of the suction axis. [px a unit]"""
        return self.size.strip / self.scene.axes.suction.end

    def x(self, flow: Amount) -> Amount:
        """Of a flow in the unit shown; an array of them likewise."""
        return self.size.axis + flow * self.across

    def flow(self, x: float) -> float:
        """At a pixel, in the unit shown; 0 left of the axis."""
        return max(0.0, (x - self.size.axis) / self.across)

    def y(self, head: Amount) -> Amount:
        """Of a head in the unit shown, on the chart."""
        return self.size.heading + self.size.cap + (self.scene.axes.head.end - head) * self.up

    def strip_y(self, head: Amount) -> Amount:
        """Of a head in the unit shown, on the strip."""
        size = self.size
        top = size.heading + size.cap + size.chart + size.foot + size.gutter
        return top + (self.scene.axes.suction.end - head) * self.strip_up


def bench_grips(at: Bearings) -> tuple[Grip, ...]:
    """Operating point, foot of the system curve and start of the suction curve; no point where no water comes."""
    scene = at.scene
    found = [
        Grip(FOOT, at.x(0.0), at.y(float(scene.lines.live_head[0])), "y"),
        Grip(LEVEL, at.x(0.0), at.strip_y(scene.rest), "y"),
    ]
    if scene.point is not None and scene.flow is not None and not scene.once:
        found.insert(0, Grip(FLOW, at.x(scene.point[0]), at.y(scene.point[1]), "x"))
    return tuple(found)


def highest(setup: Setup) -> str:
    """Path of the height that the system curve starts from: the outlet's, or the highest point's where that is more."""
    heights = {f"discharge.waypoint.{at}.height": point.height.si for at, point in enumerate(setup.discharge.waypoint)}
    heights = {RISE: setup.discharge.rise.si, **heights}
    return max(heights, key=lambda path: heights[path])


def height_of(setup: Setup, path: str) -> float:
    """The height at such a path. [m]"""
    if path == RISE:
        return setup.discharge.rise.si
    return setup.discharge.waypoint[int(path.split(".")[2])].height.si


def bench_dragged(at: Bearings, setup: Setup, key: str, y: float | None, land: Land) -> Mapping[str, float] | None:
    """What a handle of a height held at a pixel makes of the setup, SI by path; ``None`` for one that isn't there."""
    head = at.scene.units.head
    if key == FOOT and y is not None:
        path = highest(setup)
        moved = (at.y(float(at.scene.lines.live_head[0])) - y) / at.up
        return {path: land(path, height_of(setup, path) + moved * head.scale)}
    if key == LEVEL and y is not None:
        moved = (at.strip_y(at.scene.rest) - y) / at.strip_up
        return {LIFT: land(LIFT, setup.suction.lift.si - moved * head.scale)}
    return None


def bench_nudged(setup: Setup, key: str, across: int, up: int, step: Step) -> Mapping[str, float] | None:
    """What arrow keys make of the setup, SI by path: to the right is more flow, and so less hose."""
    if key == FLOW:
        return {LENGTH: step(LENGTH, setup.discharge.leg[0].length.si, -across)}
    if key == FOOT:
        path = highest(setup)
        return {path: step(path, height_of(setup, path), up)}
    if key == LEVEL:
        return {LIFT: step(LIFT, setup.suction.lift.si, -up)}
    return None
