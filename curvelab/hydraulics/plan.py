"""The Plan: everything a solve needs, as SI arrays, one row a setup. No names, no files, no units but SI.

Axes are row × leg × point × pump. Ragged rows are padded: a ``used`` mask says which legs and waypoints are real. A
padded leg has length 0, ``k`` 0 and the bore and count of the last real leg, so that it adds neither loss nor step.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import IntEnum
from typing import Any, Self, cast

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.curve import CurveTable

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


class OutletKind(IntEnum):
    """What the water leaves through; all but the two that need a device spend one velocity head of the last leg."""

    OPEN = 0
    SUBMERGED = 1
    NOZZLE = 2
    PRESSURE = 3
    SPRINKLERS = 4


class _Rows:
    """Shared by every table of a Plan: take some rows, repeat one row, change some columns."""

    __slots__ = ()

    def take(self, rows: Ints | slice) -> Self:
        """The rows named, in that order; every array's first axis is the row."""
        return replace(self, **{f.name: _take(getattr(self, f.name), rows) for f in fields(self)})  # type: ignore[type-var]

    def with_(self, **changes: object) -> Self:
        """A copy with some columns changed."""
        return replace(self, **changes)  # type: ignore[type-var]


def _take(value: object, rows: Ints | slice) -> object:
    if isinstance(value, _Rows):
        return value.take(rows)
    return cast("NDArray[Any]", value)[rows] if isinstance(value, np.ndarray) else value


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Legs(_Rows):
    """Hoses one after another in the order the water meets them, shape (rows, legs)."""

    length_m: Floats
    """Length of one hose of the leg. [m] 0 or more."""
    bore_m: Floats
    """True inside diameter, charged where the hose swells under pressure. [m] more than 0."""
    roughness_m: Floats
    """Height of the wall's roughness. [m] from 0 to 5 % of the bore."""
    abreast: Floats
    """Equal hoses side by side in this leg. [-] 1 or more."""
    k: Floats
    """Loss coefficients of the leg's fittings, summed, on the velocity in this leg. [-] 0 or more."""
    rigid: Bools
    """Holds its shape under vacuum. Lay-flat does not."""
    rating_pa: Floats
    """Least working pressure (gauge) of hose and couplings, derated for temperature. [Pa] inf where not stated."""
    vacuum_rating_pa: Floats
    """Greatest vacuum below the air that the hose stands. [Pa] inf where not stated."""
    used: Bools
    """False in padding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Waypoints(_Rows):
    """Points of the discharge route besides its ends, shape (rows, waypoints), by rising distance."""

    distance_m: Floats
    """Along the hose from the pump's outlet. [m]"""
    height_m: Floats
    """Above the pump. [m]"""
    used: Bools
    """False in padding (distance and height are then 0)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pumps(_Rows):
    """Pumps of a row, shape (rows, pumps); pump 0 is the one at the water, the others are boosters in the line."""

    curve: Ints
    """Row of this pump in the Plan's curve tables."""
    speed_ratio: Floats
    """Speed over the speed its curves were taken at. [-] 0.4 to 1.05."""
    wear: Floats
    """Factor on head from a shut-off test. [-] more than 0, 1 as new."""
    inlet_bore_m: Floats
    """Bore of the suction port, of pumps abreast that of one port with the area of all. [m] 0 where not stated."""
    outlet_bore_m: Floats
    """Bore of the discharge port, likewise. [m] 0 where not stated."""
    priming_lift_m: Floats
    """Greatest height the dry pump draws cold water at sea level. [m] inf where not stated."""
    air_rate_m3_s: Floats
    """Air removed while priming, at no vacuum. [m³/s] 0 where not stated."""
    engine_power_w: Floats
    """Rated power of the engine. [W] 0 where not stated."""
    engine_continuous: Floats
    """Share of the rated power that it holds for hours. [-]"""
    casing_rating_pa: Floats
    """Greatest pressure (gauge) of the casing. [Pa] inf where not stated."""
    distance_m: Floats
    """Where a booster stands along the discharge. [m] 0 for the pump at the water."""
    abreast: Floats
    """Equal pumps side by side, which share the flow. [-] 1 or more. Unlike ones are one curve of their own."""
    bound_head_m: Floats
    """Greatest head at full speed and as new, for ratings: someone will open the throttle. [m]"""
    used: Bools
    """False in padding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curves:
    """Curve tables of all pumps in a Plan, one row a pump, the same row in each table. The Plan's rows point here."""

    head_m: CurveTable
    """Head against flow at the tested speed. [m, m³/s]"""
    npshr_m: CurveTable
    """NPSH required (NPSH3) against flow at the tested speed; empty where the sheet has none. [m, m³/s]"""
    efficiency: CurveTable
    """Pump efficiency against flow; empty where the sheet has none or has power instead. [-, m³/s]"""
    power_w: CurveTable
    """Shaft power in water against flow; empty where the sheet has none or has efficiency instead. [W, m³/s]"""
    names: tuple[str, ...]
    """Id of each pump, for messages only."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan(_Rows):
    """All rows of a batch, SI. Scalars have shape (rows,)."""

    air_pressure_pa: Floats
    altitude_m: Floats
    """Ground height, or that at which the standard air has the barometer's reading; derates engines. [m]"""
    temperature_k: Floats
    """Of the liquid. [K]"""
    air_temperature_k: Floats
    """Of the air that the engines breathe; derates them. [K]"""
    density_kg_m3: Floats
    kinematic_viscosity_m2_s: Floats
    vapour_pressure_pa: Floats
    density_ratio: Floats
    """Density of the liquid over that of water as its record states it; divides the priming lift. [-]"""
    lift_m: Floats
    """Water surface up to the pump; negative when the pump lies below it. [m]"""
    margin_m: Floats
    """Suction head to keep in hand above NPSHR. [m]"""
    holds_prime: Bools
    """A foot valve holds the suction hose full, so that the priming limit does not apply."""
    strained: Bools
    """The suction has a fitting at its end (strainer, foot valve, bare-end): without one a warning."""
    strainer_cover_m: Floats
    """Water over the strainer now. [m] inf where the source's depth is not given."""
    rise_m: Floats
    """Pump up to the outlet (to the receiving surface where submerged); negative downhill. [m]"""
    outlet_kind: Ints
    """``OutletKind``."""
    outlet_static_m: Floats
    """Head that a pressure outlet asks beyond its velocity head, else 0. [m]"""
    outlet_resistance: Floats
    """Total head at the base of nozzle or sprinklers over flow squared, else 0. [s²/m⁵]"""
    valve_k: Floats
    """Loss coefficient of a valve at the outlet, on the velocity in the last leg. [-]"""
    goal_flow_m3_s: Floats
    """Flow wanted. [m³/s] 0 where not stated."""
    suction: Legs
    discharge: Legs
    waypoints: Waypoints
    pumps: Pumps
    curves: Curves

    @property
    def rows(self) -> int:
        """How many setups."""
        return int(self.lift_m.shape[0])

    def repeat(self, count: int) -> Self:
        """Row 0, ``count`` times over."""
        return self.take(np.zeros(count, dtype=np.int64))
