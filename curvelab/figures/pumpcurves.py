"""A pump's curves as SVG: small beside the others of a fleet, or large with its points, its tests and its names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

import numpy as np
from numpy.typing import NDArray

from curvelab.figures import theme
from curvelab.layout.axes import Axis, tick_texts
from curvelab.layout.labels import Box, Grid, Placed, Request, Wish
from curvelab.layout.multiples import Plot, Shape, sparse
from curvelab.layout.text import block_px

Floats = NDArray[np.float64]
SMALL = (184, 124)
"""Width and height of a small one. [px]"""
_TICK, _NAME = 12, 12.5  # sizes of the type [px]
_DIGITS = 1


def small(shape: Shape, axes: tuple[Axis, Axis], label: str) -> str:
    """One of many: no names, numbers at the ends of the axes only. ``label`` says the picture in a sentence."""
    width, height = SMALL
    flow, head = (sparse(axis, 150.0, 70.0) for axis in axes)
    plot = Plot(width, height, 34.0, width - 6.0, 8.0, height - 20.0, flow, head)
    drawn = (*_ground(plot, "", ""), *_curves(plot, shape, 2.5))
    return _svg(plot, label, drawn)


def large(shape: Shape, axes: tuple[Axis, Axis], label: str, *, width: float, units: tuple[str, str]) -> str:
    """One alone, ``width`` wide [px], with its points, tests and names. ``units`` stand on the last flow and head."""
    height = float(min(360.0, max(240.0, 0.6 * width)))
    flow, head = sparse(axes[0], width, 60.0), sparse(axes[1], height, 36.0)
    plot = Plot(width, height, 50.0, width - 14.0, 12.0, height - 26.0, flow, head)
    drawn = (*_ground(plot, *units), *_curves(plot, shape, 3.0), *_marks(plot, shape), *_names(plot, shape))
    return _svg(plot, label, drawn)


def _svg(plot: Plot, label: str, drawn: Iterable[str]) -> str:
    size = f'viewBox="0 0 {plot.width:g} {plot.height:g}" width="{plot.width:g}" height="{plot.height:g}"'
    name = f'role="img" aria-label="{escape(label)}"'
    family = f'font-family="{escape(theme.FONT)}" font-size="{_TICK}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {name} {family}>{"".join(drawn)}</svg>'


def _ground(plot: Plot, flow_unit: str, head_unit: str) -> Iterator[str]:
    """Grid, axes and their numbers."""
    for tick in plot.flow.ticks:
        x = float(plot.x(tick))
        yield _line(x, plot.top, x, plot.bottom, theme.INK, opacity=0.1)
    for tick in plot.head.ticks:
        y = float(plot.y(tick))
        yield _line(plot.left, y, plot.right, y, theme.INK, opacity=0.1)
    yield _line(plot.left, plot.bottom, plot.right, plot.bottom, theme.INK)
    yield _line(plot.left, plot.top, plot.left, plot.bottom, theme.INK)
    for tick, text in zip(plot.head.ticks, tick_texts(plot.head.ticks, head_unit), strict=True):
        yield _text(plot.left - 5.0, float(plot.y(tick)) + 4.0, text, theme.INK_2, "end")
    yield from _flow_numbers(plot, flow_unit)


def _flow_numbers(plot: Plot, unit: str) -> Iterator[str]:
    """Numbers under the flow axis, the last one with its unit; those in its way give way."""
    texts = tick_texts(plot.flow.ticks, unit)
    last = float(plot.x(plot.flow.ticks[-1]))
    wide = block_px(texts[-1], _TICK)[0]
    right = min(last + 0.5 * wide, plot.width - 1.0)
    for tick, text in zip(plot.flow.ticks[:-1], texts[:-1], strict=True):
        x = float(plot.x(tick))
        if x + 0.5 * block_px(text, _TICK)[0] < right - wide:
            yield _text(x, plot.bottom + 16.0, text, theme.INK_2, "middle")
    yield _text(right, plot.bottom + 16.0, texts[-1], theme.INK_2, "end")


def _curves(plot: Plot, shape: Shape, width: float) -> Iterator[str]:
    if shape.low.size:
        edges = np.concatenate((plot.px(shape.high), plot.px(shape.low)[:, ::-1]), axis=1)
        yield f'<path d="{_path(edges)}Z" fill="{theme.ESTIMATE}"/>'
        for edge in (shape.high, shape.low):
            yield _curve(plot.px(edge), theme.PUMP, 1.0, theme.DOTTED)
    if shape.npshr.size:
        yield _curve(plot.px(shape.npshr), theme.PUMP, 0.7 * width, theme.DASH_DOT)
    if shape.worn.size:
        yield _curve(plot.px(shape.worn), theme.ALERT, 0.7 * width, theme.PRESSURE_DASH)
    yield _curve(plot.px(shape.head), theme.PUMP, width)


def _marks(plot: Plot, shape: Shape) -> Iterator[str]:
    for x, y in plot.px(shape.points).T.tolist():
        look = f'fill="{theme.SHEET}" stroke="{theme.PUMP}" stroke-width="1.4"'
        yield f'<circle cx="{_n(x)}" cy="{_n(y)}" r="2.6" {look}/>'
    for tested in shape.tested:
        x = float(plot.x(tested.flow))
        low, high = (float(plot.y(tested.head + sign * tested.doubt)) for sign in (-1.0, 1.0))
        yield _line(x, low, x, high, theme.ALERT, width=1.4)
        y = float(plot.y(tested.head))
        yield (
            f'<path d="M{_n(x)} {_n(y - 5)}l5 5l-5 5l-5 -5Z" fill="{theme.SHEET}" stroke="{theme.ALERT}" '
            'stroke-width="1.8"/>'
        )


def _names(plot: Plot, shape: Shape) -> Iterator[str]:
    """Each curve's name near it and over nothing else; left out where there is no room."""
    grid = Grid(plot.right - plot.left, plot.bottom - plot.top)
    curves = {
        "worn": (shape.worn, "as tested", theme.ALERT, 0.5),
        "head": (shape.head, "it gives", theme.PUMP, 0.06),
        "npshr": (shape.npshr, "it needs at its inlet (NPSHR)", theme.PUMP, 0.7),
        "band": (shape.low, "estimate: nine times in ten in this band", theme.INK_2, 0.3),
    }
    inner = {name: _inside(plot, curve) for name, (curve, _, _, _) in curves.items() if curve.size}
    for curve in (*inner.values(), *([_inside(plot, shape.high)] if shape.high.size else [])):
        grid.line(curve[0], curve[1], pad=4.0)
    for tested in shape.tested:
        at = _inside(plot, np.array([[tested.flow], [tested.head]]))
        grid.take(Box(float(at[0, 0]), float(at[1, 0]), float(at[0, 0]), float(at[1, 0])), pad=8.0)
    for name, curve in inner.items():
        _, words, colour, share = curves[name]
        placed = grid.place(_request(name, words, curve, share, grid))
        if placed is not None:
            yield _placed(plot, placed, words, colour)


