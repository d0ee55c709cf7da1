"""The hose in the sums: area, speed, friction and loss of every leg, the steps between them, and their sum."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from typing import NamedTuple

import numpy as np

from curvelab.hydraulics import friction
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.plan import Legs, Plan
from curvelab.model.hoseline import Leg
from curvelab.studies.solve import Solved
from curvelab.studies.sumline import COLEBROOK, CRANE, OWN, SETUP, WEISBACH, Line, added, given, line, n
from curvelab.units import Quantity


def side(one: Solved, name: str, flow: float) -> Iterator[Line]:
    """Every line of one side, as far as the point that governs; none at rest."""
    legs: Legs = getattr(one.plan, name)
    if flow == 0.0:
        return
    parts: list[float] = []
    last = _governing_leg(one) if name == "discharge" else legs.used.shape[1] - 1
    for at in np.flatnonzero(legs.used[0]).tolist():
        if at > last:
            break
        title = f"{name} hose" if legs.used[0].sum() == 1 else f"{name} leg {at + 1}"
        part = yield from _leg(one, title, name, at, flow)
        if name == "discharge" and at == last:
            part = yield from _as_far(one, title, at, part)
        parts.append(part)
    yield from _port(one, name)
    for step in _steps(one, name, last):
        if step.k > 0.0:
            loss = step.k * (flow / step.area) ** 2 / (2.0 * G)
            numbers = f"{step.numbers} × ({n(flow)} / {n(step.area)}) ^ 2 / (2 × {n(G)})"
            yield line(f"Step: {step.name}", "h = K v² / (2 g), v in the smaller", numbers, loss, "m", step.source)
            parts.append(loss)
    yield line(f"Lost on the {name} side", "sum of the above", added(parts), sum(parts), "m", OWN)


def port_area(plan: Plan, side: str) -> float:
    """Area of the pump's port on a side, all pumps together; 0 where it isn't stated. [m²]"""
    bore = plan.pumps.inlet_bore_m if side == "suction" else plan.pumps.outlet_bore_m
    return float(np.pi / 4.0 * bore[0, 0] ** 2)


def end_area(plan: Plan, side: str) -> float:
    """Area of the hose next to the pump on a side. [m²]"""
    legs: Legs = getattr(plan, side)
    return float(_areas(legs)[-1 if side == "suction" else 0])


def _areas(legs: Legs) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    areas = legs.abreast[0] * np.pi / 4.0 * legs.bore_m[0] ** 2
    return areas[legs.used[0]]


def _governing_leg(one: Solved) -> int:
    return int(one.solution.route.leg[0, one.solution.point[0]])


def _leg(one: Solved, title: str, side: str, at: int, flow: float) -> Generator[Line, None, float]:
    plan, units = one.plan, one.setup.units
    legs: Legs = getattr(plan, side)
    bore, rough, length = (float(a[0, at]) for a in (legs.bore_m, legs.roughness_m, legs.length_m))
    abreast, k = float(legs.abreast[0, at]), float(legs.k[0, at])
    viscosity = float(plan.kinematic_viscosity_m2_s[0])
    yield given(f"{title}: bore", "D", bore, "m", Quantity.BORE, units)
    yield given(f"{title}: length", "L", length, "m", Quantity.LENGTH, units)
    area = abreast * np.pi / 4.0 * bore**2
    speed = flow / area
    times = f"{n(abreast)} × " if abreast != 1.0 else ""
    yield line(f"{title}: area", "A = n π D² / 4", f"{times}3.14159265 × {n(bore)} ^ 2 / 4", area, "m²", OWN)
    yield line(f"{title}: speed", "v = Q / A", f"{n(flow)} / {n(area)}", speed, "m/s", OWN)
    reynolds = speed * bore / viscosity
    numbers = f"{n(speed)} × {n(bore)} × 1000000 / {n(viscosity * 1e6)}"
    yield line(f"{title}: Reynolds number", "Re = v D / ν", numbers, reynolds, "", OWN)
    factor = float(friction.friction_factor(reynolds, rough / bore))
    yield from _friction(title, reynolds, rough, bore, factor)
    if k > 0.0:
        setup_leg = (one.setup.suction if side == "suction" else one.setup.discharge).leg[at]
        yield _fittings(one, title, setup_leg, k)
    loss = (factor * length / bore + k) * speed**2 / (2.0 * G)
    numbers = f"({n(factor)} × {n(length)} / {n(bore)} + {n(k)}) × {n(speed)} ^ 2 / (2 × {n(G)})"
    yield line(f"{title}: loss", "h = (f L / D + K) v² / (2 g)", numbers, loss, "m", WEISBACH)
    return loss


def _fittings(one: Solved, title: str, leg: Leg, k: float) -> Line:
    """K of a leg's fittings, each as often as it stands there."""
    nominal = leg.size or leg.bore
    parts: list[str] = []
    names: list[str] = []
    for name, count in leg.fittings.items():
        fitting = one.catalogue.fittings[name]
        size = fitting.sized(nominal.si if nominal is not None else 0.0)
        each = size.k if size is not None else fitting.k or 0.0
        parts.append(f"{count} × {n(each)}")
        names.append(name.replace("-", " "))
    if leg.k:
        parts.append(n(leg.k))
        names.append("further loss")
    return line(f"{title}: fittings", f"K: {', '.join(names)}", " + ".join(parts), k, "", "the fittings' records")


