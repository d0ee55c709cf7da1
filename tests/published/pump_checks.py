"""Checks of whole pumps and lines through the kernel, of power and fuel, and of the demo data against the trade."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np

from curvelab.hydraulics import air, gauges, kernel, power, pump, suction, water
from curvelab.hydraulics.plan import OutletKind, Plan
from curvelab.hydraulics.solution import Solution
from curvelab.units import Quantity, from_unit, parse
from tests.published.records import check
from tests.speed.bridge import plan_of_cases
from tests.speed.case import Case, Hose, Outlet, Pump

Q = Quantity
DATA = Path(__file__).parents[2] / "data"
_POINTS = {"flow": Q.FLOW, "head": Q.HEAD, "series": None, "parallel": None}
_RIG = {**_POINTS, "static": Q.HEAD, "resistance": None, "resistance_flow": Q.FLOW, "resistance_head": Q.HEAD}
_PIPE = {
    **_POINTS, "static": Q.HEAD, "bore": Q.BORE, "length": Q.LENGTH, "roughness": Q.ROUGHNESS, "k": None,
    "viscosity": Q.VISCOSITY,
}  # fmt: skip


@check(Q.FLOW, **_RIG)
def crossing_flow(**rig):
    return _solve(_rig(**rig)).crossing_flow_m3_s[0]


@check(Q.HEAD, **_RIG)
def crossing_head(**rig):
    return _solve(_rig(**rig)).crossing_head_m[0]


@check(Q.POWER, efficiency=Q.SHARE, density=Q.DENSITY, **_RIG)
def crossing_power(efficiency, density, **rig):
    """Shaft power at the crossing; ``efficiency`` in points with the pump's flows, or one number."""
    plan = _rig(**rig)
    found = _solve(plan)
    flow = float(found.crossing_flow_m3_s[0])
    points = np.ones_like(rig["flow"]) * efficiency
    at = pump.CurveTable.of([(rig["flow"], points)])(np.zeros(1, dtype=np.int64), np.array([[flow]]))
    return power.shaft_power(flow, found.crossing_head_m[0], efficiency=at[0, 0], density_kg_m3=density)


@check(Q.FLOW, **_PIPE)
def pipe_crossing_flow(**pipe):
    return _solve(_pipe(**pipe)).crossing_flow_m3_s[0]


@check(Q.HEAD, **_PIPE)
def pipe_crossing_head(**pipe):
    return _solve(_pipe(**pipe)).crossing_head_m[0]


@check(Q.HEAD, at=Q.FLOW, **{key: value for key, value in _PIPE.items() if key not in _POINTS})
def pipe_head(at, **pipe):
    """What the line asks at a flow."""
    plan = _pipe(flow=np.array([0.0, 1.0]), head=np.array([1.0, 0.0]), **pipe)
    line = kernel.Line.of(plan, kernel.route_of(plan))
    flow = np.array([[at]])
    return line.head(flow, line.suction(flow))[0, 0]


@check(
    Q.POWER, at=Q.FLOW, efficiency=Q.SHARE, density=Q.DENSITY,
    **{key: value for key, value in _PIPE.items() if key not in _POINTS},
)  # fmt: skip
def pipe_power(at, efficiency, density, **pipe):
    return power.shaft_power(at, pipe_head(at, **pipe), efficiency=efficiency, density_kg_m3=density)


@check(
    Q.FLOW, drop=Q.HEAD, temperature=Q.TEMPERATURE, roughness=Q.ROUGHNESS, bore_first=Q.BORE, length_first=Q.LENGTH,
    k_first=None, bore_last=Q.BORE, length_last=Q.LENGTH,
)  # fmt: skip
def two_bores_by_gravity(drop, temperature, roughness, bore_first, length_first, k_first, bore_last, length_last):
    """A flooded line of two bores: the pump gives 1 m whatever the flow, and the outlet lies 1 m higher."""
    case = _case(
        Pump(flow=(0.0, 0.1), head=(1.0, 1.0), inlet=bore_first, outlet=bore_first),
        suction=Hose(length=length_first, bore=bore_first, roughness=roughness, k=k_first, rigid=True),
        discharge=Hose(length=length_last, bore=bore_last, roughness=roughness, rigid=True),
        outlet=Outlet(rise=1.0),
        lift=-drop,
        viscosity=float(water.kinematic_viscosity(temperature)),
    )
    return _solve(plan_of_cases([case])).crossing_flow_m3_s[0]


