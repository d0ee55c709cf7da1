"""Each engine of a setup by itself: what its pump asks of it, what it holds here, its fuel, its tank, and its heat."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import power, pump, water
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.solution import Solution
from curvelab.model.catalogue import Catalogue
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import MainPump, PumpChoice, Setup
from curvelab.studies.result import PumpShare
from curvelab.studies.several import shares_of

Floats = NDArray[np.float64]

HOT_K: Final = 273.15 + 60.0
"""Water that scalds within seconds. [K] From memory; an estimate of when a pump counts as hot."""
_POINTS: Final = 60
"""Points of a power curve."""


class Place(StrEnum):
    """Where a pump of a setup stands."""

    WATER = "water"
    BESIDE = "beside"
    LINE = "line"


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """One pump with its engine, or ``count`` equal ones side by side: powers, fuel and tank are of all of those.

    ``None``: nobody stated what it takes, or nothing flows.
    """

    id: str
    name: str
    place: Place
    distance_m: float
    """Along the discharge hose; 0 at the water. [m]"""
    count: int
    flow_m3_s: float
    """Through all of them. [m³/s]"""
    shaft_power_w: float | None
    """As the curve asks. [W]"""
    rated_w: float | None
    continuous: float | None
    """Share of the rated power that the engine holds for hours. [-]"""
    height_factor: float
    """What the height of the ground leaves of that. [-]"""
    air_factor: float
    """What the warmth of the air leaves. [-]"""
    estimate: bool
    """The engine's record says that its figures are estimates."""
    available_w: float | None
    """Held for hours at this height, in this air. [W]"""
    share: float | None
    """Asked over held. [-]"""
    fuel_m3_s: float | None
    """At what is asked, or at what the engine holds where that is less. [m³/s]"""
    tank_m3: float | None
    tank_s: float | None
    """How long a full tank lasts. [s]"""
    dead_head_power_w: float | None
    """Of one, with the end shut. Estimate where the sheet has no power at zero flow: at its first tested flow. [W]"""
    hot_s: float | None
    """Until the water in a body is ``HOT_K`` with the end shut, no heat lost. Estimate. [s]"""
    boil_s: float | None
    """Until it boils at the pressure of the air. Estimate. [s]"""

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PowerCurve:
    """Shaft power of one pump against its own flow, over its tested points; empty where its sheet has no power."""

    flow_m3_s: Floats
    shaft_power_w: Floats


@dataclass(frozen=True, slots=True)
class _Turning:
    """A pump of the setup by itself."""

    choice: PumpChoice
    record: Pump
    place: Place
    count: int
    flow_m3_s: float
    distance_m: float


def engines_of(setup: Setup, catalogue: Catalogue, s: Solution) -> tuple[Engine, ...]:
    """Every pump's engine at the delivered flow, those at the water first."""
    turning = _turning(setup, catalogue, s)
    plan = alone(setup, [(one.choice, one.count) for one in turning], catalogue)
    flow = np.array([one.flow_m3_s for one in turning])
    asked = np.where(flow > 0.0, pump.shaft_power(plan, flow)[0], np.nan)
    held = pump.engine_power(plan)
    return tuple(_engine(one, plan, row, float(asked[row]), float(held[row])) for row, one in enumerate(turning))


def power_curves(setup: Setup, catalogue: Catalogue, engines: Sequence[Engine]) -> tuple[PowerCurve, ...]:
    """Power against flow of each of the setup's ``engines``, one pump of each, at its speed."""
    records = [pump_of(choice, catalogue) for choice in _choices(setup)]
    plan = alone(setup, [(choice, 1) for choice in _choices(setup)], catalogue)
    found: list[PowerCurve] = []
    for row, _ in enumerate(engines):
        one = plan.take(slice(row, row + 1))
        points = records[row].power or records[row].efficiency
        tried = np.empty(0) if points is None else points.flow_m3_s * float(one.pumps.speed_ratio[0, 0])
        tried = tried[tried > 0.0] if records[row].power is None else tried
        if tried.size < 2:
            found.append(PowerCurve(flow_m3_s=np.empty(0), shaft_power_w=np.empty(0)))
            continue
        flow = np.linspace(float(tried[0]), float(tried[-1]), _POINTS)
        shaft = pump.shaft_power(one.repeat(_POINTS), flow)[0]
        good = np.isfinite(shaft)
        found.append(PowerCurve(flow_m3_s=flow[good], shaft_power_w=shaft[good]))
    return tuple(found)


