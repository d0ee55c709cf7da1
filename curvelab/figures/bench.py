"""The bench: six frames that meet exactly, made once for a visitor and changed in place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from html import escape
from typing import Any

from bokeh.models import Column, Div, Range1d, Row

from curvelab.figures import theme
from curvelab.figures.band import Band, bars
from curvelab.figures.chart import Chart
from curvelab.figures.columns import put
from curvelab.figures.frames import TITLE_PX
from curvelab.figures.gutter import Gutter
from curvelab.figures.regions import Regions
from curvelab.figures.stack import ChalkColumn, Spacer, Stack
from curvelab.figures.strip import Strip
from curvelab.layout.axes import Axis, flow_unit
from curvelab.layout.chart_names import chart_names
from curvelab.layout.ghosts import Chalked
from curvelab.layout.labels import Placed
from curvelab.layout.scene import Scene, scene
from curvelab.layout.sizes import BENCH, Width
from curvelab.layout.strip_names import strip_names
from curvelab.layout.text import width_px, wrap
from curvelab.layout.words import BenchWords
from curvelab.studies.curves import Curves
from curvelab.studies.result import Result
from curvelab.units import System

_BREAK = "\n"
_FILL = ":host .bk-clearfix { display: block; width: 100%; }"


class Bench:
    """Head chart, ledger, suction strip and budget of the live setup.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``, so that all of it is one message.

    Parameters
    ----------
    width : Width
        How the page is laid out.
    system : System
        Units of the axes.
    measured : callable, optional
        Called when the browser has told how wide the chart is, and then updates the bench; it does so itself where left
        out.
    """

    def __init__(self, width: Width, system: System, measured: Callable[[], None] | None = None) -> None:
        self.width, self.system = width, system
        self.size = size = BENCH[width]
        self.omitted: tuple[str, ...] = ()
        """Labels that found no room in the last picture."""
        self.plot_px = float(size.plot)
        """Width of the chart as the browser has it; as designed before it said so."""
        self.scene: Scene | None = None
        """What is shown."""
        self._places: tuple[dict[str, Placed], dict[str, Placed]] = ({}, {})
        self._last: tuple[Result, Curves, BenchWords, Sequence[Chalked]] | None = None
        self._flow = Range1d(0, 1)
        self._heads, self._suction = Range1d(0, 1), Range1d(0, 1)
        across = Range1d(0, size.ledger)
        self._regions = Regions()
        self.chart = Chart(size, self._flow, self._heads, self._regions)
        self.gutter = Gutter(size, self._flow, self._regions)
        self.strip = Strip(size, self._flow, self._suction, self.chart.ticks, self._regions)
        self.ledger = Stack("ledger", size, size.chart, across, self._heads, cap=size.cap, led=True)
        self.budget = Stack("budget", size, size.strip, across, self._suction)
        self.spacer = Spacer(size)
        self._titles = Div(sizing_mode="stretch_width", height=size.heading, margin=0, stylesheets=[_FILL])
        self._ledger_title = Div(width=size.ledger, height=size.heading, margin=0, stylesheets=[_FILL])
        self._sentence = Div(
            sizing_mode="stretch_width", height=size.sentence, margin=0, visible=size.sentence > 0, stylesheets=[_FILL]
        )
        self.root = self._assemble()
        self._redraw = measured or self._again
        self.chart.plot.on_change("inner_width", self._measured)

    @property
    def words(self) -> BenchWords | None:
        """What is written on it."""
        return None if self._last is None else self._last[2]

    @property
    def labelled(self) -> tuple[Mapping[str, Placed], Mapping[str, Placed]]:
        """Where the labels of chart and strip stand. [px of their frames]"""
        return self._places

    def _assemble(self) -> Any:
        for left in (self.chart, self.gutter, self.strip):
            left.plot.sizing_mode = "stretch_width"
        rows = (
            (self._titles, self._ledger_title) if self.size.names else (self._titles,),
            (self.chart.plot, self.ledger.plot),
            (self.gutter.plot, self.spacer.plot),
            (self.strip.plot, self.budget.plot),
        )
        made = [Row(children=list(row), spacing=0, sizing_mode="stretch_width") for row in rows]
        return Column(children=[*made, self._sentence], spacing=0, sizing_mode="stretch_width", name="bench")

    def update(
        self,
        result: Result,
        curves: Curves,
        words: BenchWords,
        chalked: Sequence[Chalked] = (),
        *,
        settled: bool = True,
    ) -> None:
        """Show another result.

        Parameters
        ----------
        curves : Curves
            Of the same setup.
        chalked : sequence of Chalked
            Setups shown beside it; ``words.chalks`` has words for each.
        settled : bool
            False while a slider is being dragged: axes then only grow, and a screen reader is told nothing yet.
        """
        self._last = (result, curves, words, chalked)
        shown = scene(
            result,
            curves,
            system=self.system,
            width=self.width,
            size=self.size,
            plot_px=self.plot_px,
            held=None if settled else self.scene,
            chalked=chalked,
        )
        self.scene = shown
        self._show(shown, words)
        if settled:
            self._describe(words)

    def _show(self, shown: Scene, words: BenchWords) -> None:
        plot_px = self.plot_px
        on_chart = chart_names(shown, words, size=self.size, plot_px=plot_px, last=self._places[0])
        on_strip = strip_names(shown, words, size=self.size, plot_px=plot_px, last=self._places[1])
        self._places = (dict(on_chart.places), dict(on_strip.places))
        self.omitted = (*on_chart.omitted, *on_strip.omitted)
        axes = shown.axes
        put(self._flow, end=axes.flow.end)
        self._stretch(self._heads, axes.head, self.size.chart, self.size.cap)
        self._stretch(self._suction, axes.suction, self.size.strip, 0)
        self._regions.update(shown)
        self.chart.update(shown, on_chart, words, plot_px)
        unit = flow_unit(shown.units.flow.symbol, self.system) if self.width is Width.WIDE else ""
        self.gutter.update(shown, words, unit, plot_px)
        self.strip.update(shown, on_strip, plot_px)
        pairs = list(zip(shown.ghosts, words.chalks, strict=True))
        heads = [ChalkColumn(g.ledger, said.ledger, g.point[1] if g.point else None) for g, said in pairs]
        self.ledger.update(shown, shown.ledger, words.ledger, axes.head, heads)
        pushes = [ChalkColumn(ghost.budget, said.budget) for ghost, said in pairs]
        self.budget.update(shown, shown.budget, words.budget, axes.suction, pushes)
        self.spacer.update(words)
        self._head(shown, words)

    def show_band(self, band: Band | None, *, old: bool) -> None:
        """How sure the point is, around it; ``old``: of a setup that has changed since. Comes after ``update``."""
        shown, rows = self.scene, []
        if band is not None and shown is not None and shown.point is not None and shown.flow is not None:
            flow = tuple(shown.units.flow.from_si(value) for value in band.flow_m3_s)
            head = band.head_m and tuple(shown.units.head.from_si(value) for value in band.head_m)
            rows = bars(flow, head, shown.point, shown.axes.head.low)
        self.chart.band.show(rows, old=old)

    def _stretch(self, shown: Range1d, axis: Axis, height: int, cap: int) -> None:
        """The axis, and a little above and below it."""
        unit = (axis.end - axis.low) / height
        put(shown, start=axis.low - self.size.foot * unit, end=axis.end + cap * unit)

    def _head(self, shown: Scene, words: BenchWords) -> None:
        """Headings, and the sentence where it stands below."""
        size, note = self.size, words.chart_note
        if self.width is not Width.WIDE:
            note = f"flow in {flow_unit(shown.units.flow.symbol, self.system)}"
        room = self.plot_px - width_px(words.chart_title, TITLE_PX, bold=True) - 12.0
        put(self._titles, text=_heading(words.chart_title, size.axis, note if width_px(note, 12.5) <= room else ""))
        put(self._ledger_title, text=_heading(self._ledger_words(words), size.gap, ""))
        colour = theme.SUCT_TEXT if shown.limit is not None else theme.INK
        text = f'<p style="margin:4px 8px;font:13px/1.3 {theme.FONT};color:{colour}">{escape(words.sentence)}</p>'
        if size.sentence:
            put(self._sentence, text=text)

    def _ledger_words(self, words: BenchWords) -> str:
        """Heading of the ledger, in two lines of like length where one has no room."""
        title = words.ledger.title[0] if words.ledger.title and self.size.names else ""
        room = self.size.ledger - self.size.gap
        return title if width_px(title, TITLE_PX, bold=True) <= room else wrap(title, 2, TITLE_PX, bold=True)

    def _describe(self, words: BenchWords) -> None:
        """What a screen reader says of each picture."""
        for plot, label in (
            (self.chart.plot, words.chart_label),
            (self.strip.plot, words.strip_label),
            (self.ledger.plot, words.ledger.label),
            (self.budget.plot, words.budget.label),
        ):
            put(plot, html_attributes={"role": "img", "aria-label": label})

    def _measured(self, _attr: str, _old: Any, new: int) -> None:
        """The browser has told how wide the chart is; none that it hasn't laid out yet."""
        if new <= 0:
            return
        self.plot_px = float(new)
        if self._last is not None:
            self._redraw()

    def _again(self) -> None:
        if self._last is not None:
            self.update(*self._last)


def _heading(text: str, left: int, note: str) -> str:
    aside = f'<span style="font-weight:400;font-size:12.5px;color:{theme.INK_2}">{escape(note)}</span>' if note else ""
    style = f"display:flex;justify-content:space-between;margin:8px 0 0 {left}px"
    style += f";font:700 13px {theme.FONT};color:{theme.INK}"
    return f'<h3 style="{style}">{escape(text).replace(_BREAK, "<br>")}{aside}</h3>'
