"""Traced curves as digitised points, and as a pump's file in which a person writes the rest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import floor, log10
from pathlib import PurePath
from typing import Any, Final

import numpy as np

from curvelab.errors import Fault, InputError, echo
from curvelab.hydraulics.curve import CurveTable
from curvelab.model.pump import FORMAT, Pump
from curvelab.model.written import to_toml
from curvelab.tracing.axes import Axes
from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.frame import CurveQuantity
from curvelab.tracing.map import Floats
from curvelab.units import Quantity, from_unit, parse

FEWEST: Final = 8
"""Least points of a thinned curve. [-]"""
MOST: Final = 24
"""Most points of it. [-]"""
SHARE_OF_ERROR: Final = 0.5
"""What thinning may cost, of the curve's own error. [-]"""
GRAIN: Final = 0.1
"""What rounding may cost, of the curve's own error. [-]"""
_PLACEHOLDERS: Final = {"kind": "clear-water", "speed": "3600 rpm"}
"""What stands where nobody has said; the pump's name then tells that it is not yet checked."""
_TRACED: Final[tuple[CurveQuantity, ...]] = ("head", "npshr", "efficiency", "power")
_UNTOLD: Final = (
    "inlet",
    "outlet",
    "solids",
    "priming_lift",
    "housing",
    "casing_pressure",
    "mass",
    "engine",
    "carries",
    "never",
)
"""Fields of a pump that no picture of its curve tells."""


def thinned(curve: TracedCurve) -> tuple[tuple[float, float], ...]:
    """8 to 24 points of a traced curve, in the units of its axes, through which a PCHIP stays within its error.

    Points are added where the PCHIP lies farthest from the trace, until thinning costs less than half of the curve's
    error; numbers are rounded to what that error means.
    """
    x, y = curve.flow_m3_s, curve.values_si
    wanted = SHARE_OF_ERROR * max(curve.error_fraction, 1e-4) * curve.span_si
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x) / np.ptp(x), np.diff(y) / curve.span_si))])
    chosen = {int(np.argmin(np.abs(along - share * along[-1]))) for share in np.linspace(0.0, 1.0, FEWEST)}
    while len(chosen) < min(MOST, x.size):
        miss = np.abs(_through(x, y, sorted(chosen)) - y)
        if miss.max() <= wanted:
            break
        miss[sorted(chosen)] = -1.0
        chosen.add(int(np.argmax(miss)))
    at = sorted(chosen)
    one = float(from_unit(1.0, curve.flow_unit, Quantity.FLOW))
    flow = _rounded(x[at], one, GRAIN * curve.error_fraction * float(np.ptp(x)))
    value = _rounded(y[at], curve.axes.measure.one_si, GRAIN * curve.error_fraction * curve.span_si)
    rising = [i for i in range(len(at)) if i == 0 or flow[i] > flow[i - 1]]
    return tuple((flow[i], value[i]) for i in rising)


def _through(x: Floats, y: Floats, at: list[int]) -> Floats:
    return CurveTable.of([(x[at], y[at])])(np.zeros(1, dtype=np.int64), x[None, :])[0]


def _rounded(si: Floats, one_si: float, grain_si: float) -> list[float]:
    """SI values in a unit, to the decimals that a step of ``grain_si`` means."""
    decimals = max(0, -floor(log10(max(grain_si / one_si, 1e-9))))
    return [round(value, decimals) for value in (si / one_si).tolist()]


def heads_of(curves: Sequence[TracedCurve], name: str | None = None) -> tuple[TracedCurve, ...]:
    """The curves of head, each a pump's or a speed's; the one of that name alone where one is given.

    Raises
    ------
    InputError
        If there is none, or none of that name.
    """
    heads = tuple(curve for curve in curves if curve.quantity == "head")
    if name is None and heads:
        return heads
    found = tuple(curve for curve in heads if curve.name == name)
    if not found:
        names = [curve.name for curve in heads]
        got = "has no curve of head" if name is None else f'no curve of head is called "{echo(name)}"'
        raise InputError(Fault("", "curve", got, f"there is {', '.join(map(echo, names)) or 'none'}"))
    return found


def with_its_own(head: TracedCurve, curves: Sequence[TracedCurve]) -> tuple[TracedCurve, ...]:
    """A curve of head and what belongs to it: the curves that are named after it; where none is, the nameless first.

    Of efficiency and power, which give each other, the first.
    """
    own = [head]
    for kinds in (("npshr",), ("efficiency", "power")):
        rest = [curve for curve in curves if curve.quantity in kinds]
        named = [curve for curve in rest if head.name in curve.name]
        others = [one.name for one in curves if one.quantity == "head" and one is not head]
        free = [curve for curve in rest if not any(name in curve.name for name in others)]
        own += (named or free)[:1]
    return tuple(own)


