"""Why? The calculation written out: formula, numbers, units and source, so that a pocket calculator gives the same.

Everything between the first lines, which turn the setup into SI, and the last, which turn the answer back, is in SI.
A line's ``numbers`` is plain arithmetic: + − × / ^, parentheses, sqrt and log10. Each line starts from printed
figures of its own, six of them, so that no rounding is carried along.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import asdict, dataclass
from typing import Any, Final, NamedTuple

import numpy as np

from curvelab.hydraulics import friction
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.fittings import step_k
from curvelab.hydraulics.plan import Legs, OutletKind, Plan
from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.studies.solve import Solved, solved
from curvelab.units import Quantity, System, display_unit, show

FORMAT: Final = "curvelab-sums/1"

_COLEBROOK: Final = "Colebrook 1939"
_WEISBACH: Final = "Darcy and Weisbach"
_ATMOSPHERE: Final = "US Standard Atmosphere 1976, ISO 2533"
_CRANE: Final = "Crane TP-410"
_OWN: Final = "definition"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the calculation. ``numbers`` comes to ``value`` in ``unit``."""

    title: str
    formula: str
    numbers: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """The whole calculation at the delivered flow."""

    lines: tuple[Line, ...]
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, "lines": [asdict(line) for line in self.lines], "sentence": self.sentence}


def sums(setup: Setup, catalogue: Catalogue | None = None) -> Sums:
    """The calculation from the setup to the answer, line by line."""
    one = solved(setup, catalogue)
    lines = (
        *_liquid(one),
        *_side(one, "suction"),
        *_side(one, "discharge"),
        *_head(one),
        *_suction(one),
        *_answer(one),
    )
    return Sums(lines=lines, sentence=_sentence(one))


def _sentence(one: Solved) -> str:
    flow, units = one.result.flow_m3_s, one.setup.units
    if flow is None or one.solution.outcome[0] <= Outcome.NO_PRIME:
        return "At rest: no water flows, so there is nothing to lose in the hose."
    return f"Every number at {show(flow, Quantity.FLOW, units)}, where the answer stands."


def figure(value: float) -> str:
    """A number as a line prints it: six figures, no exponent that a pocket calculator lacks."""
    if value == 0.0:
        return "0"
    digits = max(0, 5 - int(np.floor(np.log10(abs(value)))))
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".").replace("-", "−") if "." in text else text.replace("-", "−")


def _n(value: object) -> str:
    text = figure(float(value))  # type: ignore[arg-type]
    return f"({text})" if text.startswith("−") else text


def _line(title: str, formula: str, numbers: str, value: object, unit: str, source: str) -> Line:
    number = float(value)  # type: ignore[arg-type]
    return Line(title=title, formula=formula, numbers=numbers, value=number + 0.0, unit=unit, source=source)


def _given(title: str, symbol: str, si: float, unit: str, quantity: Quantity, system: System) -> Line:
    """An input turned into SI with the factor of its display unit."""
    shown = display_unit(quantity, system)
    number = si / shown.scale - shown.offset
    numbers = _n(number) if shown.scale == 1.0 else f"{_n(number)} × {_n(shown.scale)}"
    return _line(title, f"{symbol}, in {unit}", numbers, si, unit, f"the setup, in {shown.symbol}")


def _liquid(one: Solved) -> Iterator[Line]:
    plan, setup = one.plan, one.setup
    air, altitude = float(plan.air_pressure_pa[0]), float(plan.altitude_m[0])
    if setup.site.barometer is None:
        yield _line(
            "Air pressure at this height",
            "p = 101325 (1 − 0.0065 h / 288.15)^5.25588",
            f"101325 × (1 − 0.0065 × {_n(altitude * 6356766 / (6356766 + altitude))} / 288.15) ^ 5.25588",
            air,
            "Pa",
            f"{_ATMOSPHERE}; h is the geopotential height",
        )
    else:
        yield _line("Air pressure", "p, read off the barometer", _n(air), air, "Pa", "the setup")
    source = "IAPWS SR6-08(2011), SR1-86(1992)" if setup.site.liquid == "water" else "the liquid's record"
    density = float(plan.density_kg_m3[0])
    vapour = float(plan.vapour_pressure_pa[0])
    viscosity = float(plan.kinematic_viscosity_m2_s[0])
    yield _line("Density", "ρ, from the tables", _n(density), density, "kg/m³", source)
    yield _line("Vapour pressure", "p_v, from the tables", _n(vapour), vapour, "Pa", source)
    yield _line("Viscosity", "ν, from the tables", f"{_n(viscosity * 1e6)} / 1000000", viscosity, "m²/s", source)
    weight = f"({_n(density)} × {_n(G)})"
    yield _line(
        "The air's push as height of liquid",
        "p / (ρ g)",
        f"{_n(air)} / {weight}",
        one.solution.air_head_m[0],
        "m",
        _OWN,
    )
    yield _line(
        "What vapour takes of it",
        "p_v / (ρ g)",
        f"{_n(vapour)} / {weight}",
        one.solution.vapour_head_m[0],
        "m",
        _OWN,
    )
    if _flow(one) > 0.0:
        yield _given("Flow, where the answer stands", "Q", _flow(one), "m³/s", Quantity.FLOW, setup.units)


