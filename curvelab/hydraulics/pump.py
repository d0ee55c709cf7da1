"""A pump at its speed and wear: head, shaft power and efficiency from the tested curves.

Affinity laws [1]_: at speed ratio r flow goes with r, head with r², power with r³. Wear lowers head and efficiency
alike and leaves the power at a flow as it was.

.. [1] ANSI/HI 1.3, Rotodynamic Centrifugal Pumps for Design and Application; clause from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import power
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.plan import Plan

Floats = NDArray[np.float64]

_TESTED_WITH_KG_M3 = 998.2
"""Density of the water that power points are taken with, 20 °C. [kg/m³] IAPWS SR6-08(2011)."""


def pump_head(plan: Plan, flow: Floats) -> Floats:
    """Head of each row's pump at its speed and wear, shape (rows, flows); held at the ends of the tested curve. [m]"""
    ratio = plan.pumps.speed_ratio[:, :1]
    factor = ratio**2 * plan.pumps.wear[:, :1]
    return factor * plan.curves.head_m(plan.pumps.curve[:, 0], flow / ratio)


def shaft_power(plan: Plan, flow: Floats) -> tuple[Floats, Floats]:
    """Shaft power [W] and efficiency [-] at a flow [m³/s], shapes (rows,); NaN outside the tested points."""
    curve, ratio, wear = plan.pumps.curve[:, 0], plan.pumps.speed_ratio[:, 0], plan.pumps.wear[:, 0]
    weight = plan.density_kg_m3 * G
    tested = flow / ratio
    as_new = ratio**2 * plan.curves.head_m(curve, tested[:, None])[:, 0]
    eta = _tested(plan.curves.efficiency, curve, tested)
    good = eta > 0.0
    from_efficiency = np.where(good, weight * flow * as_new / np.where(good, eta, 1.0), np.nan)
    from_power = _tested(plan.curves.power_w, curve, tested) * ratio**3 * plan.density_kg_m3 / _TESTED_WITH_KG_M3
    shaft = np.where(np.isnan(from_power), from_efficiency, from_power)
    turning = shaft > 0.0
    return shaft, np.where(turning, weight * flow * as_new * wear / np.where(turning, shaft, 1.0), np.nan)


def engine_power(plan: Plan) -> Floats:
    """Power that each row's engine holds at its site, shape (rows,); NaN where its rating is not stated. [W]"""
    available = power.engine_available(
        plan.pumps.engine_power_w[:, 0],
        continuous=plan.pumps.engine_continuous[:, 0],
        altitude_m=plan.altitude_m,
        temperature_k=plan.temperature_k,
    )
    return np.where(available > 0.0, available, np.nan)


def _tested(table: CurveTable, curve: NDArray[np.int64], flow: Floats) -> Floats:
    first, last = table.first(curve), table.last(curve)
    inside = (flow >= first * (1.0 - 1e-9)) & (flow <= last * (1.0 + 1e-9))
    return np.where(inside, table(curve, flow[:, None])[:, 0], np.nan)