def pump_from_traces(table: Mapping[str, Any], curves: Sequence[TracedCurve], *, picture: str, frame: str = "") -> Pump:
    """A pump whose curves are traced.

    Parameters
    ----------
    table : mapping
        The rest of the pump's file; ``id`` at least. Where ``kind`` or ``speed`` is left out a placeholder stands, and
        the pump's name says that it is not yet checked; a speed that is the head curve's name counts as known.
    curves : sequence of TracedCurve
        One of head; of NPSHR, and of efficiency or power, one at most.
    picture, frame : str
        What they were traced from, as the pump's file shall name it.

    Returns
    -------
    Pump
        With a source that names the picture and the error. ``to_toml`` writes it.

    Raises
    ------
    InputError
        Without a curve of head, with two of a quantity, or with what is wrong in the table.
    """
    own = {curve.quantity: curve for curve in curves}
    if len(own) < len(curves) or "head" not in own:
        got = f"{', '.join(curve.quantity for curve in curves) or 'none'}"
        raise InputError(
            Fault("", "curve", f"curves of {got}", "a pump has one of head, and one at most of each other")
        )
    given = [name for name in _TRACED if name in table]
    if given:
        raise InputError(Fault("", name, "is given by the trace", "leave it out") for name in given)
    rest = {"format": FORMAT, **table}
    speed = speed_named(own["head"].name)
    if speed:
        rest.setdefault("speed", speed)
    unknown = [name for name in _PLACEHOLDERS if name not in rest]
    if unknown:
        rest |= {name: _PLACEHOLDERS[name] for name in unknown}
        rest["name"] = f"{rest.get('name', rest.get('id', ''))} ({' and '.join(unknown)} not yet checked)"
    water = stated_water([curve.axes for curve in curves])
    rest.setdefault("source", f"traced from {PurePath(picture).name}, {stated_errors(curves)}{water}")
    for curve in curves:
        rest[curve.quantity] = _points(curve, picture, frame)
    return Pump.model_validate(rest)


def to_pump_file(pump: Pump, curves: Sequence[TracedCurve]) -> str:
    """The file of a pump made of traces as TOML text, headed by what was not sure and what is still to be written."""
    notes = [*doubt_lines(curves), f"Still to be written, as far as known: {', '.join(untold(pump))}."]
    return "".join(f"# {echo(note, 240)}\n" for note in notes) + to_toml(pump)


def speed_named(name: str) -> str:
    """A curve's name where that is a speed; nothing otherwise."""
    try:
        parse(name, Quantity.ROTATION)
    except InputError:
        return ""
    return name


def _points(curve: TracedCurve, picture: str, frame: str) -> dict[str, Any]:
    axis = "head" if curve.quantity == "npshr" else curve.quantity
    measure = curve.axes.measure
    points: dict[str, Any] = {"flow": curve.flow_unit, axis: measure.written, "points": measure.in_file(thinned(curve))}
    points |= {name: text for name, text in (("picture", picture), ("frame", frame)) if text}
    return points


def stated_errors(curves: Sequence[TracedCurve]) -> str:
    """``head to 0.4 % of its axis (0.4 ft)``, for every curve."""
    return ", ".join(
        f"{curve.quantity} to {100.0 * curve.error_fraction:.2g} % of its axis "
        f"({curve.error_fraction * curve.span_si / curve.axes.measure.one_si:.2g} {curve.value_unit})"
        for curve in curves
    )


def stated_water(axes: Sequence[Axes]) -> str:
    """``, its pressures as heads of water at 20 degC, 2.31 ft a psi`` where an axis shows pressures, else nothing."""
    told = next((one.measure.told for one in axes if one.measure.told), "")
    return f", its pressures as {told}" if told else ""


def doubt_lines(curves: Sequence[TracedCurve]) -> Iterator[str]:
    """``Not sure of head from 120 to 130 gpm: why.``, for every stretch of every curve."""
    for curve in curves:
        flow = float(from_unit(1.0, curve.flow_unit, Quantity.FLOW))
        for doubt in curve.doubts:
            low, high = doubt.from_flow_m3_s / flow, doubt.to_flow_m3_s / flow
            yield f"Not sure of {curve.quantity} from {low:.4g} to {high:.4g} {curve.flow_unit}: {doubt.why}."


def untold(pump: Pump) -> list[str]:
    """Fields of a pump that no picture of its curve tells and nobody has written yet."""
    return [name for name in _UNTOLD if getattr(pump, name) in (None, ())]
