"""Traced curves in words: from where to where, how far they may be out, and where they weren't sure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from curvelab.errors import Fault
from curvelab.report.pump_form import Choices
from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.frame import AXIS_OF, CurveQuantity
from curvelab.tracing.measure import USUAL_WATER, Measure, is_pressure
from curvelab.tracing.placed import Placed
from curvelab.tracing.pumpfile import doubt_lines
from curvelab.units import Quantity, from_unit

SURE: Final = "Seen all the way."
APART_PX: Final = 2.0
"""From where on it is told how far moved points lie from the line that was seen. [px]"""
QUANTITIES: Final[tuple[tuple[CurveQuantity, str], ...]] = (
    ("head", "Head"),
    ("npshr", "What it needs at its inlet (NPSHR)"),
    ("efficiency", "Efficiency"),
    ("power", "Shaft power"),
)
"""What a curve can show, as a person chooses it."""
UNITS: Final[dict[str, Choices]] = {
    "flow": (
        ("gpm", "US gal/min"),
        ("L/min", "L/min"),
        ("m3/h", "m³/h"),
        ("L/s", "L/s"),
        ("imp gpm", "imperial gal/min"),
        ("gph", "US gal/h"),
        ("imp gph", "imperial gal/h"),
        ("L/h", "L/h"),
        ("ft3/s", "ft³/s"),
    ),
    "head": (("ft", "ft"), ("m", "m"), ("psi", "psi"), ("bar", "bar"), ("kPa", "kPa")),
    "efficiency": (("%", "%"), ("fraction", "0 to 1")),
    "power": (("hp", "hp"), ("kW", "kW"), ("PS", "metric hp")),
}
"""Units that an axis can be printed in: as files spell them, and as they are shown."""


@dataclass(frozen=True, slots=True)
class CurveSaid:
    """What is said of a curve in a picture: its reach, how well it is known, what to look at again."""

    reach: str
    fit: str
    doubts: tuple[str, ...]


def traced_text(curves: Sequence[TracedCurve]) -> str:
    """What ``curvelab trace`` prints without ``--json``: three lines a curve, and one for each doubt."""
    return "\n\n".join(
        "\n".join([f"{curve.name} ({curve.quantity})", *(f"  {line}" for line in traced_lines(curve))])
        for curve in curves
    )


def traced_lines(curve: TracedCurve) -> list[str]:
    """Its reach, how well it fits, and each stretch that isn't sure."""
    flow = curve.flow_m3_s / float(from_unit(1.0, curve.flow_unit, Quantity.FLOW))
    measure = curve.axes.measure
    one = measure.one_si
    value = curve.values_si / one
    reach = (
        f"{flow[0]:.3g} to {flow[-1]:.3g} {curve.flow_unit}, "
        f"{value[0]:.3g} to {value[-1]:.3g} {curve.value_unit}, greatest {np.max(value):.3g}"
    )
    error = curve.error_fraction
    fit = (
        f"seen {curve.rms_px:.2g} px from the line drawn through it (root mean square); "
        f"out by at most {100 * error:.2g} % of the axis, {error * curve.span_si / one:.2g} {curve.value_unit}"
    )
    water = [f"pressures taken as {measure.told}"] if measure.told else []
    return [reach, fit, *water, *(list(doubt_lines([curve])) or [SURE])]


def placed_said(curve: Placed) -> CurveSaid:
    """The same for the page, of points that a person may have moved."""
    flow_unit, value_unit = symbol("flow", curve.axes.flow_unit), symbol(AXIS_OF[curve.quantity], curve.axes.value_unit)
    ends = (f"{_three(value)} {value_unit} at {_three(flow)}" for flow, value in (curve.numbers[0], curve.numbers[-1]))
    reach = f"From {' to '.join(ends)} {flow_unit}.{_as_heads(curve)}"
    moved, count = sum(curve.by_hand), len(curve.by_hand)
    if curve.traced is None:
        return CurveSaid(reach, f"{count} points, placed by hand: nothing says how far out they are.", ())
    traced = curve.traced
    error = traced.error_fraction * traced.span_si / traced.axes.measure.one_si
    fit = f"Out by {_two(error)} {value_unit} at most, {_two(100 * traced.error_fraction)} % of its axis."
    if moved:
        fit = f"{moved} of {count} points placed by hand. Where the trace stands: {fit[0].lower()}{fit[1:]}"
    doubts = list(doubt_lines([traced]))
    if moved and curve.apart_px > APART_PX:
        doubts.append(f"The points now lie up to {curve.apart_px:.0f} px from the line that was seen.")
    return CurveSaid(reach, fit, tuple(doubts))


def _as_heads(curve: Placed) -> str:
    """What pressures come to, in words; nothing of an axis of heads."""
    measure = curve.axes.measure
    if not measure.told:
        return ""
    ends = " to ".join(_three(measure.factor * value) for _, value in (curve.numbers[0], curve.numbers[-1]))
    return f" That is {ends} {measure.written}, as {measure.told}."


PRESSURES: Final = {
    unit: f"Taken as {Measure.of_pressure(unit, USUAL_WATER).told}." for unit, _ in UNITS["head"] if is_pressure(unit)
}
"""What is said beside an axis of pressures, by its unit."""


def point_texts(curve: Placed) -> list[str]:
    """Each point as it is read out: ``180 gal/min, 82.4 ft``."""
    flow, value = symbol("flow", curve.axes.flow_unit), symbol(AXIS_OF[curve.quantity], curve.axes.value_unit)
    return [f"{_three(x)} {flow}, {_three(y)} {value}" for x, y in curve.numbers]


def strip_sentence(curve: TracedCurve) -> str:
    """What the strip of misses shows, for somebody who doesn't see it."""
    return (
        f"How far off the curve the line was seen, along the flow, in pixels of the picture: {curve.rms_px:.2g} "
        f"(root mean square), {np.abs(curve.miss_px).max():.2g} at most."
    )


def symbol(axis: str, unit: str) -> str:
    """A unit as it is shown."""
    return dict(UNITS[axis]).get(unit, unit)


def fault_said(fault: Fault) -> str:
    """A fault about marks, counted from 1 as the page does."""
    text = "; ".join(part for part in (fault.got, fault.right) if part)
    return re.sub(r"mark\.(\d+)", lambda found: f"mark {int(found[1]) + 1}", text)


def _three(number: float) -> str:
    return f"{number:.3g}" if abs(number) < 1000 else f"{number:,.0f}"


def _two(number: float) -> str:
    return f"{number:.2g}"
