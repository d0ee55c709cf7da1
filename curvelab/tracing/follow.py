"""Following a line over a sheet: predict, look across, measure, step on.

Where the line goes next is foretold from a stretch of it already seen, by a parabola. Across that place the ink is
compared with the line's own profile: what fits moves the line, what does not (a crossing, a label, a ruled line on top)
is passed over. A gap is bridged only if the line is taken up again where it was foretold, and no further than a bound;
then it ends where it was last seen.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from curvelab.tracing.across import Sighting, look_across
from curvelab.tracing.ink import Ink
from curvelab.tracing.map import Floats
from curvelab.tracing.start import Start

STEP: Final = 2.0
"""From one measurement to the next. [px]"""
MEMORY: Final = 70.0
"""Length of line that foretells where it goes on. [px]"""
RECENT: Final = 50
"""Most sightings that foretell where it goes on. [-]"""
LONGEST_DASH: Final = 20.0
"""Longest gap that is taken for a dashed line's own. [px]"""
CLUTTER_REACH: Final = 8.0
"""How far aside something may lie that hides the line, such as a label in its white box. [px]"""
CLUTTER: Final = 0.4
"""Its contrast over the line's own. [-]"""
MOSTLY: Final = 0.7
"""Share of a gap under ruled lines from which on nothing could be seen in it. [-]"""
STEADY: Final = 12
"""Sightings whose level tells what the next must have, where they are alike. [-]"""
ALIKE: Final = 0.08
"""Standard deviation of their levels up to which they are. [-]"""
PALER: Final = 0.75
"""Less than so much of their level is something else, such as a letter. [-]"""
LONGEST_LETTER: Final = 14.0
"""Longest straight stroke of a label, that would pass for a line. [px]"""
WIDEST_GATE: Final = 10.0
"""Farthest from where it was foretold that the line is looked for. [px]"""
SHARPEST: Final = 0.03
"""Greatest curvature of a line that is followed. [1/px]"""
BEND_SPREAD: Final = 3e-3
"""How much the curvature may differ from one moment to the next, one standard deviation. [1/px]"""
CHANGE_SPREAD: Final = 2e-5
"""How much it may change along the line, one standard deviation. [1/px²]"""


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """A stretch between two sightings where the line was not seen."""

    start: Floats
    end: Floats
    length: float
    """[px]"""
    hidden: bool
    """It lies under ruled lines: nothing could be seen there."""
    cluttered: bool
    """Something else lies there, such as a label."""


@dataclass(slots=True)
class Trail:
    """The line in one direction from its start."""

    sightings: list[Sighting] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    end: str = ""
    """Why it went no further."""
    tail: float = 0.0
    """Length from the last sighting to there. [px]"""
    tail_hidden: bool = False
    """Most of that lies under ruled lines."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Where a trail ends at the latest."""

    longest_gap: float
    """[px]"""
    left: float
    """Where flow is 0. [px]"""
    bottom: float
    """Where the value is 0. [px]"""
    size: tuple[int, int]
    """Width and height of the sheet. [px]"""


def follow(ink: Ink, start: Start, limits: Limits) -> tuple[Trail, Trail]:
    """The line from its start towards lesser flow, and towards greater.

    Each walk remembers what the other has seen beyond the start, so that a gap close to it is crossed as surely as any.
    """
    back = replace(start, heading=start.heading + np.pi)
    near = _Follower(ink, start, limits, memory=[]).run(MEMORY)
    down = _Follower(ink, back, limits, memory=near.sightings).run()
    up = _Follower(ink, start, limits, memory=down.sightings).run()
    return down, up


