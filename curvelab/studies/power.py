"""Power and fuel: what the engine holds, the speed that is left when it is short, fuel, heat, and the first water."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics import kernel, power, pump, water
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.rules import SPEED_RATIO
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.columns import STATES
from curvelab.studies.solve import null
from curvelab.units import Quantity, System, show

FORMAT: Final = "curvelab-power/1"

Floats = NDArray[np.float64]

HOT_K: Final = 273.15 + 60.0
"""Water that scalds within seconds. [K] From memory; an estimate of when a pump counts as hot."""
_FIRST, _NEXT, _ROUNDS = 65, 33, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldSpeed:
    """The speed that the engine holds. Estimate: a small engine's torque is the same at every speed (from memory)."""

    full: bool
    """It holds the speed that the setup asks for."""
    throttle: float
    """Share of the speed that the curve was taken at. [-]"""
    speed_per_s: float
    flow_m3_s: float | None
    head_m: float | None
    shaft_power_w: float | None
    engine_available_w: float
    """At that speed. [W]"""
    state: str
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerAnswer:
    """Power, fuel, heat and first water of a setup. ``None``: does not apply, or nobody stated what it takes.

    Of pumps side by side power, fuel and tank are those of all together, the heat that of one. With unlike pumps, or
    with pumps in the line, nobody can tell the fuel.
    """

    shaft_power_w: float | None
    """As the curve asks at the setup's speed. [W]"""
    engine_rated_w: float | None
    engine_available_w: float | None
    """Held for hours at this height and temperature. [W]"""
    engine_share: float | None
    held: HeldSpeed | None
    fuel_m3_s: float | None
    """At the speed held. [m³/s]"""
    tank_s: float | None
    """How long a full tank lasts. [s]"""
    dead_head_power_w: float | None
    """With the end shut. Estimate where the sheet has no power at zero flow: that at its first tested flow. [W]"""
    hot_s: float | None
    """Until the water in the body is ``HOT_K`` with the end shut, no heat lost. Estimate. [s]"""
    boil_s: float | None
    """Until it boils at the pressure of the air. Estimate. [s]"""
    prime_s: float | None
    """To draw the water up; 0 with a foot valve and a filled hose. [s]"""
    prime_dry_s: float | None
    """The same without a foot valve; ``None`` also where the pump can't draw it that high. [s]"""
    fill_s: float | None
    """To fill the discharge hose at the delivered flow. Estimate: it fills a little faster. [s]"""
    first_water_s: float | None
    """Until water comes out of the end. [s]"""
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, **asdict(self)}