def alone(setup: Setup, choices: Sequence[tuple[PumpChoice, int]], catalogue: Catalogue) -> Plan:
    """A row for each pump, so many of it side by side and nothing else, at the water of the same site."""
    rows = [
        setup.model_copy(
            update={
                "pump": MainPump.model_construct(
                    **{name: getattr(choice, name) for name in PumpChoice.model_fields}, abreast=count, beside=()
                ),
                "booster": (),
            }
        )
        for choice, count in choices
    ]
    return plan_of(rows, catalogue, checked=False)


def shut_power(plan: Plan, record: Pump, row: int = 0) -> float | None:
    """Shaft power of one pump with the end shut, or at its first tested flow. [W] A diaphragm pump stalls: none."""
    if record.kind == "diaphragm":
        return None
    one = plan.take(slice(row, row + 1))
    times, curve = pump.scale(one)[:, 0], one.pumps.curve[:, 0]
    for table in (one.curves.power_w, one.curves.efficiency):
        if table.count[curve[0]]:
            asked = pump.shaft_power(one, table.first(curve) * times)[0][0] / one.pumps.abreast[0, 0]
            return None if math.isnan(asked) else float(asked)
    return None


def heats(plan: Plan, record: Pump, shaft_w: float | None, to_k: float, row: int = 0) -> float | None:
    """Time in which the water in a pump's body is that warm, losing no heat. [s]"""
    if record.body_volume is None or not shaft_w:
        return None
    rise = max(to_k - float(plan.temperature_k[row]), 0.0)
    density = float(plan.density_kg_m3[row])
    return float(
        power.heating_time(record.body_volume.si, shaft_w=shaft_w, temperature_rise_k=rise, density_kg_m3=density)
    )


def boils_at(air_pa: float) -> float:
    """Temperature at which water boils under the air. [K]"""
    kelvin = np.linspace(323.15, 383.15, 601)
    return float(np.interp(air_pa, water.vapour_pressure(kelvin), kelvin))


def _choices(setup: Setup) -> tuple[PumpChoice, ...]:
    return (setup.pump, *setup.pump.beside, *setup.booster)


def _turning(setup: Setup, catalogue: Catalogue, s: Solution) -> list[_Turning]:
    flow = float(np.nan_to_num(s.flow_m3_s[0]))
    main = pump_of(setup.pump, catalogue)
    shares = shares_of(setup, lambda choice: pump_of(choice, catalogue), s)
    shares = shares or (PumpShare(id=main.id, name=main.label, count=1, flow_m3_s=flow),)
    at_water = zip((setup.pump, *setup.pump.beside), shares, strict=True)
    found = [
        _Turning(
            choice,
            pump_of(choice, catalogue),
            Place.BESIDE if place else Place.WATER,
            share.count,
            share.flow_m3_s,
            0.0,
        )
        for place, (choice, share) in enumerate(at_water)
    ]
    in_line = (_Turning(c, pump_of(c, catalogue), Place.LINE, 1, flow, c.distance.si) for c in setup.booster)
    return [*found, *in_line]


def _factor(*, altitude_m: float = 0.0, temperature_k: float = 288.0) -> float:
    """What one condition leaves of an engine's power, the other one being mild. [-]"""
    return float(power.engine_available(1.0, continuous=1.0, altitude_m=altitude_m, temperature_k=temperature_k))


def _engine(one: _Turning, plan: Plan, row: int, asked: float, held: float) -> Engine:
    record, engine = one.record, one.record.engine
    shaft, available = (None if math.isnan(value) else value for value in (asked, held))
    burnt = None
    if engine is not None and engine.consumption is not None and shaft is not None:
        given = shaft if available is None else min(shaft, available)
        burnt = float(power.fuel_rate(given, consumption_m3_j=engine.consumption.si))
    tank = None if engine is None or engine.tank is None else engine.tank.si * one.count
    shut = shut_power(plan, record, row)
    return Engine(
        id=record.id,
        name=record.label,
        place=one.place,
        distance_m=one.distance_m,
        count=one.count,
        flow_m3_s=one.flow_m3_s,
        shaft_power_w=shaft,
        rated_w=None if engine is None else engine.power.si * one.count,
        continuous=None if engine is None else engine.continuous,
        height_factor=_factor(altitude_m=float(plan.altitude_m[row])),
        air_factor=_factor(temperature_k=float(plan.air_temperature_k[row])),
        estimate=engine is not None and engine.estimate,
        available_w=available,
        share=None if shaft is None or available is None else shaft / available,
        fuel_m3_s=burnt,
        tank_m3=tank,
        tank_s=tank / burnt if tank and burnt else None,
        dead_head_power_w=shut,
        hot_s=heats(plan, record, shut, HOT_K, row),
        boil_s=heats(plan, record, shut, boils_at(float(plan.air_pressure_pa[row])), row),
    )
