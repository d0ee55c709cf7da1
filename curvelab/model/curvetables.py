"""Pump records as the curve tables of a Plan."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.plan import Curves, Floats
from curvelab.model.points import Points
from curvelab.model.pump import Pump
from curvelab.model.pumpgroup import Group
from curvelab.model.suctiontests import npshr_of_tests

_EMPTY = np.empty(0)


@lru_cache(maxsize=64)
def curves_of(pumps: tuple[Pump | Group, ...]) -> Curves:
    """Curve tables of several pumps and groups of pumps, a row each, in their order."""
    return Curves(
        head_m=CurveTable.of([p.head_points if isinstance(p, Group) else _columns(p.head) for p in pumps]),
        npshr_m=CurveTable.of([p.npshr_points if isinstance(p, Group) else npshr_columns(p) for p in pumps]),
        efficiency=CurveTable.of([_columns(None if isinstance(p, Group) else p.efficiency) for p in pumps]),
        power_w=CurveTable.of([p.power_points if isinstance(p, Group) else _columns(p.power) for p in pumps]),
        names=tuple(pump.id for pump in pumps),
    )


def npshr_columns(pump: Pump) -> tuple[Floats, Floats]:
    """Flow [m³/s] and NPSHR [m] at the tested speed, from points or flows at several lifts; empty without either."""
    return npshr_of_tests(pump.suction_test) if pump.suction_test else _columns(pump.npshr)


def _columns(points: Points | None) -> tuple[Floats, Floats]:
    return (points.flow_m3_s, points.values_si) if points is not None else (_EMPTY, _EMPTY)