@check(Q.TIME, area=Q.AREA, level_from=Q.LENGTH, level_to=Q.LENGTH, **_RIG)
def pump_fills_tank(area, level_from, level_to, static, **rig):
    """A batch of rows, one a level of the tank: t = ∫ A/Q dh by Simpson's rule."""
    levels = np.linspace(level_from, level_to, 41)
    plan = _rig(static=static, **rig).repeat(levels.size).with_(rise_m=static + levels)
    slowness = area / _solve(plan).crossing_flow_m3_s
    weights = np.ones(levels.size)
    weights[1:-1:2], weights[2:-1:2] = 4.0, 2.0
    return (levels[1] - levels[0]) / 3.0 * (weights * slowness).sum()


_SPEED = {"flow": Q.FLOW, "head": Q.HEAD, "rotation": Q.ROTATION, "new_rotation": Q.ROTATION}


@check(Q.FLOW, **_SPEED)
def speed_flow(flow, head, rotation, new_rotation):
    """Where the point of the tested curve goes: the flow at which the new curve has the scaled head."""
    plan = _at_speed(flow, head, rotation, new_rotation)
    ratio = new_rotation / rotation
    return _root_of_head(plan, ratio**2 * head, flow * ratio)


@check(Q.HEAD, **_SPEED)
def speed_head(flow, head, rotation, new_rotation):
    plan = _at_speed(flow, head, rotation, new_rotation)
    return pump.pump_head(plan, np.array([[flow * new_rotation / rotation]]))[0, 0]


@check(Q.POWER, shaft=Q.POWER, **_SPEED)
def speed_power(flow, head, rotation, new_rotation, shaft):
    plan = _at_speed(flow, head, rotation, new_rotation)
    tested = pump.CurveTable.of([(np.array([0.5, 1.0, 1.5]) * flow, np.array([0.7, 1.0, 1.2]) * shaft)])
    plan = plan.with_(curves=replace(plan.curves, power_w=tested), density_kg_m3=np.array([power.TEST_DENSITY_KG_M3]))
    return pump.shaft_power(plan, np.array([flow * new_rotation / rotation]))[0][0]


_LIFTED = {"flow": Q.FLOW, "head": Q.HEAD, "density": Q.DENSITY}


@check(Q.POWER, efficiency=Q.SHARE, drive=Q.SHARE, **_LIFTED)
def shaft_power(flow, head, density, efficiency, drive=1.0):
    return power.shaft_power(flow, head, efficiency=efficiency, density_kg_m3=density) / drive


@check(Q.FLOW, shaft=Q.POWER, efficiency=Q.SHARE, head=Q.HEAD, density=Q.DENSITY)
def flow_of_power(shaft, efficiency, head, density):
    return 1.0 / (power.shaft_power(1.0, head, efficiency=efficiency, density_kg_m3=density) / shaft)


@check(Q.SHARE, flow=Q.FLOW, rise=Q.PRESSURE, density=Q.DENSITY, shaft=Q.POWER)
def efficiency(flow, rise, density, shaft):
    return power.water_power(flow, gauges.head_of(rise, density_kg_m3=density), density_kg_m3=density) / shaft


@check(Q.POWER, rated=Q.POWER, continuous=Q.SHARE, altitude=Q.LENGTH, temperature=Q.TEMPERATURE, fittings=None)
def engine(rated, continuous, altitude, temperature, fittings=1.0):
    held = power.engine_available(rated, continuous=continuous, altitude_m=altitude, temperature_k=temperature)
    return held * fittings


@check(Q.FUEL, volume=Q.VOLUME, lift=Q.LENGTH, pressure=Q.PRESSURE, consumption=Q.SPECIFIC_FUEL, density=Q.DENSITY)
def fuel_for_water(volume, lift, pressure, consumption, density):
    """Fuel for a volume, the consumption being per work in the water; as if pumped in an hour."""
    rate = volume / 3600.0
    head = lift + gauges.head_of(pressure, density_kg_m3=density)
    work = power.water_power(rate, head, density_kg_m3=density)
    return 3600.0 * power.fuel_rate(work, consumption_m3_j=consumption)


@check(Q.TIME, volume=Q.VOLUME, shaft=Q.POWER, warmer=None)
def heating_time(volume, shaft, warmer):
    return power.heating_time(volume, shaft_w=shaft, temperature_rise_k=warmer)


