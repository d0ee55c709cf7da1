"""Columns of a Plan that are no legs: air, liquid, outlet, waypoints, pumps. A row a setup, one array a column."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from curvelab.hydraulics import water
from curvelab.hydraulics.air import altitude_of, pressure_at
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.outlets import SMOOTH_BORE_COEFFICIENT, jet_resistance, sprinkler_resistance
from curvelab.hydraulics.plan import Floats, Ints, OutletKind, Waypoints
from curvelab.model.liquid import Liquid
from curvelab.model.setup import Setup
from curvelab.model.site import Outlet

DENSEST_KG_M3: Final = float(water.density(277.13))
"""Greatest density of water, at 3.98 °C (from memory), to which density ratios refer. [kg/m³]"""

_INF: Final = float("inf")
_KINDS: Final = {kind.name.lower(): int(kind) for kind in OutletKind}


class Liquids(NamedTuple):
    """What is pumped, shape (rows,) each."""

    density_kg_m3: Floats
    kinematic_viscosity_m2_s: Floats
    vapour_pressure_pa: Floats
    density_ratio: Floats
    hose_k: Floats
    """Temperature of the hose: the site's, or the liquid's where that is warmer. [K]"""


class Outlets(NamedTuple):
    """What the water leaves through, shape (rows,) each; as the Plan's columns of these names."""

    kind: Ints
    static_m: Floats
    resistance: Floats


def air_of(setups: Sequence[Setup]) -> tuple[Floats, Floats]:
    """Pressure of the air [Pa] and the altitude that it stands for [m]; a barometer's reading takes its place."""
    altitude = np.array([setup.site.altitude.si for setup in setups])
    reading = np.array([_INF if (b := setup.site.barometer) is None else b.si for setup in setups])
    read = np.isfinite(reading)
    if not read.any():
        return pressure_at(altitude), altitude
    pressure = np.where(read, reading, pressure_at(altitude))
    return pressure, np.where(read, altitude_of(pressure), altitude)


def liquids_of(records: Sequence[Liquid | None], temperature_k: Floats) -> Liquids:
    """Water's properties at each temperature, or those that a liquid's record states; ``None`` is water."""
    kelvin, place = np.unique(temperature_k, return_inverse=True)
    columns = [f(kelvin)[place] for f in (water.density, water.kinematic_viscosity, water.vapour_pressure)]
    columns += [np.ones_like(temperature_k), temperature_k.copy()]
    for row, liquid in enumerate(records):
        if liquid is not None:
            stated = _stated(liquid)
            for column, value in zip(columns, stated, strict=True):
                column[row] = value
            columns[-1][row] = max(stated[-1], temperature_k[row])
    return Liquids(*columns)


def _stated(liquid: Liquid) -> tuple[float, ...]:
    ratio, viscosity, vapour, kelvin = (
        liquid.density_ratio,
        liquid.kinematic_viscosity,
        liquid.vapour_pressure,
        liquid.temperature,
    )
    if ratio is None or viscosity is None or vapour is None or kelvin is None:
        raise AssertionError(f"{liquid.id} has no properties, which its own rules forbid")
    return ratio * DENSEST_KG_M3, viscosity.si, vapour.si, ratio, kelvin.si


def outlets_of(outlets: Sequence[Outlet], density_kg_m3: Floats) -> Outlets:
    """Kind, static head and resistance of every row's outlet."""
    kind = np.array([_KINDS[outlet.kind] for outlet in outlets], dtype=np.int64)
    static, resistance = np.zeros(len(outlets)), np.zeros(len(outlets))
    for wanted in (OutletKind.NOZZLE, OutletKind.PRESSURE, OutletKind.SPRINKLERS):
        rows = np.flatnonzero(kind == wanted)
        if not rows.size:
            continue
        bore, count, cd, flow, pressure = np.array([_numbers(outlets[row]) for row in rows.tolist()]).T
        if wanted == OutletKind.NOZZLE:
            resistance[rows] = jet_resistance(bore_m=bore, coefficient=cd, count=count)
        elif wanted == OutletKind.PRESSURE:
            static[rows] = pressure / (density_kg_m3[rows] * G)
        else:
            resistance[rows] = sprinkler_resistance(
                count=count, flow_m3_s=flow, pressure_pa=pressure, density_kg_m3=density_kg_m3[rows]
            )
    return Outlets(kind, static, resistance)


def _numbers(outlet: Outlet) -> tuple[float, ...]:
    bore, flow, pressure = (0.0 if a is None else a.si for a in (outlet.bore, outlet.flow, outlet.pressure))
    return bore, outlet.count or 1, outlet.cd or SMOOTH_BORE_COEFFICIENT, flow, pressure


def waypoints_of(setups: Sequence[Setup]) -> Waypoints:
    """Waypoints of every row in the file's order, padded to the most."""
    points = [setup.discharge.waypoint for setup in setups]
    most = max(len(row) for row in points)
    cells = np.zeros((len(points), most, 3))
    if most:
        for row, waypoints in enumerate(points):
            if waypoints:
                cells[row, : len(waypoints)] = [(w.distance.si, w.height.si, 1.0) for w in waypoints]
    distance, height, used = (np.ascontiguousarray(cells[..., column]) for column in range(3))
    return Waypoints(distance_m=distance, height_m=height, used=used != 0.0)
