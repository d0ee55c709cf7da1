"""Heads, suction and gauges in the sums."""

from __future__ import annotations

from collections.abc import Generator, Iterator

import numpy as np

from curvelab.hydraulics.constants import G
from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.line import SIPHON_RESERVE_M
from curvelab.hydraulics.plan import OutletKind
from curvelab.hydraulics.pump import greatest_head, pump_head, scale
from curvelab.hydraulics.solution import Outcome
from curvelab.studies.result import State
from curvelab.studies.solve import Solved
from curvelab.studies.sumhose import end_area, port_area
from curvelab.studies.sumline import OWN, SETUP, SHEET, Line, added, given, line, n, weight
from curvelab.units import Quantity


def heads(one: Solved, flow: float) -> Iterator[Line]:
    """What the site asks, what the pump gives, and what lies between them."""
    s, units = one.solution, one.setup.units
    lift, rise, suction, discharge = (
        float(getattr(s, f"{part}_part_m")[0]) for part in ("lift", "rise", "suction", "discharge")
    )
    yield given("Lift, water to pump", "lift", lift, "m", Quantity.HEAD, units)
    yield given("Rise, pump to the point that governs", "rise", rise, "m", Quantity.HEAD, units)
    leaving, pressure, boosted = (float(a[0]) for a in (s.leaving_part_m, s.pressure_part_m, s.boosted_part_m))
    if leaving > 0.0:
        yield from _leaving(one, leaving, flow)
    if pressure != 0.0:
        yield from _pressure(one, pressure)
    if boosted > 0.0:
        yield from _boosters(one, flow, boosted)
    parts = [lift, rise, suction, discharge, leaving, pressure, -boosted]
    asked = sum(parts)
    yield line("Head that the site asks", "lift + rise + losses + leaving", added(parts), asked, "m", OWN)
    if one.result.state is State.NO_LIFT:
        yield from _short(one)
    elif flow > 0.0:
        yield from _given(one, flow, asked)


def _short(one: Solved) -> Iterator[Line]:
    greatest, start = float(greatest_head(one.plan)[0]), one.result.start_head_m
    lift = float(one.solution.lift_part_m[0])
    numbers = f"{n(lift)} + {n(start - lift)}"
    yield line("Head that starting asks", "lift + the highest point, an empty hose", numbers, start, "m", OWN)
    yield _greatest(one)
    if start > greatest:
        numbers = f"{n(start)} − {n(greatest)}"
        yield line("Short of it", "what starting asks − H", numbers, start - greatest, "m", OWN)


def _greatest(one: Solved) -> Line:
    ratio, wear = float(one.plan.pumps.speed_ratio[0, 0]), float(one.plan.pumps.wear[0, 0])
    greatest = float(greatest_head(one.plan)[0])
    sheet = greatest / (ratio**2 * wear)
    numbers = n(sheet) if ratio == wear == 1.0 else f"{n(ratio)} ^ 2 × {n(wear)} × {n(sheet)}"
    return line("Greatest head of the pump", "H, the sheet's greatest at this speed", numbers, greatest, "m", SHEET)


def _given(one: Solved, flow: float, asked: float) -> Iterator[Line]:
    value = float(pump_head(one.plan, np.array([[flow]]))[0, 0])
    yield from _on_curve(one, 0, flow, "Head that the pump gives", value)
    state, numbers = one.result.state, f"{n(value)} − {n(asked)}"
    if state is State.CAVITATING:
        yield line("Lost: the suction lets no more through", "given − asked", numbers, value - asked, "m", OWN)
    elif state is State.OFF_CURVE:
        yield line("Given beyond what is asked", "given − asked", numbers, value - asked, "m", OWN)


def _on_curve(one: Solved, pump: int, flow: float, title: str, value: float) -> Iterator[Line]:
    """Head of a pump on its curve at its speed and wear."""
    pumps = one.plan.pumps
    ratio, wear = float(pumps.speed_ratio[0, pump]), float(pumps.wear[0, pump])
    factor = f"{n(ratio)} ^ 2 × {n(wear)} × " if ratio != 1.0 or wear != 1.0 else ""
    tested = flow / float(scale(one.plan)[0, pump])
    yield from _cubic(one.plan.curves.head_m, int(pumps.curve[0, pump]), tested, one, pump, flow, title, factor, value)


