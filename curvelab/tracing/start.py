"""Where a curve is taken up: the line at a seed, its direction, its ink and its profile."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from curvelab.errors import Fault, InputError
from curvelab.tracing.ink import FAINTEST, Ink, ink_of
from curvelab.tracing.map import Floats
from curvelab.tracing.ruling import Ruling
from curvelab.tracing.sheet import Array32, Sheet

REACH_PX: Final = 7.0
"""How far from a seed its line may lie. [px]"""
ARM_PX: Final = 22.0
"""How far the direction is looked for on each side. [px]"""
HALF: Final = 64
"""Half the side of the part of the sheet that is looked at. [px]"""


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """The line across: a stroke of some width, blurred."""

    width: float
    """[px]"""
    blur: float
    """Standard deviation. [px]"""
    level: float
    """Amount of ink at its middle where it is followed, dashes averaged. [-]"""

    def at(self, offset: Floats) -> Floats:
        """Share of the level at distances from the middle, 1 at the middle."""
        return _stroke(offset, self.width, self.blur) / _stroke(np.zeros(1), self.width, self.blur)

    @property
    def reach(self) -> float:
        """Distance from the middle at which it has faded. [px]"""
        return 0.5 * self.width + 1.5 * self.blur


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """A curve taken up."""

    place: Floats
    """On the sheet, shape (2,)."""
    heading: float
    """Direction towards greater flow, in radians, downwards positive."""
    ink: Array32
    """Contrast of its middle, shape (3,)."""
    profile: Profile
    ruling: Ruling
    """Ruled lines without the one that is the curve itself, where it runs level."""


def take_up(sheet: Sheet, ruling: Ruling, seed: Floats, rgb: tuple[int, int, int] | None) -> Start:
    """The line at a seed (a place on the sheet); ``rgb`` helps where several inks lie near.

    Raises
    ------
    InputError
        If there is no line there.
    """
    high, wide = sheet.seen.shape
    if not ((seed > 0.0).all() and seed[0] < wide and seed[1] < high):
        raise _fault("lies outside the chart", "click on the curve, between the axes")
    x, y = seed.astype(int)
    part = (slice(max(0, y - HALF), min(high, y + HALF + 1)), slice(max(0, x - HALF), min(wide, x + HALF + 1)))
    wanted = None if rgb is None else contrast_of(rgb, sheet.paper_at(seed))
    ink = _ink_near(sheet, ruling, seed, wanted)
    place, angle = seed, 0.0
    for _ in range(2):
        local = ink_of(sheet, ruling, ink, part)
        place, angle = _direction(local, seed)
        line = _ruled_by(ruling, place, angle)
        if line is not None:
            ruling = ruling.without(line)
            local = ink_of(sheet, ruling, ink, part)
        ink = _ink_along(sheet, local, ink, place, angle)
    local = ink_of(sheet, ruling, ink, part)
    return Start(place, angle, ink, fit_profile(*_across(local, place, angle)), ruling)


def contrast_of(rgb: tuple[int, int, int], paper: Array32) -> Array32:
    """Contrast of a colour with the paper, as the sheet has it, shape (3,)."""
    return ((paper - np.asarray(rgb)) / (paper + 8.0)).astype(np.float32)


def _ink_near(sheet: Sheet, ruling: Ruling, seed: Floats, wanted: Array32 | None) -> Array32:
    """The strongest ink close to the seed that is no ruling, and of the wanted hue where that is known."""
    high, wide = sheet.seen.shape
    reach = int(REACH_PX)
    x, y = seed.astype(int)
    part = (slice(max(0, y - reach), min(high, y + reach + 1)), slice(max(0, x - reach), min(wide, x + reach + 1)))
    contrast = sheet.contrast[part]
    columns, rows = np.meshgrid(np.arange(part[1].start, part[1].stop), np.arange(part[0].start, part[0].stop))
    far2 = (columns + 0.5 - seed[0]) ** 2 + (rows + 0.5 - seed[1]) ** 2
    strength = np.sqrt((contrast**2).sum(axis=2))
    worth = strength * np.exp(-far2 / (2 * 3.0**2)) * (1.0 - 0.9 * ruling.share[part])
    if wanted is not None:
        unit = wanted / max(float(np.linalg.norm(wanted)), 1e-6)
        along = contrast @ unit
        across = np.sqrt(np.maximum(strength**2 - along**2, 0.0))
        worth *= np.exp(-((across / np.maximum(along, 0.05)) ** 2) / 0.5)
    best = np.unravel_index(int(np.argmax(worth)), worth.shape)
    ink = contrast[best]
    if float(np.abs(ink).max()) < max(FAINTEST, 4.0 * sheet.noise):
        raise _fault("has no line near it", "click on the curve itself")
    return ink


def _direction(ink: Ink, seed: Floats) -> tuple[Floats, float]:
    """The place nearest to the seed and the direction in which most ink lies along both arms, and least beside them."""
    angles = np.deg2rad(np.arange(-90.0, 90.0, 3.0))
    shifts = np.arange(-14.0, 14.01, 0.5)
    inner = slice(16, -16)  # a click misses by 6 px at most; beyond is only looked at
    along = np.arange(-ARM_PX, ARM_PX + 1.0)
    best = (-np.inf, seed, 0.0)
    for angle in angles:
        forward = np.array([np.cos(angle), np.sin(angle)])
        aside = np.array([-forward[1], forward[0]])
        x = seed[0] + along * forward[0] + shifts[:, None] * aside[0]
        y = seed[1] + along * forward[1] + shifts[:, None] * aside[1]
        total, trust = ink.at(x, y)
        half = along.size // 2
        arms = [total[:, s].sum(axis=1) / (trust[:, s].sum(axis=1) + 2.0) for s in (slice(0, half), slice(half, None))]
        score = np.minimum(arms[0], arms[1]) + 0.5 * (arms[0] + arms[1])
        score = score[inner] - 0.5 * (score[:-32] + score[32:]) - 0.004 * shifts[inner] ** 2
        place = int(np.argmax(score))
        if score[place] > best[0]:
            best = (float(score[place]), seed + shifts[inner][place] * aside, float(angle))
    return best[1], best[2]


def _ruled_by(ruling: Ruling, place: Floats, angle: float) -> int | None:
    """The ruled line that the curve can't be told from where it is taken up."""
    x, y = place.astype(int)
    near = ruling.which[max(0, y - 1) : y + 2, x]
    for line in np.unique(near[near >= 0]).tolist():
        if ruling.level[line] and abs(np.tan(angle)) < 0.06:
            return line
    return None


