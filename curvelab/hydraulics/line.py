"""The line: what suction and discharge ask of the pump at a flow, and which point of the route asks most.

Datum: the free surface of the source. For each point w of the route the pump must add

    H_w(Q) = z_w + losses from the strainer to w + v_w²/2g + p_least(w)/(ρg)

and the system curve is the greatest of them. Along a leg both height and loss are straight in the distance between
waypoints, so the greatest always stands at a pump outlet, waypoint, joint or outlet: only those are looked at.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import IntEnum
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.constants import G
from curvelab.hydraulics.fittings import step_k
from curvelab.hydraulics.friction import gradient
from curvelab.hydraulics.plan import Legs, OutletKind, Plan
from curvelab.hydraulics.pump import Boosters

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SIPHON_RESERVE_M = 2.0
"""Head kept above boiling where a rigid line runs below the air's pressure. [m] Common practice, no source."""


class PointKind(IntEnum):
    """What stands at a point of the route."""

    PUMP = 0
    WAYPOINT = 1
    JOINT = 2
    OUTLET = 3
    BOOSTER = 4
    """The suction port of a pump in the line."""


class Route(NamedTuple):
    """The points of the discharge route, shape (rows, points); absent ones have ``present`` False."""

    kind: Ints
    distance_m: Floats
    height_m: Floats
    leg: Ints
    present: NDArray[np.bool_]