def _flow(one: Solved) -> float:
    return float(np.nan_to_num(one.solution.flow_m3_s[0]))


def _side(one: Solved, side: str) -> Iterator[Line]:
    """Area, speed, friction and loss of every leg of one side, then its steps and its sum."""
    plan, flow = one.plan, _flow(one)
    legs: Legs = getattr(plan, side)
    if flow == 0.0:
        return
    viscosity = float(plan.kinematic_viscosity_m2_s[0])
    parts: list[tuple[str, float]] = []
    shares = _shares(one, side)
    for at in np.flatnonzero(legs.used[0]):
        name = f"{side} hose" if legs.used[0].sum() == 1 else f"{side} leg {at + 1}"
        part = yield from _leg(name, legs, int(at), flow, viscosity)
        share = shares[at]
        if share < 1.0:
            title = f"{name}: as far as the point that governs"
            loss = part * share
            yield _line(title, "share × h", f"{_n(share)} × {_n(part)}", loss, "m", _OWN)
            part = loss
        if share > 0.0:
            parts.append((name, part))
    for step in _steps(one, side):
        if step.k > 0.0:
            loss = step.k * (flow / step.area) ** 2 / (2.0 * G)
            yield _line(
                f"Step: {step.name}",
                "h = K v² / (2 g), v in the smaller",
                f"{_n(step.k)} × ({_n(flow)} / {_n(step.area)}) ^ 2 / (2 × {_n(G)})",
                loss,
                "m",
                step.source,
            )
            parts.append((step.name, loss))
    total = sum(loss for _, loss in parts)
    yield _line(
        f"Lost on the {side} side", "sum of the above", " + ".join(_n(p) for _, p in parts) or "0", total, "m", _OWN
    )


def _leg(name: str, legs: Legs, at: int, flow: float, viscosity: float) -> Generator[Line, None, float]:
    bore, rough, length = (float(a[0, at]) for a in (legs.bore_m, legs.roughness_m, legs.length_m))
    abreast, k = float(legs.abreast[0, at]), float(legs.k[0, at])
    area = abreast * np.pi / 4.0 * bore**2
    speed = flow / area
    times = f"{_n(abreast)} × " if abreast != 1.0 else ""
    yield _line(f"{name}: area", "A = n π D² / 4", f"{times}3.14159265 × {_n(bore)} ^ 2 / 4", area, "m²", _OWN)
    yield _line(f"{name}: speed", "v = Q / A", f"{_n(flow)} / {_n(area)}", speed, "m/s", _OWN)
    reynolds = speed * bore / viscosity
    numbers = f"{_n(speed)} × {_n(bore)} × 1000000 / {_n(viscosity * 1e6)}"
    yield _line(f"{name}: Reynolds number", "Re = v D / ν", numbers, reynolds, "", _OWN)
    factor = float(friction.friction_factor(reynolds, rough / bore))
    yield _friction(name, reynolds, rough / bore, factor)
    loss = (factor * length / bore + k) * speed**2 / (2.0 * G)
    yield _line(
        f"{name}: loss",
        "h = (f L / D + K) v² / (2 g)",
        f"({_n(factor)} × {_n(length)} / {_n(bore)} + {_n(k)}) × {_n(speed)} ^ 2 / (2 × {_n(G)})",
        loss,
        "m",
        _WEISBACH,
    )
    return loss


