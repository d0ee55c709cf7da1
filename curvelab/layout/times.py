"""Geometry and words' places of the picture "how long it takes": levels against time, and what happens on the way.

Display units: the level in feet or metres, the time in minutes, hours or days, whichever suits its whole length.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.axes import Axis, nice_step
from curvelab.layout.labels import Box, Grid, Wish
from curvelab.layout.placing import Frame, Label, Named, framed, place, single, upright, wrapped
from curvelab.layout.sizes import Width
from curvelab.layout.words import Forms
from curvelab.studies.clock import Clock
from curvelab.studies.times import Times
from curvelab.units import Quantity, display_unit

Floats = NDArray[np.float64]

MOST_NAMED: Final = 6
"""Refuels that are named one by one; more of them are marks with one name together. [-]"""
_TICK_PX, _TIME_TICK_PX = 34.0, 80.0
_ROOM: Final = 1.14
"""Level axis over the greatest level shown, and the time axis over its end. [-]"""
_LATER: Final = 1.06
_UNITS: Final = ((90.0 * 60.0, 60.0, "min"), (48.0 * 3600.0, 3600.0, "h"), (np.inf, 86400.0, "days"))
_RING_PX = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TimesSize:
    """Frame of the picture. [px]"""

    width: int
    height: int
    axis: int
    """Left, for the numbers of the level axis."""
    right: int
    """Right, so that the unit at the last number is whole."""


TIMES: Final[dict[Width, TimesSize]] = {
    Width.WIDE: TimesSize(width=600, height=250, axis=46, right=24),
    Width.MEDIUM: TimesSize(width=840, height=230, axis=46, right=24),
    Width.NARROW: TimesSize(width=280, height=220, axis=40, right=20),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TimesWords:
    """All words of the picture; forms longest first."""

    title: Forms
    label: str
    """One sentence that tells what a person would see."""
    source: Forms
    """Name of the line that falls."""
    tank: Forms
    """Name of the line that rises; empty where there is none."""
    low: Forms
    """Of the level at which it ends; empty where there is no line for it."""
    events: tuple[tuple[str, float, Forms], ...]
    """Code, time [s] and words of each event that is named."""
    held: Forms
    """Of the time in which a rate holds the flow back."""
    refuels: Forms
    """Of all refuels together where they are too many to name each."""


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """One line: time across, level up."""

    time: Floats
    level: Floats
    rises: bool


@dataclass(frozen=True, slots=True)
class Mark:
    """An event on a line."""

    code: str
    time: float
    level: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TimesScene:
    """What is drawn, in display units."""

    across: Axis
    up: Axis
    time_unit: str
    level_unit: str
    lines: tuple[Course, ...]
    """The level that is asked for first."""
    marks: tuple[Mark, ...]
    """By time; the last one is the end."""
    low: float | None
    """Level below which it is not pumped."""
    starved: tuple[float, float] | None
    held: tuple[float, float] | None


def time_unit(seconds: float) -> tuple[float, str]:
    """The unit of a time axis of that length: its seconds and its symbol."""
    return next((scale, symbol) for most, scale, symbol in _UNITS if seconds <= most)


def times_scene(found: Times, width: Width, plot_px: tuple[float, float]) -> TimesScene:
    """The picture of a study that has a course, for a frame of ``plot_px`` (width, height)."""
    course = found.course
    assert course is not None  # noqa: S101 - the caller asks only then
    far = display_unit(Quantity.LENGTH, found.setup.units)
    scale, symbol = time_unit(float(course.time_s[-1]))
    lines = tuple(_lines(found, scale))
    top = max(float(np.nanmax(line.level)) for line in lines)
    end = float(course.time_s[-1]) / scale * _LATER
    tick = _TIME_TICK_PX if width is not Width.NARROW else 56.0
    step = nice_step(top * _ROOM * _TICK_PX / plot_px[1])
    ends = course.duration_s is not None
    low = course.final_level_m if course is found.emptied and ends else None
    return TimesScene(
        across=Axis(0.0, end, nice_step(end * tick / plot_px[0])),
        up=Axis(0.0, top * _ROOM, step),
        time_unit=symbol,
        level_unit=far.symbol,
        lines=lines,
        marks=tuple(_marks(found, lines, scale)),
        low=far.from_si(low) if low is not None and low > 0.0 else None,
        starved=_span(course.starved_from_s, float(course.time_s[-1]), scale),
        held=None if course.held_s is None else (course.held_s[0] / scale, course.held_s[1] / scale),
    )


def _lines(found: Times, scale: float) -> Iterable[Course]:
    far = display_unit(Quantity.LENGTH, found.setup.units)
    if found.emptied is not None and found.course is found.emptied:
        yield Course(found.emptied.time_s / scale, far.from_si(found.emptied.level_m), rises=False)
    tank = found.filled
    if tank is not None and tank.time_s.size > 1 and np.isfinite(tank.receiver_level_m).all():
        yield Course(tank.time_s / scale, far.from_si(tank.receiver_level_m), rises=True)


def _span(start: float | None, end: float, scale: float) -> tuple[float, float] | None:
    return None if start is None else (start / scale, end / scale)


def _marks(found: Times, lines: tuple[Course, ...], scale: float) -> Iterable[Mark]:
    """Events on the first line, and where the second one is full."""
    for event in found.events:
        time = event.time_s / scale
        yield Mark(event.code, time, float(np.interp(time, lines[0].time, lines[0].level)))
    tank = next((line for line in lines[1:] if line.rises), None)
    if tank is not None and found.filled is not None and found.filled.ends == "full":
        yield Mark("full", float(tank.time[-1]), float(tank.level[-1]))


def drawable(found: Times) -> bool:
    """Whether there are levels to draw."""
    course: Clock | None = found.course
    if course is None:
        return False
    levels = course.level_m if course is found.emptied else course.receiver_level_m
    return bool(np.isfinite(levels).all()) and float(course.time_s[-1]) > 0.0


def times_names(scene: TimesScene, words: TimesWords, plot_px: tuple[float, float]) -> Named:
    """Words within the picture, the most needed first."""
    frame = framed(scene.across.end, 0.0, scene.up.end, *plot_px)
    return place(_grid(scene, frame), _labels(scene, words, frame), {})


def _grid(scene: TimesScene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    for line in scene.lines:
        grid.line(frame.x(line.time), frame.y(line.level), pad=3.0)
    for mark in scene.marks:
        x, y = float(frame.x(mark.time)), float(frame.y(mark.level))
        grid.take(Box(x - _RING_PX, y - _RING_PX, x + _RING_PX, y + _RING_PX))
        if mark.code == "refuel":
            upright(grid, x, 0.0, 9.0)
    if scene.low is not None:
        y = float(frame.y(scene.low))
        grid.line([0.0, frame.box.right], [y, y], pad=1.0)
    return grid


def _labels(scene: TimesScene, words: TimesWords, frame: Frame) -> Iterable[Label]:
    inner = Box(4.0, 2.0, frame.box.right - 2.0, frame.box.top - 2.0)
    events = {(code, round(time, 6)): forms for code, time, forms in words.events}
    scale = next(scale for _, scale, symbol in _UNITS if symbol == scene.time_unit)
    wanted = [(mark, events.get((mark.code, round(mark.time * scale, 6)), ())) for mark in scene.marks]
    order = sorted(range(len(wanted)), key=lambda at: (wanted[at][0].code in ("refuel", "water"), at))
    ends = [at for at in order if wanted[at][0].code not in ("refuel", "water")]
    for at in (*ends, *(at for at in order if at not in ends)):
        mark, forms = wanted[at]
        if forms:
            yield _event(f"event{at}", mark, forms, frame, inner)
    first = scene.lines[0]
    yield _line_name("source", first, words.source, frame, inner)
    if len(scene.lines) > 1:
        yield _line_name("tank", scene.lines[1], words.tank, frame, inner)
    if scene.low is not None and words.low:
        y = float(frame.y(scene.low))
        wishes = (Wish(x=8.0, y=y - 3.0, corner=(0.0, 1.0)), Wish(x=8.0, y=y + 3.0, cost=6.0))
        yield Label("low", single("band", words.low), wishes, inner, 160.0)
    if scene.held is not None and words.held:
        left, right = (float(frame.x(time)) for time in scene.held)
        wishes = (Wish(x=right - 6.0, y=inner.top - 4.0, corner=(1.0, 1.0)),)
        yield Label("held", single("band", words.held), wishes, Box(left, inner.bottom, right, inner.top), 200.0)
    if words.refuels:
        refuels = [float(frame.x(mark.time)) for mark in scene.marks if mark.code == "refuel"]
        wishes = (Wish(x=0.5 * (refuels[0] + refuels[-1]), y=12.0, corner=(0.5, 0.0)),)
        yield Label("refuels", single("band", words.refuels), wishes, inner, 200.0)


def _event(name: str, mark: Mark, forms: Forms, frame: Frame, inner: Box) -> Label:
    x, y = float(frame.x(mark.time)), float(frame.y(mark.level))
    wishes = (
        Wish(x=x + 9.0, y=y + 5.0),
        Wish(x=x - 9.0, y=y + 5.0, corner=(1.0, 0.0), cost=4.0),
        Wish(x=x, y=y + 11.0, corner=(0.5, 0.0), cost=2.0),
        Wish(x=x - 9.0, y=y - 5.0, corner=(1.0, 1.0), cost=6.0),
        Wish(x=x + 9.0, y=y - 5.0, corner=(0.0, 1.0), cost=6.0),
    )
    kind = "place" if mark.code not in ("refuel", "water", "inflow") else "place-note"
    return Label(name, single(kind, wrapped(forms, kind)), wishes, inner, 40.0, ((inner, 90.0),))


def _line_name(name: str, line: Course, forms: Forms, frame: Frame, inner: Box) -> Label:
    """Beside the line, a third along."""
    time = float(line.time[0] + 0.35 * (line.time[-1] - line.time[0]))
    x = float(frame.x(time))
    y = float(frame.y(float(np.interp(time, line.time, line.level))))
    wishes = (Wish(x=x + 6.0, y=y + 6.0), Wish(x=x - 6.0, y=y - 6.0, corner=(1.0, 1.0), cost=6.0))
    return Label(name, single("water" if not line.rises else "site", forms), wishes, inner, 120.0, ((inner, 300.0),))
