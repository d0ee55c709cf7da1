"""A picture of curves and its frame become curves: ``trace`` for one, ``trace_all`` for all of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from curvelab.errors import Fault, InputError
from curvelab.tracing.axes import Axes, axes_of
from curvelab.tracing.branches import branches
from curvelab.tracing.curve import Doubt, TracedCurve
from curvelab.tracing.follow import STEP, Limits, Trail, follow
from curvelab.tracing.frame import (
    AXIS_OF,
    Axis,
    Frame,
    FramedCurve,
    frame_from,
    load_frame,
)
from curvelab.tracing.ink import Ink, ink_of
from curvelab.tracing.line import Line, Stretch, join, rising
from curvelab.tracing.map import Floats
from curvelab.tracing.picture import Picture, Source, open_picture
from curvelab.tracing.ruling import WIDE_DRIFT, Ruling, find_ruling
from curvelab.tracing.seek import seek
from curvelab.tracing.sheet import Sheet, flatten
from curvelab.tracing.snap import WIDE_REACH, off_lines, snap
from curvelab.tracing.start import take_up

LONGEST_GAP: Final = 0.08
"""Longest gap that is bridged, of the longer axis. [-]"""
SHORTEST: Final = 30.0
"""Least length of a line that counts as followed. [px]"""
AXIS_REACH: Final = 8.0
"""Length of line that the axis of flow 0 may hide. [px]"""
TICK: Final = 12.0
"""Length beyond the outermost marks that is taken for an axis' tick, where a line ends in it. [px]"""
PARABOLA: Final = 25
"""Places next to flow 0 that tell the value there. [-]"""
MOST_STRAY: Final = 2.5
"""How far ruled lines may stray from the marks before it is told. [px]"""
SIGMAS: Final = 2.0
"""Standard deviations that ``error_fraction`` covers: 19 times in 20, if clicks miss as assumed. [-]"""

FrameSource = Frame | Mapping[str, Any] | str | Path


def trace(picture: Source, frame: FrameSource, curve: str | None = None) -> TracedCurve:
    """The curve called ``curve`` in the frame, or its first, as the picture shows it.

    Parameters
    ----------
    picture : path, bytes or PIL image
        PNG, JPEG, WebP, GIF or BMP, to 50 million pixels.
    frame : Frame, table or path
        What the axes are, and where known points and the curve lie.
    curve : str
        Its name in the frame.

    Raises
    ------
    InputError
        With every fault of the frame; for a picture that can't be read; where there is no line to follow.
    """
    opened, read = _inputs(picture, frame)
    one = read.named(curve)
    return _traced(_Chart.of(opened, read, AXIS_OF[one.quantity]), read, one)


def trace_all(picture: Source, frame: FrameSource) -> tuple[TracedCurve, ...]:
    """Every curve of the frame, as ``trace`` gives it."""
    opened, read = _inputs(picture, frame)
    charts: dict[Axis, _Chart] = {}
    out: list[TracedCurve] = []
    for one in read.curve:
        axis = AXIS_OF[one.quantity]
        if axis not in charts:
            charts[axis] = _Chart.of(opened, read, axis)
        out.append(_traced(charts[axis], read, one))
    return tuple(out)


def _inputs(picture: Source, frame: FrameSource) -> tuple[Picture, Frame]:
    if isinstance(frame, Mapping):
        frame = frame_from(frame)
    elif not isinstance(frame, Frame):
        frame = load_frame(frame)
    return open_picture(picture), frame


