"""A look across a line: where its middle is, by comparing the ink there with the line's own profile."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil
from typing import Final

import numpy as np

from curvelab.tracing.ink import Ink
from curvelab.tracing.map import Floats
from curvelab.tracing.start import Profile

HALF_PATCH: Final = 4.0
"""Half the length of line that one look takes in. [px]"""
GRAIN: Final = 0.5
"""Spacing of samples across the line. [px]"""
SHIFT: Final = 0.25
"""Spacing of the places that are tried for its middle. [px]"""
LEAST_LEVEL: Final = 0.45
"""Least share of the line's own level that counts as seen. [-]"""
GREATEST_REST: Final = 0.3
"""Most that the ink across may differ from the profile, over the level. [-]"""
CROWDED: Final = 0.16
"""From where on it says that something else lies too near. [-]"""
LEAST_EDGE: Final = 0.14
"""Most that one side of the line may differ, where only that is free. [-]"""
LEAST_OPEN: Final = 0.4
"""Least share of the line that must be in sight, not under a ruled line. [-]"""
HIDING: Final = 2.0
"""Doubt that a line wholly under a ruled one would be in. [px]"""
_NOWHERE: Final = -np.inf


@dataclass(frozen=True, slots=True)
class Sighting:
    """One measurement of the line."""

    place: Floats
    """Where its middle is, on the sheet."""
    spread: float
    """How sure, one standard deviation. [px]"""
    level: float
    """Ink over that of the stretch before. [-]"""
    crowded: bool
    """Something else lies too near to be told apart."""
    shift: float
    """From where it was foretold, to the left. [px]"""


@dataclass(frozen=True, slots=True, eq=False)
class _Comb:
    """The profile at every shift within a gate, ready to be laid on samples: sums become products of matrices."""

    offset: Floats
    """Places of the samples across, shape (samples,). [px]"""
    shifts: Floats
    """Places tried for the middle, shape (shifts,). [px]"""
    whole: Floats
    """1, profile and its square at each sample, where the line reaches, shape (3, shifts, samples)."""
    sides: Floats
    """Likewise for the half left and right of the middle, shape (2, 3, shifts, samples)."""
    square: Floats
    """Square of the profile at each sample, shape (shifts, samples), and what it sums up to."""
    total: Floats
    ease: Floats
    """What a shift away from the place foretold costs, shape (shifts,). [-]"""


@lru_cache(maxsize=256)
def _comb(profile: Profile, gate: float) -> _Comb:
    edge = gate + profile.reach + 3.0
    offset = np.arange(-edge, edge + GRAIN / 2, GRAIN)
    shifts = np.arange(-gate, gate + SHIFT / 2, SHIFT)
    from_middle = offset - shifts[:, None]
    shape = profile.at(from_middle)
    powers = np.stack([np.ones_like(shape), shape, shape**2])
    near = np.abs(from_middle) <= profile.reach + 2.0
    halves = [near & (side * from_middle <= 0.25 * profile.width) for side in (-1.0, 1.0)]
    ease = 0.15 * (shifts / (0.6 + 0.5 * (gate - 1.5))) ** 2
    square = shape**2
    return _Comb(
        offset, shifts, powers * near, np.stack([powers * half for half in halves]), square, square.sum(axis=1), ease
    )