def _friction(name: str, reynolds: float, relative: float, factor: float) -> Line:
    title = f"{name}: friction factor"
    if reynolds <= friction.RE_LAMINAR:
        return _line(title, "f = 64 / Re", f"64 / {_n(reynolds)}", factor, "", "Hagen and Poiseuille")
    if reynolds < friction.RE_TURBULENT:
        return _line(title, "f, on the join from 64 / Re to Colebrook", _n(factor), factor, "", "own join, see f·Re²")
    inner = f"{_n(relative)} / 3.7 + 2.51 / ({_n(reynolds)} × sqrt({_n(factor)}))"
    return _line(
        title,
        "f = 1 / (2 log10(ε / (3.7 D) + 2.51 / (Re √f)))², its own f on the right",
        f"1 / (2 × log10({inner})) ^ 2",
        factor,
        "",
        _COLEBROOK,
    )


class _Step(NamedTuple):
    name: str
    k: float
    area: float
    source: str


def _steps(one: Solved, side: str) -> Iterator[_Step]:
    """Steps between unlike areas on the way of the water, and a valve at the outlet, as far as the governing point."""
    plan = one.plan
    legs: Legs = getattr(plan, side)
    areas = legs.abreast[0] * np.pi / 4.0 * legs.bore_m[0] ** 2
    port = float((plan.pumps.inlet_bore_m if side == "suction" else plan.pumps.outlet_bore_m)[0, 0])
    names = [f"{side} leg {at + 1}" for at in range(areas.size)]
    ends = list(zip(names, areas.tolist(), strict=True))
    if port > 0.0:
        here = ("pump port", np.pi / 4.0 * port**2)
        ends = [*ends, here] if side == "suction" else [here, *ends]
    last = areas.size if side == "suction" else int(one.solution.route.leg[0, one.solution.point[0]]) + (port > 0.0)
    for at in range(min(len(ends) - 1, last)):
        (a, before), (b, after) = ends[at], ends[at + 1]
        source = f"{_CRANE}: {'0.5 (1 − β²)' if after < before else '(1 − β²)²'}"
        yield _Step(f"{a} to {b}", float(step_k(before, after)), min(before, after), source)
    at_outlet = one.result.governing_point.kind == "outlet"
    if side == "discharge" and at_outlet and plan.valve_k[0] > 0.0:
        yield _Step("valve at the outlet", float(plan.valve_k[0]), float(areas[-1]), "the setup")


def _shares(one: Solved, side: str) -> list[float]:
    legs: Legs = getattr(one.plan, side)
    if side == "suction":
        return [1.0] * legs.length_m.shape[1]
    return [float(s) for s in one.solution.line.share[0, :, one.solution.point[0]]]


def _head(one: Solved) -> Iterator[Line]:
    s, plan, units = one.solution, one.plan, one.setup.units
    lift, rise = float(s.lift_part_m[0]), float(s.rise_part_m[0])
    yield _given("Lift, water to pump", "lift", lift, "m", Quantity.HEAD, units)
    yield _given("Rise, pump to the point that governs", "rise", rise, "m", Quantity.HEAD, units)
    parts = [lift, rise, *(float(getattr(s, f"{p}_part_m")[0]) for p in ("suction", "discharge"))]
    leaving, pressure = float(s.leaving_part_m[0]), float(s.pressure_part_m[0])
    flow = _flow(one)
    if leaving > 0.0:
        yield _leaving(one, leaving, flow)
    if pressure != 0.0:
        yield _line(
            "Pressure kept at that point", "p / (ρ g)", _n(pressure), pressure, "m", _pressure_source(plan, one)
        )
    asked = [*parts, leaving, pressure]
    total = sum(asked)
    numbers = " + ".join(_n(p) for p in asked if p != 0.0) or "0"
    yield _line("Head that the site asks", "lift + rise + losses + leaving", numbers, total, "m", _OWN)
    if s.outcome[0] > Outcome.NO_PRIME and flow > 0.0:
        ratio, wear = float(plan.pumps.speed_ratio[0, 0]), float(plan.pumps.wear[0, 0])
        numbers, value = _on_curve(plan.curves.head_m, int(plan.pumps.curve[0, 0]), flow / ratio)
        factor = ratio**2 * wear
        scaled = f"{_n(ratio)} ^ 2 × {_n(wear)} × ({numbers})" if factor != 1.0 else numbers
        formula = "H on the cubic between its tested points, t = Q − the point's flow, in L/s"
        yield _line("Head that the pump gives", formula, scaled, factor * value, "m", "the pump's sheet; PCHIP")