@dataclass(frozen=True, slots=True, eq=False)
class _Chart:
    """A picture laid flat for one axis of values."""

    axes: Axes
    sheet: Sheet
    ruling: Ruling
    limits: Limits
    off_lines: tuple[str, ...]
    """Directions in which no mark lies near a ruled line."""

    @classmethod
    def of(cls, picture: Picture, frame: Frame, axis: Axis) -> _Chart:
        axes = axes_of(frame, axis)
        clicked = np.array([m.pixel for m in frame.marks_of(axis)])
        nought = tuple(-np.inf if ruler.log else float(ruler.share(0.0)) for ruler in (axes.flow, axes.value))
        least = (nought[0], nought[1])
        sheet = flatten(picture.image, axes.paper_map, least=least)
        near, sure = snap(sheet, find_ruling(sheet, drift=WIDE_DRIFT), clicked, reach=WIDE_REACH)
        sheet = flatten(picture.image, axes.moved(near, sure).paper_map, least=least)
        (left, bottom), *_ = sheet.of_paper([np.maximum(nought, -1e3)])
        high, wide = sheet.seen.shape
        limits = Limits(LONGEST_GAP * max(sheet.span_px), float(left), float(bottom), (wide, high))
        ruling = find_ruling(sheet)
        moved, sure = snap(sheet, ruling, near)
        off = off_lines(sheet, ruling, near)
        return cls(axes.moved(moved, sure), sheet, ruling, limits, off)

    def doubts(self) -> Iterator[str]:
        """What its ruled lines say against the marks."""
        if self.off_lines:
            names = " or ".join(self.off_lines)
            yield f"no {names} line of the chart runs through any mark: check them, unless it has none"
        stray = max(self.ruling.stray_px)
        if stray > MOST_STRAY:
            yield f"the chart's lines stray {stray:.0f} px from the marks: check these, or lay the sheet flat"

    def paper_of(self, places: Floats) -> Floats:
        """Places on the paper of places on the sheet, which was laid flat by the marks as they were clicked."""
        return self.axes.paper_map.to_paper(self.sheet.in_picture(places))

    def in_si(self, paper: Floats) -> Floats:
        """Flows and values in SI of places on the paper, both shape (n, 2)."""
        numbers = np.stack([self.axes.flow.value(paper[:, 0]), self.axes.value.value(paper[:, 1])], axis=-1)
        return self.axes.in_si(numbers)


def _traced(chart: _Chart, frame: Frame, curve: FramedCurve) -> TracedCurve:
    place = frame.curve.index(curve)
    found = _followed(chart, curve, f"curve.{place}")
    line = join(found.down, found.up)
    told = [(*sorted([stretch.start[0], stretch.end[0]]),) for stretch in line.doubts]
    further = (
        stretch
        for stretch in branches(found.ink, line, found.width)
        if not any(low <= stretch.end[0] and stretch.start[0] <= high for low, high in told)
    )
    line = replace(line, doubts=(*line.doubts, *further))
    return _in_units(chart, curve, line, found.down)


@dataclass(frozen=True, slots=True, eq=False)
class _Followed:
    """A line as it was followed both ways, in its own ink."""

    down: Trail
    up: Trail
    ink: Ink
    width: float
    """[px]"""

    @property
    def length(self) -> float:
        """Length of line that was clearly seen. [px]"""
        return STEP * sum(not s.crowded for trail in (self.down, self.up) for s in trail.sightings)


def _followed(chart: _Chart, curve: FramedCurve, where: str) -> _Followed:
    """The curve's two trails; by colour alone, those of the piece that can be followed farthest."""
    seeds: list[Floats] = []
    if curve.seed is not None:
        seeds = [chart.sheet.of_picture([curve.seed])[0]]
    elif curve.rgb is not None:
        seeds = _by_colour(chart, curve, f"{where}.colour")
    best: _Followed | None = None
    for seed in seeds:
        try:
            start = take_up(chart.sheet, chart.ruling, seed, curve.rgb)
        except InputError as error:
            if len(seeds) == 1:
                raise error.at(field=f"{where}.seed") from None
            continue
        ink = ink_of(chart.sheet, start.ruling, start.ink)
        found = _Followed(*follow(ink, start, chart.limits), ink, start.profile.width)
        if best is None or found.length > best.length:
            best = found
    if best is None or best.length < SHORTEST:
        got = "the line there can't be followed" if curve.seed else "no line of this colour can be followed"
        raise InputError(Fault("", f"{where}.seed", got, "click where the curve lies alone, clear of other ink"))
    return best


def _by_colour(chart: _Chart, curve: FramedCurve, field: str) -> list[Floats]:
    try:
        return seek(chart.sheet, chart.ruling, curve.rgb or (0, 0, 0))
    except InputError as error:
        raise error.at(field=field) from None