class Losses(NamedTuple):
    """Head at a flow, each of shape (rows, flows)."""

    head_m: Floats
    """What the governing point asks in all. [m]"""
    suction_m: Floats
    discharge_m: Floats
    """Hose, fittings and steps from the pump to the governing point. [m]"""
    leaving_m: Floats
    """Velocity head at the governing point, or the whole head at nozzle or sprinklers. [m]"""
    pressure_m: Floats
    """Pressure that the governing point keeps; negative: a siphon helps. [m]"""
    boosted_m: Floats
    """What pumps in the line give on the way to the governing point. [m]"""
    point: Ints
    """Which point governs: column of the route."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """Everything of a Plan that the losses need, worked out once; make one with ``Line.of``. First axis: the row."""

    viscosity: Floats
    lift: Floats
    suction_area: Floats
    suction_bore: Floats
    suction_rough: Floats
    suction_length: Floats
    suction_k: Floats
    suction_steps: Floats
    area: Floats
    bore: Floats
    rough: Floats
    length: Floats
    k: Floats
    share: Floats
    still: Floats
    steps: Floats
    leaving: Floats
    pressure: Floats
    height: Floats
    boosters: Boosters | None

    @classmethod
    def of(cls, plan: Plan, route: Route) -> Line:
        """The line of every row; ``route`` from ``route_of(plan)``."""
        area, suction_area = _areas(plan.discharge), _areas(plan.suction)
        inlet, outlet = (_port_area(b) for b in (plan.pumps.inlet_bore_m, plan.pumps.outlet_bore_m))
        into = np.concatenate([np.where(outlet > 0.0, outlet, area[:, :1]), area[:, :-1]], axis=1)
        after = np.concatenate([suction_area[:, 1:], np.where(inlet > 0.0, inlet, suction_area[:, -1:])], axis=1)
        legs = np.arange(area.shape[1], dtype=np.int64)
        entered = legs <= route.leg[..., None]
        velocity = 1.0 / (2.0 * G * np.take_along_axis(area, route.leg, 1) ** 2)
        device = np.isin(plan.outlet_kind, (OutletKind.NOZZLE, OutletKind.SPRINKLERS))[:, None]
        at_end = route.kind == PointKind.OUTLET
        leaving = np.where(at_end & device, plan.outlet_resistance[:, None], velocity)
        pressure = _pressure(plan, route, at_end)
        steps = np.where(entered, _resistance(into, area)[:, None, :], 0.0).sum(-1)
        valve = np.where(at_end, (plan.valve_k / (2.0 * G * area[:, -1] ** 2))[:, None], 0.0)
        still = np.where(route.present, plan.lift_m[:, None] + route.height_m + pressure, -np.inf)
        return cls(
            viscosity=plan.kinematic_viscosity_m2_s,
            lift=plan.lift_m,
            suction_area=suction_area,
            suction_bore=plan.suction.bore_m,
            suction_rough=plan.suction.roughness_m,
            suction_length=plan.suction.length_m,
            suction_k=plan.suction.k,
            suction_steps=_resistance(suction_area, after).sum(-1),
            area=area,
            bore=plan.discharge.bore_m,
            rough=plan.discharge.roughness_m,
            length=plan.discharge.length_m,
            k=plan.discharge.k,
            share=_shares(plan.discharge, route),
            still=still,
            steps=steps + valve,
            leaving=leaving,
            pressure=pressure,
            height=route.height_m,
            boosters=Boosters.of(plan, route.distance_m),
        )

    def take(self, rows: Ints) -> Self:
        """Some rows, in that order."""
        taken = {f.name: getattr(self, f.name)[rows] for f in fields(self) if f.name != "boosters"}
        return replace(self, **taken, boosters=self.boosters.take(rows) if self.boosters else None)

    def suction(self, flow: Floats) -> Floats:
        """Loss from strainer to pump port. [m], shape (rows, flows) as ``flow`` [m³/s]."""
        legs = self._legs(
            flow, self.suction_area, self.suction_bore, self.suction_rough, self.suction_length, self.suction_k
        )
        return legs.sum(-1) + self.suction_steps[:, None] * flow * np.abs(flow)

    def discharge_legs(self, flow: Floats) -> Floats:
        """Loss over each whole discharge leg without the steps. [m], shape (rows, flows, legs)."""
        return self._legs(flow, self.area, self.bore, self.rough, self.length, self.k)

    def head(self, flow: Floats, suction_m: Floats) -> Floats:
        """System curve. [m], shape (rows, flows); ``suction_m`` is ``suction(flow)``."""
        return (self._asked(flow) + suction_m[..., None]).max(-1)

    def asked(self, flow: Floats) -> Floats:
        """What each point of the route asks. [m], shape (rows, flows, points)"""
        return self._asked(flow) + self.suction(flow)[..., None]

    def losses(self, flow: Floats) -> Losses:
        """The system curve taken apart at each flow, shape (rows, flows)."""
        suction = self.suction(flow)
        asked = self._asked(flow) + suction[..., None]
        point = asked.argmax(-1)
        rows = np.arange(flow.shape[0], dtype=np.int64)[:, None]
        square = flow * np.abs(flow)
        along = self._along(self.discharge_legs(flow))
        return Losses(
            head_m=np.take_along_axis(asked, point[..., None], -1)[..., 0],
            suction_m=suction,
            discharge_m=np.take_along_axis(along, point[..., None], -1)[..., 0] + self.steps[rows, point] * square,
            leaving_m=self.leaving[rows, point] * square,
            pressure_m=self.pressure[rows, point],
            boosted_m=self._boosted(flow, point),
            point=point,
        )

    def held_back(self, flow: Floats) -> Floats:
        """Head that pumps in the line can't give, because an inlet gets no more water. [m], shape (rows, flows, pumps).

        The flow is what the governing point lets through. Where that lies at a pump's inlet or before it, all that is
        beyond may ask less than the pump gives on its curve: so much of its head never arises. It is ``head`` less the
        most that any point beyond asks, its own outlet at the air's pressure among them; a pump before has its share.
        """
        if self.boosters is None:
            return np.zeros((*flow.shape, 0))
        asked, helps = self.asked(flow), self.boosters.helps
        count = helps.shape[1]
        beyond = np.where(helps[:, None] > 0.0, asked[:, :, None, :], -np.inf).max(-1)
        ports = asked[..., -count:] - self.pressure[:, None, -count:] - self.boosters.heads(flow)
        points = helps.sum(-1)
        so_far = np.where(points[:, None] > 0.0, asked.max(-1)[..., None] - np.maximum(beyond, ports), 0.0)
        order = np.argsort(-points, axis=-1, kind="stable")[:, None, :]
        each = np.diff(np.take_along_axis(so_far, order, -1), axis=-1, prepend=0.0)
        held = np.zeros_like(so_far)
        np.put_along_axis(held, np.broadcast_to(order, held.shape), np.maximum(each, 0.0), -1)
        return held

    def _boosted(self, flow: Floats, point: Ints) -> Floats:
        if self.boosters is None:
            return np.zeros_like(flow)
        return np.take_along_axis(self.boosters(flow), point[..., None], -1)[..., 0]

    def _asked(self, flow: Floats) -> Floats:
        square = (flow * np.abs(flow))[..., None]
        along = self._along(self.discharge_legs(flow))
        asked = self.still[:, None, :] + along + (self.steps + self.leaving)[:, None, :] * square
        return asked - self.boosters(flow) if self.boosters else asked

    def _along(self, legs: Floats) -> Floats:
        return np.matmul(legs, self.share)

    def _legs(self, flow: Floats, area: Floats, bore: Floats, rough: Floats, length: Floats, k: Floats) -> Floats:
        v = flow[..., None] / area[:, None, :]
        slope = gradient(
            v,
            bore_m=bore[:, None, :],
            roughness_m=rough[:, None, :],
            kinematic_viscosity_m2_s=self.viscosity[:, None, None],
        )
        return slope * length[:, None, :] + k[:, None, :] * (v * np.abs(v)) * (0.5 / G)


def route_of(plan: Plan) -> Route:
    """Points of each row's discharge route: pump, waypoints, both sides of every joint, outlet, boosters."""
    length, way = plan.discharge.length_m, plan.waypoints
    rows, legs = length.shape
    ends = np.cumsum(length, axis=1)
    joint, last = ends[:, :-1], ends[:, -1:]
    joint_height = heights_at(plan, joint)
    zero = np.zeros((rows, 1))
    way_leg = np.minimum((way.distance_m[..., None] > joint[:, None, :]).sum(-1), legs - 1)
    joints = np.broadcast_to(np.arange(legs - 1, dtype=np.int64), joint.shape)
    real = plan.discharge.used[:, 1:]
    count = way.distance_m.shape[1]
    booster, stands = plan.pumps.distance_m[:, 1:], plan.pumps.used[:, 1:]
    booster_leg = np.minimum((booster[..., None] > joint[:, None, :]).sum(-1), legs - 1)
    kinds = [PointKind.PUMP] + [PointKind.WAYPOINT] * count + [PointKind.JOINT] * 2 * (legs - 1) + [PointKind.OUTLET]
    kinds += [PointKind.BOOSTER] * booster.shape[1]
    return Route(
        kind=np.broadcast_to(np.array(kinds, dtype=np.int64), (rows, len(kinds))),
        distance_m=np.concatenate([zero, way.distance_m, joint, joint, last, booster], axis=1),
        height_m=np.concatenate(
            [zero, way.height_m, joint_height, joint_height, plan.rise_m[:, None], heights_at(plan, booster)], axis=1
        ),
        leg=np.concatenate(
            [zero.astype(np.int64), way_leg, joints, joints + 1, np.full((rows, 1), legs - 1), booster_leg],
            axis=1,
            dtype=np.int64,
        ),
        present=np.concatenate([zero == 0.0, way.used, real, real, zero == 0.0, stands], axis=1),
    )


