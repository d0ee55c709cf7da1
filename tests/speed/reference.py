"""The whole system a second time, one setup after another: SciPy's ``brentq`` and PCHIP, ``fluids`` for friction.

Written from the formulas alone, without a look at the package, so that two routes to one answer can be compared
(``tests/unit/test_whole_system.py``) and the vectorised kernel has a fair scalar loop to race (``tests/speed``). It
imports nothing of curvelab. SI throughout; heads in metres of the liquid; one kind of pump, any number of it abreast.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import pi

from fluids.friction import Clamond
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, minimize_scalar

from tests.speed.case import Answer, Case, Hose, Point, Pump

G = 9.80665
AIR_SEA_LEVEL = 101325.0
VAPOUR_20C = 2339.2  # IAPWS SR1-86 at 293.15 K
SIPHON_RESERVE_M = 2.0
LAMINAR_END, TURBULENT_START = 2000.0, 4000.0
SCAN_PER_GAP = 4  # trial flows between two neighbouring points of the pump curve


def friction_number(reynolds: float, relative_roughness: float) -> float:
    """Darcy f times Re², so that the loss is this times ν²L/(2gD³). The join is a cubic in Re with both slopes kept."""
    if reynolds <= LAMINAR_END:
        return 64.0 * reynolds
    if reynolds >= TURBULENT_START:
        return Clamond(reynolds, relative_roughness) * reynolds**2
    width = TURBULENT_START - LAMINAR_END
    t = (reynolds - LAMINAR_END) / width
    top = Clamond(TURBULENT_START, relative_roughness) * TURBULENT_START**2
    near = Clamond(TURBULENT_START * (1 + 1e-6), relative_roughness) * (TURBULENT_START * (1 + 1e-6)) ** 2
    slope = (near - top) / (TURBULENT_START * 1e-6)
    return (
        (1 + 2 * t) * (1 - t) ** 2 * 64.0 * LAMINAR_END
        + t * (1 - t) ** 2 * width * 64.0
        + t * t * (3 - 2 * t) * top
        + t * t * (t - 1) * width * slope
    )


def step(before: float, after: float, flow: float) -> float:
    """Head lost where the total flow area changes from ``before`` to ``after`` [m]."""
    small = min(before, after)
    ratio = small / max(before, after)
    k = (1.0 - ratio) ** 2 if after > before else 0.5 * (1.0 - ratio)
    return k * (flow / small) ** 2 / (2 * G)


class System:
    """The hose line of a case: what it asks of the pump at a flow, and what it leaves of the air's push."""

    def __init__(self, case: Case) -> None:
        """Lay out the route once; every later call only adds up losses."""
        self.case = case
        self.weight = case.density * G
        pump = case.pump
        self.inlet_area = None if pump.inlet is None else pump.abreast * pi * pump.inlet**2 / 4
        self.outlet_area = None if pump.outlet is None else pump.abreast * pi * pump.outlet**2 / 4
        self.points = self._route()

    def _least(self, hose: Hose) -> float:
        if not hose.rigid:
            return 0.0
        return -(self.case.air - self.case.vapour) / self.weight + SIPHON_RESERVE_M

    def _route(self) -> list[Point]:
        case = self.case
        ends: list[float] = []
        total = 0.0
        for hose in case.discharge:
            total += hose.length
            ends.append(total)
        shape = [(0.0, 0.0), *case.waypoints, (total, case.outlet.rise)]
        marks = [("pump", 0.0), *(("waypoint", w[0]) for w in case.waypoints), *(("joint", e) for e in ends[:-1])]
        points: list[Point] = []
        for kind, distance in marks:
            start = 0.0
            for i, hose in enumerate(case.discharge):
                inside = start <= distance <= ends[i]  # on a joint both legs hold the point: both sides are tried
                if inside and hose.length > 0:
                    share = (distance - start) / hose.length
                    height = _height(shape, distance)
                    points.append(
                        Point(kind=kind, distance=distance, height=height, leg=i, share=share, least=self._least(hose))
                    )
                start = ends[i]
        last = len(case.discharge) - 1
        points.append(Point(kind="outlet", distance=total, height=case.outlet.rise, leg=last, share=1.0, least=0.0))
        return points

    def hose_loss(self, hose: Hose, flow: float) -> float:
        """Friction and fittings of a whole leg [m]."""
        velocity = flow / hose.area
        reynolds = velocity * hose.bore / self.case.viscosity
        friction = friction_number(reynolds, hose.roughness / hose.bore)
        per_metre = friction * self.case.viscosity**2 / (2 * G * hose.bore**3)
        return per_metre * hose.length + hose.k * velocity**2 / (2 * G)

    def suction_loss(self, flow: float) -> float:
        """From the strainer into the pump's port [m]."""
        legs = self.case.suction
        loss = sum(self.hose_loss(hose, flow) for hose in legs)
        loss += sum(step(a.area, b.area, flow) for a, b in pairwise(legs))
        if legs and self.inlet_area:
            loss += step(legs[-1].area, self.inlet_area, flow)
        return loss

    def outlet_need(self, flow: float) -> float:
        """Total head at the end of the last leg above the outlet's height [m]."""
        out = self.case.outlet
        velocity_head = (flow / self.case.discharge[-1].area) ** 2 / (2 * G)
        valve = out.valve_k * velocity_head
        if out.kind == "nozzle":
            area = out.count * out.coefficient * pi * out.bore**2 / 4
            return valve + (flow / area) ** 2 / (2 * G)
        if out.kind == "pressure":
            return valve + velocity_head + out.pressure / self.weight
        if out.kind == "sprinklers":  # tabulated pressure is the sprinkler's own, hence total head
            return valve + out.pressure / self.weight * (flow / (out.count * out.flow)) ** 2
        return valve + velocity_head

    def asked(self, flow: float) -> tuple[float, Point]:
        """Head the pump must add [m], and the point of the route that asks it."""
        legs = self.case.discharge
        losses = [self.hose_loss(hose, flow) for hose in legs]
        before = [step(self.outlet_area, legs[0].area, flow) if self.outlet_area else 0.0]
        for i in range(1, len(legs)):
            before.append(before[-1] + losses[i - 1] + step(legs[i - 1].area, legs[i].area, flow))
        suction = self.case.lift + self.suction_loss(flow)
        worst, governs = float("-inf"), self.points[0]
        for point in self.points:
            head = suction + point.height + before[point.leg] + losses[point.leg] * point.share
            if point.kind == "outlet":
                head += self.outlet_need(flow)
            else:
                head += (flow / legs[point.leg].area) ** 2 / (2 * G) + point.least
            if head > worst:
                worst, governs = head, point
        return worst, governs

    def npsha(self, flow: float) -> float:
        """Head of the air and the water above the vapour's, at the pump's inlet [m]."""
        return (self.case.air - self.case.vapour) / self.weight - self.case.lift - self.suction_loss(flow)


