"""The run as a figure: made once for a visitor and changed in place."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

import numpy as np
from bokeh.models import Line, MultiLine, Quad, Range1d, VArea
from bokeh.models.glyphs import Patches

from curvelab.figures import theme
from curvelab.figures.columns import put, send
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, Written, bare, draw, empty, written
from curvelab.layout.labels import Placed
from curvelab.layout.lines import FLOWING
from curvelab.layout.placing import TYPES, Named
from curvelab.layout.run import Drawing, Floats, Path, drawing
from curvelab.layout.run_names import ARMS, LIFT_DX, run_names
from curvelab.layout.scale import carried
from curvelab.layout.sizes import RUN, Width
from curvelab.layout.words import RunWords
from curvelab.studies.result import Result, State
from curvelab.studies.run import Run
from curvelab.units import System

_ICON = 10.0  # half the width of the pump as drawn [px]
_BEHIND, _MOST_DRAWN = 5.0, 3  # pumps side by side, one behind the other [px]
_TICKS = (2, 7)  # dashes of a line so broad that they are ticks across it [px]
_POLE = 25.0  # height of the flag [px]
_PLACES = ("x", "y", "x0", "y0", "x1", "y1")
_Row = TypeVar("_Row", Stroke, Dot, Written)


class RunDrawing:
    """Water, pump, hose and outlet to scale, with pressure, vacuum, and hose that could see more than its rating.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``. ``measured`` as for the bench.
    """

    def __init__(self, width: Width, system: System, measured: Callable[[], None] | None = None) -> None:
        self.system = system
        self.size = RUN[width]
        self.width_px = float(self.size.width)
        """Width of the frame as the browser has it; as designed before it said so."""
        self.shown: Drawing | None = None
        """What is drawn."""
        self.omitted: tuple[str, ...] = ()
        self._places: dict[str, Placed] = {}
        self._last: tuple[Result, Run, RunWords] | None = None
        self._across = Range1d(0, self.size.width)
        self.plot: Any = bare(
            "run",
            width=self.size.width,
            height=self.size.height,
            x_range=self._across,
            y_range=Range1d(0, self.size.height),
            left=0,
            right=0,
        )
        self.plot.sizing_mode = "stretch_width"
        self.root = self.plot
        self._draw()
        self._redraw = measured or self._again
        self.plot.on_change("inner_width", self._measured)

    @property
    def factor(self) -> int:
        """How much larger than the lengths the heights are drawn; the page says so where it is not 1."""
        return 1 if self.shown is None else self.shown.scale.factor

    @property
    def labelled(self) -> Mapping[str, Placed]:
        """Where the labels stand. [px of the frame]"""
        return self._places

    def _draw(self) -> None:
        plot = self.plot
        self._ground = empty("xs", "ys", "fill")
        self._pressure = empty("x", "hose", "line", "under")
        self._vacuum = empty("x", "hose", "line")
        self._hoses = empty("xs", "ys", "colour", "width", "dash")
        draw(plot, self._ground, Patches(xs="xs", ys="ys", fill_color="fill", line_color=None))
        draw(plot, self._pressure, VArea(x="x", y1="hose", y2="line", fill_color=theme.PRESSURE_TINT))
        for source, low in ((self._vacuum, "line"), (self._pressure, "under")):
            vacuum = VArea(
                x="x",
                y1=low,
                y2="hose",
                fill_color=theme.HATCH_GROUND,
                hatch_pattern="right_diagonal_line",
                hatch_color=theme.SUCT,
                hatch_alpha=0.45,
                hatch_scale=8,
            )
            draw(plot, source, vacuum)
        line = Line(x="x", y="line", line_color=theme.PIPE, line_width=1.8, line_dash=theme.PRESSURE_DASH)
        draw(plot, self._pressure, line)
        hoses = MultiLine(
            xs="xs", ys="ys", line_color="colour", line_width="width", line_dash="dash", line_join="round"
        )
        draw(plot, self._hoses, hoses)
        self._strokes = Strokes(plot)
        self._boxes = empty("left", "right", "bottom", "top", "fill", "line")
        boxes = Quad(
            left="left", right="right", bottom="bottom", top="top", fill_color="fill", line_color="line", line_width=1.4
        )
        draw(plot, self._boxes, boxes)
        self._dots = Dots(plot)
        self._texts = Texts(plot)

    def update(self, result: Result, run: Run, words: RunWords, *, settled: bool = True) -> None:
        """Show another setup; ``settled`` is False while a slider is being dragged."""
        held = None
        if not settled and self.shown is not None and self._last is not None:
            held = carried(self.shown.scale, self._last[1], run)
        self._last = (result, run, words)
        shown = drawing(
            result,
            run,
            size=self.size,
            width_px=self.width_px,
            system=self.system,
            held=held,
        )
        self.shown = shown
        named = run_names(shown, words, width_px=self.width_px, height_px=float(self.size.height), last=self._places)
        self._places, self.omitted = dict(named.places), named.omitted
        put(self._across, end=self.width_px)
        self._show_lines(shown)
        strokes = (*_levels(shown), *_marks(shown), *_standing(shown), *_pointer(named), *_arms(shown, named))
        self._strokes.show([_placed(stroke) for stroke in strokes])
        self._show_boxes(shown)
        self._dots.show([_placed(dot) for dot in _dots(shown)])
        self._texts.show([_placed(text) for text in _written(shown, named)])
        if settled:
            put(self.plot, html_attributes={"role": "img", "aria-label": words.label})

    def _show_lines(self, shown: Drawing) -> None:
        areas = ((shown.earth, theme.EARTH), (shown.water, theme.WATER))
        send(
            self._ground,
            xs=[_tenths(path.x) for path, _ in areas],
            ys=[_tenths(path.y) for path, _ in areas],
            fill=[fill for _, fill in areas],
        )
        known = np.isfinite(shown.line)
        x, hose, line = _tenths(shown.wet.x[known]), _tenths(shown.wet.y[known]), _tenths(shown.line[known])
        send(self._pressure, x=x, hose=hose, line=line, under=[min(pair) for pair in zip(hose, line, strict=True)])
        send(
            self._vacuum,
            x=_tenths(shown.suction.x),
            hose=_tenths(shown.suction.y),
            line=_tenths(shown.vacuum_line),
        )
        hoses = _hoses(shown)
        send(
            self._hoses,
            xs=[_tenths(path.x) for path, *_ in hoses],
            ys=[_tenths(path.y) for path, *_ in hoses],
            colour=[colour for _, colour, _, _ in hoses],
            width=[width for _, _, width, _ in hoses],
            dash=[list(dash) for *_, dash in hoses],
        )

    def _show_boxes(self, shown: Drawing) -> None:
        x, y = shown.scale.pump_x, shown.scale.pump_y
        end_x, end_y = float(shown.suction.x[0]), float(shown.suction.y[0])
        behind = [(x + _BEHIND * n, y + _BEHIND * n) for n in range(min(shown.pumps, _MOST_DRAWN) - 1, -1, -1)]
        rows: list[_Box] = [box for place in (*behind, *shown.boosters) for box in _pump(*place)]
        rows += [
            (end_x - 7.0, end_x + 4.0, end_y - 4.0, end_y + 4.0, theme.SHEET, theme.SUCT),
        ]
        if shown.tank is not None:
            left, bottom, right, top = shown.tank
            rows.append((left, right, bottom, top, theme.SHEET, theme.INK))
            if shown.state in FLOWING:
                rows.append((left + 1.0, right - 1.0, bottom + 1.0, bottom + 0.55 * (top - bottom), theme.WATER, None))
        names = ("left", "right", "bottom", "top", "fill", "line")
        send(self._boxes, **{name: [_tenth(row[index]) for row in rows] for index, name in enumerate(names)})

    def _measured(self, _attr: str, _old: Any, new: int) -> None:
        """The browser has told how wide the frame is; none that it hasn't laid out yet."""
        if new <= 0:
            return
        self.width_px = float(new)
        if self._last is not None:
            self._redraw()

    def _again(self) -> None:
        if self._last is not None:
            self.update(*self._last)