def _inside(plot: Plot, curve: Floats) -> Floats:
    """Pixels of the frame, y up from its lower left corner."""
    at = plot.px(curve)
    return np.stack((at[0] - plot.left, plot.bottom - at[1]))


def _request(name: str, words: str, curve: Floats, share: float, grid: Grid) -> Request:
    at = min(int(share * curve.shape[1]), curve.shape[1] - 1)
    x, y = float(curve[0, at]), float(curve[1, at])
    below = name in ("worn", "band")
    wishes = (
        Wish(x=x, y=y - 8.0 if below else y + 8.0, corner=(0.0, 1.0 if below else 0.0)),
        Wish(x=x, y=y + 8.0 if below else y - 8.0, corner=(0.0, 0.0 if below else 1.0), cost=20.0),
    )
    size = block_px(words, _NAME, bold=name != "band")
    return Request(name=name, sizes=(size,), wishes=wishes, reach=grid.frame, farthest=140.0)


def _placed(plot: Plot, placed: Placed, words: str, colour: str) -> str:
    x, y = plot.left + placed.box.left, plot.bottom - placed.box.bottom - 4.0
    weight = 400 if placed.name == "band" else 700
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_NAME}" font-weight="{weight}" fill="{colour}">'
        f"{escape(words)}</text>"
    )


def _curve(points: Floats, colour: str, width: float, dash: Iterable[int] = ()) -> str:
    dashed = " ".join(map(str, dash))
    dashes = f' stroke-dasharray="{dashed}"' if dashed else ""
    return f'<path d="{_path(points)}" fill="none" stroke="{colour}" stroke-width="{_n(width)}"{dashes}/>'


def _path(points: Floats) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points.T.tolist())


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, *, width: float = 1.0, opacity: float = 1.0) -> str:
    look = f'stroke="{colour}" stroke-width="{width:g}" fill="none"'
    faint = f' stroke-opacity="{opacity:g}"' if opacity < 1.0 else ""
    return f'<path d="M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}" {look}{faint}/>'


def _text(x: float, y: float, text: str, colour: str, anchor: str) -> str:
    return f'<text x="{_n(x)}" y="{_n(y)}" fill="{colour}" text-anchor="{anchor}">{escape(text)}</text>'


def _n(number: float) -> str:
    return f"{round(number, _DIGITS):g}"