def _in_units(chart: _Chart, curve: FramedCurve, line: Line, down: Trail) -> TracedCurve:
    """The line on the sheet as flows and values."""
    paper = chart.paper_of(line.places)
    error = _error(chart, line, paper)
    moved = chart.sheet.in_picture(line.places + line.normals * line.misses[:, None])
    miss = np.linalg.norm(moved - chart.sheet.in_picture(line.places), axis=1)
    rms_px = float(np.sqrt(np.mean(miss**2)))
    signed = np.copysign(miss, -line.normals[:, 1] * line.misses)  # y of the sheet goes down
    places, doubts = _within(chart, np.column_stack([paper, signed]), down)
    paper = places[:, :2]
    doubts += [Stretch(paper[0], paper[-1], why) for why in chart.doubts()]
    for stretch in line.doubts:
        start, end = chart.paper_of(np.stack([stretch.start, stretch.end]))
        doubts.append(Stretch(start, end, stretch.why))
    flow_m3_s, values_si = chart.in_si(paper).T
    return TracedCurve(
        name=curve.label,
        quantity=curve.quantity,
        flow_m3_s=flow_m3_s,
        values_si=values_si,
        pixels=chart.axes.paper_map.to_pixel(paper),
        rms_px=rms_px,
        error_fraction=error,
        mark_px=chart.axes.paper_map.residual_px,
        axes=chart.axes,
        miss_px=places[:, 2],
        doubts=tuple(_doubt(chart, stretch) for stretch in doubts),
    )


def _doubt(chart: _Chart, stretch: Stretch) -> Doubt:
    ends = chart.in_si(np.stack([stretch.start, stretch.end]))[:, 0]
    return Doubt(max(float(ends.min()), 0.0), max(float(ends.max()), 0.0), stretch.why)


def _within(chart: _Chart, paper: Floats, down: Trail) -> tuple[Floats, list[Stretch]]:
    """Places on the paper with flow rising, without ticks and what lies below 0, from flow 0 where the line reaches it.

    Places and miss go together, shape (n, 3). Also the stretch (on the paper) next to flow 0 that a ruled line hides.
    """
    paper = _without_ticks(paper[rising(paper[:, 0])], TICK / chart.sheet.span_px[0])
    if not chart.axes.value.log:
        paper = paper[paper[:, 1] >= float(chart.axes.value.share(0.0))]
    nought = -np.inf if chart.axes.flow.log else float(chart.axes.flow.share(0.0))
    paper = paper[paper[:, 0] > nought]
    if len(paper) < 2:
        raise InputError(Fault("", "curve", "lies outside the axes", "check the marks, and where the seed is"))
    gap = (paper[0, 0] - nought) * chart.sheet.span_px[0]
    if down.end != "flow 0" or not (gap < AXIS_REACH or down.tail_hidden):  # never so on a log axis
        return paper, []
    along, up, _ = paper[:PARABOLA].T
    value = np.polyfit(along - nought, up, 2 if along.size > 10 else 1)[-1]
    first = np.array([nought, value, 0.0])
    hidden = (
        [Stretch(first[:2], paper[0, :2], f"not seen over {gap:.0f} px, under a ruled line")]
        if gap > AXIS_REACH
        else []
    )
    return np.concatenate([first[None, :], paper]), hidden


def _without_ticks(paper: Floats, tick: float) -> Floats:
    """Cut at the outermost mark where the line ends shortly beyond it."""
    if -tick < paper[0, 0] < 0.0 < paper[-1, 0]:
        paper = paper[paper[:, 0] >= 0.0]
    if 1.0 < paper[-1, 0] < 1.0 + tick:
        inside = paper[paper[:, 0] <= 1.0]
        paper = inside if len(inside) else paper
    return paper


def _error(chart: _Chart, line: Line, paper: Floats) -> float:
    """Greatest error of a value at a flow, of the span of its axis."""
    clicks = chart.axes.paper_map.doubt(paper)
    across = line.normals * line.spread[:, None] / chart.sheet.span_px
    stray = np.array(chart.ruling.stray_px) / chart.sheet.span_px
    along = np.hypot(SIGMAS * np.sqrt(clicks[:, 0, 0] + across[:, 0] ** 2), stray[0])
    up = np.hypot(SIGMAS * np.sqrt(clicks[:, 1, 1] + across[:, 1] ** 2), stray[1])
    order = np.argsort(paper[:, 0])
    x, y = paper[order].T
    beside = np.stack([np.interp(paper[:, 0] + side * along, x, y) - paper[:, 1] for side in (-1.0, 1.0)])
    error = np.hypot(up, np.abs(beside).max(axis=0))
    return float((error * np.maximum(chart.axes.value.steepness(paper[:, 1]), 1.0)).max())
