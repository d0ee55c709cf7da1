"""Numbers under the chart: ticks, the flow's pill, and who gives way to whom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from curvelab.layout.axes import Axis, tick_texts
from curvelab.layout.text import width_px

TICK_PX = 11.0
PILL_PX = 12.5
PILL_CLEAR = 30.0
"""Ticks nearer to a pill than this give way. [px]"""


PILL_AWAY_PX = 22.0
"""A chalked flow's pill stands no farther than this from its own line. [px]"""
_PILL_PAD = 11.0  # of a pill, and free beside it, on each side [px]


@dataclass(frozen=True, slots=True)
class Ticks:
    """Numbers that are shown, and their places. Display units of the axis."""

    at: tuple[float, ...]
    texts: tuple[str, ...]
    unit_dx: float | None
    """From the last tick to the left end of the unit beside its number [px]; None where there is no room for it."""


def pill_places(
    live: Sequence[tuple[float, str]], chalked: Sequence[tuple[float, str]], plot_px: float
) -> list[float | None]:
    """Middles of the chalked flows' pills, clear of the live one and of each other. [px]

    Each moves to the nearest free place; None where that is too far from its line. They choose in the order in which
    most of them have room, and among such orders move least.

    Parameters
    ----------
    live, chalked : sequence of (float, str)
        Where the pill belongs [px], and its figure.
    """
    best: list[float | None] = []
    least = (len(chalked) + 1, 0.0)
    for order in permutations(range(len(chalked))):
        found = _in_turn([(x, _half(text)) for x, text in live], [chalked[at] for at in order], plot_px)
        places = [found[order.index(at)] for at in range(len(chalked))]
        moved = [abs(place - x) for place, (x, _) in zip(places, chalked, strict=True) if place is not None]
        if (len(chalked) - len(moved), sum(moved)) < least:
            best, least = places, (len(chalked) - len(moved), sum(moved))
    return best


def _in_turn(
    taken: list[tuple[float, float]], chalked: Sequence[tuple[float, str]], plot_px: float
) -> list[float | None]:
    """Places of pills that choose one after the other; ``taken``: middles and halves of those that stand."""
    places: list[float | None] = []
    for x, text in chalked:
        half = _half(text)
        wished = [x, *(at + side * (wide + half) for at, wide in taken for side in (-1.0, 1.0))]
        free = [
            place
            for place in wished
            if abs(place - x) <= PILL_AWAY_PX
            and 0.0 <= place <= plot_px
            and all(abs(place - at) >= wide + half - 1e-9 for at, wide in taken)
        ]
        found = min(free, key=lambda place: abs(place - x), default=None)
        places.append(found)
        if found is not None:
            taken.append((found, half))
    return places


def _half(text: str) -> float:
    return 0.5 * width_px(text, PILL_PX, bold=True) + _PILL_PAD


def flow_ticks(
    axis: Axis, *, unit: str, plot_px: float, room_px: float, pills: tuple[float, ...], limit: float | None
) -> Ticks:
    """Numbers of the flow axis that no pill and no limit line displaces.

    Parameters
    ----------
    unit : str
        Of the axis; empty where it stands elsewhere.
    room_px : float
        Beyond the end of the axis. [px]
    pills, limit : float
        Flows. Display units.
    """
    scale = plot_px / axis.end
    kept: list[tuple[float, str]] = []
    half = 0.0
    for tick, text in zip(axis.ticks, tick_texts(axis.ticks, ""), strict=True):
        half = 0.5 * width_px(text, TICK_PX)
        if any(abs(tick - pill) * scale < max(PILL_CLEAR, half + 4.0) for pill in pills):
            continue
        if limit is not None and abs(tick - limit) * scale < half + 4.0:
            continue
        kept.append((tick, text))
    unit_dx = half + 3.0
    end = axis.ticks[-1] * scale + unit_dx
    beside = end + width_px(unit, TICK_PX) <= plot_px + room_px and all(
        pill * scale + PILL_CLEAR < end for pill in pills
    )
    return Ticks(tuple(tick for tick, _ in kept), tuple(text for _, text in kept), unit_dx if beside else None)
