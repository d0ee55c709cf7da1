"""The reference's cases as rows of a Plan, so that both routes start from the same numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf, pi, sqrt

import numpy as np

from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.plan import Bools, Curves, Floats, Legs, OutletKind, Plan, Pumps, Waypoints
from tests.speed.case import Case, Hose, Outlet, Pump
from tests.speed.reference import G

NO_POINTS = np.empty(0)


def plan_of_cases(cases: Sequence[Case]) -> Plan:
    """One row a case, padded to the longest."""

    def column(value: Callable[[Case], float]) -> Floats:
        return np.array([value(case) for case in cases], dtype=float)

    pumps = list(dict.fromkeys(_sheet(case.pump) for case in cases))
    rows = len(cases)
    return Plan(
        air_pressure_pa=column(lambda c: c.air),
        altitude_m=np.zeros(rows),
        temperature_k=np.full(rows, 288.15),
        air_temperature_k=np.full(rows, 298.15),
        density_kg_m3=column(lambda c: c.density),
        kinematic_viscosity_m2_s=column(lambda c: c.viscosity),
        vapour_pressure_pa=column(lambda c: c.vapour),
        density_ratio=column(lambda c: c.density_ratio),
        lift_m=column(lambda c: c.lift),
        margin_m=column(lambda c: c.margin),
        holds_prime=np.array([c.holds_prime for c in cases]),
        strained=np.ones(rows, dtype=bool),
        strainer_cover_m=np.full(rows, inf),
        rise_m=column(lambda c: c.outlet.rise),
        outlet_kind=np.array([OutletKind[c.outlet.kind.upper()] for c in cases], dtype=np.int64),
        outlet_static_m=column(lambda c: c.outlet.pressure / (c.density * G) if c.outlet.kind == "pressure" else 0.0),
        outlet_resistance=column(lambda c: _resistance(c.outlet, c.density)),
        valve_k=column(lambda c: c.outlet.valve_k),
        goal_flow_m3_s=np.zeros(rows),
        suction=_legs([c.suction for c in cases]),
        discharge=_legs([c.discharge for c in cases]),
        waypoints=_waypoints([c.waypoints for c in cases]),
        pumps=_pumps([c.pump for c in cases], [pumps.index(_sheet(c.pump)) for c in cases]),
        curves=Curves(
            head_m=CurveTable.of([(np.array(flow), np.array(head)) for flow, head, _, _ in pumps]),
            npshr_m=CurveTable.of([(np.array(flow), np.array(npshr)) for _, _, flow, npshr in pumps]),
            efficiency=CurveTable.of([(NO_POINTS, NO_POINTS) for _ in pumps]),
            power_w=CurveTable.of([(NO_POINTS, NO_POINTS) for _ in pumps]),
            names=tuple(f"pump {i}" for i in range(len(pumps))),
        ),
    )


def _sheet(pump: Pump) -> tuple[tuple[float, ...], ...]:
    return pump.flow, pump.head, pump.npshr_flow, pump.npshr


def _resistance(outlet: Outlet, density: float) -> float:
    if outlet.kind == "nozzle":
        return 1.0 / (2 * G * (outlet.count * outlet.coefficient * pi * outlet.bore**2 / 4) ** 2)
    if outlet.kind == "sprinklers":
        return outlet.pressure / (density * G) / (outlet.count * outlet.flow) ** 2
    return 0.0


def _legs(legs: Sequence[Sequence[Hose]]) -> Legs:
    width = max(len(row) for row in legs)
    used = np.array([[i < len(row) for i in range(width)] for row in legs])

    def column(value: Callable[[Hose], float], *, padding: float | None = None) -> Floats:
        return np.array(
            [[value(row[i]) if i < len(row) else _pad(value(row[-1]), padding) for i in range(width)] for row in legs]
        )

    return Legs(
        length_m=column(lambda h: h.length, padding=0.0),
        bore_m=column(lambda h: h.bore),
        roughness_m=column(lambda h: h.roughness),
        abreast=column(lambda h: h.abreast),
        k=column(lambda h: h.k, padding=0.0),
        rigid=column(lambda h: h.rigid).astype(bool),
        rating_pa=np.full(used.shape, inf),
        vacuum_rating_pa=np.full(used.shape, inf),
        used=used,
    )


def _pad(last: float, padding: float | None) -> float:
    return last if padding is None else padding


def _waypoints(rows: Sequence[Sequence[tuple[float, float]]]) -> Waypoints:
    width = max(len(row) for row in rows)
    padded = [[row[i] if i < len(row) else (0.0, 0.0) for i in range(width)] for row in rows]
    table = np.array(padded, dtype=float).reshape(len(rows), width, 2)
    used: Bools = np.array([[i < len(row) for i in range(width)] for row in rows], dtype=bool).reshape(len(rows), width)
    return Waypoints(distance_m=table[..., 0], height_m=table[..., 1], used=used)


def _pumps(pumps: Sequence[Pump], curve: Sequence[int]) -> Pumps:
    def column(value: Callable[[Pump], float]) -> Floats:
        return np.array([[value(pump)] for pump in pumps], dtype=float)

    one = np.ones((len(pumps), 1))
    return Pumps(
        curve=np.array(curve, dtype=np.int64)[:, None],
        speed_ratio=column(lambda p: p.speed),
        wear=column(lambda p: p.wear),
        inlet_bore_m=column(lambda p: (p.inlet or 0.0) * sqrt(p.abreast)),
        outlet_bore_m=column(lambda p: (p.outlet or 0.0) * sqrt(p.abreast)),
        priming_lift_m=column(lambda p: inf if p.priming_lift is None else p.priming_lift),
        air_rate_m3_s=0.0 * one,
        engine_power_w=0.0 * one,
        engine_continuous=one,
        casing_rating_pa=inf * one,
        distance_m=0.0 * one,
        abreast=column(lambda p: p.abreast),
        bound_head_m=column(lambda p: max(p.speed, 1.0) ** 2 * max(p.head)),
        used=one.astype(bool),
    )