_Box = tuple[float, float, float, float, str, str | None]
"""Left, right, bottom and top, fill and edge."""


def _pump(x: float, y: float) -> tuple[_Box, _Box]:
    """A pump with its engine on it."""
    return (
        (x - _ICON, x + _ICON, y - 7.0, y + 6.0, theme.PUMP, theme.SHEET),
        (x - 5.0, x + 5.0, y + 6.0, y + 12.0, theme.PUMP, theme.SHEET),
    )


_Hose = tuple[Path, str, float, Sequence[int]]


def _hoses(shown: Drawing) -> list[_Hose]:
    """Lines with corners, the lowest first: ground, hose, and over it what could burst."""
    rows: list[_Hose] = [(shown.ground, theme.EARTH_LINE, 1.2, ())]
    for path, colour, width, dash in (
        (shown.dry, theme.INK_2, 2.4, theme.DOTTED),
        (shown.suction, theme.SUCT, 5.0, ()),
        (shown.empty, theme.SHEET, 2.4, ()),
        (shown.wet, theme.PIPE, 5.0, ()),
    ):
        if path.x.size:
            rows.append((path, colour, width, dash))
    rows += [(piece, theme.SHEET, 10.0, ()) for piece in shown.over]
    rows += [(piece, theme.ALERT, 4.0, ()) for piece in shown.over]
    rows += [(piece, theme.ALERT, 12.0, _TICKS) for piece in shown.over]
    return rows


def _levels(shown: Drawing) -> list[Stroke]:
    """Water's surface, the lift's arrow, pressure at the pump, vacuum under it."""
    x, y, water = shown.scale.pump_x, shown.scale.pump_y, shown.water_y
    lift_x, low = x - LIFT_DX, float(shown.vacuum_line[-1])
    rows = [
        Stroke(0.0, water, float(shown.water.x[1]), water, theme.WATER_LINE, 1.8),
        Stroke(lift_x, water, lift_x, y, theme.LIFT, 1.2),
        Stroke(lift_x - 4.0, y, x - _ICON, y, theme.LIFT, 1.0, theme.DOTTED),
    ]
    if shown.stand is None and np.isfinite(shown.line[:1]).all():
        rows.append(Stroke(x, y, x, float(shown.line[0]), theme.INK_2, 1.2, theme.DOTTED))
    if low < y - 1.0:
        rows.append(Stroke(x, y, x, low, theme.INK_2, 1.0, theme.DOTTED))
    return rows