def _friction(title: str, reynolds: float, rough: float, bore: float, factor: float) -> Iterator[Line]:
    name = f"{title}: friction factor"
    if reynolds <= friction.RE_LAMINAR:
        yield line(name, "f = 64 / Re", f"64 / {n(reynolds)}", factor, "", "Hagen and Poiseuille")
        return
    relative = rough / bore
    if reynolds < friction.RE_TURBULENT:
        yield line(name, "f, on the join from 64 / Re to Colebrook", n(factor), factor, "", "own join, see f·Re²")
        return
    numbers = f"{n(rough * 1e3)} / 1000 / {n(bore)}"
    yield line(f"{title}: relative roughness", "ε / D, ε in mm", numbers, relative, "", SETUP)
    inner = f"{n(relative)} / 3.7 + 2.51 / ({n(reynolds)} × sqrt({n(factor)}))"
    formula = "f = 1 / (2 log10(ε / (3.7 D) + 2.51 / (Re √f)))², its own f on the right"
    yield line(name, formula, f"1 / (2 × log10({inner})) ^ 2", factor, "", COLEBROOK)


def _as_far(one: Solved, title: str, at: int, loss: float) -> Generator[Line, None, float]:
    """The share of the last leg's loss that lies before the point that governs."""
    share = float(one.solution.line.share[0, at, one.solution.point[0]])
    if share == 1.0:
        return loss
    legs = one.plan.discharge
    before, length = float(legs.length_m[0, :at].sum()), float(legs.length_m[0, at])
    distance = one.result.governing_point.distance_m
    yield given("Along the hose to the point that governs", "d", distance, "m", Quantity.LENGTH, one.setup.units)
    numbers = f"({n(distance)} − {n(before)}) / {n(length)} × {n(loss)}"
    name = f"{title}: as far as the point that governs"
    yield line(name, "share of its length × h", numbers, loss * share, "m", OWN)
    return loss * share


def _port(one: Solved, side: str) -> Iterator[Line]:
    area = port_area(one.plan, side)
    if area > 0.0:
        bore = float((one.plan.pumps.inlet_bore_m if side == "suction" else one.plan.pumps.outlet_bore_m)[0, 0])
        name = "inlet" if side == "suction" else "outlet"
        numbers = f"3.14159265 × {n(bore)} ^ 2 / 4"
        yield line(f"Pump's {name} port: area", "A = π D² / 4", numbers, area, "m²", "the pump's sheet")


class _Step(NamedTuple):
    name: str
    k: float
    numbers: str
    """K in figures."""
    area: float
    source: str


def _steps(one: Solved, side: str, last: int) -> Iterator[_Step]:
    """Steps between unlike areas on the way of the water, and a valve at the outlet, as far as the governing point."""
    areas = _areas(getattr(one.plan, side)).tolist()
    port = port_area(one.plan, side)
    single = len(areas) == 1
    ends = [(f"{side} hose" if single else f"{side} leg {at + 1}", area) for at, area in enumerate(areas)]
    if port > 0.0:
        here = ("pump port", port)
        ends = [*ends, here] if side == "suction" else [here, *ends]
    count = len(ends) - 1 if side == "suction" else min(len(ends) - 1, last + (port > 0.0))
    for at in range(count):
        (a, before), (b, after) = ends[at], ends[at + 1]
        small, large = min(before, after), max(before, after)
        missing = f"(1 − {n(small)} / {n(large)})"
        k = 1.0 - small / large
        if after < before:
            yield _Step(f"{a} to {b}", 0.5 * k, f"0.5 × {missing}", small, f"{CRANE}: K = 0.5 (1 − β²)")
        else:
            yield _Step(f"{a} to {b}", k**2, f"{missing} ^ 2", small, f"{CRANE}: K = (1 − β²)²")
    valve = float(one.plan.valve_k[0])
    if side == "discharge" and valve > 0.0 and one.result.governing_point.kind == "outlet":
        yield _Step("valve at the outlet", valve, n(valve), areas[-1], SETUP)
