"""Between chart and strip: numbers of the flow axis, the flow's pill, the heading of the strip."""

from __future__ import annotations

from typing import Any

from bokeh.models import Range1d

from curvelab.figures import theme
from curvelab.figures.chalk import ChalkPill
from curvelab.figures.frames import TITLE_PX, Texts, Written, bare
from curvelab.figures.regions import Regions
from curvelab.layout.gutter import PILL_PX, TICK_PX, flow_ticks, pill_places
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.text import fitting
from curvelab.layout.words import BenchWords

_NUMBERS, _UNIT, _TITLE = 10.0, 25.0, 35.0  # below the upper edge [px]


class Gutter:
    """The middle left frame, a pixel of height to a unit."""

    def __init__(self, size: BenchSize, x_range: Range1d, regions: Regions) -> None:
        self._size = size
        self.plot: Any = bare(
            "gutter",
            width=size.axis + size.plot + size.overhang,
            height=size.gutter,
            x_range=x_range,
            y_range=Range1d(0, size.gutter),
            left=size.axis,
            right=size.overhang,
        )
        regions.line(self.plot, solid=False)
        self._texts = Texts(self.plot)
        self._chalked = ChalkPill(self.plot)
        self._pill = Texts(self.plot, ground=theme.INK, padding=(8, 2), radius=9)

    def update(self, scene: Scene, words: BenchWords, unit: str, plot_px: float) -> None:
        """Show another scene; ``unit`` stands after the last number, and may be empty."""
        axis, top = scene.axes.flow, float(self._size.gutter)
        pills = () if scene.flow is None or scene.once else (scene.flow,)
        chalked = self._chalk_pills(scene, words, plot_px)
        ticks = flow_ticks(
            axis,
            unit=unit,
            plot_px=plot_px,
            room_px=self._size.overhang,
            pills=(*pills, *(pill.x for pill in chalked)),
            limit=scene.limit,
        )
        rows = [
            Written(tick, top - _NUMBERS, text, theme.INK_2, TICK_PX, align="center")
            for tick, text in zip(ticks.at, ticks.texts, strict=True)
        ]
        if unit and ticks.unit_dx is not None:
            rows.append(Written(axis.ticks[-1], top - _NUMBERS, unit, theme.INK_2, TICK_PX, dx=ticks.unit_dx))
        elif unit:
            rows.append(Written(axis.end, top - _UNIT, unit, theme.INK_2, TICK_PX, align="right"))
        title = fitting(words.strip_title, plot_px + self._size.overhang, TITLE_PX, bold=True)
        rows.append(Written(0.0, top - _TITLE, title, theme.INK, TITLE_PX, bold=True, plate=1.0))
        self._texts.show(rows)
        self._chalked.show(chalked)
        self._pill.show(
            [
                Written(pill, top - _NUMBERS, words.pill, theme.SHEET, PILL_PX, bold=True, align="center", plate=1.0)
                for pill in pills
                if words.pill
            ],
        )

    def _chalk_pills(self, scene: Scene, words: BenchWords, plot_px: float) -> list[Written]:
        """Those that have room beside the live one."""
        across, top = scene.axes.flow.end / plot_px, float(self._size.gutter)
        flows = [
            (ghost.point[0], said.pill) for ghost, said in zip(scene.ghosts, words.chalks, strict=True) if ghost.point
        ]
        live = [] if scene.flow is None or scene.once else [(scene.flow / across, words.pill)]
        places = pill_places(live, [(flow / across, text) for flow, text in flows], plot_px)
        return [
            Written(x * across, top - _NUMBERS, text, theme.CHALK, PILL_PX, bold=True, align="center", plate=1.0)
            for x, (_, text) in zip(places, flows, strict=True)
            if x is not None and text
        ]