def _marks(shown: Drawing) -> list[Stroke]:
    """The flag's pole, and from named heights up to the pressure line."""
    x, y = shown.flag
    rows = [Stroke(x, y, x, y + _POLE, theme.INK, 1.6)]
    for _, at, height, high in shown.named:
        over = float(np.interp(at, shown.wet.x, shown.line)) if shown.wet.x.size else math.nan
        if high and over > height + 4.0:
            rows.append(Stroke(at, height, at, over, theme.PIPE, 1.0, theme.DOTTED))
        if high:
            rows.append(Stroke(at, height - 4.0, at, height - 12.0, theme.INK_2, 1.0))
    return rows


def _standing(shown: Drawing) -> list[Stroke]:
    """The level that the water reaches, and what is missing."""
    rows: list[Stroke] = []
    if shown.stand is not None:
        start, end, level = shown.stand
        dead = shown.state is State.NO_LIFT
        colour, dash = (theme.PIPE, theme.PRESSURE_DASH) if dead else (theme.ALERT, theme.DOTTED)
        rows.append(Stroke(start, level, end, level, colour, 1.6, dash))
    if shown.short is not None:
        x, low, high = shown.short
        rows.append(Stroke(x, low, x, high, theme.ALERT, 1.6))
        rows += [Stroke(x - 4.0, level, x + 4.0, level, theme.ALERT, 1.2) for level in (low, high)]
    return rows


def _pointer(named: Named) -> list[Stroke]:
    return [] if named.pointer is None else [Stroke(*named.pointer, theme.ALERT, 1.0)]


def _dots(shown: Drawing) -> list[Dot]:
    flag_x, flag_y = shown.flag
    lift_x, pump_y, water = shown.scale.pump_x - LIFT_DX, shown.scale.pump_y, shown.water_y
    up, down = ("triangle", "inverted_triangle") if pump_y > water else ("inverted_triangle", "triangle")
    tip = 3.0 if pump_y > water else -3.0
    rows = [
        Dot(flag_x + 5.5, flag_y + _POLE - 4.5, 10.0, theme.INK, theme.INK, marker="triangle", angle=-1.5708),
        Dot(shown.mark_x, water + 4.5, 8.0, theme.WATER_LINE, theme.WATER_LINE, marker="inverted_triangle"),
        Dot(lift_x, pump_y - tip, 5.0, theme.LIFT, theme.LIFT, marker=up),
        Dot(lift_x, water + tip, 5.0, theme.LIFT, theme.LIFT, marker=down),
    ]
    if shown.stand is not None:
        dead = shown.state is State.NO_LIFT
        colour, x = (theme.ALERT, shown.stand[1]) if dead else (theme.SUCT, shown.stand[0])
        rows.append(Dot(x, shown.stand[2], 9.0, theme.SHEET, colour))
    return rows


def _corner(named: Named) -> tuple[float, float] | None:
    """Where the two arms of the scale meet."""
    placed = named.places.get(ARMS)
    return None if placed is None else (placed.box.left + 5.0, placed.box.bottom + 8.0)


def _arms(shown: Drawing, named: Named) -> list[Stroke]:
    """The two arms of the scale."""
    corner, measure = _corner(named), shown.measure
    if corner is None:
        return []
    x, y = corner
    right, top = x + measure.across_px, y + measure.up_px
    ends = ((x, y, right, y), (x, y, x, top), (right, y - 3.0, right, y + 3.0), (x - 3.0, top, x + 3.0, top))
    return [Stroke(*end, theme.INK_2, 1.4) for end in ends]


def _written(shown: Drawing, named: Named) -> list[Written]:
    rows: list[Written] = []
    corner, measure = _corner(named), shown.measure
    if corner is not None:
        x, y, size = corner[0], corner[1], TYPES["scale"].size
        rows.append(Written(x + measure.across_px + 5.0, y, measure.across, theme.INK_2, size))
        if measure.up:
            rows.append(Written(x + 6.0, y + measure.up_px, measure.up, theme.INK_2, size))
    for text in named.texts:
        dry = text.kind == "stands" and shown.state is State.NO_PRIME
        rows.append(written(text, text.x, text.y, colour=theme.ALERT if dry else ""))
    return rows


def _placed(row: _Row) -> _Row:
    """The same with its places in tenths of a pixel: no longer numbers than an eye can use."""
    names = [name for name in row._fields if name in _PLACES]
    return row._replace(**{name: round(getattr(row, name), 1) for name in names})


def _tenth(value: Any) -> Any:
    return round(float(value), 1) if isinstance(value, (float, np.floating)) else value


def _tenths(values: Floats) -> list[float]:
    return [round(float(value), 1) for value in values]
