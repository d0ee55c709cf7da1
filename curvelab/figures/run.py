"""The run as a figure: made once for a visitor and changed in place."""

from __future__ import annotations

from typing import Any

import numpy as np
from bokeh.models import Range1d

from curvelab.figures import theme
from curvelab.figures.columns import put, send
from curvelab.figures.frames import TEXT_COLUMNS, Written, bare, empty, texts, write
from curvelab.layout.labels import Placed
from curvelab.layout.placing import TYPES, Named
from curvelab.layout.run import Drawing, Floats, drawing
from curvelab.layout.run_names import ARMS, LIFT_DX, run_names
from curvelab.layout.sizes import RUN, Width
from curvelab.layout.words import RunWords
from curvelab.studies.result import Result, State
from curvelab.studies.run import Run
from curvelab.units import System

_ICON = 10.0  # half the width of the pump as drawn [px]


class RunDrawing:
    """Water, pump, hose and outlet to scale, with pressure, vacuum, and hose that could see more than its rating.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``.
    """

    def __init__(self, width: Width, system: System) -> None:
        self.system = system
        self.size = RUN[width]
        self.width_px = float(self.size.width)
        """Width of the frame as the browser has it; as designed before it said so."""
        self.factor = 1
        """How much larger than the lengths the heights are drawn; the page says so where it is not 1."""
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
        self._sources()
        self._draw()
        self.plot.on_change("inner_width", self._measured)

    def _sources(self) -> None:
        self._earth, self._water, self._ground = (empty("x", "y") for _ in range(3))
        self._suction, self._wet, self._dry = (empty("x", "y") for _ in range(3))
        self._empty = empty("x", "y")
        self._pressure = empty("x", "hose", "line", "under")
        self._vacuum = empty("x", "hose", "line")
        self._over = empty("xs", "ys")
        self._strokes = empty("x0", "y0", "x1", "y1", "colour", "dash", "width")
        self._boxes = empty("left", "right", "bottom", "top", "fill", "line")
        self._marks = empty("x", "y", "marker", "size", "fill", "line", "angle")
        self._texts = empty(*TEXT_COLUMNS)

    def _draw(self) -> None:
        plot = self.plot
        plot.patch(x="x", y="y", fill_color=theme.EARTH, line_color=None, source=self._earth)
        plot.patch(x="x", y="y", fill_color=theme.WATER, line_color=None, source=self._water)
        plot.line(x="x", y="y", line_color=theme.EARTH_LINE, line_width=1.2, source=self._ground)
        plot.varea(x="x", y1="hose", y2="line", fill_color=theme.PRESSURE_TINT, source=self._pressure)
        for source, low in ((self._vacuum, "line"), (self._pressure, "under")):
            plot.varea(
                x="x",
                y1=low,
                y2="hose",
                fill_color=theme.HATCH_GROUND,
                hatch_pattern="right_diagonal_line",
                hatch_color=theme.SUCT,
                hatch_alpha=0.45,
                hatch_scale=8,
                source=source,
            )
        plot.line(
            x="x", y="line", line_color=theme.PIPE, line_width=1.8, line_dash=theme.PRESSURE_DASH, source=self._pressure
        )
        for source, colour, width, dash in (
            (self._dry, theme.INK_2, 2.4, theme.DOTTED),
            (self._suction, theme.SUCT, 5.0, "solid"),
            (self._empty, theme.SHEET, 2.4, "solid"),
            (self._wet, theme.PIPE, 5.0, "solid"),
        ):
            plot.line(
                x="x", y="y", line_color=colour, line_width=width, line_dash=dash, line_join="round", source=source
            )
        plot.multi_line(xs="xs", ys="ys", line_color=theme.SHEET, line_width=10, source=self._over)
        plot.multi_line(xs="xs", ys="ys", line_color=theme.ALERT, line_width=4, source=self._over)
        plot.segment(
            x0="x0",
            y0="y0",
            x1="x1",
            y1="y1",
            line_color="colour",
            line_dash="dash",
            line_width="width",
            source=self._strokes,
        )
        plot.quad(
            left="left",
            right="right",
            bottom="bottom",
            top="top",
            fill_color="fill",
            line_color="line",
            line_width=1.4,
            source=self._boxes,
        )
        plot.scatter(
            x="x",
            y="y",
            marker="marker",
            size="size",
            fill_color="fill",
            line_color="line",
            angle="angle",
            line_width=1.6,
            source=self._marks,
        )
        texts(plot, self._texts)

    def update(self, result: Result, run: Run, words: RunWords, *, settled: bool = True) -> None:
        """Show another setup; ``settled`` is False while a slider is being dragged."""
        self._last = (result, run, words)
        shown = drawing(
            result,
            run,
            size=self.size,
            width_px=self.width_px,
            system=self.system,
            held=None if settled else self.factor,
        )
        self.factor = shown.scale.factor
        named = run_names(shown, words, width_px=self.width_px, height_px=float(self.size.height), last=self._places)
        self._places, self.omitted = dict(named.places), named.omitted
        put(self._across, end=self.width_px)
        self._show_lines(shown)
        self._show_strokes(shown, named)
        self._show_boxes(shown)
        self._show_marks(shown)
        write(self._texts, _written(shown, named))
        put(self.plot, html_attributes={"role": "img", "aria-label": words.label})

    def _show_lines(self, shown: Drawing) -> None:
        for source, path in (
            (self._earth, shown.earth),
            (self._water, shown.water),
            (self._ground, shown.ground),
            (self._suction, shown.suction),
            (self._wet, shown.wet),
            (self._dry, shown.dry),
            (self._empty, shown.empty),
        ):
            send(source, x=_tenths(path.x), y=_tenths(path.y))
        known = np.isfinite(shown.line)
        x, hose, line = shown.wet.x[known], shown.wet.y[known], shown.line[known]
        under = np.minimum(line, hose)
        send(self._pressure, x=_tenths(x), hose=_tenths(hose), line=_tenths(line), under=_tenths(under))
        send(self._vacuum, x=_tenths(shown.vacuum.x), hose=_tenths(shown.vacuum.y), line=_tenths(shown.vacuum_line))
        send(self._over, xs=[_tenths(piece.x) for piece in shown.over], ys=[_tenths(piece.y) for piece in shown.over])

    def _show_strokes(self, shown: Drawing, named: Named) -> None:
        pump_x, pump_y = shown.scale.pump_x, shown.scale.pump_y
        rows: list[tuple[Any, ...]] = [
            (0.0, shown.water_y, float(shown.water.x[1]), shown.water_y, theme.WATER_LINE, [], 1.8)
        ]
        rows += [(*tick, theme.ALERT, [], 1.8) for tick in shown.ticks]
        if shown.stand is None and np.isfinite(shown.line[:1]).all():
            rows.append((pump_x, pump_y, pump_x, float(shown.line[0]), theme.INK_2, theme.DOTTED, 1.2))
        low = float(shown.vacuum_line[-1])
        if low < pump_y - 1.0:
            rows.append((pump_x, pump_y, pump_x, low, theme.INK_2, theme.DOTTED, 1.0))
        lift_x = pump_x - LIFT_DX
        rows.append((lift_x, shown.water_y, lift_x, pump_y, theme.LIFT, [], 1.2))
        rows.append((lift_x - 4.0, pump_y, pump_x - _ICON, pump_y, theme.LIFT, theme.DOTTED, 1.0))
        rows.append((*shown.flag, shown.flag[0], shown.flag[1] + 25.0, theme.INK, [], 1.6))
        for _, x, y, high in shown.named:
            over = float(np.interp(x, shown.wet.x, shown.line)) if shown.wet.x.size else np.nan
            if high and np.isfinite(over) and over > y + 4.0:
                rows.append((x, y, x, over, theme.PIPE, theme.DOTTED, 1.0))
            if high:
                rows.append((x, y - 4.0, x, y - 12.0, theme.INK_2, [], 1.0))
        rows += _standing(shown)
        if named.pointer is not None:
            rows.append((*named.pointer, theme.ALERT, [], 1.0))
        rows += _arms(shown, named)
        names = ("x0", "y0", "x1", "y1", "colour", "dash", "width")
        send(self._strokes, **{name: [_tenth(row[index]) for row in rows] for index, name in enumerate(names)})

    def _show_boxes(self, shown: Drawing) -> None:
        x, y = shown.scale.pump_x, shown.scale.pump_y
        rows: list[tuple[Any, ...]] = [
            (x - _ICON, x + _ICON, y - 7.0, y + 6.0, theme.PUMP, theme.SHEET),
            (x - 5.0, x + 5.0, y + 6.0, y + 12.0, theme.PUMP, theme.SHEET),
            (
                shown.suction.x[0] - 7.0,
                shown.suction.x[0] + 4.0,
                shown.suction.y[0] - 4.0,
                shown.suction.y[0] + 4.0,
                theme.SHEET,
                theme.SUCT,
            ),
        ]
        if shown.tank is not None:
            left, bottom, right, top = shown.tank
            rows.append((left, right, bottom, top, theme.SHEET, theme.INK))
            if shown.state in (State.SOUND, State.THIN, State.CAVITATING, State.OFF_CURVE):
                rows.append((left + 1.0, right - 1.0, bottom + 1.0, bottom + 0.55 * (top - bottom), theme.WATER, None))
        names = ("left", "right", "bottom", "top", "fill", "line")
        send(self._boxes, **{name: [_tenth(row[index]) for row in rows] for index, name in enumerate(names)})

    def _show_marks(self, shown: Drawing) -> None:
        flag_x, flag_y = shown.flag
        lift_x, pump_y = shown.scale.pump_x - LIFT_DX, shown.scale.pump_y
        rows: list[tuple[Any, ...]] = [
            (flag_x + 5.5, flag_y + 20.5, "triangle", 10.0, theme.INK, theme.INK, -0.5 * np.pi),
            (
                shown.mark_x,
                shown.water_y + 4.5,
                "inverted_triangle",
                8.0,
                theme.WATER_LINE,
                theme.WATER_LINE,
                0.0,
            ),
        ]
        up = pump_y > shown.water_y
        rows += [
            (lift_x, pump_y - (3.0 if up else -3.0), "triangle", 5.0, theme.LIFT, theme.LIFT, 0.0 if up else np.pi),
            (
                lift_x,
                shown.water_y + (3.0 if up else -3.0),
                "triangle",
                5.0,
                theme.LIFT,
                theme.LIFT,
                np.pi if up else 0.0,
            ),
        ]
        if shown.stand is not None:
            x = shown.stand[1] if shown.state is State.NO_LIFT else shown.stand[0]
            colour = theme.ALERT if shown.state is State.NO_LIFT else theme.SUCT
            rows.append((x, shown.stand[2], "circle", 9.0, theme.SHEET, colour, 0.0))
        names = ("x", "y", "marker", "size", "fill", "line", "angle")
        send(self._marks, **{name: [_tenth(row[index]) for row in rows] for index, name in enumerate(names)})

    def _measured(self, _attr: str, _old: Any, new: int) -> None:
        """The browser has told how wide the frame is: draw for that."""
        self.width_px = float(new)
        if self._last is not None:
            self.update(*self._last)


