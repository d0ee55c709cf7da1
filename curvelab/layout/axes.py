"""Axes that snap and never slide: ends, ticks and the texts at them, in display units."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curvelab.layout.sizes import Width
from curvelab.units import System, gallon_word

HEAD_ENDS: dict[bool, tuple[float, ...]] = {
    False: (40, 60, 80, 110, 140, 180, 240, 320),  # ft
    True: (12, 18, 25, 35, 45, 55, 75, 100),  # m
}
"""Ends of the head axis, by whether the system is metric; beyond the last the pattern goes on, ten times as large."""
SUCTION_ENDS: dict[bool, tuple[tuple[float, float], ...]] = {
    False: ((34, 10), (44, 10), (56, 20)),  # ft
    True: ((10.5, 3), (13.5, 3), (17, 5)),  # m
}
"""Ends of the suction axis and their steps; the longer ones for a pump below the water."""
HEAD_ROOM = 1.1
"""Head axis over the greatest head shown. [-]"""
FLOW_ROOM = 1.02
"""Flow axis over the last tested flow. [-]"""
HEAD_TICK_PX = 34.0
"""Least distance of two numbers on the head axis. [px]"""


@dataclass(frozen=True, slots=True)
class Axis:
    """From ``low`` to ``end``, a number at every multiple of ``step``. Display units."""

    low: float
    end: float
    step: float

    @property
    def ticks(self) -> tuple[float, ...]:
        """Where numbers stand."""
        first, last = math.ceil(self.low / self.step - 1e-9), math.floor(self.end / self.step + 1e-9)
        return tuple(round(index * self.step, 9) for index in range(first, last + 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the axes must hold. Display units.

    ``head`` greatest of shut-off heads, static heads and points, ``lowest`` foot of the lowest column (0 or less),
    ``flow`` the end of the longest tested curve, ``limit`` the flow at which the suction gives out, ``crossing`` the
    greatest flow of a point, ``suction`` the greatest head of the strip.
    """

    head: float
    lowest: float
    flow: float
    limit: float | None
    crossing: float
    suction: float


@dataclass(frozen=True, slots=True)
class Axes:
    """The three axes of the bench."""

    flow: Axis
    head: Axis
    suction: Axis


def axes(
    wanted: Wanted,
    *,
    system: System,
    width: Width,
    plot_px: tuple[float, float],
    flow_tick_px: float,
    held: Axes | None = None,
) -> Axes:
    """Axes for a picture.

    Parameters
    ----------
    wanted : Wanted
        What they must hold.
    plot_px : tuple of float
        Width and height of the chart. [px]
    flow_tick_px : float
        Least distance of two numbers on the flow axis. [px]
    held : Axes, optional
        The axes now, while a slider is being dragged: an axis then grows where it must, and shrinks only when ``held``
        is left out.
    """
    metric = system is System.METRIC
    end = head_end(wanted.head * HEAD_ROOM, metric=metric)
    if held is not None:
        end = max(end, held.head.end)
    step = nice_step(end * HEAD_TICK_PX / plot_px[1])
    low = 0.0 - step * math.ceil(max(0.0, -wanted.lowest * HEAD_ROOM / step - 1e-9))
    if held is not None and low != 0.0 and held.head.step == step:
        low = min(low, held.head.low)
    step = nice_step((end - low) * HEAD_TICK_PX / plot_px[1])
    flow_end = _flow_end(wanted, width, flow_tick_px / plot_px[0])
    if held is not None:
        flow_end = max(flow_end, held.flow.end)
    flow = Axis(0.0, flow_end, nice_step(flow_end * flow_tick_px / plot_px[0]))
    suction = _suction(max(wanted.suction, held.suction.end if held else 0.0), SUCTION_ENDS[metric])
    return Axes(flow, Axis(low, end, step), suction)


def head_end(least: float, *, metric: bool) -> float:
    """The end of a head axis that holds ``least``. [ft], or [m] where metric"""
    return _step_up(least, HEAD_ENDS[metric])


def nice_step(least: float) -> float:
    """The smallest of 1, 2 and 5 times a power of ten that is not under ``least``."""
    power = 10.0 ** math.floor(math.log10(least)) if least > 0 else 1.0
    return next(round(factor * power, 12) for factor in (1, 2, 5, 10) if factor * power >= least * (1 - 1e-9))


def half_stepped(end: float, step: float) -> Axis:
    """From nought to the first half step that is not under ``end``: numbers stand at the whole steps."""
    return Axis(0.0, 0.5 * step * math.ceil(end / (0.5 * step) - 1e-9), step)


def tick_texts(ticks: tuple[float, ...], unit: str) -> tuple[str, ...]:
    """Numbers for ticks; the unit stands on the last one only."""
    texts = [f"{tick:,g}".replace("-", "−") for tick in ticks]
    if texts and unit:
        texts[-1] = f"{texts[-1]} {unit}"
    return tuple(texts)


def flow_unit(symbol: str, system: System) -> str:
    """Unit of the flow axis, with the kind of gallon before it."""
    word = gallon_word(system)
    return f"{word} {symbol}" if word else symbol


def _step_up(least: float, ends: tuple[float, ...]) -> float:
    scale = 1.0
    while least > ends[-1] * scale * (1 + 1e-9):
        scale *= 10.0
        later = [end * scale for end in ends if end * scale > ends[-1] * scale / 10.0]
        if least <= later[-1]:
            return next(end for end in later if least <= end * (1 + 1e-9))
    return next(end for end in ends if least <= end * (1 + 1e-9))


def _flow_end(wanted: Wanted, width: Width, tick_share: float) -> float:
    """End of the flow axis, up to the next 10, or half step where it stops short of the curve's end."""
    whole = 10.0 * math.ceil(wanted.flow * FLOW_ROOM / 10.0 - 1e-9)
    if width is Width.WIDE or wanted.limit is None:
        return whole
    least = wanted.limit * (1.45 if width is Width.MEDIUM else 1.3)
    least = max(least, 1.3 * wanted.crossing)
    half = 0.5 * nice_step(least * tick_share)
    return min(whole, half * math.ceil(least / half - 1e-9))


def _suction(least: float, ends: tuple[tuple[float, float], ...]) -> Axis:
    for end, step in ends:
        if least <= end * (1 + 1e-9):
            return Axis(0.0, end, step)
    end, step = ends[-1]
    factor = math.ceil(least / end)
    return Axis(0.0, end * factor, step * factor)
