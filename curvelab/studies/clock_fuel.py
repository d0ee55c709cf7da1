"""The fuel of a clock: each engine's by itself, at what its own pump asks of it on the way, and when a tank is dry."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import pump
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.solution import Solution
from curvelab.model.catalogue import Catalogue
from curvelab.model.planning import pump_of
from curvelab.model.pump import Pump
from curvelab.studies.clock_course import Course
from curvelab.studies.clock_site import Site
from curvelab.studies.engines import Place, alone
from curvelab.studies.several import flows_of

Floats = NDArray[np.float64]

MOST_STOPS: Final = 10_000
"""Refuels of several pumps that are counted: more of them take years."""
_HAIR: Final = 1e-9
"""Share of a tank by which the work may end after it is dry and still be done with it. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpFuel:
    """Fuel of one pump of a setup, or of ``count`` equal ones side by side."""

    id: str
    name: str
    place: Place
    count: int
    fuel_m3: float | None
    """For all of it; ``None`` where it can't be told, or where the pump runs on. [m³]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Burning:
    """Engines of a site on the way, those at the water first; NaN where power or consumption isn't known."""

    pumps: tuple[tuple[Pump, Place, int], ...]
    used_m3: Floats
    """Until each node, shape (engines, nodes). [m³]"""
    rate_m3_s: Floats
    """At the last node, running unthrottled, shape (engines,). [m³/s]"""
    tank_m3: Floats
    """Of the ``count`` equal ones together, inf where none is stated, shape (engines,). [m³]"""
    guessed: bool
    """Some of it at flows below the first tested one."""
    short: bool
    """An engine is asked for more than it holds, somewhere on the way."""

    @property
    def known(self) -> bool:
        """The fuel of every engine can be told."""
        return not bool(np.isnan(self.used_m3).any())

    @property
    def any_engine(self) -> bool:
        """Somebody stated an engine at all."""
        return any(record.engine is not None for record, *_ in self.pumps)

    @property
    def estimate(self) -> bool:
        """What one of the engines burns is an estimate by its record."""
        return any(record.engine is not None and record.engine.estimate for record, *_ in self.pumps)

    @property
    def total_m3(self) -> float:
        """Of all engines. [m³]"""
        return float(self.used_m3[:, -1].sum())

    def each(self, *, open_ended: bool) -> tuple[PumpFuel, ...]:
        """The fuel pump by pump."""
        return tuple(
            PumpFuel(
                id=record.id,
                name=record.label,
                place=place,
                count=count,
                fuel_m3=None if open_ended or math.isnan(used) else used,
            )
            for (record, place, count), used in zip(self.pumps, self.used_m3[:, -1].tolist(), strict=True)
        )

    def stops_s(self, time_s: Floats) -> list[float]:
        """When a tank runs dry, as long as there is more to do. All tanks are filled whenever one of them is dry."""
        each: list[tuple[Floats, float]] = list(zip(self.used_m3, self.tank_m3.tolist(), strict=True))
        if len(each) == 1:
            used, tank = each[0]
            count = math.ceil(float(used[-1]) / tank - _HAIR) - 1
            return np.interp([tank * number for number in range(1, count + 1)], used, time_s).tolist()
        filled, stops = [0.0 for _ in each], list[float]()
        while len(stops) < MOST_STOPS:
            dry = [
                float(np.interp(before + tank, used, time_s))
                for before, (used, tank) in zip(filled, each, strict=True)
                if before + tank < float(used[-1]) * (1.0 - _HAIR)
            ]
            if not dry:
                break
            stops.append(min(dry))
            filled = [float(np.interp(stops[-1], time_s, used)) for used, _ in each]
        return stops

    def beyond_s(self, time_s: Floats) -> float | None:
        """The first one after the last node, where the pumps run on; ``None`` where nobody can tell."""
        left = self.tank_m3 - self.used_m3[:, -1]
        runs = np.isfinite(left) & (self.rate_m3_s > 0.0)
        return float(time_s[-1] + (left[runs] / self.rate_m3_s[runs]).min()) if runs.any() else None


def burning(site: Site, course: Course, nodes: Solution, catalogue: Catalogue) -> Burning:
    """What each engine burns until each node of a course.

    Below its first tested flow the power keeps its first value, as NPSHR does: the pump asks less there if anything.
    A pump that the others push back turns on at that.
    """
    setup = site.setup
    turning = [
        (setup.pump, Place.WATER, setup.pump.abreast),
        *((choice, Place.BESIDE, 1) for choice in setup.pump.beside),
        *((choice, Place.LINE, 1) for choice in setup.booster),
    ]
    pumps = tuple((pump_of(choice, catalogue), place, count) for choice, place, count in turning)
    plan = alone(setup, [(choice, count) for choice, _, count in turning], catalogue)
    flows = _flows(site, course, nodes, catalogue)
    first = _first_power(plan)[:, None]
    slow = flows < first * (1.0 - _HAIR)
    shaft = np.stack([_shaft(plan, row, np.maximum(flow, first[row])) for row, flow in enumerate(flows)])
    burns = np.array([_consumption(record) for record, *_ in pumps])
    mean = 0.5 * (shaft[:, 1:] + shaft[:, :-1])
    parts = mean * np.diff(course.running_s) * burns[:, None]
    asked = np.where(slow, np.nan, shaft)
    return Burning(
        pumps=pumps,
        used_m3=np.concatenate([0.0 * burns[:, None], np.cumsum(parts, axis=1)], axis=1),
        rate_m3_s=shaft[:, -1] * burns,
        tank_m3=np.array([_tank(record, count) for record, _, count in pumps]),
        guessed=bool(slow.any()),
        short=bool((asked > pump.engine_power(plan)[:, None]).any()),
    )


def _flows(site: Site, course: Course, nodes: Solution, catalogue: Catalogue) -> Floats:
    """Flow of every pump at each node, shape (pumps, nodes). [m³/s]"""
    setup, total = site.setup, course.free_m3_s
    at_water = flows_of(setup, lambda choice: pump_of(choice, catalogue), nodes)
    if len(at_water) == 1:
        at_water = total[None, :]
    return np.concatenate([np.where(total > 0.0, at_water, 0.0), *[total[None, :] for _ in setup.booster]])


def _shaft(plan: Plan, row: int, flow: Floats) -> Floats:
    return pump.shaft_power(plan.take(slice(row, row + 1)).repeat(flow.size), flow)[0]


def _first_power(plan: Plan) -> Floats:
    """First flow at which each row's power is tested, shape (rows,). [m³/s]"""
    curve, times = plan.pumps.curve[:, 0], pump.scale(plan)[:, 0]
    return np.maximum(plan.curves.power_w.first(curve), plan.curves.efficiency.first(curve)) * times


def _consumption(record: Pump) -> float:
    """Fuel for work at the shaft, NaN where nobody stated it. [m³/J]"""
    engine = record.engine
    return math.nan if engine is None or engine.consumption is None else engine.consumption.si


def _tank(record: Pump, count: int) -> float:
    return math.inf if record.engine is None or record.engine.tank is None else record.engine.tank.si * count
