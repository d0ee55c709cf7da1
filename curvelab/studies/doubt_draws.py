"""What is in doubt about a setup, how wide, and a Plan with a row for each draw of it.

What hose, fittings and pump bring along is always in doubt; what a setup states takes the place of its own kind only,
so that to state a doubt can't make the answer look surer.

A width says "nine times in ten within": a normal distribution of 1.645 standard deviations. There is one draw a doubt,
shared by all hoses, so that a tape that reads short is short everywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from math import exp, log
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.plan import Legs, Plan
from curvelab.hydraulics.rules import GREATEST_ROUGHNESS
from curvelab.hydraulics.suction import HIGH_GUESS, LOW_GUESS, Needs
from curvelab.model.catalogue import Catalogue
from curvelab.model.hoseline import Leg
from curvelab.model.planning import pump_of
from curvelab.model.setup import Setup
from curvelab.model.water import Doubt as Section

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NAMES: Final = ("lift", "rise", "length", "bore", "roughness", "k", "head", "npshr")
"""Every doubt, in the order of the water and then of the pump."""
NINE_IN_TEN: Final = NormalDist().inv_cdf(0.95)
"""Standard deviations within which a normal draw lies nine times in ten. [-]"""
LEAST_BORE: Final = 0.02
"""Least factor on a bore: what a draw below zero counts as, for a bore of nothing can't be solved. [-]"""
NPSHR_STEPS: Final = 32
"""Equally likely values that the draw of the NPSHR is taken from. [-]"""

GRADE_HEAD: Final[Mapping[str, tuple[float, float]]] = {
    "1B": (-0.03, 0.03),
    "1E": (-0.03, 0.03),
    "1U": (0.0, 0.06),
    "2B": (-0.05, 0.05),
    "2U": (0.0, 0.10),
    "3B": (-0.07, 0.07),
}
"""How far the head may lie from the sheet's. [-] ISO 9906:2012; 1B, 2B and 3B as quoted by trade pages, the others from
memory. That a tolerance holds nine times in ten is our choice."""
UNSTATED_GRADE: Final = "3B"

_Z = NDArray[np.float64]
_Change = Callable[[Plan, _Z], Plan]


@dataclass(frozen=True, slots=True)
class Doubts:
    """What is in doubt: how each draw, in units of its width, changes a Plan. What doesn't vary is left out."""

    stated: frozenset[str]
    """Those whose width the setup states itself; the others have the catalogue's and the grade's."""
    grade: str
    """After ISO 9906; empty for an estimated curve, whose own band counts instead."""
    apply: Mapping[str, _Change] = field(default_factory=dict[str, _Change])
    usual: Mapping[str, tuple[float, float]] = field(default_factory=dict[str, tuple[float, float]])
    """The catalogue's own widths, whether stated otherwise or not: the least and the greatest factor of any hose; of
    the fittings nothing, since each has its own."""

    @property
    def names(self) -> tuple[str, ...]:
        """What varies."""
        return tuple(self.apply)

    def rows(self, plan: Plan, draws: Mapping[str, _Z]) -> Plan:
        """A row a draw: ``plan`` has one row, ``draws`` standard normal numbers by name, shape (n,) each."""
        count = next((z.size for z in draws.values()), 1)
        rows = plan.repeat(count)
        for name, change in self.apply.items():
            rows = change(rows, draws[name] / NINE_IN_TEN)
        return rows


def doubts_of(setup: Setup, plan: Plan, catalogue: Catalogue) -> Doubts:
    """The doubts that hose, fittings and pump bring along, with those that the setup states in the place of their kind.

    A stated width of nothing takes its doubt away: that is known exactly.
    """
    pump = pump_of(setup.pump, catalogue)
    band = pump.head.doubt
    grade = "" if band else pump.grade or UNSTATED_GRADE
    changes, usual = _usual(setup, catalogue, band or GRADE_HEAD[grade])
    stated = {} if setup.doubt is None else _stated(setup.doubt, plan)
    changes |= stated
    apply = {name: change for name in NAMES if (change := changes.get(name)) is not None}
    return Doubts(stated=frozenset(stated), grade=grade, apply=apply, usual=usual)


def draws_of(samples: int, seed: int) -> dict[str, _Z]:
    """Standard normal numbers for every doubt, the same for a seed whichever of them is asked for."""
    drawn = np.random.default_rng(seed).standard_normal((len(NAMES), samples))
    return dict(zip(NAMES, drawn, strict=True))


def _stated(section: Section, plan: Plan) -> dict[str, _Change | None]:
    """The change of every doubt that is stated, ``None`` where its width is nothing."""
    widths = {name: getattr(section, name) for name in NAMES}
    return {
        name: _change(name, width.si, plan) if width.si > 0.0 else None
        for name, width in widths.items()
        if width is not None
    }