def _ink_along(sheet: Sheet, ink: Ink, was: Array32, place: Floats, angle: float) -> Array32:
    """Median contrast along the line's middle, of the pixels that show it."""
    along = np.arange(-ARM_PX, ARM_PX + 1.0)
    x, y = place[0] + along * np.cos(angle), place[1] + along * np.sin(angle)
    best = np.full(along.size, -1.0)
    contrast = np.zeros((along.size, 3), dtype=np.float32)
    high, wide = sheet.seen.shape
    for shift in (-2.0, -1.0, 0.0, 1.0, 2.0):
        sx, sy = x - shift * np.sin(angle), y + shift * np.cos(angle)
        total, trust = ink.at(sx, sy)
        better = (total > best) & (trust > 0.6)
        column, row = np.clip(sx.astype(int), 0, wide - 1), np.clip(sy.astype(int), 0, high - 1)
        contrast[better] = sheet.contrast[row, column][better]
        best = np.where(better, total, best)
    good = best > 0.5
    return np.median(contrast[good], axis=0).astype(np.float32) if good.sum() >= 5 else was


def _across(ink: Ink, place: Floats, angle: float) -> tuple[Floats, Floats, Floats]:
    """Offsets, mean amount of ink and trust across the line."""
    offset = np.arange(-12.0, 12.01, 0.5)
    along = np.arange(-8.0, 8.01, 1.0)[:, None]
    x = place[0] + along * np.cos(angle) - offset * np.sin(angle)
    y = place[1] + along * np.sin(angle) + offset * np.cos(angle)
    total, trust = ink.at(x, y)
    return offset, total.sum(axis=0) / np.maximum(trust.sum(axis=0), 1e-6), trust.mean(axis=0)


def fit_profile(offset: Floats, amount: Floats, trust: Floats) -> Profile:
    """The stroke that fits an amount of ink across a line best."""
    best = (np.inf, Profile(2.0, 0.7, 1.0))
    for width in (0.8, 1.2, 1.6, 2.0, 2.5, 3.0, 3.6, 4.4, 5.4, 6.6, 8.0, 10.0, 12.0):
        for blur in (0.4, 0.6, 0.9, 1.3, 1.8, 2.5):
            shape = _stroke(offset[None, :] - np.arange(-2.0, 2.01, 0.5)[:, None], width, blur)
            weight = trust * (np.abs(offset) < 0.5 * width + 3.0 * blur + 2.5)
            level = (shape * weight) @ amount / np.maximum((shape**2) @ weight, 1e-9)
            rest = ((amount - level[:, None] * shape) ** 2) @ weight / max(float(weight.sum()), 1e-9)
            place = int(np.argmin(rest))
            error = float(rest[place])
            if level[place] > 0.0 and error < best[0]:
                middle = level[place] * float(_stroke(np.zeros(1), width, blur)[0])
                best = (error, Profile(width, blur, middle))
    return best[1]


def _stroke(offset: Floats, width: float, blur: float) -> Floats:
    """A box of height 1 blurred; the normal integral by a logistic curve, good to 0.01."""
    steep = 1.702 / blur
    return 1.0 / (1.0 + np.exp(-steep * (offset + 0.5 * width))) - 1.0 / (1.0 + np.exp(-steep * (offset - 0.5 * width)))


def _fault(got: str, right: str) -> InputError:
    return InputError(Fault("", "", got, right))