def _pressure_source(plan: Plan, one: Solved) -> str:
    if one.result.governing_point.kind == "outlet" and plan.outlet_kind[0] == OutletKind.PRESSURE:
        return "the setup"
    return "vapour pressure and 2 m in reserve, below the air"


def _leaving(one: Solved, leaving: float, flow: float) -> Line:
    plan, s = one.plan, one.solution
    device = plan.outlet_kind[0] in (OutletKind.NOZZLE, OutletKind.SPRINKLERS)
    if device and one.result.governing_point.kind == "outlet":
        resistance = float(plan.outlet_resistance[0])
        numbers = f"{_n(resistance)} × {_n(flow)} ^ 2"
        return _line("Head at the base of the outlet", "h = R Q²", numbers, leaving, "m", "q ∝ √p")
    leg = int(s.route.leg[0, s.point[0]])
    speed = float(s.discharge_velocity_m_s[0, leg])
    return _line(
        "Leaving the hose: head in the water's speed",
        "v² / (2 g)",
        f"{_n(speed)} ^ 2 / (2 × {_n(G)})",
        leaving,
        "m",
        _OWN,
    )


def _on_curve(table: CurveTable, row: int, flow: float) -> tuple[str, float]:
    """The cubic between two tested points, in litres a second so that its figures stay printable."""
    knots = table.x[row]
    at = int(np.clip(np.searchsorted(knots, flow, side="right") - 1, 0, table.count[row] - 1))
    at = min(at, int(table.count[row]) - 2) if flow >= knots[-1] else at
    t = (float(np.clip(flow, knots[0], knots[-1])) - float(knots[at])) * 1e3
    a, b, c, d = (float(table.cubic[row, at, power]) / 1e3**power for power in range(4))
    numbers = f"{_n(a)} + {_n(t)} × ({_n(b)} + {_n(t)} × ({_n(c)} + {_n(t)} × {_n(d)}))"
    return numbers, a + t * (b + t * (c + t * d))


def _suction(one: Solved) -> Iterator[Line]:
    s, plan = one.solution, one.plan
    if np.isnan(s.npsha_m[0]):
        return
    air, vapour, lift, lost = (float(a[0]) for a in (s.air_head_m, s.vapour_head_m, s.lift_part_m, s.suction_part_m))
    yield _line(
        "Left at the pump (NPSHA)",
        "air − vapour − lift − lost on the suction side",
        f"{_n(air)} − {_n(vapour)} − {_n(lift)} − {_n(lost)}",
        s.npsha_m[0],
        "m",
        "definition of NPSH",
    )
    if np.isnan(s.npshr_m[0]):
        return
    ratio = float(plan.pumps.speed_ratio[0, 0])
    numbers, value = _on_curve(plan.curves.npshr_m, int(plan.pumps.curve[0, 0]), _flow(one) / ratio)
    scaled = f"{_n(ratio)} ^ 2 × ({numbers})" if ratio != 1.0 else numbers
    formula = "NPSHR on the cubic between its tested points, t in L/s"
    yield _line("What the pump needs (NPSHR)", formula, scaled, ratio**2 * value, "m", "the pump's sheet; PCHIP")
    spare = float(s.npsha_m[0] - s.npshr_m[0])
    numbers = f"{_n(s.npsha_m[0])} − {_n(s.npshr_m[0])}"
    yield _line("Suction to spare", "NPSHA − NPSHR", numbers, spare, "m", _OWN)


def _answer(one: Solved) -> Iterator[Line]:
    """The answer back in the setup's units."""
    units = one.setup.units
    results = (
        ("Flow", Quantity.FLOW, one.result.flow_m3_s),
        ("Head", Quantity.HEAD, one.result.head_m),
        ("Gauge at the pump's inlet, below the air", Quantity.VACUUM, _minus(one.result.inlet_gauge_pa)),
        ("Gauge at the pump's outlet", Quantity.PRESSURE, one.result.pump_outlet_gauge_pa),
    )
    for title, quantity, si in results:
        if si is None:
            continue
        shown = display_unit(quantity, units, si)
        numbers = _n(si) if shown.scale == 1.0 else f"{_n(si)} / {_n(shown.scale)}"
        yield _line(title, f"in {shown.symbol}", numbers, si / shown.scale - shown.offset, shown.symbol, "exact factor")


def _minus(value: float | None) -> float | None:
    return None if value is None else -value