def _change(name: str, width: float, plan: Plan) -> _Change:
    """The change that a doubt of one width makes, in the Plan's own columns."""

    def factor(z: _Z) -> Floats:
        return np.maximum(1.0 + width * z, 0.0)[:, None]

    match name:
        case "lift":
            return lambda rows, z: rows.with_(lift_m=rows.lift_m + width * z)
        case "rise":
            return lambda rows, z: _risen(rows, width * z)
        case "length":
            return lambda rows, z: _lengthened(rows, factor(z))
        case "bore":
            return lambda rows, z: _bored(rows, factor(z), factor(z))
        case "roughness":
            return lambda rows, z: _roughened(rows, factor(z), factor(z))
        case "k":
            return lambda rows, z: _with_k(rows, factor(z))
        case "head":
            return lambda rows, z: rows.with_(pumps=rows.pumps.with_(wear=rows.pumps.wear * factor(z)))
        case _:
            return _npshr(plan, width)


def _risen(rows: Plan, by: Floats) -> Plan:
    way = rows.waypoints
    height = np.where(way.used, way.height_m + by[:, None], 0.0)
    return rows.with_(rise_m=rows.rise_m + by, waypoints=way.with_(height_m=height))


def _lengthened(rows: Plan, factor: Floats) -> Plan:
    """All that was measured along the hose."""
    return rows.with_(
        suction=rows.suction.with_(length_m=rows.suction.length_m * factor),
        discharge=rows.discharge.with_(length_m=rows.discharge.length_m * factor),
        waypoints=rows.waypoints.with_(distance_m=rows.waypoints.distance_m * factor),
        pumps=rows.pumps.with_(distance_m=rows.pumps.distance_m * factor),
    )


def _bored(rows: Plan, suction: Floats, discharge: Floats) -> Plan:
    def bored(legs: Legs, factor: Floats) -> Legs:
        bore = legs.bore_m * np.maximum(factor, LEAST_BORE)
        return legs.with_(bore_m=bore, roughness_m=np.minimum(legs.roughness_m, GREATEST_ROUGHNESS * bore))

    return rows.with_(suction=bored(rows.suction, suction), discharge=bored(rows.discharge, discharge))


def _roughened(rows: Plan, suction: Floats, discharge: Floats) -> Plan:
    def rough(legs: Legs, factor: Floats) -> Legs:
        return legs.with_(roughness_m=np.minimum(legs.roughness_m * factor, GREATEST_ROUGHNESS * legs.bore_m))

    return rows.with_(suction=rough(rows.suction, suction), discharge=rough(rows.discharge, discharge))


def _with_k(rows: Plan, factor: Floats) -> Plan:
    return rows.with_(
        suction=rows.suction.with_(k=rows.suction.k * factor),
        discharge=rows.discharge.with_(k=rows.discharge.k * factor),
        valve_k=rows.valve_k * factor[:, 0],
    )


def _npshr(plan: Plan, width: float) -> _Change:
    """NPSHR times a factor; for a pump without, somewhere in the band of guesses, whatever the width.

    Curves can't be scaled row by row: the factor takes one of equally likely values, each with curves of its own.
    """
    chances = (np.arange(NPSHR_STEPS) + 0.5) / NPSHR_STEPS
    steps = np.array([NormalDist().inv_cdf(chance) for chance in chances.tolist()]) / NINE_IN_TEN
    old = plan.curves
    guess, count = _guesses(plan), old.head_m.count.size

    def points(curve: int, step: float) -> tuple[Floats, Floats]:
        flow, needed = _points(old.npshr_m, curve)
        if flow.size:
            return flow, needed * max(1.0 + width * step, 0.0)
        flow, low, high = guess[curve]
        return flow, np.maximum(0.5 * (low + high) + 0.5 * (high - low) * step, 0.0)

    def again(table: CurveTable) -> CurveTable:
        return CurveTable.of([_points(table, curve) for _ in range(NPSHR_STEPS) for curve in range(count)])

    curves = replace(
        old,
        head_m=again(old.head_m),
        npshr_m=CurveTable.of([points(curve, float(step)) for step in steps for curve in range(count)]),
        efficiency=again(old.efficiency),
        power_w=again(old.power_w),
        names=old.names * NPSHR_STEPS,
    )
    edges = 0.5 * (steps[1:] + steps[:-1])

    def change(rows: Plan, z: _Z) -> Plan:
        nearest: Ints = np.searchsorted(edges, z).astype(np.int64)
        return rows.with_(curves=curves, pumps=rows.pumps.with_(curve=rows.pumps.curve + count * nearest[:, None]))

    return change


def _points(table: CurveTable, curve: int) -> tuple[Floats, Floats]:
    count = int(table.count[curve])
    return table.x[curve, :count], table.y[curve, :count]


