"""Words of the run, each in its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from curvelab.layout.labels import Box, Grid, Placed, Request, Wish
from curvelab.layout.placing import Label, Named, noted, place, single, upright
from curvelab.layout.run import Drawing
from curvelab.layout.text import width_px as width_px_of
from curvelab.layout.words import Forms, PointWords, RunWords
from curvelab.studies.result import State

ARMS = "arms"
"""Place of the two arms of the scale."""
GAP_PX = 7.0
"""Two labels nearer to one another would read as one. [px]"""
LIFT_DX = 27.0
"""From the pump to the arrow of its lift. [px]"""


def run_names(
    shown: Drawing,
    words: RunWords,
    *,
    width_px: float,
    height_px: float,
    last: Mapping[str, Placed] | None = None,
) -> Named:
    """Place the labels of the run, dangers first; ``last`` as in ``chart_names``."""
    grid = _grid(shown, width_px, height_px)
    inner = Box(4.0, 2.0, width_px - 4.0, height_px - 1.0)
    danger = place(grid, [_over(shown, words, inner)] if shown.over else [], last or {})
    pointer = _pointer(shown, danger.places.get("over"))
    if pointer is not None:
        grid.line(pointer[::2], pointer[1::2], pad=1.0)
    named = place(grid, _labels(shown, words, inner), last or {}, gap=GAP_PX, beside=danger.places.values())
    places = {**danger.places, **named.places}
    arms = grid.place(_arms(shown, width_px, height_px), (last or {}).get(ARMS))
    if arms is not None:
        places[ARMS] = arms
    return Named((*danger.texts, *named.texts), places, (*danger.omitted, *named.omitted), pointer)


def _arms(shown: Drawing, width_px: float, height_px: float) -> Request:
    measure = shown.measure
    width = max(measure.across_px + width_px_of(measure.across, 11.0) + 8.0, width_px_of(measure.up, 11.0) + 8.0)
    size = (width + 8.0, measure.up_px + 16.0)
    wish = Wish(x=width_px - 12.0, y=4.0, corner=(1.0, 0.0))
    return Request(name=ARMS, sizes=(size,), wishes=(wish,), reach=Box(0.0, 0.0, width_px, height_px))


def _grid(shown: Drawing, width_px: float, height_px: float) -> Grid:
    grid = Grid(width_px, height_px)
    grid.line(shown.corners.x, shown.corners.y, pad=4.0)
    grid.line(shown.suction.x, shown.suction.y, pad=4.0)
    grid.line(shown.wet.x, shown.line)
    grid.line(shown.ground.x, shown.ground.y, pad=1.0)
    for piece in shown.over:
        grid.line(piece.x, piece.y, pad=7.0)
    x, y = shown.scale.pump_x, shown.scale.pump_y
    grid.take(Box(x - 10.0, y - 8.0, x + 10.0, y + 14.0))
    for at, height in shown.boosters:
        grid.take(Box(at - 9.0, height - 8.0, at + 9.0, height + 14.0), pad=1.0)
    left, bottom, right, top = shown.tank or (*shown.outlet, *shown.outlet)
    grid.take(Box(left, bottom, right, top), pad=1.0)
    grid.take(
        Box(shown.suction.x[0] - 8.0, shown.suction.y[0] - 6.0, shown.suction.x[0] + 8.0, shown.suction.y[0] + 6.0)
    )
    flag_x, flag_y = shown.flag
    grid.take(Box(shown.mark_x - 6.0, shown.water_y, shown.mark_x + 6.0, shown.water_y + 10.0))
    grid.take(Box(flag_x - 1.0, flag_y, flag_x + 12.0, flag_y + 26.0))
    upright(grid, x - LIFT_DX, shown.water_y, y)
    if shown.stand is not None:
        start, end, level = shown.stand
        grid.line([start, end], [level, level])
    if shown.short is not None:
        upright(grid, shown.short[0], shown.short[1], shown.short[2], pad=3.0)
    if shown.stand is None and shown.line.size:
        upright(grid, x, y, float(shown.line[0]))
    return grid


def _labels(shown: Drawing, words: RunWords, inner: Box) -> Iterable[Label]:
    x, y = shown.scale.pump_x, shown.scale.pump_y
    if shown.short is not None:
        at, low, high = shown.short
        wishes = (
            Wish(x=at - 6.0, y=0.5 * (low + high), corner=(1.0, 0.5)),
            Wish(x=at + 6.0, y=0.5 * (low + high), corner=(0.0, 0.5), cost=10.0),
        )
        if shown.state is State.NO_LIFT:
            yield Label("short", single("short", words.short), wishes, inner, 90.0)
    if shown.stand is not None:
        start, end, level = shown.stand
        wishes = (
            Wish(x=start + 8.0, y=level - 4.0, corner=(0.0, 1.0)),
            Wish(x=start + 8.0, y=level + 26.0, corner=(0.0, 0.0), cost=8.0),
            Wish(x=end, y=level + 4.0, corner=(1.0, 0.0), cost=20.0),
        )
        yield Label("stands", single("stands", words.stands), wishes, inner, 120.0)
    for number, (at, height) in enumerate(shown.boosters[: len(words.boosters)]):
        wishes = (
            Wish(x=at + 12.0, y=height - 6.0, corner=(0.0, 1.0)),
            Wish(x=at - 12.0, y=height + 6.0, corner=(1.0, 0.0), cost=6.0),
            Wish(x=at, y=height + 18.0, corner=(0.5, 0.0), cost=10.0),
        )
        yield Label(f"booster-{number}", _pointed(words.boosters[number]), wishes, inner, 100.0)
    flag_x, flag_y = shown.flag
    wishes = (
        Wish(x=flag_x + 14.0, y=flag_y + 21.0, corner=(0.0, 0.5)),
        Wish(x=flag_x - 4.0, y=flag_y + 21.0, corner=(1.0, 0.5), cost=14.0),
    )
    yield Label("hardest", single("hardest", words.hardest), wishes, inner, 60.0, ((inner, 100.0),))
    if shown.stand is None and words.pressure:
        start = float(shown.line[0])
        wishes = (Wish(x=x + 6.0, y=start + 3.0), Wish(x=x + 10.0, y=start - 8.0, corner=(0.0, 1.0), cost=30.0))
        yield Label("pressure", single("pressure", words.pressure), wishes, inner, 90.0)
    yield Label("vacuum", noted("vacuum", words.vacuum, words.vacuum_note), _left_of_pump(x, y), inner, 80.0)
    water = shown.water_y
    pond = Box(2.0, water - 22.0, float(shown.suction.x[0]), water)
    wish = Wish(x=8.0, y=water - 8.5, corner=(0.0, 0.5))
    yield Label("water", single("water", words.water), (wish,), pond)
    wish = Wish(x=x - LIFT_DX - 4.0, y=0.5 * (water + y) + 4.0, corner=(1.0, 0.5))
    dry = Box(inner.left, water + 1.0, inner.right, inner.top) if water < y else inner
    yield Label("lift", single("lift", words.lift), (wish,), dry, 60.0)
    yield from _places(shown, words, inner)


def _left_of_pump(x: float, y: float) -> tuple[Wish, ...]:
    return Wish(x=x - 5.0, y=y + 16.0, corner=(1.0, 0.0)), Wish(x=x - 14.0, y=y + 4.0, corner=(1.0, 0.0), cost=6.0)


def _over(shown: Drawing, words: RunWords, inner: Box) -> Label:
    piece = shown.over[0]
    x, low = float(piece.x[-1]), float(piece.y.min())
    forms = _joined(words.over_rated, words.over_rated_note)
    wishes = (
        Wish(x=x + 14.0, y=low - 2.0, corner=(0.0, 0.5)),
        Wish(x=float(piece.x.mean()), y=low - 12.0, corner=(0.5, 1.0), cost=4.0),
        Wish(x=float(piece.x[0]), y=float(piece.y.max()) + 12.0, cost=20.0),
    )
    return Label("over", forms, wishes, inner, 110.0)


def _joined(first: Forms, second: Forms) -> tuple[tuple[tuple[str, str], ...], ...]:
    if not second:
        return single("over", first)
    return (*(((("over", form), ("over-note", note))) for form in first for note in second), *single("over", first))


def _places(shown: Drawing, words: RunWords, inner: Box) -> Iterable[Label]:
    left, bottom, right, _ = shown.tank or (*shown.outlet, *shown.outlet)
    middle = 0.5 * (left + right)
    wishes = (
        Wish(x=middle, y=bottom - 8.0, corner=(0.5, 1.0)),
        Wish(x=right + 8.0, y=bottom - 6.0, corner=(0.0, 1.0), cost=10.0),
        Wish(x=right + 8.0, y=bottom + 10.0, cost=20.0),
    )
    yield Label("outlet", _pointed(words.outlet), wishes, inner, 80.0)
    for index, x, y, high in shown.named:
        if index >= len(words.waypoints):
            continue
        under = Wish(x=x - 4.0, y=y - 12.0, corner=(0.0, 1.0), cost=0.0 if high else 26.0)
        over = Wish(x=x, y=y + 9.0, corner=(0.5, 0.0), cost=16.0 if high else 0.0)
        yield Label(f"waypoint-{index}", _pointed(words.waypoints[index]), (under, over), inner, 70.0)


def _pointed(words: PointWords) -> tuple[tuple[tuple[str, str], ...], ...]:
    plain = single("place", words.name)
    if not words.note:
        return plain
    return (*((*form, ("place-note", words.note)) for form in plain), *plain)


def _pointer(shown: Drawing, placed: Placed | None) -> tuple[float, float, float, float] | None:
    """From the hose that is over its rating to the words."""
    if placed is None or not shown.over:
        return None
    piece, box = shown.over[0], placed.box
    index = int(piece.x.size - 1)
    x, y = float(piece.x[index]), float(piece.y[index])
    end = box.left if box.left > x else 0.5 * (box.left + box.right)
    level = 0.5 * (box.bottom + box.top) if box.left > x else (box.top if box.top < y else box.bottom)
    return x, y, end, level