def heights_at(plan: Plan, distance_m: Floats) -> Floats:
    """Height above the pump at distances along the discharge. [m], shape (rows, n) as ``distance_m`` [m].

    Straight between the pump's outlet, the waypoints and the outlet.
    """
    x, z = route_nodes(plan)
    out = np.broadcast_to(z[:, :1], distance_m.shape).copy()
    for left in range(x.shape[1] - 1):
        x0, x1, z0, z1 = (a[:, None] for a in (x[:, left], x[:, left + 1], z[:, left], z[:, left + 1]))
        span = np.where(x1 > x0, x1 - x0, 1.0)
        inside = (distance_m > x0) & (x1 > x0)
        out = np.where(inside, z0 + (z1 - z0) * np.minimum((distance_m - x0) / span, 1.0), out)
    return out


def route_nodes(plan: Plan) -> tuple[Floats, Floats]:
    """Corners of the route: pump outlet, waypoints, outlet. Distance and height [m], shape (rows, waypoints + 2)."""
    way = plan.waypoints
    zero = np.zeros((plan.rows, 1))
    end_x, end_z = plan.discharge.length_m.sum(1)[:, None], plan.rise_m[:, None]
    x = np.concatenate([zero, np.where(way.used, way.distance_m, end_x), end_x], axis=1)
    z = np.concatenate([zero, np.where(way.used, way.height_m, end_z), end_z], axis=1)
    return x, z


def _areas(legs: Legs) -> Floats:
    """Flow area of all hoses of each leg together. [m²]"""
    return legs.abreast * (np.pi / 4.0) * legs.bore_m**2


def _port_area(bore_m: Floats) -> Floats:
    return (np.pi / 4.0) * bore_m[:, :1] ** 2


def _resistance(area_from: Floats, area_to: Floats) -> Floats:
    """Head over flow squared of a step between two total areas. [s²/m⁵]"""
    return step_k(area_from, area_to) / (2.0 * G * np.minimum(area_from, area_to) ** 2)


def _shares(legs: Legs, route: Route) -> Floats:
    """Share of each leg's loss that lies before each point, shape (rows, legs, points)."""
    ends = np.cumsum(legs.length_m, axis=1)
    start = (ends - legs.length_m)[:, :, None]
    length = np.where(legs.length_m > 0.0, legs.length_m, 1.0)[:, :, None]
    own = np.clip((route.distance_m[:, None, :] - start) / length, 0.0, 1.0)
    leg = np.arange(legs.length_m.shape[1], dtype=np.int64)[None, :, None]
    at = route.leg[:, None, :]
    here = np.where(legs.length_m[:, :, None] > 0.0, own, 1.0)
    return np.where(leg < at, 1.0, np.where(leg == at, here, 0.0))


def _pressure(plan: Plan, route: Route, at_end: NDArray[np.bool_]) -> Floats:
    """Least pressure head that each point keeps. [m]"""
    weight = plan.density_kg_m3 * G
    siphon = SIPHON_RESERVE_M - (plan.air_pressure_pa - plan.vapour_pressure_pa) / weight
    rigid = np.take_along_axis(plan.discharge.rigid, route.leg, 1)
    least = np.where(rigid, siphon[:, None], 0.0)
    least = np.where(route.kind == PointKind.BOOSTER, plan.margin_m[:, None], least)
    return np.where(at_end, plan.outlet_static_m[:, None], least)