def _cubic(
    table: CurveTable,
    row: int,
    tested: float,
    one: Solved,
    pump: int,
    flow: float,
    title: str,
    factor: str,
    value: float,
) -> Iterator[Line]:
    """The cubic between two tested points, in litres a second so that its figures stay printable."""
    knots, count = table.x[row], int(table.count[row])
    at = min(int(np.clip(np.searchsorted(knots[:count], tested, side="right") - 1, 0, count - 1)), count - 2)
    ratio, abreast = float(one.plan.pumps.speed_ratio[0, pump]), float(one.plan.pumps.abreast[0, pump])
    held = min(max(tested, float(knots[0])), float(knots[count - 1]))
    t = (held - float(knots[at])) * 1e3
    by = "".join(f" / {n(part)}" for part in (ratio, abreast) if part != 1.0)
    sought = f"1000 × {n(flow)}{by}" if held == tested else n(held * 1e3)
    whose = "Q at tested speed" if held == tested else "the end of the tested flows"
    formula = f"t = {whose} − the tested point's flow, in L/s"
    yield line(f"{title}: past the tested point", formula, f"{sought} − {n(knots[at] * 1e3)}", t, "L/s", SHEET)
    a, b, c, d = (float(table.cubic[row, at, power]) / 1e3**power for power in range(4))
    cubic = f"{n(a)} + {n(t)} × ({n(b)} + {n(t)} × ({n(c)} + {n(t)} × {n(d)}))"
    numbers = f"{factor}({cubic})" if factor else cubic
    yield line(title, "on the cubic between its tested points, a + t (b + t (c + t d))", numbers, value, "m", SHEET)


def _boosters(one: Solved, flow: float, boosted: float) -> Iterator[Line]:
    line_of = one.solution.line.boosters
    if line_of is None:
        return
    heads = line_of.heads(np.array([[flow]]))[0, 0]
    helps = line_of.helps[0, :, one.solution.point[0]]
    found = [(at + 1, float(head)) for at, (head, so) in enumerate(zip(heads, helps, strict=True)) if so]
    for pump, head in found:
        yield from _on_curve(one, pump, flow, f"Head of pump {pump} in the line", head)
    yield line("Head of the pumps in the line", "sum", added(head for _, head in found), boosted, "m", OWN)


def _pressure(one: Solved, pressure: float) -> Iterator[Line]:
    plan, title = one.plan, "Pressure kept at that point"
    density = float(plan.density_kg_m3[0])
    kind = one.result.governing_point.kind
    if kind == "booster":
        yield line(title, "the suction's margin", n(pressure), pressure, "m", SETUP)
    elif kind == "outlet" and plan.outlet_kind[0] == OutletKind.PRESSURE:
        numbers = f"{n(pressure * density * G)} / ({weight(density)})"
        yield line(title, "p / (ρ g)", numbers, pressure, "m", SETUP)
    else:
        air, vapour = one.result.air_head_m, one.result.vapour_head_m
        numbers = f"{n(SIPHON_RESERVE_M)} − ({n(air)} − {n(vapour)})"
        source = "2 m in reserve over boiling: common practice"
        yield line(title, "reserve − (air − vapour): a siphon helps", numbers, pressure, "m", source)


def _leaving(one: Solved, leaving: float, flow: float) -> Iterator[Line]:
    plan, s, outlet = one.plan, one.solution, one.setup.outlet
    at_end = one.result.governing_point.kind == "outlet"
    resistance = float(plan.outlet_resistance[0])
    if at_end and plan.outlet_kind[0] == OutletKind.NOZZLE and outlet.bore is not None:
        count = outlet.count or 1
        passes = 1.0 / np.sqrt(2.0 * G * resistance)
        area = count * np.pi / 4.0 * outlet.bore.si**2
        numbers = f"{n(count)} × {n(passes / area)} × 3.14159265 × {n(outlet.bore.si)} ^ 2 / 4"
        yield line("Nozzle: area that passes", "n C A", numbers, passes, "m²", "smooth bore, C from NFPA 1962's kind")
        numbers = f"({n(flow)} / {n(passes)}) ^ 2 / (2 × {n(G)})"
        yield line("Head at the base of the nozzle", "h = (Q / (n C A))² / (2 g)", numbers, leaving, "m", "free jet")
    elif at_end and plan.outlet_kind[0] == OutletKind.SPRINKLERS and outlet.flow is not None:
        head = float(outlet.pressure.si) / (float(plan.density_kg_m3[0]) * G) if outlet.pressure else 0.0
        count = outlet.count or 1
        numbers = f"{n(head)} × ({n(flow)} / ({n(count)} × {n(outlet.flow.si)})) ^ 2"
        yield line("Head at the sprinklers", "h = h₀ (Q / (n q))²", numbers, leaving, "m", "q ∝ √p; their table")
    else:
        speed = float(s.discharge_velocity_m_s[0, int(s.route.leg[0, s.point[0]])])
        numbers = f"{n(speed)} ^ 2 / (2 × {n(G)})"
        yield line("Leaving: head in the water's speed", "v² / (2 g)", numbers, leaving, "m", OWN)


