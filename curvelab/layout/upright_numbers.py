"""Numbers left of an upright axis: one that a ring on the axis would lie on moves aside, or gives way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from curvelab.layout.axes import Axis, tick_texts
from curvelab.layout.gutter import TICK_PX
from curvelab.layout.text import width_px

POINT_PX = 9.6
"""From the middle of the operating point's ring to its outer edge. [px]"""
GRIP_PX = 6.5
"""From the middle of a handle to its outer edge, with the pointer over the picture. [px]"""
NUMBER_DX = 7.0
"""From a number's end to the axis. [px]"""
_APART = 2.5  # between a number and a ring beside it [px]
_HALF = 0.4 * TICK_PX  # of a digit's height [px]
_NAME_PX = 14.0  # left of the numbers, where the name of the axis stands, turned [px]


@dataclass(frozen=True, slots=True)
class Number:
    """A number that is shown: its tick, and how far left of the axis it ends. [px]"""

    at: float
    text: str
    dx: float


def upright_numbers(
    axis: Axis, unit: str, *, height_px: float, room_px: float, rings: Sequence[tuple[float, float]]
) -> list[Number]:
    """Numbers of an upright axis, the unit on the last one.

    Parameters
    ----------
    height_px : float
        Of the axis. [px]
    room_px : float
        Left of it; the name of the axis stands in it, beside all numbers but the last. [px]
    rings : sequence of (float, float)
        On the axis: where, in its units, and from the middle to the edge [px].
    """
    up = height_px / (axis.end - axis.low)
    shown: list[Number] = []
    for tick, text in zip(axis.ticks, tick_texts(axis.ticks, unit), strict=True):
        beside = [reach for at, reach in rings if abs(at - tick) * up < reach + _HALF]
        dx = max((NUMBER_DX, *(reach + _APART for reach in beside)))
        room = room_px if tick == axis.ticks[-1] else room_px - _NAME_PX
        if not beside or dx + width_px(text, TICK_PX) <= room:
            shown.append(Number(tick, text, dx))
    return shown


def rings_at_rest(
    point: tuple[float, float] | None, foot: float, flow_end: float, plot_px: float
) -> list[tuple[float, float]]:
    """Rings that stand on or beside the head axis: the handle at the system curve's foot, the point with no flow."""
    rings = [(foot, GRIP_PX)]
    if point is not None:
        reach = POINT_PX - point[0] / flow_end * plot_px
        if reach > 0.0:
            rings.append((point[1], reach))
    return rings