@check(Q.LENGTH, priming_lift=Q.LENGTH, altitude=Q.LENGTH, temperature=Q.TEMPERATURE)
def priming_lift(priming_lift, altitude, temperature):
    """How high a pump that draws so much at sea level draws at its site."""
    case = _case(Pump(flow=(0.0, 0.01), head=(30.0, 0.0), priming_lift=priming_lift))
    plan = plan_of_cases([case]).with_(
        air_pressure_pa=np.array([air.pressure_at(altitude)]),
        vapour_pressure_pa=np.array([water.vapour_pressure(temperature)]),
    )
    return suction.priming_lift(plan)[0]


@check(Q.LENGTH, priming_lift=Q.LENGTH, altitude=Q.LENGTH, temperature=Q.TEMPERATURE)
def lift_lost_per_1000_ft(altitude, **site):
    low = priming_lift(altitude=0.0, **site)
    return (low - priming_lift(altitude=altitude, **site)) / (altitude / 304.8)


@check(Q.LENGTH, kinds=None, which=None)
def priming_lift_in_data(kinds, which):
    return _extreme([parse(sheet["priming_lift"], Q.LENGTH) for sheet in _sheets(kinds)], which)


@check(Q.HEAD, kinds=None, which=None)
def shut_off_in_data(kinds, which):
    heads = [max(point[1] for point in sheet["head"]["points"]) for sheet in _sheets(kinds)]
    units = [sheet["head"]["head"] for sheet in _sheets(kinds)]
    return _extreme([float(from_unit(value, unit, Q.HEAD)) for value, unit in zip(heads, units, strict=True)], which)


@check(Q.BORE, kinds=None, which=None, inlets=None)
def solids_in_data(kinds, which, inlets):
    return _extreme([parse(sheet["solids"], Q.BORE) for sheet in _sheets(kinds) if sheet["inlet"] in inlets], which)


def _sheets(kinds: list[str]) -> list[dict]:
    every = [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted((DATA / "pumps").glob("*.toml"))]
    return [sheet for sheet in every if sheet["kind"] in kinds]


def _extreme(values: list[float], which: str) -> float:
    return {"least": min, "greatest": max}[which](values)


def _combined(flow, head, series=1, parallel=1) -> Pump:
    """Equal pumps: heads add at one flow, flows add at one head."""
    return Pump(flow=tuple(np.asarray(flow) * parallel), head=tuple(np.asarray(head) * series))


def _case(of: Pump, **more) -> Case:
    given = {
        "density": 1000.0, "density_ratio": 1.0, "viscosity": 1e-6, "air": 101325.0, "vapour": 2339.0, "lift": 0.0,
        "margin": 0.0, "outlet": Outlet(),
    } | more  # fmt: skip
    for side in ("suction", "discharge"):
        given[side] = (given.get(side, Hose(length=0.0, bore=1.0, roughness=0.0)),)
    return Case(pump=of, **given)


def _rig(flow, head, static, resistance=0.0, resistance_flow=1.0, resistance_head=1.0, series=1, parallel=1) -> Plan:
    """A line without hose whose system curve is static + resistance·Q²; its units are given as one of each."""
    case = _case(_combined(flow, head, series, parallel), outlet=Outlet(rise=static))
    asked = np.array([resistance * resistance_head / resistance_flow**2])
    return plan_of_cases([case]).with_(outlet_kind=np.array([OutletKind.NOZZLE]), outlet_resistance=asked)


def _pipe(flow, head, static, bore, length, roughness, viscosity, k=0.0, series=1, parallel=1) -> Plan:
    """A pipe after the pump; the exit's velocity head is counted by the open end."""
    case = _case(
        _combined(flow, head, series, parallel),
        suction=Hose(length=0.0, bore=bore, roughness=0.0),
        discharge=Hose(length=length, bore=bore, roughness=roughness, k=k, rigid=True),
        outlet=Outlet(rise=static),
        viscosity=viscosity,
    )
    return plan_of_cases([case])


def _solve(plan: Plan) -> Solution:
    return kernel.solve(plan)


def _at_speed(flow: float, head: float, rotation: float, new_rotation: float) -> Plan:
    points = Pump(
        flow=(0.5 * flow, flow, 1.5 * flow), head=(1.2 * head, head, 0.6 * head), speed=new_rotation / rotation
    )
    return plan_of_cases([_case(points)])


def _root_of_head(plan: Plan, head: float, near: float) -> float:
    flows = np.linspace(0.9 * near, 1.1 * near, 2001)[None, :]
    heads = pump.pump_head(plan, flows)[0]
    return float(np.interp(-head, -heads, flows[0]))
