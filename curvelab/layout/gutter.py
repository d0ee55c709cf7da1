"""Numbers under the chart: ticks, the flow's pill, and who gives way to whom."""

from __future__ import annotations

from dataclasses import dataclass

from curvelab.layout.axes import Axis, tick_texts
from curvelab.layout.text import width_px

TICK_PX = 11.0
PILL_PX = 12.5
PILL_CLEAR = 30.0
"""Ticks nearer to a pill than this give way. [px]"""


@dataclass(frozen=True, slots=True)
class Ticks:
    """Numbers that are shown, and their places. Display units of the axis."""

    at: tuple[float, ...]
    texts: tuple[str, ...]


def flow_ticks(axis: Axis, *, unit: str, plot_px: float, pills: tuple[float, ...], limit: float | None) -> Ticks:
    """Numbers of the flow axis that no pill and no limit line displaces.

    Parameters
    ----------
    unit : str
        Stands at the last number, or alone in its place where that gives way.
    pills, limit : float
        Flows. Display units.
    """
    scale = plot_px / axis.end
    texts = tick_texts(axis.ticks, "")
    kept: list[tuple[float, str]] = []
    for tick, text in zip(axis.ticks, texts, strict=True):
        half = 0.5 * width_px(text, TICK_PX) + 4.0
        if any(abs(tick - pill) * scale < max(PILL_CLEAR, half) for pill in pills):
            continue
        if limit is not None and abs(tick - limit) * scale < half:
            continue
        kept.append((tick, text))
    if unit and kept:
        tick, text = kept[-1]
        kept[-1] = (tick, f"{text} {unit}")
    return Ticks(tuple(tick for tick, _ in kept), tuple(text for _, text in kept))