def _height(shape: list[tuple[float, float]], distance: float) -> float:
    for (x0, z0), (x1, z1) in pairwise(shape):
        if x0 <= distance <= x1 and x1 > x0:
            return z0 + (z1 - z0) * (distance - x0) / (x1 - x0)
    return shape[-1][1]


def _trial_flows(knots: list[float]) -> list[float]:
    flows = [knots[0]]
    for a, b in pairwise(knots):
        flows += [a + (b - a) * (i + 1) / SCAN_PER_GAP for i in range(SCAN_PER_GAP)]
    return flows


class Running:
    """A pump's curves at its speed, with its wear, for all of it abreast."""

    def __init__(self, pump: Pump) -> None:
        """Scale the points by the affinity laws, then join them with PCHIP."""
        r, n = pump.speed, pump.abreast
        self.flows = [q * r * n for q in pump.flow]
        self.heads = [h * r * r * pump.wear for h in pump.head]
        self._head = PchipInterpolator(self.flows, self.heads)
        self.suction_flows = [q * r * n for q in pump.npshr_flow]
        self.suction_heads = [h * r * r for h in pump.npshr]
        self._npshr = PchipInterpolator(self.suction_flows, self.suction_heads) if pump.npshr else None

    def head(self, flow: float) -> float:
        """Head added [m]."""
        return float(self._head(flow))

    def npshr(self, flow: float) -> float | None:
        """NPSH at which 3 % of the head is lost [m]; None beyond its last tested flow, or where nothing was tested."""
        if self._npshr is None or flow > self.suction_flows[-1]:
            return None
        return float(self._npshr(max(flow, self.suction_flows[0])))


def _roots(system: System, pump: Running) -> list[tuple[float, bool]]:
    """All crossings in the tested range, each with whether it is stable."""

    def spare(flow: float) -> float:
        return pump.head(flow) - system.asked(flow)[0]

    flows = _trial_flows(pump.flows)
    values = [spare(q) for q in flows]
    _look_for_pairs(spare, flows, values)
    found: list[tuple[float, bool]] = []
    for (a, left), (b, right) in pairwise(zip(flows, values, strict=True)):
        if left * right < 0 or (left == 0 and right != 0):
            found.append((a if left == 0 else float(brentq(spare, a, b, xtol=1e-12, rtol=1e-12)), right < 0))
    return found


def _look_for_pairs(spare: Callable[[float], float], flows: list[float], values: list[float]) -> None:
    """Where three trial values bulge towards zero and don't reach it, add the flow at the peak: two roots may hide."""
    for i in range(len(flows) - 2, -1, -1):
        before = max(i - 1, 0)
        left, middle, right = values[before], values[i], values[i + 1]
        side = 1.0 if middle > 0 else -1.0
        if (i == 0 or left * side > middle * side) and right * side > middle * side:
            peak = minimize_scalar(
                lambda q, side=side: side * spare(q), bounds=(flows[before], flows[i + 1]), method="bounded"
            )
            at = float(peak.x)
            place = i if at < flows[i] else i + 1
            flows.insert(place, at)
            values.insert(place, spare(at))


