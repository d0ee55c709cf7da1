"""A pump at its speed and wear: head, shaft power and efficiency from the tested curves.

Affinity laws [1]_: at speed ratio r flow goes with r, head with r², power with r³. Wear lowers head and efficiency
alike and leaves the power at a flow as it was.

.. [1] ANSI/HI 1.3, Rotodynamic Centrifugal Pumps for Design and Application; clause from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import power
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.plan import Plan

Floats = NDArray[np.float64]

_TESTED_WITH_KG_M3 = 998.2
"""Density of the water that power points are taken with, 20 °C. [kg/m³] IAPWS SR6-08(2011)."""


def pump_head(plan: Plan, flow: Floats, at: int = 0) -> Floats:
    """Head of each row's pump ``at``, shape (rows, flows); held at the ends of the tested curve. [m]"""
    ratio = plan.pumps.speed_ratio[:, at : at + 1]
    factor = ratio**2 * plan.pumps.wear[:, at : at + 1]
    return factor * plan.curves.head_m(plan.pumps.curve[:, at], flow / (ratio * plan.pumps.abreast[:, at : at + 1]))


def greatest_head(plan: Plan, at: int = 0) -> Floats:
    """Greatest head of each row's pump ``at`` at its speed and wear, shape (rows,). [m]"""
    factor = plan.pumps.speed_ratio[:, at] ** 2 * plan.pumps.wear[:, at]
    return factor * plan.curves.head_m.greatest(plan.pumps.curve[:, at])


def scale(plan: Plan) -> Floats:
    """Flow of a row over the flow of one pump at its tested speed, shape (rows, pumps). [-]"""
    return plan.pumps.speed_ratio * plan.pumps.abreast


def tested_flows(plan: Plan) -> tuple[Floats, Floats]:
    """First and last flow at which every pump of a row was tested, shape (rows,). [m³/s]"""
    used, times = plan.pumps.used, scale(plan)
    table = plan.curves.head_m
    first = np.where(used, table.first(plan.pumps.curve) * times, 0.0).max(1)
    return first, np.where(used, table.last(plan.pumps.curve) * times, np.inf).min(1)


@dataclass(frozen=True, slots=True, eq=False)
class Boosters:
    """Pumps in the line: what they add up to at each point of the route that lies beyond them."""

    curves: CurveTable
    curve: NDArray[np.int64]
    scale: Floats
    factor: Floats
    helps: Floats
    """1 where a booster helps a point, shape (rows, boosters, points)."""

    @classmethod
    def of(cls, plan: Plan, distance_m: Floats) -> Boosters | None:
        """Boosters of a plan whose route has points at these distances, shape (rows, points); ``None`` without any."""
        pumps = plan.pumps
        if pumps.curve.shape[1] == 1:
            return None
        beyond = (distance_m[:, None, :] > pumps.distance_m[:, 1:, None]) & pumps.used[:, 1:, None]
        factor = (pumps.speed_ratio**2 * pumps.wear)[:, 1:]
        return cls(plan.curves.head_m, pumps.curve[:, 1:], scale(plan)[:, 1:], factor, beyond.astype(np.float64))

    def take(self, rows: NDArray[np.int64]) -> Boosters:
        """Some rows, in that order."""
        return Boosters(self.curves, self.curve[rows], self.scale[rows], self.factor[rows], self.helps[rows])

    def heads(self, flow: Floats) -> Floats:
        """Head of each booster, shape (rows, flows, boosters). [m]"""
        each = [
            self.factor[:, at, None] * self.curves(self.curve[:, at], flow / self.scale[:, at, None])
            for at in range(self.curve.shape[1])
        ]
        return np.stack(each, axis=-1)

    def __call__(self, flow: Floats) -> Floats:
        """Head that each point of the route is given, shape (rows, flows, points). [m]"""
        return np.matmul(self.heads(flow), self.helps)

    @property
    def greatest(self) -> Floats:
        """The most that each point could be given, shape (rows, points). [m]"""
        most = self.factor * self.curves.greatest(self.curve)
        return np.matmul(most[:, None, :], self.helps)[:, 0]


def shaft_power(plan: Plan, flow: Floats) -> tuple[Floats, Floats]:
    """Shaft power [W] and efficiency [-] at a flow [m³/s], shapes (rows,); NaN outside the tested points."""
    curve, ratio, wear = plan.pumps.curve[:, 0], plan.pumps.speed_ratio[:, 0], plan.pumps.wear[:, 0]
    weight = plan.density_kg_m3 * G
    tested = flow / (ratio * plan.pumps.abreast[:, 0])
    as_new = ratio**2 * plan.curves.head_m(curve, tested[:, None])[:, 0]
    eta = _tested(plan.curves.efficiency, curve, tested)
    good = eta > 0.0
    from_efficiency = np.where(good, weight * flow * as_new / np.where(good, eta, 1.0), np.nan)
    from_power = _tested(plan.curves.power_w, curve, tested) * ratio**3 * plan.density_kg_m3 / _TESTED_WITH_KG_M3
    shaft = np.where(np.isnan(from_power), from_efficiency, from_power * plan.pumps.abreast[:, 0])
    turning = shaft > 0.0
    return shaft, np.where(turning, weight * flow * as_new * wear / np.where(turning, shaft, 1.0), np.nan)


def engine_power(plan: Plan) -> Floats:
    """Power that each row's engines at the water hold at the site, shape (rows,); NaN where not stated. [W]"""
    available = power.engine_available(
        plan.pumps.engine_power_w[:, 0] * plan.pumps.abreast[:, 0],
        continuous=plan.pumps.engine_continuous[:, 0],
        altitude_m=plan.altitude_m,
        temperature_k=plan.air_temperature_k,
    )
    return np.where(available > 0.0, available, np.nan)


def _tested(table: CurveTable, curve: NDArray[np.int64], flow: Floats) -> Floats:
    first, last = table.first(curve), table.last(curve)
    inside = (flow >= first * (1.0 - 1e-9)) & (flow <= last * (1.0 + 1e-9))
    return np.where(inside, table(curve, flow[:, None])[:, 0], np.nan)
