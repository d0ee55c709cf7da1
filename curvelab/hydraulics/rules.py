"""What a Plan must keep to be solved: one set of rules for a setup read from a file and for the columns of a sweep."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.plan import Legs, Plan
from curvelab.units import Quantity, System, show

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

SPEED_RATIO: Final = (0.4, 1.05)
"""Speeds over the tested speed for which the affinity laws are used. [-] Common practice, no source."""

GREATEST_ROUGHNESS: Final = 0.05
"""Greatest roughness over bore: the friction formula's range. [-]"""

_SLACK: Final = 1e-9
"""Relative rounding that a length may miss a climb by. [-]"""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a row can't be solved. ``field`` is the setup's field at fault."""

    field: str
    words: Callable[[Callable[[float], str]], tuple[str, str]]
    """What was found and what would be right, given how a length is shown."""

    def text(self, system: System = System.METRIC) -> tuple[str, str]:
        """What was found and what would be right, lengths in the units of ``system``."""
        return self.words(lambda metres: show(metres, Quantity.LENGTH, system))


@dataclass(frozen=True, slots=True, eq=False)
class _Check:
    """One rule over a batch: which cells break it, shape (rows, cells), and how to say so for one of them."""

    broken: Bools
    refusal: Callable[[int, int], Refusal]


@dataclass(frozen=True, slots=True, eq=False)
class Refusals:
    """What the rules say of every row of a Plan."""

    refused: Bools
    """Shape (rows,): the row breaks a rule and has no answer."""
    _checks: tuple[_Check, ...]

    def of(self, row: int) -> tuple[Refusal, ...]:
        """Every refusal of a row, empty where it keeps the rules."""
        return tuple(
            check.refusal(row, int(cell)) for check in self._checks for cell in np.flatnonzero(check.broken[row])
        )


def refusals(plan: Plan) -> Refusals:
    """The rules held against every row: values in range, hose that reaches, waypoints in order and on the hose."""
    checks = tuple(_checks(plan))
    refused = np.zeros(plan.rows, dtype=np.bool_)
    for check in checks:
        refused |= check.broken.any(axis=1)
    return Refusals(refused, checks)


def _checks(plan: Plan) -> Iterator[_Check]:
    yield _speed(plan)
    yield _boosters(plan)
    for side, legs in (("suction", plan.suction), ("discharge", plan.discharge)):
        yield _roughness(side, legs)
        yield _negative(side, legs)
    yield _suction_reaches(plan)
    yield _waypoints_rise(plan)
    yield _waypoints_on_hose(plan)
    yield _climbs(plan)


def _speed(plan: Plan) -> _Check:
    ratio = plan.pumps.speed_ratio
    low, high = SPEED_RATIO

    def refusal(row: int, at: int) -> Refusal:
        got = f"{ratio[row, at]:.1%} of the tested speed"
        return Refusal(
            f"booster.{at - 1}.throttle" if at else "pump.throttle",
            lambda _: (got, f"write from {low:.0%} to {high:.0%} of it"),
        )

    good = (ratio >= low * (1 - _SLACK)) & (ratio <= high * (1 + _SLACK))
    return _Check(plan.pumps.used & ~good, refusal)


def _boosters(plan: Plan) -> _Check:
    place, length = plan.pumps.distance_m[:, 1:], plan.discharge.length_m.sum(axis=1)

    def refusal(row: int, at: int) -> Refusal:
        here, hose = float(place[row, at]), float(length[row])
        return Refusal(
            f"booster.{at}.distance",
            lambda say: (
                f"{say(here)} is not between the ends of the hose, which is {say(hose)} long",
                "a booster stands in the line: more than 0, less than the whole hose",
            ),
        )

    return _Check(plan.pumps.used[:, 1:] & ~((place > 0.0) & (place < length[:, None])), refusal)


def _roughness(side: str, legs: Legs) -> _Check:
    def refusal(row: int, leg: int) -> Refusal:
        got = f"a roughness of {legs.roughness_m[row, leg] / legs.bore_m[row, leg]:.1%} of the bore"
        return Refusal(f"{side}.leg.{leg}.roughness", lambda _: (got, f"write at most {GREATEST_ROUGHNESS:.0%} of it"))

    good = (legs.bore_m > 0.0) & (legs.roughness_m <= GREATEST_ROUGHNESS * (1 + _SLACK) * legs.bore_m)
    return _Check(legs.used & ~good, refusal)


def _negative(side: str, legs: Legs) -> _Check:
    def refusal(row: int, leg: int) -> Refusal:
        length = float(legs.length_m[row, leg])
        return Refusal(
            f"{side}.leg.{leg}.length", lambda say: (f"a hose of {say(length)}", "write a length of 0 or more")
        )

    return _Check(legs.used & ~(legs.length_m >= 0.0), refusal)


def _suction_reaches(plan: Plan) -> _Check:
    """A flooded suction may enter anywhere below the surface: only a lift asks for length."""
    length = plan.suction.length_m.sum(axis=1)

    def refusal(row: int, _: int) -> Refusal:
        lift, hose = float(plan.lift_m[row]), float(length[row])
        return Refusal(
            "suction.lift",
            lambda say: (
                f"{say(lift)} of lift, but {say(hose)} of suction hose",
                "the hose must reach from the water up to the pump",
            ),
        )

    return _Check(~(plan.lift_m <= length * (1 + _SLACK))[:, None], refusal)


def _waypoints_rise(plan: Plan) -> _Check:
    way = plan.waypoints
    before = np.concatenate([np.zeros((plan.rows, 1)), way.distance_m[:, :-1]], axis=1)

    def refusal(row: int, at: int) -> Refusal:
        here, last = float(way.distance_m[row, at]), float(before[row, at])
        return Refusal(
            f"discharge.waypoint.{at}.distance",
            lambda say: (
                f"{say(here)} does not lie beyond {say(last)}",
                "waypoints go outwards from the pump, one after another",
            ),
        )

    return _Check(way.used & ~(way.distance_m > before), refusal)


def _waypoints_on_hose(plan: Plan) -> _Check:
    way, length = plan.waypoints, plan.discharge.length_m.sum(axis=1)

    def refusal(row: int, at: int) -> Refusal:
        here, hose = float(way.distance_m[row, at]), float(length[row])
        return Refusal(
            f"discharge.waypoint.{at}.distance",
            lambda say: (
                f"{say(here)} lies beyond the hose, which is {say(hose)} long",
                "write less, or lay more hose",
            ),
        )

    return _Check(way.used & (way.distance_m > (length * (1 + _SLACK))[:, None]), refusal)


def _climbs(plan: Plan) -> _Check:
    """Between two corners of the route the height can't change by more than the hose between them."""
    way, rows = plan.waypoints, plan.rows
    length = plan.discharge.length_m.sum(axis=1)[:, None]
    zero = np.zeros((rows, 1))
    x = np.concatenate([zero, np.where(way.used, way.distance_m, length), length], axis=1)
    z = np.concatenate([zero, np.where(way.used, way.height_m, plan.rise_m[:, None]), plan.rise_m[:, None]], axis=1)
    run, climb = np.diff(x, axis=1), np.abs(np.diff(z, axis=1))
    count = way.used.sum(axis=1)

    def refusal(row: int, part: int) -> Refusal:
        field = f"discharge.waypoint.{part}.height" if part < count[row] else "discharge.rise"
        height, hose = float(climb[row, part]), float(run[row, part])
        return Refusal(
            field,
            lambda say: (
                f"{say(height)} of height over {say(hose)} of hose",
                "hose can't be shorter than what it climbs",
            ),
        )

    return _Check((run >= 0.0) & ~(climb <= run + _SLACK * length + 1e-12), refusal)
