"""Words of the bench, each in its place: what is written where, and what found no room."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.labels import Box, Grid, Placed, Request, Wish
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.text import LINE_HEIGHT, block_px, wrap
from curvelab.layout.words import BenchWords, Forms

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Type:
    """Size [px] and weight of a kind of text."""

    size: float
    bold: bool = False


TYPES: dict[str, Type] = {
    "flow": Type(15, bold=True),
    "head": Type(12.5),
    "pump": Type(13, bold=True),
    "pump-note": Type(12),
    "site": Type(13, bold=True),
    "site-note": Type(12),
    "band": Type(11.5),
    "broken": Type(12, bold=True),
    "crossing": Type(12),
    "margin": Type(11.5),
    "sentence": Type(12.5),
    "short": Type(13, bold=True),
    "air": Type(12, bold=True),
    "air-note": Type(11.5),
    "npsha": Type(12.5, bold=True),
    "npshr": Type(12.5, bold=True),
    "spare": Type(12.5, bold=True),
    "limit": Type(12.5, bold=True),
    "prime": Type(12.5, bold=True),
}
"""Kinds of text on the bench."""
PLATED = frozenset({"broken", "crossing"})
"""Kinds that stand in the hatch and so need a ground of their own."""
_SHORT = 48  # letters of a sentence that stands in one line
_AIR = 0.3  # of a line's height that stays empty above and below its letters [size of the type]
_PAD = 3.0  # free on both sides of a label [px]


@dataclass(frozen=True, slots=True)
class Text:
    """One written line (a sentence: several), its vertical middle at ``y``. [px of the frame]"""

    kind: str
    text: str
    x: float
    y: float
    align: str
    """left, center, right."""
    turned: bool = False
    plate: bool = False
    """Whether it lies on a line and needs a ground of its own."""


@dataclass(frozen=True, slots=True)
class Named:
    """Labels of one frame."""

    texts: tuple[Text, ...]
    places: Mapping[str, Placed]
    omitted: tuple[str, ...]
    """Names of labels for which there was no room."""
    pointer: tuple[float, float, float, float] | None = None
    """From a label that had to stand far off to its point."""


@dataclass(frozen=True, slots=True)
class Label:
    """A label to place: each of its forms is lines of (kind, text)."""

    name: str
    forms: tuple[tuple[tuple[str, str], ...], ...]
    wishes: tuple[Wish, ...]
    reach: Box
    farthest: float = 1e9
    further: tuple[tuple[Box, float], ...] = ()
    """Reach and farthest distance to be tried next when no form has room within the first."""
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """From display units to the pixels of a frame."""

    x: Callable[[Floats | float], Floats]
    y: Callable[[Floats | float], Floats]
    box: Box


def chart_names(
    scene: Scene,
    words: BenchWords,
    *,
    size: BenchSize,
    plot_px: float,
    last: Mapping[str, Placed] | None = None,
) -> Named:
    """Place the labels of the head chart, the most needed first.

    Parameters
    ----------
    last : mapping, optional
        Where they stood (``Named.places``): kept while that is still good.
    """
    frame = _frame(scene.axes.flow.end, scene.axes.head.low, scene.axes.head.end, plot_px, size.chart)
    grid = _chart_grid(scene, frame)
    named = _place(grid, _chart_labels(scene, words, size, frame), last or {})
    return Named(named.texts, named.places, named.omitted, _pointer(scene, frame, named.places.get("point")))


def strip_names(
    scene: Scene,
    words: BenchWords,
    *,
    size: BenchSize,
    plot_px: float,
    last: Mapping[str, Placed] | None = None,
) -> Named:
    """Place the labels of the suction strip, the most needed first; ``last`` as in ``chart_names``."""
    frame = _frame(scene.axes.flow.end, 0.0, scene.axes.suction.end, plot_px, size.strip)
    return _place(_strip_grid(scene, frame), _strip_labels(scene, words, frame), last or {})


def _frame(flow_end: float, low: float, end: float, width: float, height: float) -> Frame:
    return Frame(
        x=lambda value: np.asarray(value, float) / flow_end * width,
        y=lambda value: (np.asarray(value, float) - low) / (end - low) * height,
        box=Box(0.0, 0.0, width, height),
    )


def _chart_grid(scene: Scene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    lines = scene.lines
    grid.line(frame.x(lines.live_flow), frame.y(lines.live_head), pad=3.0)
    grid.line(frame.x(lines.beyond_flow), frame.y(lines.beyond_head))
    grid.line(frame.x(lines.pump_flow), frame.y(lines.pump_head), pad=3.0)
    grid.line(frame.x(lines.past_flow), frame.y(lines.past_head))
    for flow in _limits(scene):
        _upright(grid, float(frame.x(flow)), 0.0, frame.box.top)
    for place in (scene.point, scene.crossing):
        if place is not None:
            x, y = float(frame.x(place[0])), float(frame.y(place[1]))
            grid.take(Box(x - 9.0, y - 9.0, x + 9.0, y + 9.0), pad=2.0)
            grid.line([x, x], [0.0, y], crossable=scene.once)
    for flow, head in scene.leaders:
        y = float(frame.y(head))
        grid.line([float(frame.x(flow)), frame.box.right], [y, y])
    for bar in (scene.broken, scene.short):
        if bar is not None:
            _upright(grid, float(frame.x(bar[0])), float(frame.y(bar[1])), float(frame.y(bar[2])), pad=4.0)
    return grid


def _limits(scene: Scene) -> list[float]:
    return [] if scene.limit is None else [scene.limit]


def _upright(grid: Grid, x: float, low: float, high: float, pad: float = 2.0) -> None:
    grid.line([x, x], [low, high], pad=pad)


def _chart_labels(scene: Scene, words: BenchWords, size: BenchSize, frame: Frame) -> Iterable[Label]:
    inner = Box(4.0, 2.0, frame.box.right - 4.0, frame.box.top - 2.0)
    clear = Box(4.0, 2.0, _clear_end(scene, frame) - 4.0, inner.top) if not size.names else inner
    start = float(frame.y(scene.lines.live_head[0]))
    shut = float(frame.y(scene.lines.pump_head[0]))
    place = scene.point if scene.state.value != "no-lift" else None
    place = place or (scene.crossing if scene.once else None)
    if place is not None:
        x, y = float(frame.x(place[0])), float(frame.y(place[1]))
        yield Label(
            "point", _paired("flow", words.flow, "head", words.head), _around(x, y), clear, 60.0, ((clear, 260.0),)
        )
    yield from _trouble(scene, words, frame, inner)
    left = Box(4.0, 2.0, 0.75 * frame.box.right, frame.box.top - 2.0)
    yield Label(
        "pump", _noted("pump", words.pump, words.pump_note), _at_start(shut, above=not words.pump_note), left, 70.0
    )
    yield Label("site", _noted("site", words.site, words.site_note), _site_wishes(scene, frame, start), left, 70.0)
    yield from _bands(scene, words, frame)
    if scene.margin is not None:
        low, high = float(frame.x(scene.margin[0])), float(frame.x(scene.margin[1]))
        wish = Wish(x=0.5 * (low + high), y=6.0, corner=(0.5, 0.0))
        yield Label("margin", _single("margin", words.margin), (wish,), Box(low, 2.0, high, inner.top), turned=True)
    if words.sentence and not size.sentence_below:
        yield _sentence(scene, words.sentence, frame, inner)


def _clear_end(scene: Scene, frame: Frame) -> float:
    """Where the hatch begins. [px]"""
    starts = scene.limit if scene.limit is not None else scene.axes.flow.end if scene.doubt is None else scene.doubt[1]
    return min(frame.box.right, float(frame.x(starts)))


def _around(x: float, y: float) -> tuple[Wish, ...]:
    return (
        Wish(x=x - 15.0, y=y + 2.0, corner=(1.0, 0.5)),
        Wish(x=x, y=y + 15.0, corner=(0.5, 0.0), cost=36.0),
        Wish(x=x + 15.0, y=y + 2.0, corner=(0.0, 0.5), cost=48.0),
        Wish(x=x - 8.0, y=y - 15.0, corner=(1.0, 1.0), cost=36.0),
    )


def _at_start(y: float, *, above: bool) -> tuple[Wish, ...]:
    over = Wish(x=4.0, y=y + 4.0, cost=0.0 if above else 14.0)
    under = Wish(x=4.0, y=y - 4.0, corner=(0.0, 1.0), cost=14.0 if above else 0.0)
    return over, under


def _site_wishes(scene: Scene, frame: Frame, start: float) -> tuple[Wish, ...]:
    wishes = _at_start(start, above=False)
    if scene.bands or scene.once:
        return wishes
    x = min(float(frame.x(scene.lines.live_flow[-1])), 0.6 * frame.box.right)
    return (Wish(x=x + 6.0, y=frame.box.top - 6.0, corner=(0.0, 1.0)), *wishes)


def _trouble(scene: Scene, words: BenchWords, frame: Frame, inner: Box) -> Iterable[Label]:
    if scene.broken is not None:
        x, top = float(frame.x(scene.broken[0])), float(frame.y(scene.broken[2]))
        wishes = (
            Wish(x=x + 6.0, y=top + 6.0),
            Wish(x=x + 6.0, y=top - 6.0, corner=(0.0, 1.0), cost=8.0),
            Wish(x=x - 6.0, y=top - 10.0, corner=(1.0, 1.0), cost=16.0),
        )
        yield Label("broken", _single("broken", words.broken), wishes, inner, 90.0)
    if scene.crossing is not None and not scene.once:
        x, y = float(frame.x(scene.crossing[0])), float(frame.y(scene.crossing[1]))
        wishes = (Wish(x=x - 2.0, y=y + 8.0, corner=(1.0, 0.0)), *_around(x, y))
        yield Label("crossing", _single("crossing", words.crossing), wishes, inner, 40.0)
    if scene.short is not None:
        x = float(frame.x(scene.short[0]))
        middle = 0.5 * (float(frame.y(scene.short[1])) + float(frame.y(scene.short[2])))
        yield Label(
            "short", _single("short", words.short), (Wish(x=x + 8.0, y=middle, corner=(0.0, 0.5)),), inner, 60.0
        )


def _bands(scene: Scene, words: BenchWords, frame: Frame) -> Iterable[Label]:
    if not scene.bands:
        return
    lines, right = scene.lines, float(frame.x(scene.lines.live_flow[-1])) - 4.0
    foot, top_lift, top_rise = (float(top[0]) for top in (lines.foot, lines.top_lift, lines.top_rise))
    for name, forms, low, high in (("lift", words.lift, foot, top_lift), ("rise", words.rise, top_lift, top_rise)):
        ends = (low, high) if high > low else (foot, 0.0)  # a part that helps has its words where it is hatched
        bottom, top = float(frame.y(ends[0])), float(frame.y(ends[1]))
        wish = Wish(x=9.0, y=bottom + 0.44 * (top - bottom), corner=(0.0, 0.5))
        yield Label(name, _single("band", forms), (wish,), Box(4.0, bottom, right, top))


def _sentence(scene: Scene, sentence: str, frame: Frame, inner: Box) -> Label:
    kind = TYPES["sentence"]
    x, y, order = 8.0, 30.0, (2, 3, 4, 1)
    if scene.limit is not None:
        x, y, order = float(frame.x(scene.limit)) + 12.0, 5.0, (4, 3, 5, 2, 6)
    elif scene.flow is not None:
        x = float(frame.x(scene.flow)) + 6.0
    if len(sentence) < _SHORT:
        order = (1, 2, 3)
    forms = tuple((("sentence", wrap(sentence, lines, kind.size)),) for lines in order)
    wishes = Wish(x=x, y=y), Wish(x=inner.right, y=y, corner=(1.0, 0.0), cost=10.0)
    return Label("sentence", forms, wishes, inner)


def _strip_grid(scene: Scene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    lines = scene.lines
    x = frame.x(lines.strip_flow)
    grid.line(x, frame.y(lines.npsha), pad=3.0)
    for values in (lines.npshr, lines.npshr_low, lines.npshr_high):
        grid.line(x, frame.y(values), pad=3.0)
    for level in (scene.air, scene.rest):
        y = float(frame.y(level))
        grid.line([0.0, frame.box.right], [y, y], pad=1.0)
    for flow in (*_limits(scene), *(() if scene.flow is None else (scene.flow,))):
        _upright(grid, float(frame.x(flow)), 0.0, frame.box.top)
    if scene.undrawn is not None:
        low, high = (float(frame.y(level)) for level in scene.undrawn)
        grid.take(Box(0.0, low, frame.box.right, high), pad=1.0)
    if scene.spare is not None:
        across = float(frame.x(scene.spare[0]))
        for level in scene.spare[1:]:
            up = float(frame.y(level))
            grid.take(Box(across - 6.0, up - 6.0, across + 6.0, up + 6.0))
    return grid


def _strip_labels(scene: Scene, words: BenchWords, frame: Frame) -> Iterable[Label]:
    inner = Box(4.0, 0.0, frame.box.right - 4.0, frame.box.top - 1.0)
    air, rest = float(frame.y(scene.air)), float(frame.y(scene.rest))
    if scene.undrawn is not None:
        top = float(frame.y(scene.undrawn[1])) + 3.0
        wishes = (Wish(x=0.42 * frame.box.right, y=top), Wish(x=4.0, y=top, cost=30.0))
        yield Label("prime", _single("prime", _wrapped(words.prime, "prime")), wishes, inner)
    wishes = (Wish(x=4.0, y=rest - 2.0, corner=(0.0, 1.0)), Wish(x=4.0, y=rest + 2.0, cost=6.0))
    yield Label("npsha", _single("npsha", words.npsha), wishes, inner, 40.0)
    if scene.spare is not None and words.spare:
        x, low, high = (float(frame.x(scene.spare[0])), *(float(frame.y(level)) for level in scene.spare[1:]))
        middle = 0.5 * (low + high)
        wishes = (
            Wish(x=x - 8.0, y=middle, corner=(1.0, 0.5)),
            Wish(x=x + 8.0, y=middle, corner=(0.0, 0.5), cost=12.0),
        )
        between = Box(inner.left, low - 5.0, inner.right, max(rest, high))
        yield Label("spare", _single("spare", words.spare), wishes, between, 120.0, ((inner, 45.0),))
    pushed = Box(4.0, rest, inner.right, air) if rest < air else Box(4.0, 0.0, inner.right, air)
    at = Wish(x=8.0, y=0.5 * (pushed.bottom + air) if rest < air else air - 10.0, corner=(0.0, 0.5))
    yield Label("air", _noted("air", words.air, words.air_note), (at,), pushed)
    gives_out = scene.limit if scene.limit is not None else None if scene.doubt is None else scene.doubt[0]
    if gives_out is not None:
        x, middle = float(frame.x(gives_out)), 0.5 * (air + min(rest, air))
        wishes = (
            Wish(x=x + 8.0, y=middle, corner=(0.0, 0.5)),
            Wish(x=x - 8.0, y=middle, corner=(1.0, 0.5), cost=20.0),
        )
        yield Label("limit", _single("limit", words.limit), wishes, inner, 40.0)
    yield Label("npshr", _single("npshr", words.npshr), _along(scene, frame), inner, 90.0)


def _wrapped(forms: Forms, kind: str) -> Forms:
    """Each form in one line, then in two."""
    size, bold = TYPES[kind].size, TYPES[kind].bold
    return tuple(wrap(form, lines, size, bold=bold) for form in forms for lines in (1, 2))


def _along(scene: Scene, frame: Frame) -> tuple[Wish, ...]:
    """Under the line of what the pump needs, or over it, as near the operating point as may be."""
    lines = scene.lines
    needed = lines.npshr if not scene.estimate else lines.npshr_low
    over = lines.npshr if not scene.estimate else lines.npshr_high
    wishes: list[Wish] = []
    end = scene.flow if scene.flow is not None else 0.45 * scene.axes.flow.end
    for share in (0.98, 0.8, 0.6, 0.4, 1.3, 1.6, 2.0):
        index = int(np.searchsorted(lines.strip_flow, share * end))
        if index >= lines.strip_flow.size or not np.isfinite(needed[index]):
            continue
        x = float(frame.x(lines.strip_flow[index]))
        under, above = float(frame.y(needed[index])), float(frame.y(over[index]))
        corner = 1.0 if share < 1.0 else 0.0
        wishes.append(Wish(x=x, y=under - 2.0, corner=(corner, 1.0), cost=20.0 * abs(1.0 - share)))
        wishes.append(Wish(x=x, y=above + 2.0, corner=(corner, 0.0), cost=8.0 + 20.0 * abs(1.0 - share)))
    return tuple(wishes) or (Wish(x=4.0, y=2.0),)


def _single(kind: str, forms: Forms) -> tuple[tuple[tuple[str, str], ...], ...]:
    return tuple(((kind, form),) for form in forms if form)


def _paired(kind: str, forms: Forms, kind_below: str, below: Forms) -> tuple[tuple[tuple[str, str], ...], ...]:
    """First lines with second lines, both in ever shorter forms."""
    if not forms:
        return ()
    made = [((kind, form), (kind_below, under)) for form in forms for under in below]
    made.append(((kind, forms[-1]),))
    return tuple(dict.fromkeys(made))


def _noted(kind: str, forms: Forms, note: str) -> tuple[tuple[tuple[str, str], ...], ...]:
    """With its note under it while there is room, then without."""
    with_note = [((kind, form), (f"{kind}-note", note)) for form in forms[:1] if note]
    return (*with_note, *_single(kind, forms))


def _size(lines: tuple[tuple[str, str], ...], *, turned: bool) -> tuple[float, float]:
    sizes = [block_px(text, TYPES[kind].size, bold=TYPES[kind].bold) for kind, text in lines]
    width = max(size[0] for size in sizes) + 2.0 * _PAD
    height = sum(size[1] for size in sizes) - _AIR * TYPES[lines[0][0]].size
    pad = 10.0 if lines[0][0] == "sentence" else 0.0  # the plate's
    return (height, width) if turned else (width + pad, height + pad)


def _place(grid: Grid, labels: Iterable[Label], last: Mapping[str, Placed]) -> Named:
    texts: list[Text] = []
    places: dict[str, Placed] = {}
    omitted: list[str] = []
    for label in labels:
        if not label.forms:
            continue
        sizes = tuple(_size(form, turned=label.turned) for form in label.forms)
        placed = None
        for reach, farthest in ((label.reach, label.farthest), *label.further):
            request = Request(name=label.name, sizes=sizes, wishes=label.wishes, reach=reach, farthest=farthest)
            placed = placed or grid.place(request, last.get(label.name))
        if placed is None:
            omitted.append(label.name)
            continue
        places[label.name] = placed
        texts.extend(_written(label, placed))
    return Named(tuple(texts), places, tuple(omitted))


def _written(label: Label, placed: Placed) -> Iterable[Text]:
    box = placed.box
    if label.turned:
        kind, text = label.forms[placed.form][0]
        yield Text(kind, text, 0.5 * (box.left + box.right), 0.5 * (box.bottom + box.top), "center", turned=True)
        return
    corner = label.wishes[placed.wish].corner[0]
    align = "left" if corner < 0.25 else "right" if corner > 0.75 else "center"  # noqa: PLR2004
    x = {"left": box.left + _PAD, "right": box.right - _PAD, "center": 0.5 * (box.left + box.right)}[align]
    lines = label.forms[placed.form]
    if lines[0][0] == "sentence":
        yield Text("sentence", lines[0][1], box.left + _PAD + 5.0, 0.5 * (box.bottom + box.top), "left")
        return
    y = box.top + 0.5 * _AIR * TYPES[lines[0][0]].size
    for kind, text in lines:
        height = TYPES[kind].size * LINE_HEIGHT * (1 + text.count("\n"))
        yield Text(kind, text, x, y - 0.5 * height, align, plate=placed.crosses)
        y -= height


def _pointer(scene: Scene, frame: Frame, placed: Placed | None) -> tuple[float, float, float, float] | None:
    """A short line from the point to its label, when that had to stand more than 34 px away."""
    place = scene.point or scene.crossing
    if placed is None or place is None:
        return None
    x, y = float(frame.x(place[0])), float(frame.y(place[1]))
    box = placed.box
    near = min(max(x, box.left), box.right), min(max(y, box.bottom), box.top)
    away = np.hypot(near[0] - x, near[1] - y)
    if away <= 34.0:
        return None
    share = 10.0 / away
    return x + share * (near[0] - x), y + share * (near[1] - y), near[0], near[1]
