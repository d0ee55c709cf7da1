"""Power and fuel: what the engine holds, the speed that is left when it is short, fuel, heat, and the first water."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics import kernel
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.rules import SPEED_RATIO
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.columns import STATES
from curvelab.studies.engines import Engine, Place, engines_of
from curvelab.studies.solve import null
from curvelab.units import Quantity, System, show

FORMAT: Final = "curvelab-power/1"

Floats = NDArray[np.float64]

DAY_S: Final = 10.0 * 3600.0
"""A day's work, for fuel. [s] Our own choice."""
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

    Shaft power and what the engine has are those of the pumps at the water, fuel and tank of all engines, in the line
    too; each by itself stands in ``pumps``.
    """

    shaft_power_w: float | None
    """As the curve asks at the setup's speed. [W]"""
    engine_rated_w: float | None
    engine_available_w: float | None
    """Held for hours at this height and temperature. [W]"""
    engine_share: float | None
    held: HeldSpeed | None
    fuel_m3_s: float | None
    """Of all engines, those at the water at the speed held. [m³/s]"""
    day_fuel_m3: float | None
    """In ``DAY_S``. [m³]"""
    tank_s: float | None
    """How long full tanks last, until the first is dry. [s]"""
    dead_head_power_w: float | None
    """With the end shut. Estimate where the sheet has no power at zero flow: that at its first tested flow. [W]"""
    hot_s: float | None
    """Until the water in the body is ``engines.HOT_K`` with the end shut, no heat lost. Estimate. [s]"""
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
    pumps: tuple[Engine, ...]
    """Each pump with its engine, those at the water first; an engine that is short as it would be asked, not slowed."""
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
    pumps = _burning(engines_of(setup, known, s), held, null(s.shaft_power_w[0]))
    burnt = _sum([one.fuel_m3_s for one in pumps])
    flow = float(np.nan_to_num(s.flow_m3_s[0]))
    held_water = float((plan.discharge.length_m * plan.discharge.abreast * plan.discharge.bore_m**2).sum() * np.pi / 4)
    fill = held_water / flow if flow > 0.0 else None
    prime = null(s.prime_time_s[0]) if flow > 0.0 else None
    found = PowerAnswer(
        shaft_power_w=null(s.shaft_power_w[0]),
        engine_rated_w=_sum([one.rated_w for one in pumps if one.place is not Place.LINE]),
        engine_available_w=available,
        engine_share=null(s.engine_share[0]),
        held=held,
        fuel_m3_s=burnt,
        day_fuel_m3=None if burnt is None else burnt * DAY_S,
        tank_s=min((one.tank_s for one in pumps if one.tank_s is not None), default=None),
        dead_head_power_w=pumps[0].dead_head_power_w,
        hot_s=min((one.hot_s for one in pumps if one.hot_s is not None), default=None),
        boil_s=min((one.boil_s for one in pumps if one.boil_s is not None), default=None),
        prime_s=prime,
        prime_dry_s=null(dry.prime_time_s[0]),
        fill_s=fill,
        first_water_s=None if prime is None or fill is None else prime + fill,
        pumps=pumps,
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
    share = show(ratio, Quantity.SHARE, setup.units)
    short = f"The engine is short of power here: it holds about {rotation} ({share}), which gives {gives}."
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


def _burning(pumps: tuple[Engine, ...], held: HeldSpeed | None, asked_w: float | None) -> tuple[Engine, ...]:
    """The engines with their fuel at the speed that those at the water hold."""
    if held is None or held.full or not asked_w or held.shaft_power_w is None:
        return pumps
    share = held.shaft_power_w / asked_w
    found: list[Engine] = []
    for one in pumps:
        if one.place is Place.LINE or one.fuel_m3_s is None or one.shaft_power_w is None:
            found.append(one)
            continue
        given = one.shaft_power_w if one.available_w is None else min(one.shaft_power_w, one.available_w)
        burnt = one.fuel_m3_s * one.shaft_power_w / given * share
        found.append(replace(one, fuel_m3_s=burnt, tank_s=one.tank_m3 / burnt if one.tank_m3 and burnt else None))
    return tuple(found)


def _sum(values: Sequence[float | None]) -> float | None:
    """``None`` where one of them is."""
    known = [value for value in values if value is not None]
    return sum(known) if known and len(known) == len(values) else None


def _said(found: PowerAnswer, setup: Setup) -> PowerAnswer:
    units = setup.units
    parts: list[str] = []
    if found.held is not None:
        parts.append(found.held.sentence)
    parts += [
        f"The {one.name} in the line is asked {show(one.share, Quantity.SHARE, units)} of what it holds: it slows down."
        for one in found.pumps
        if one.place is Place.LINE and one.share is not None and one.share > 1.0
    ]
    if found.fuel_m3_s is not None:
        hourly = show(found.fuel_m3_s * 3600.0, Quantity.FUEL, units)
        lasts = f", a tank lasts {_time(found.tank_s)}" if found.tank_s else ""
        who = "It burns" if len(found.pumps) == 1 and found.pumps[0].count == 1 else "Together they burn"
        parts.append(f"{who} {hourly} an hour{lasts}.")
    if found.hot_s is not None:
        parts.append(f"With the end shut the pump is hot in about {_time(found.hot_s)} (estimate): stop it before.")
    if found.first_water_s is not None:
        parts.append(f"Water comes out of the end after about {_time(found.first_water_s)} (estimate).")
    return replace(found, sentence=" ".join(parts) or "Nobody stated this pump's power, fuel or body.")


def _time(seconds: float | None) -> str:
    return show(seconds or 0.0, Quantity.TIME, System.METRIC)
