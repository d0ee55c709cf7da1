"""How sure the operating point is, on the head chart: a bar along flow, one along head, one on the axis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from bokeh.models import Segment

from curvelab.figures import theme
from curvelab.figures.columns import put, send
from curvelab.figures.frames import draw, empty

_WIDTH_PX: Final = 7.0
_AXIS_PX: Final = 5.0
_FRESH, _OLD = 0.34, 0.12  # opacity: of the present setup, of one that has changed since
_COLUMNS: Final = ("x0", "y0", "x1", "y1", "width")


@dataclass(frozen=True, slots=True)
class Band:
    """The middle eight of ten draws. SI."""

    flow_m3_s: tuple[float, float]
    head_m: tuple[float, float] | None


class BandMark:
    """Drawn under the operating point's ring; empty until it is known."""

    def __init__(self, plot: Any) -> None:
        self._source = empty(*_COLUMNS)
        self._glyph = Segment(
            x0="x0", y0="y0", x1="x1", y1="y1", line_width="width", line_color=theme.PIPE, line_alpha=_FRESH
        )
        draw(plot, self._source, self._glyph)

    def show(self, rows: list[tuple[float, float, float, float, float]], *, old: bool) -> None:
        """Show other bars, each from (x0, y0) to (x1, y1) in display units, with its width [px]."""
        columns = zip(*rows, strict=True) if rows else ((),) * len(_COLUMNS)
        send(self._source, **{name: list(column) for name, column in zip(_COLUMNS, columns, strict=True)})
        put(self._glyph, line_alpha=_OLD if old else _FRESH)


def bars(
    flow: tuple[float, float], head: tuple[float, float] | None, point: tuple[float, float], low: float
) -> list[tuple[float, float, float, float, float]]:
    """Bars of a band in display units around ``point``; ``low`` is the foot of the head axis."""
    rows = [(flow[0], point[1], flow[1], point[1], _WIDTH_PX), (flow[0], low, flow[1], low, _AXIS_PX)]
    return rows if head is None else [*rows, (point[0], head[0], point[0], head[1], _WIDTH_PX)]