def power_of(setup: Setup, catalogue: Catalogue | None = None) -> PowerAnswer:
    """Power, fuel, the heat of a pump whose end is shut, and the time until water comes.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    plan, record = plan_of([setup], known), pump_of(setup.pump, known)
    s = kernel.solve(plan)
    dry = kernel.solve(plan.with_(holds_prime=np.zeros(1, dtype=np.bool_)))
    available = null(s.engine_available_w[0])
    held = _held(setup, plan, record, s) if null(s.engine_share[0]) is not None else None
    several = bool(setup.pump.beside or setup.booster)
    burnt = None if several else _fuel(record, held.shaft_power_w if held else null(s.shaft_power_w[0]))
    tank = record.engine.tank.si * setup.pump.abreast if record.engine and record.engine.tank else None
    shut = _shut_power(plan, record)
    flow = float(np.nan_to_num(s.flow_m3_s[0]))
    held_water = float((plan.discharge.length_m * plan.discharge.abreast * plan.discharge.bore_m**2).sum() * np.pi / 4)
    fill = held_water / flow if flow > 0.0 else None
    prime = null(s.prime_time_s[0]) if flow > 0.0 else None
    found = PowerAnswer(
        shaft_power_w=null(s.shaft_power_w[0]),
        engine_rated_w=record.engine.power.si if record.engine else None,
        engine_available_w=available,
        engine_share=null(s.engine_share[0]),
        held=held,
        fuel_m3_s=burnt,
        tank_s=tank / burnt if tank and burnt else None,
        dead_head_power_w=shut,
        hot_s=_heats(plan, record, shut, HOT_K),
        boil_s=_heats(plan, record, shut, _boils_at(float(plan.air_pressure_pa[0]))),
        prime_s=prime,
        prime_dry_s=null(dry.prime_time_s[0]),
        fill_s=fill,
        first_water_s=None if prime is None or fill is None else prime + fill,
        sentence="",
    )
    return _said(found, setup)


def held_speed(setup: Setup, catalogue: Catalogue | None = None) -> HeldSpeed:
    """The speed at which the pump asks no more than the engine holds for hours at this site.

    Raises
    ------
    InputError
        As ``solve``; and where the sheet has no power, or the engine's rating isn't stated.
    """
    known = catalogue or default_catalogue()
    plan, record = plan_of([setup], known), pump_of(setup.pump, known)
    s = kernel.solve(plan)
    if null(s.engine_share[0]) is None:
        right = "a pump with [engine] power, and efficiency or power points at the flow that this setup gives"
        raise InputError(Fault("", "pump", "its power against its engine's is not known", right))
    return _held(setup, plan, record, s)


def _held(setup: Setup, plan: Plan, record: Pump, s: Solution) -> HeldSpeed:
    now, least = float(plan.pumps.speed_ratio[0, 0]), SPEED_RATIO[0]
    if s.engine_share[0] <= min(now, 1.0):
        return _at_speed(setup, record, s, now, 0, full=True)
    high, low = now, least
    ratios: Floats = np.linspace(high, low, _FIRST)
    for _ in range(_ROUNDS + 1):
        tried = kernel.solve(_turning(plan, ratios))
        fits = np.flatnonzero(tried.engine_share <= np.minimum(ratios, 1.0))
        at = int(fits[0]) if fits.size else ratios.size - 1
        if at == 0:
            break
        ratios = np.linspace(float(ratios[at - 1]), float(ratios[at]), _NEXT)
    last = float(ratios[-1])
    return _at_speed(setup, record, kernel.solve(_turning(plan, ratios[-1:])), last, 0, full=False)


def _turning(plan: Plan, ratios: Floats) -> Plan:
    """A row for each speed of the pumps at the water; those in the line have engines of their own."""
    rows = plan.repeat(ratios.size)
    speeds = rows.pumps.speed_ratio.copy()
    speeds[:, 0] = ratios
    return rows.with_(pumps=rows.pumps.with_(speed_ratio=speeds))


def _at_speed(setup: Setup, record: Pump, s: Solution, ratio: float, row: int, *, full: bool) -> HeldSpeed:
    flow = null(s.flow_m3_s[row])
    rotation = show(record.speed.si * ratio, Quantity.ROTATION, setup.units)
    gives = "nobody can tell" if flow is None else show(flow, Quantity.FLOW, setup.units)
    short = f"The engine is short of power here: it holds about {rotation} ({ratio:.0%}), which gives {gives}."
    return HeldSpeed(
        full=full,
        throttle=ratio,
        speed_per_s=record.speed.si * ratio,
        flow_m3_s=flow,
        head_m=null(s.head_m[row]),
        shaft_power_w=null(s.shaft_power_w[row]),
        engine_available_w=float(s.engine_available_w[row]) * min(ratio, 1.0),
        state=str(STATES[Outcome(int(s.outcome[row]))]),
        sentence=f"The engine holds its {rotation} here." if full else short,
    )


def _fuel(record: Pump, shaft_w: float | None) -> float | None:
    engine = record.engine
    if engine is None or engine.consumption is None or shaft_w is None:
        return None
    return float(power.fuel_rate(shaft_w, consumption_m3_j=engine.consumption.si))


def _shut_power(plan: Plan, record: Pump) -> float | None:
    """Shaft power of one pump with the end shut, or at its first tested flow. [W] A diaphragm pump stalls: none."""
    if record.kind == "diaphragm":
        return None
    times, curve = pump.scale(plan)[:, 0], plan.pumps.curve[:, 0]
    for table in (plan.curves.power_w, plan.curves.efficiency):
        if table.count[curve[0]]:
            return null(pump.shaft_power(plan, table.first(curve) * times)[0][0] / plan.pumps.abreast[0, 0])
    return None


def _heats(plan: Plan, record: Pump, shaft_w: float | None, to_k: float) -> float | None:
    if record.body_volume is None or not shaft_w:
        return None
    rise = max(to_k - float(plan.temperature_k[0]), 0.0)
    density = float(plan.density_kg_m3[0])
    return float(
        power.heating_time(record.body_volume.si, shaft_w=shaft_w, temperature_rise_k=rise, density_kg_m3=density)
    )


def _boils_at(air_pa: float) -> float:
    """Temperature at which water boils under the air. [K]"""
    kelvin = np.linspace(323.15, 383.15, 601)
    return float(np.interp(air_pa, water.vapour_pressure(kelvin), kelvin))


def _said(found: PowerAnswer, setup: Setup) -> PowerAnswer:
    from dataclasses import replace

    units = setup.units
    parts: list[str] = []
    if found.held is not None:
        parts.append(found.held.sentence)
    if found.fuel_m3_s is not None:
        hourly = show(found.fuel_m3_s * 3600.0, Quantity.FUEL, units)
        lasts = f", a tank lasts {_time(found.tank_s)}" if found.tank_s else ""
        parts.append(f"It burns {hourly} an hour{lasts}.")
    if found.hot_s is not None:
        parts.append(f"With the end shut the pump is hot in about {_time(found.hot_s)} (estimate): stop it before.")
    if found.first_water_s is not None:
        parts.append(f"Water comes out of the end after about {_time(found.first_water_s)} (estimate).")
    return replace(found, sentence=" ".join(parts) or "Nobody stated this pump's power, fuel or body.")


def _time(seconds: float | None) -> str:
    return show(math.ceil(seconds or 0.0), Quantity.TIME, System.METRIC)
