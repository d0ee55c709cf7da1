"""Pump records as the curve tables of a Plan."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.plan import Curves, Floats
from curvelab.model.points import Points
from curvelab.model.pump import Pump
from curvelab.model.suctiontests import npshr_of_tests

_EMPTY = np.empty(0)


@lru_cache(maxsize=64)
def curves_of(pumps: tuple[Pump, ...]) -> Curves:
    """Curve tables of several pumps, a row each, in their order."""
    return Curves(
        head_m=CurveTable.of([_columns(pump.head) for pump in pumps]),
        npshr_m=CurveTable.of([npshr_columns(pump) for pump in pumps]),
        efficiency=CurveTable.of([_columns(pump.efficiency) for pump in pumps]),
        power_w=CurveTable.of([_columns(pump.power) for pump in pumps]),
        names=tuple(pump.id for pump in pumps),
    )


def npshr_columns(pump: Pump) -> tuple[Floats, Floats]:
    """Flow [m³/s] and NPSHR [m] at the tested speed, from points or flows at several lifts; empty without either."""
    return npshr_of_tests(pump.suction_test) if pump.suction_test else _columns(pump.npshr)


def _columns(points: Points | None) -> tuple[Floats, Floats]:
    return (points.flow_m3_s, points.values_si) if points is not None else (_EMPTY, _EMPTY)