class _Follower:
    """One walk along a line."""

    def __init__(self, ink: Ink, start: Start, limits: Limits, *, memory: list[Sighting]) -> None:
        self.ink, self.start, self.profile, self.limits = ink, start, start.profile, limits
        self.place = start.place.copy()
        self.direction = np.array([np.cos(start.heading), np.sin(start.heading)])
        self.forward = 1.0 if self.direction[0] > 0.0 else -1.0
        self.curvature = 0.0
        self.change = 0.0  # of the curvature, a pixel
        self.level = 1.0  # of this stretch over that at the start
        self.trail = Trail()
        self.memory = memory[:RECENT][::-1]
        self.pending: list[Sighting] = []  # seen again after a gap, not yet for long enough
        self.blank = 0.0  # length since the last sighting that counts
        self.covered = 0.0  # of that, under ruled lines
        self.cluttered = 0.0  # of that, where something else lies, such as a label
        self.since = 0.0  # length since the last sighting of any kind
        self.usual = 2.0 * STEP  # length of the gaps of a dashed line
        self.stub: Sighting | None = None  # half a look of line after all that was seen, and nothing since

    def run(self, length: float = np.inf) -> Trail:
        """The whole walk, or the first ``length`` pixels of it."""
        trail = self.trail
        while not trail.end and len(trail.sightings) * STEP < length:
            self._predict()
            self.direction = _turned(self.direction, 0.5 * self.curvature * STEP)
            self.place = self.place + STEP * self.direction
            self.direction = _turned(self.direction, 0.5 * self.curvature * STEP)
            self.curvature = float(np.clip(self.curvature + self.change * STEP, -SHARPEST, SHARPEST))
            trail.end = self._out()
            if not trail.end:
                self._look()
        if self.stub is not None and trail.end != "flow 0":
            trail.sightings.append(self.stub)
        trail.tail, trail.tail_hidden = self.blank, self.covered > MOSTLY * self.blank
        return trail

    def _out(self) -> str:
        x, y = self.place
        wide, high = self.limits.size
        if x < self.limits.left - 1.0:
            return "flow 0"
        if y > self.limits.bottom + 2.0:
            return "value 0"
        if not (0.0 < x < wide and 0.0 < y < high):
            return "edge"
        if self.direction[0] * self.forward < -0.05:
            return "turns back"
        if self.blank - STEP * len(self.pending) > self.limits.longest_gap:
            return "gap"
        return ""

    def _predict(self) -> None:
        """Place, direction and how it bends, from the stretch just seen, while the line is in sight."""
        seen = [*self.memory, *self.trail.sightings][-RECENT:]
        if len(seen) < 4 or self.blank > self.usual or self.pending:
            return
        points = np.array([s.place for s in seen])
        weight = np.array([0.5 / s.spread for s in seen])  # neighbours share pixels
        (shift, slope, bend, change), _ = self._fit(points, weight)
        self.place = self.place + shift * _left(self.direction)
        self.direction = _turned(self.direction, float(np.arctan(slope)))
        self.curvature = float(np.clip(self.curvature + bend, -SHARPEST, SHARPEST))
        self.change = change

    def _fit(self, points: Floats, weight: Floats) -> tuple[Floats, Floats]:
        """How the line through points differs from the circle foretold: aside, turned, bent more, and ever more.

        Also how far from it the points lie. That the bend changes slowly is worth a sighting.
        """
        along, aside = _along_arc(points - self.place, self.direction, self.curvature)
        last = along.max()
        near = along > last - MEMORY
        weight = np.where(near, weight * np.exp((along - last) / (0.7 * MEMORY)), 0.0)
        rows = np.stack([np.ones_like(along), along, along**2 / 2, along**3 / 6], axis=1)
        prior = np.diag([0.0, 0.0, 1.0 / BEND_SPREAD, 1.0 / CHANGE_SPREAD])[2:]
        target = np.concatenate([aside * weight, [0.0, 0.0]])
        line = np.linalg.lstsq(np.concatenate([rows * weight[:, None], prior]), target, rcond=None)[0]
        return np.asarray(line, dtype=np.float64), aside - rows @ line

    def _look(self) -> None:
        gap = self.blank
        gate = 1.5 + 0.04 * gap + BEND_SPREAD / 6 * gap**2 + CHANGE_SPREAD / 6 * gap**3
        found, open_share = look_across(
            self.ink,
            self.profile,
            self.place,
            self.direction,
            curvature=self.curvature,
            level=self.level,
            gate=min(gate, WIDEST_GATE),
        )
        if found is not None:
            unlike = self._unlike(found)
            if self.blank < STEP:
                self.stub = found if unlike else None
            elif not unlike or (self.stub is not None and found.level > self.stub.level):
                self.stub = None  # more than a line that fades out under the look
            found = None if unlike else found
        if found is None:
            clear = self.blank > CLUTTER_REACH  # of the line's own end
            clutter = self.ink.clutter(self.place, CLUTTER_REACH) if clear else 0.0
            self._miss(covered=1.0 - open_share, cluttered=clutter > CLUTTER)
        else:
            self._see(found)

    def _unlike(self, found: Sighting) -> bool:
        """Whether a line that was steady all along would suddenly be much paler: then it is none of it."""
        level = [s.level for s in (*self.memory, *self.trail.sightings)[-STEADY:] if not s.crowded]
        if len(level) < STEADY // 2 or float(np.std(level)) > ALIKE:
            return False
        return found.level < PALER * float(np.median(level))

    def _miss(self, *, covered: float, cluttered: bool) -> None:
        self.blank += STEP
        self.since += STEP
        self.covered += STEP * covered
        self.cluttered += STEP * cluttered
        if self.since > self.usual:
            self.pending.clear()  # what was seen was too little to be the line

    def _see(self, found: Sighting) -> None:
        if not self.pending and self.blank <= self.usual:
            self._close(found)
            self.trail.sightings.append(found)
            if not found.crowded:
                self.level *= 1.0 + 0.1 * (min(max(found.level, 0.5), 2.0) - 1.0)
        else:
            self.blank += STEP
            self.pending = [*_steady(self.pending, found), found]
            good = STEP * sum(not sighting.crowded for sighting in self.pending)
            gap = self.blank - STEP * len(self.pending)
            least = 3.0 * STEP if self.usual > 2.0 * STEP else LONGEST_LETTER
            if good >= min(max(least, 0.6 * gap), 40.0):
                if not self._goes_on(gap):
                    self.pending.clear()
                    return
                self._close(self.pending[0])
                self.trail.sightings.extend(self.pending)
                self.pending.clear()
        self.since = 0.0

    def _goes_on(self, gap: float) -> bool:
        """Whether what is pending lies on one smooth line with what was seen before the gap."""
        before = [*self.memory, *self.trail.sightings][-RECENT:]
        late = len(self.pending)
        points = np.array([s.place for s in (*before, *self.pending)])
        weight = np.concatenate([[0.5 / s.spread for s in before], np.full(late, 2.0)])
        _, miss = self._fit(points, weight)
        if float(np.sqrt(np.mean(miss[-late:] ** 2))) > 0.35 + 0.005 * gap:
            return False
        # where the paper is plainly blank the line is not there: only what lies dead ahead can be its other end
        shift = abs(float(np.mean([s.shift for s in self.pending[:5]])))
        ahead = shift < 0.7 + 1.2 * (gap / 60.0) ** 2
        return ahead or (self.cluttered + self.covered > 0.4 * gap and not self._beside(gap))

    def _beside(self, gap: float) -> bool:
        """Whether what is pending comes from alongside the gap: then it is another line."""
        first, last = self.pending[0].place, self.pending[-1].place
        back = first - last
        start = replace(self.start, place=first, heading=float(np.arctan2(back[1], back[0])))
        limits = replace(self.limits, longest_gap=self.usual)
        walk = _Follower(self.ink, start, limits, memory=self.pending[1:])
        walk.level = self.level
        seen = [s for s in walk.run(gap).sightings if not s.crowded and (s.place - first) @ back > 0.0]
        return STEP * len(seen) > 0.5 * gap

    def _close(self, found: Sighting) -> None:
        """A gap ends at ``found``."""
        if self.blank > STEP and self.trail.sightings:
            start = self.trail.sightings[-1].place
            length = float(np.hypot(*(found.place - start)))
            gap = self.blank - STEP * len(self.pending)
            hidden = self.covered > MOSTLY * gap
            self.trail.gaps.append(Gap(start, found.place, length, hidden, self.cluttered > 0.5 * gap))
            if not hidden and length < LONGEST_DASH:
                self.usual = max(self.usual, 1.3 * length)
        self.blank = self.covered = self.cluttered = 0.0


def _steady(pending: list[Sighting], found: Sighting) -> list[Sighting]:
    """Sightings that ``found`` goes on from; none where it lies aside of the last."""
    return pending if pending and abs(found.shift - pending[-1].shift) < 0.4 * STEP else []


def _left(direction: Floats) -> Floats:
    return np.array([-direction[1], direction[0]])


def _along_arc(points: Floats, direction: Floats, curvature: float) -> tuple[Floats, Floats]:
    """Places along and aside of a circle that starts at the origin, shape (n,) each; left is positive."""
    x, y = points @ direction, points @ _left(direction)
    square = x**2 + y**2
    aside = (2.0 * y - curvature * square) / (1.0 + np.hypot(1.0 - curvature * y, curvature * x))
    if abs(curvature) < 1e-7:
        return x, aside
    return np.arctan2(curvature * x, 1.0 - curvature * y) / curvature, aside


def _turned(direction: Floats, angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([c * direction[0] - s * direction[1], s * direction[0] + c * direction[1]])