def _guesses(plan: Plan) -> dict[int, tuple[Floats, Floats, Floats]]:
    """Band of guesses of every curve that has no NPSHR: flow, low and high edge at the tested speed."""
    found: dict[int, tuple[Floats, Floats, Floats]] = {}
    one = np.ones_like(plan.pumps.speed_ratio)
    for curve in np.flatnonzero(plan.curves.npshr_m.count == 0).tolist():
        flow = np.linspace(0.0, float(plan.curves.head_m.last(np.array([curve]))[0]), 13)
        pumps = plan.pumps.with_(curve=np.full_like(plan.pumps.curve, curve), speed_ratio=one, abreast=one)
        needs = Needs.of(plan.with_(pumps=pumps))
        low, high = (needs.guess(flow[None, :], edge)[0] for edge in (LOW_GUESS, HIGH_GUESS))
        found[curve] = flow, low, high
    return found


def _usual(
    setup: Setup, catalogue: Catalogue, of_head: tuple[float, float]
) -> tuple[dict[str, _Change | None], dict[str, tuple[float, float]]]:
    """What the catalogue says of hose and fittings, how far the pump's head may lie from its curve; and how wide."""
    legs = (setup.suction.leg, setup.discharge.leg)
    bores = [np.array([_bore_spread(leg, catalogue) for leg in side]) for side in legs]
    roughs = [np.log([_roughness_spread(leg, catalogue) for leg in side]) for side in legs]
    apply: dict[str, _Change | None] = {}
    usual: dict[str, tuple[float, float]] = {}
    if bore := max(float(spread.max()) for spread in bores):
        apply["bore"] = lambda rows, z: _bored(rows, *(np.maximum(1.0 + spread * z[:, None], 0.0) for spread in bores))
        usual["bore"] = 1.0 - bore, 1.0 + bore
    if rough := max(float(spread.max()) for spread in roughs):
        apply["roughness"] = lambda rows, z: _roughened(rows, *(np.exp(spread * z[:, None]) for spread in roughs))
        usual["roughness"] = exp(-rough), exp(rough)
    if any(low < k or k < high for side in legs for leg in side for k, low, high, _ in _fittings(leg, catalogue)):
        apply["k"] = lambda rows, z: _with_fittings(rows, z, legs, catalogue)
    low, high = of_head
    apply["head"] = lambda rows, z: rows.with_(
        pumps=rows.pumps.with_(wear=rows.pumps.wear * _either_side(1.0, 1.0 + low, 1.0 + high, z)[:, None])
    )
    return apply, {**usual, "head": (1.0 + low, 1.0 + high)}


def _bore_spread(leg: Leg, catalogue: Catalogue) -> float:
    size = catalogue.hoses[leg.hose].sized(leg.size.si) if leg.hose and leg.size else None
    return size.bore_spread.si if size and size.bore_spread else 0.0


def _roughness_spread(leg: Leg, catalogue: Catalogue) -> float:
    return (catalogue.hoses[leg.hose].roughness_spread or 1.0) if leg.hose else 1.0


def _fittings(leg: Leg, catalogue: Catalogue) -> list[tuple[float, float, float, int]]:
    """K with its low and high, and how many, of each kind of fitting of a leg."""
    nominal = leg.size or leg.bore
    found: list[tuple[float, float, float, int]] = []
    for name, count in leg.fittings.items():
        fitting = catalogue.fittings[name]
        of = fitting.sized(nominal.si if nominal else 0.0) or fitting
        k = of.k or 0.0
        found.append((k, k if of.low is None else of.low, k if of.high is None else of.high, count))
    return found


def _with_fittings(rows: Plan, z: _Z, legs: tuple[tuple[Leg, ...], ...], catalogue: Catalogue) -> Plan:
    """The same draw puts every fitting at the same place of its own spread."""

    def extra(side: tuple[Leg, ...], width: int) -> Floats:
        more = np.zeros((z.size, width))
        for at, leg in enumerate(side):
            for k, low, high, count in _fittings(leg, catalogue):
                more[:, at] += count * (_either_side(k, low, high, z) - k)
        return more

    suction, discharge = (
        old.with_(k=np.maximum(old.k + extra(side, old.k.shape[1]), 0.0))
        for old, side in zip((rows.suction, rows.discharge), legs, strict=True)
    )
    return rows.with_(suction=suction, discharge=discharge)


def _either_side(middle: float, low: float, high: float, z: _Z) -> Floats:
    """A value with unlike spreads below and above, ``low`` at z = −1 and ``high`` at 1: in ratios, so never below 0."""
    if low <= 0.0:
        return np.maximum(middle + (middle - low) * np.minimum(z, 0.0) + (high - middle) * np.maximum(z, 0.0), 0.0)
    below, above = log(middle / low), log(high / middle)
    return middle * np.exp(np.minimum(z, 0.0) * below + np.maximum(z, 0.0) * above)