def _suction_limit(system: System, pump: Running, margin: float) -> float | None:
    """Least flow at which NPSHA falls to NPSHR + margin; 0 where it is short at rest, None where it never is."""

    def spare(flow: float) -> float:
        npshr = pump.npshr(flow)
        assert npshr is not None
        return system.npsha(flow) - npshr - margin

    if not pump.suction_flows:
        return None
    if spare(0.0) < 0:
        return 0.0
    knots = pump.suction_flows if pump.suction_flows[0] == 0 else [0.0, *pump.suction_flows]
    flows = _trial_flows(knots)
    flows[-1] = knots[-1]
    low = flows[0]
    for high in flows[1:]:
        if spare(high) < 0:
            return float(brentq(spare, low, high, xtol=1e-12, rtol=1e-12))
        low = high
    return None


def solve(case: Case) -> Answer:
    """Operating point, suction limit and state of one setup."""
    system, pump = System(case), Running(case.pump)
    answer = Answer(static_head=system.asked(0.0)[0])
    roots = _roots(system, pump)
    answer.roots = [q for q, _ in roots]
    stable = [q for q, falls in roots if falls]
    at_end = pump.flows[-1]
    runs_off = not stable and pump.head(at_end) > system.asked(at_end)[0]
    answer.cavitation_flow = _suction_limit(system, pump, 0.0)
    answer.margin_flow = _suction_limit(system, pump, case.margin)
    if stable:
        answer.crossing_flow = stable[-1]
        answer.crossing_head = pump.head(stable[-1])
    _judge(case, system, pump, answer, runs_off=runs_off)
    _read_gauges(case, system, pump, answer)
    return answer


def _judge(case: Case, system: System, pump: Running, answer: Answer, *, runs_off: bool) -> None:
    # the pump's own outlet counts: water has to leave it before anything downhill can help
    climb = case.lift + max([0.0, case.outlet.rise, *(height for _, height in case.waypoints)])
    from_rest = pump.flows[0] == 0  # else nobody knows the greatest head, and the line may cross before the first point
    reach = None
    if case.pump.priming_lift is not None and not case.holds_prime:
        push = (case.air - case.vapour) / (AIR_SEA_LEVEL - VAPOUR_20C)
        reach = case.pump.priming_lift * push / case.density_ratio
    nowhere = answer.crossing_flow is None and not runs_off
    answer.flow = 0.0
    if from_rest and (nowhere or max(pump.heads) < climb):
        answer.state = "no-lift"
        return
    if reach is not None and case.lift > reach:
        answer.state, answer.reach = "no-prime", reach
        return
    wanted = pump.flows[-1] if runs_off else answer.crossing_flow
    limit = answer.cavitation_flow
    if limit is not None and wanted is not None and limit < wanted:
        answer.state, answer.flow, answer.head = "cavitating", limit, system.asked(limit)[0]
        return
    if wanted is None:
        answer.state, answer.flow = "off-curve", None
        return
    answer.flow, answer.head = wanted, pump.head(wanted)
    if runs_off:
        answer.state = "off-curve"
        return
    npshr = pump.npshr(wanted)
    thin = npshr is not None and system.npsha(wanted) < npshr + case.margin
    answer.state = "thin" if thin else "sound"


def _read_gauges(case: Case, system: System, pump: Running, answer: Answer) -> None:
    if pump.flows[0] == 0:
        lowest = min(0.0, case.outlet.rise, *(height for _, height in case.waypoints))
        bound = max(case.pump.head) * max(1.0, case.pump.speed) ** 2  # ratings: full throttle, as new
        answer.dead_head = system.weight * (bound - min(case.lift, 0.0) - lowest)
        answer.shut_end = system.weight * (max(pump.heads) - case.lift)
    if answer.flow is None:
        return
    flow = answer.flow
    loss = system.suction_loss(flow)
    answer.npsha, answer.npshr = system.npsha(flow), pump.npshr(flow)
    answer.governs = system.asked(flow)[1]
    if answer.state == "no-prime":
        answer.inlet_gauge, answer.outlet_gauge = -system.weight * answer.reach, 0.0
        return
    head = max(pump.heads) if answer.head is None else answer.head
    inlet, outlet = system.inlet_area or case.suction[-1].area, system.outlet_area or case.discharge[0].area
    answer.inlet_gauge = -system.weight * (case.lift + loss + (flow / inlet) ** 2 / (2 * G))
    answer.outlet_gauge = system.weight * (head - case.lift - loss - (flow / outlet) ** 2 / (2 * G))
    answer.reynolds = tuple(flow / h.area * h.bore / case.viscosity for h in (*case.suction, *case.discharge))