def suction(one: Solved, flow: float) -> Iterator[Line]:
    """What the air's push leaves at the pump, and what the pump needs."""
    s, plan, r = one.solution, one.plan, one.result
    if r.npsha_m is None:
        return
    air, vapour, lift, lost = (float(a[0]) for a in (s.air_head_m, s.vapour_head_m, s.lift_part_m, s.suction_part_m))
    numbers = f"{n(air)} − {n(vapour)} − {n(lift)} − {n(lost)}"
    formula = "air − vapour − lift − lost on the suction side"
    yield line("Left at the pump (NPSHA)", formula, numbers, r.npsha_m, "m", "definition of NPSH")
    if r.npshr_m is None:
        return
    ratio = float(plan.pumps.speed_ratio[0, 0])
    factor = f"{n(ratio)} ^ 2 × " if ratio != 1.0 else ""
    tested = flow / float(scale(plan)[0, 0])
    row = int(plan.pumps.curve[0, 0])
    title = "What the pump needs (NPSHR)"
    yield from _cubic(plan.curves.npshr_m, row, tested, one, 0, flow, title, factor, r.npshr_m)
    numbers = f"{n(r.npsha_m)} − {n(r.npshr_m)}"
    yield line("Suction to spare", "NPSHA − NPSHR", numbers, r.npsha_m - r.npshr_m, "m", OWN)


def gauges(one: Solved, flow: float) -> Iterator[Line]:
    """What the gauges in the pump's ports show, in Pa."""
    s, r = one.solution, one.result
    density = float(one.plan.density_kg_m3[0])
    lift, lost = float(s.lift_part_m[0]), float(s.suction_part_m[0])
    outcome = Outcome(int(s.outcome[0]))
    if outcome == Outcome.NO_PRIME:
        yield from _dry(one)
    elif r.inlet_gauge_pa is not None:
        speed = 0.0
        if flow > 0.0:
            speed = yield from _port_speed(one, "suction", flow)
        numbers = f"{weight(density)} × ({n(lift)} + {n(lost)} + {n(speed)} ^ 2 / (2 × {n(G)}))"
        formula = "ρ g (lift + lost + v² / (2 g))"
        yield line("At the inlet, below the air", formula, numbers, -r.inlet_gauge_pa, "Pa", OWN)
    if r.head_m is not None and r.pump_outlet_gauge_pa is not None:
        speed = yield from _port_speed(one, "discharge", flow)
        static = f"{weight(density)} × ({n(r.head_m)} − {n(lift)} − {n(lost)})"
        numbers = f"{static} − {n(density)} × {n(speed)} ^ 2 / 2"
        formula = "ρ g (H − lift − lost) − ρ v² / 2"
        yield line("At the outlet", formula, numbers, r.pump_outlet_gauge_pa, "Pa", OWN)
    if r.shut_end_gauge_pa is not None and r.shutoff_head_m is not None:
        if outcome != Outcome.NO_LIFT:
            yield _greatest(one)
        numbers = f"{weight(density)} × ({n(r.shutoff_head_m)} − {n(lift)})"
        where = "with the end shut" if outcome != Outcome.NO_LIFT else "with standing water or the end shut"
        yield line(f"At the outlet {where}", "ρ g (H − lift)", numbers, r.shut_end_gauge_pa, "Pa", OWN)


def _port_speed(one: Solved, side: str, flow: float) -> Generator[Line, None, float]:
    area = port_area(one.plan, side) or end_area(one.plan, side)
    speed = flow / area
    name = "inlet" if side == "suction" else "outlet"
    yield line(f"Speed at the {name} gauge", "v = Q / A", f"{n(flow)} / {n(area)}", speed, "m/s", OWN)
    return speed


def _dry(one: Solved) -> Iterator[Line]:
    """The dry pump draws what it can, and no water comes."""
    r, plan = one.result, one.plan
    if r.priming_lift_m is None or r.inlet_gauge_pa is None:
        return
    stated, ratio = float(plan.pumps.priming_lift_m[0, 0]), float(plan.density_ratio[0])
    air, vapour = float(plan.air_pressure_pa[0]), float(plan.vapour_pressure_pa[0])
    numbers = f"{n(stated)} × ({n(air)} − {n(vapour)}) / (101325 − 2339.32) / {n(ratio)}"
    formula = "its lift at sea level × the air's push here over that there ÷ density ratio"
    yield line(
        "Greatest lift that the dry pump draws here", formula, numbers, r.priming_lift_m, "m", "the pump's sheet"
    )
    lift = float(one.solution.lift_part_m[0])
    numbers = f"{n(lift)} − {n(r.priming_lift_m)}"
    yield line("Too high by", "lift − that", numbers, lift - r.priming_lift_m, "m", OWN)
    numbers = f"{weight(float(plan.density_kg_m3[0]))} × {n(r.priming_lift_m)}"
    yield line("At the inlet, below the air", "ρ g × that", numbers, -r.inlet_gauge_pa, "Pa", OWN)