def look_across(
    ink: Ink, profile: Profile, place: Floats, direction: Floats, *, curvature: float, level: float, gate: float
) -> tuple[Sighting | None, float]:
    """The line's middle across the place foretold, and how much of that place is in sight.

    Parameters
    ----------
    ink : Ink
        Ink of the line.
    profile : Profile
        The line across.
    place, direction : array, shape (2,)
        Where it is foretold, on the sheet, and the unit vector along it.
    curvature : float
        How it bends, leftwards positive. [1/px]
    level : float
        Its ink now over that of the profile. [-]
    gate : float
        How far from there it is looked for, 1.5 at least. [px]

    Returns
    -------
    Sighting or None
        The line, where it is seen.
    open_share : float
        How much of it could be seen there, 0 to 1. [-]
    """
    comb = _comb(profile, ceil(2.0 * gate) / 2.0)
    trust, amount = _profile_of_ink(ink, comb.offset, place, direction, curvature)
    amount = amount / (profile.level * level)
    sums = np.stack([trust, trust * amount, trust * amount**2], axis=1)
    found, rest = _fit(comb.whole @ sums)
    open_share = comb.square @ trust / comb.total
    view = float(open_share[comb.shifts.size // 2])
    score = np.where(open_share > LEAST_OPEN, np.minimum(found, 1.1) - rest, _NOWHERE)
    best = int(np.argmax(score - comb.ease))
    crowded = found[best] < LEAST_LEVEL or rest[best] > CROWDED
    if crowded:  # one side may still be free
        edge = _fit_sides(comb.sides @ sums)
        other = np.where(open_share > LEAST_OPEN, 1.0 - edge, _NOWHERE)
        place_of_other = int(np.argmax(other - 2.0 * comb.ease))
        if edge[place_of_other] < LEAST_EDGE:
            best, score, rest, found = place_of_other, other, edge, np.ones_like(found)
    if not np.isfinite(score[best]) or found[best] < LEAST_LEVEL or rest[best] > GREATEST_REST:
        return None, view
    best = _uphill(score, best)  # the ease that chose it would also draw it to where it was foretold
    shift = float(comb.shifts[best]) + _top(score, best) * SHIFT
    hidden = 1.0 - float(open_share[best])
    spread = 0.08 + 1.2 * float(rest[best]) + (0.5 if crowded else 0.0) + HIDING * hidden
    aside = np.array([-direction[1], direction[0]])
    return Sighting(place + shift * aside, spread, float(found[best]), bool(crowded), shift), view


def _profile_of_ink(
    ink: Ink, offset: Floats, place: Floats, direction: Floats, curvature: float
) -> tuple[Floats, Floats]:
    """Trust and amount of ink across the line, averaged along a short piece of it."""
    along = np.arange(-HALF_PATCH, HALF_PATCH + 0.5)[:, None]
    across = offset + 0.5 * curvature * along**2
    x = place[0] + along * direction[0] - across * direction[1]
    y = place[1] + along * direction[1] + across * direction[0]
    total, trust = ink.at(x, y)
    return trust.mean(axis=0), total.sum(axis=0) / np.maximum(trust.sum(axis=0), 1e-6)


def _fit(sums: Floats) -> tuple[Floats, Floats]:
    """Level of the line above what lies on both sides of it, and root mean square of what the fit leaves.

    ``sums`` has for 1, profile, square (first axis) and 1, ink, square (last axis) their products summed, shape
    (3, shifts, 3).
    """
    (n, p, pp), (t, tp, _), (tt, _, _) = (np.moveaxis(part, -1, 0) for part in sums)
    n = n + 1e-6
    spread = np.maximum(tt - t * t / n, 1e-3)
    level = (tp - t * p / n) / spread
    floor = (p - level * t) / n
    floor = np.where(floor > 0.0, 0.5 * floor, floor)  # ink beside the line is another's more often than a stain's
    level = (tp - floor * t) / np.maximum(tt, 1e-3)
    rest = pp - 2 * level * tp - 2 * floor * p + level**2 * tt + 2 * level * floor * t + floor**2 * n
    return level, np.sqrt(np.maximum(rest, 0.0) / n)


def _fit_sides(sums: Floats) -> Floats:
    """What the better of the line's two sides leaves of the ink, as it should be there; rms, shape (shifts,).

    Where another line lies against one side, the other still tells where this one is.
    """
    n, pp = sums[:, 0, :, 0], sums[:, 0, :, 2]
    tp, tt = sums[:, 1, :, 1], sums[:, 2, :, 0]
    return np.sqrt(np.maximum(pp - 2.0 * tp + tt, 0.0) / (n + 1e-6)).min(axis=0)


def _uphill(score: Floats, start: int) -> int:
    """The place of the highest score that a climb from ``start`` comes to."""
    while True:
        low = max(start - 1, 0)
        best = low + int(np.argmax(score[low : start + 2]))
        if score[best] <= score[start]:
            return start
        start = best


def _top(score: Floats, best: int) -> float:
    """Where a parabola through the best score and its neighbours has its top, in steps from it."""
    if not 0 < best < score.size - 1:
        return 0.0
    before, here, after = score[best - 1 : best + 2]
    bend = before - 2.0 * here + after
    if not np.isfinite(bend) or bend >= 0.0:
        return 0.0
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5))
