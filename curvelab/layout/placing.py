"""Words with their places: labels in the forms that fit, shared by bench and run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.labels import Box, Grid, Placed, Request, Wish
from curvelab.layout.text import LINE_HEIGHT, block_px, wrap
from curvelab.layout.words import Forms

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
    "chalk": Type(12.5, bold=True),
    "chalk-note": Type(12),
    "gain": Type(12.5, bold=True),
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
    "over": Type(12.5, bold=True),
    "over-note": Type(12),
    "hardest": Type(12.5, bold=True),
    "pressure": Type(12.5, bold=True),
    "place": Type(12.5, bold=True),
    "place-note": Type(12),
    "vacuum": Type(12.5, bold=True),
    "vacuum-note": Type(12),
    "lift": Type(12, bold=True),
    "water": Type(12, bold=True),
    "stands": Type(12.5, bold=True),
    "scale": Type(11),
}
"""Kinds of text on bench and run."""
SHORT = 48
"""Letters of a sentence that stands in one line."""
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
    avoid: tuple[Box, ...] = ()
    """As of ``Request``."""


@dataclass(frozen=True, slots=True)
class Frame:
    """From display units to the pixels of a frame."""

    x: Callable[[Floats | float], Floats]
    y: Callable[[Floats | float], Floats]
    box: Box


def framed(flow_end: float, low: float, end: float, width: float, height: float) -> Frame:
    """A frame whose axes run from 0 to ``flow_end`` and from ``low`` to ``end``, ``width`` by ``height`` px."""
    return Frame(
        x=lambda value: np.asarray(value, float) / flow_end * width,
        y=lambda value: (np.asarray(value, float) - low) / (end - low) * height,
        box=Box(0.0, 0.0, width, height),
    )


def upright(grid: Grid, x: float, low: float, high: float, pad: float = 2.0) -> None:
    """Take a vertical line. [px]"""
    grid.take(Box(x, min(low, high), x, max(low, high)), pad=pad)


def single(kind: str, forms: Forms) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Each form on its own."""
    return tuple(((kind, form),) for form in forms if form)


def paired(kind: str, forms: Forms, kind_below: str, below: Forms) -> tuple[tuple[tuple[str, str], ...], ...]:
    """First lines with second lines, both in ever shorter forms."""
    if not forms:
        return ()
    made: list[tuple[tuple[str, str], ...]] = [((kind, form), (kind_below, under)) for form in forms for under in below]
    made.append(((kind, forms[-1]),))
    return tuple(dict.fromkeys(made))


def noted(kind: str, forms: Forms, note: str) -> tuple[tuple[tuple[str, str], ...], ...]:
    """With its note under it while there is room, then without."""
    with_note = [((kind, form), (f"{kind}-note", note)) for form in forms if note]
    return (*with_note, *single(kind, forms))


@lru_cache(maxsize=1024)
def _size(lines: tuple[tuple[str, str], ...], *, turned: bool) -> tuple[float, float]:
    sizes = [block_px(text, TYPES[kind].size, bold=TYPES[kind].bold) for kind, text in lines]
    width = max(size[0] for size in sizes) + 2.0 * _PAD
    height = sum(size[1] for size in sizes) - _AIR * TYPES[lines[0][0]].size
    pad = 10.0 if lines[0][0] == "sentence" else 0.0  # the plate's
    return (height, width) if turned else (width + pad, height + pad)


def padded(box: Box, by: float) -> Box:
    """A box larger by so much on every side. [px]"""
    return Box(box.left - by, box.bottom - by, box.right + by, box.top + by)


def around(x: float, y: float) -> Box:
    """Where a label, which is wider than it is high, would be taken for that of the dot. [px]"""
    return Box(x - 48.0, y - 18.0, x + 48.0, y + 18.0)


def place(
    grid: Grid, labels: Iterable[Label], last: Mapping[str, Placed], *, gap: float = 0.0, beside: Iterable[Placed] = ()
) -> Named:
    """Place labels one after another, the first ones first; ``last`` says where they stood.

    Nearer than ``gap`` [px] to one another, or to what was placed before, they would read as one, which costs as much
    as what a label is to avoid.
    """
    texts: list[Text] = []
    places: dict[str, Placed] = {}
    omitted: list[str] = []
    halos = [padded(placed.box, gap) for placed in beside]
    for label in labels:
        if not label.forms:
            continue
        sizes = tuple(_size(form, turned=label.turned) for form in label.forms)
        placed = None
        for reach, farthest in ((label.reach, label.farthest), *label.further):
            request = Request(
                name=label.name,
                sizes=sizes,
                wishes=label.wishes,
                reach=reach,
                farthest=farthest,
                avoid=(*label.avoid, *halos),
            )
            placed = placed or grid.place(request, last.get(label.name))
        if placed is None:
            omitted.append(label.name)
            continue
        places[label.name] = placed
        if gap:
            halos.append(padded(placed.box, gap))
        texts.extend(_written(label, placed))
    return Named(tuple(texts), places, tuple(omitted))


def _written(label: Label, placed: Placed) -> Iterable[Text]:
    box = placed.box
    if label.turned:
        kind, text = label.forms[placed.form][0]
        yield Text(kind, text, 0.5 * (box.left + box.right), 0.5 * (box.bottom + box.top), "center", turned=True)
        return
    corner = label.wishes[placed.wish].corner[0]
    align = "left" if corner < 0.25 else "right" if corner > 0.75 else "center"
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


def wrapped(forms: Forms, kind: str) -> Forms:
    """Each form in one line, then in two."""
    size, bold = TYPES[kind].size, TYPES[kind].bold
    return tuple(wrap(form, lines, size, bold=bold) for form in forms for lines in (1, 2))