def _standing(shown: Drawing) -> list[tuple[Any, ...]]:
    """The level that the water reaches, and what is missing."""
    rows: list[tuple[Any, ...]] = []
    if shown.stand is not None:
        start, end, level = shown.stand
        colour = theme.PIPE if shown.state is State.NO_LIFT else theme.ALERT
        dash = theme.PRESSURE_DASH if shown.state is State.NO_LIFT else theme.DOTTED
        rows.append((start, level, end, level, colour, dash, 1.6))
    if shown.short is not None:
        x, low, high = shown.short
        rows.append((x, low, x, high, theme.ALERT, [], 1.6))
        rows.append((x - 4.0, high, x + 4.0, high, theme.ALERT, [], 1.2))
        rows.append((x - 4.0, low, x + 4.0, low, theme.ALERT, [], 1.2))
    return rows


def _corner(named: Named) -> tuple[float, float] | None:
    """Where the two arms of the scale meet."""
    placed = named.places.get(ARMS)
    return None if placed is None else (placed.box.left + 5.0, placed.box.bottom + 8.0)


def _arms(shown: Drawing, named: Named) -> list[tuple[Any, ...]]:
    """The two arms of the scale."""
    corner, measure = _corner(named), shown.measure
    if corner is None:
        return []
    x, y = corner
    right, top = x + measure.across_px, y + measure.up_px
    ends = ((x, y, right, y), (x, y, x, top), (right, y - 3.0, right, y + 3.0), (x - 3.0, top, x + 3.0, top))
    return [(*end, theme.INK_2, [], 1.4) for end in ends]


def _written(shown: Drawing, named: Named) -> list[Written]:
    rows: list[Written] = []
    corner, measure = _corner(named), shown.measure
    if corner is not None:
        x, y, size = corner[0], corner[1], TYPES["scale"].size
        rows.append(Written(x + measure.across_px + 5.0, y, measure.across, theme.INK_2, size))
        if measure.up:
            rows.append(Written(x + 6.0, y + measure.up_px, measure.up, theme.INK_2, size))
    for text in named.texts:
        kind = TYPES[text.kind]
        dry = text.kind == "stands" and shown.state is State.NO_PRIME
        colour = theme.ALERT if dry else theme.TEXT_COLOUR[text.kind]
        rows.append(Written(text.x, text.y, text.text, colour, kind.size, kind.bold, text.align))
    return rows


def _tenth(value: Any) -> Any:
    return round(float(value), 1) if isinstance(value, (float, np.floating)) else value


def _tenths(values: Floats) -> list[float]:
    return [round(float(value), 1) for value in values]
