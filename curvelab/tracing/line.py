"""What was followed, as one line: smoothed, ordered by flow, with the doubts that remain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.tracing.across import Sighting
from curvelab.tracing.follow import LONGEST_DASH, Gap, Trail
from curvelab.tracing.map import Floats

WINDOW: Final = 30.0
"""Length of line on each side that smooths a place. [px]"""
KINSHIP: Final = 4.0
"""Neighbouring sightings that share so many pixels that together they count as one. [-]"""
FLOOR_PX: Final = 0.12
"""What smoothing can't take away: how well a drawn line's middle is its curve. [px] Estimate."""
FEWEST_DASHES: Final = 4
"""Gaps alike from which on a line counts as dashed. [-]"""
LONGEST_CROWD: Final = 12.0
"""Length over which something else may lie too near before it is told. [px]"""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the line that isn't sure."""

    start: Floats
    """On the sheet, shape (2,)."""
    end: Floats
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """The line on the sheet, towards greater flow."""

    places: Floats
    """Shape (n, 2). [px]"""
    normals: Floats
    """Unit vectors across it, shape (n, 2)."""
    spread: Floats
    """One standard deviation across it, shape (n,). [px]"""
    misses: Floats
    """From the line to each sighting, shape (n,). [px]"""
    doubts: tuple[Stretch, ...]


def join(down: Trail, up: Trail) -> Line:
    """One line of the walks towards lesser and greater flow."""
    ends = [_trimmed(trail.sightings) for trail in (down, up)]
    seen = [*ends[0][::-1], *ends[1]]
    places = np.array([s.place for s in seen])
    spread = np.array([s.spread for s in seen])
    smooth, normals, doubt, misses = _smooth(places, spread)
    gaps = [g if g.start[0] < g.end[0] else Gap(g.end, g.start, g.length, g.hidden, g.cluttered) for g in down.gaps]
    inner = [g for g in (*gaps[::-1], *up.gaps) if places[0, 0] <= g.start[0] and g.end[0] <= places[-1, 0]]
    doubts = (*_gaps(inner), *_crowds(seen))
    return Line(smooth, normals, doubt, misses, doubts)


def _trimmed(seen: list[Sighting]) -> list[Sighting]:
    """Without an end that is more crowd than line, such as a label's first letter."""
    keep = len(seen)
    while keep > 5 and sum(s.crowded for s in seen[keep - 5 : keep]) > 2:
        keep -= 1
    return seen[:keep]


def _smooth(places: Floats, spread: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Places moved onto parabolas through their neighbours, normals there, spread, and what was moved."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    smooth, normals = np.empty_like(places), np.empty_like(places)
    doubt, misses = np.empty(len(places)), np.empty(len(places))
    first = np.searchsorted(along, along - WINDOW)
    last = np.searchsorted(along, along + WINDOW, side="right")
    for i, (a, b) in enumerate(zip(first.tolist(), last.tolist(), strict=True)):
        ends = places[min(i + 4, len(places) - 1)] - places[max(i - 4, 0)]
        forward = ends / np.hypot(*ends)
        normal = np.array([-forward[1], forward[0]])
        far = (places[a:b] - places[i]) @ forward
        aside = (places[a:b] - places[i]) @ normal
        kernel = np.sqrt(np.clip(1.0 - (np.abs(far) / (WINDOW + 1.0)) ** 3, 0.0, 1.0))
        line, gain = _parabola(far, aside, kernel / spread[a:b])
        smooth[i] = places[i] + line[0] * normal
        turn = np.arctan(line[1])
        normals[i] = np.cos(turn) * normal - np.sin(turn) * forward
        misses[i] = line[0]
        scatter = np.sqrt(np.average((aside - line[0] - line[1] * far - line[2] * far**2) ** 2, weights=kernel))
        own = np.maximum(spread[a:b], scatter)
        doubt[i] = np.sqrt(FLOOR_PX**2 + KINSHIP * float(((gain * own) ** 2).sum()))
    return smooth, normals, doubt, misses


def _parabola(x: Floats, y: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Coefficients of 1, x, x² (fewer where points are few), and how much each y moves the first."""
    degree = min(3, max(1, x.size - 2))
    rows = np.stack([np.ones_like(x), x, x**2], axis=1)[:, :degree] * weight[:, None]
    inverse = np.linalg.pinv(rows)
    line = np.zeros(3)
    line[:degree] = inverse @ (y * weight)
    rest = np.abs(y - line[0] - line[1] * x - line[2] * x**2) * weight
    again = weight * np.minimum(1.0, 2.0 * max(float(np.median(rest)), 0.2) / np.maximum(rest, 1e-9))
    rows = np.stack([np.ones_like(x), x, x**2], axis=1)[:, :degree] * again[:, None]
    inverse = np.linalg.pinv(rows)
    line[:degree] = inverse @ (y * again)
    return line, inverse[0] * again


def _gaps(gaps: list[Gap]) -> Iterator[Stretch]:
    lengths = sorted(g.length for g in gaps if not g.hidden)
    usual = max(LONGEST_DASH, 1.6 * lengths[len(lengths) // 2]) if lengths else 0.0
    dashes = [g for g in gaps if not g.hidden and g.length < usual]
    if len(dashes) < FEWEST_DASHES:
        dashes = []
    else:
        longest = max(g.length for g in dashes)
        yield Stretch(dashes[0].start, dashes[-1].end, f"dashed: gaps of up to {longest:.0f} px bridged")
    for gap in gaps:
        if gap in dashes or (gap.hidden and gap.length < LONGEST_CROWD):
            continue  # a ruled line crosses, as on any chart
        why = "something lies over it" if gap.cluttered else "the paper is blank there"
        why = "under a ruled line" if gap.hidden else why
        yield Stretch(gap.start, gap.end, f"not seen over {gap.length:.0f} px, {why}: bridged")


def _crowds(seen: list[Sighting]) -> Iterator[Stretch]:
    place = 0
    for crowded, run in groupby(seen, key=lambda s: s.crowded):
        length = len(list(run))
        first, last = seen[place].place, seen[place + length - 1].place
        if crowded and np.hypot(*(last - first)) >= LONGEST_CROWD:
            yield Stretch(first, last, "another line or a label touches it")
        place += length


def rising(flow: Floats) -> NDArray[np.bool_]:
    """Which of a row of flows go beyond all before them."""
    before = np.concatenate([[-np.inf], np.maximum.accumulate(flow)[:-1]])
    return flow > before
