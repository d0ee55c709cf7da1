"""Where the suction gives out and where it has little to spare: one set of rows for chart, gutter and strip."""

from __future__ import annotations

from typing import Any

from bokeh.models import BoxAnnotation, VSpan, VStrip

from curvelab.figures import theme
from curvelab.figures.columns import send
from curvelab.figures.frames import draw, empty
from curvelab.layout.scene import Scene

_DOTTED = [3, 3]


class Regions:
    """Strips of flow, drawn in every frame that shares the flow axis."""

    def __init__(self) -> None:
        self._strips = empty("x0", "x1", "fill", "edge", "hatch")
        self._limit = empty("x")

    def ground(self, plot: Any, *, hatch_alpha: float = 0.34) -> BoxAnnotation:
        """Draw the strips under a frame; the box that comes back keeps clear what lies below its axis."""
        strips = VStrip(
            x0="x0",
            x1="x1",
            fill_color="fill",
            line_color="edge",
            line_dash=[4, 4],
            hatch_pattern="right_diagonal_line",
            hatch_color=theme.SUCT,
            hatch_alpha="hatch",
            hatch_scale=16,
            hatch_weight=1,
        )
        draw(plot, self._strips, strips, level="underlay")
        self._alpha = hatch_alpha
        foot = BoxAnnotation(top=0, fill_color=theme.SHEET, fill_alpha=1, line_color=None, level="underlay")
        plot.add_layout(foot)
        return foot

    def line(self, plot: Any, *, solid: bool) -> None:
        """Draw the limit through a frame."""
        dash: Any = "solid" if solid else _DOTTED
        draw(plot, self._limit, VSpan(x="x", line_color=theme.SUCT, line_width=1.6, line_dash=dash))

    def update(self, scene: Scene) -> None:
        """Move all of them to a new scene."""
        end = scene.axes.flow.end
        rows: list[tuple[float, float, str, str | None, float]] = []
        if scene.margin is not None:
            rows.append((*scene.margin, theme.MARGIN, None, 0.0))
        if scene.doubt is not None:
            rows.append((*scene.doubt, theme.HATCH_GROUND, theme.SUCT, 0.0))
        starved = scene.limit if scene.limit is not None else None if scene.doubt is None else scene.doubt[1]
        if starved is not None and starved < end:
            rows.append((starved, end, theme.HATCH_GROUND, None, self._alpha))
        columns = ("x0", "x1", "fill", "edge", "hatch")
        send(self._strips, **{name: [_short(row[at]) for row in rows] for at, name in enumerate(columns)})
        send(self._limit, x=[] if scene.limit is None else [round(scene.limit, 4)])


def _short(item: Any) -> Any:
    return round(item, 4) if isinstance(item, float) else item
