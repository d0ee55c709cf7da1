"""What a case of the second route is, and what it answers: plain numbers, SI, heads in metres of the liquid."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi


@dataclass(frozen=True, kw_only=True)
class Hose:
    """One leg: ``abreast`` equal hoses of this bore, their fittings as one loss coefficient."""

    length: float
    bore: float
    roughness: float
    k: float = 0.0
    abreast: int = 1
    rigid: bool = False

    @property
    def area(self) -> float:
        """Total flow area [m²]."""
        return self.abreast * pi * self.bore**2 / 4.0


@dataclass(frozen=True, kw_only=True)
class Outlet:
    """What the last leg ends in. ``kind``: open, submerged, nozzle, pressure, sprinklers; each reads its own fields."""

    kind: str = "open"
    rise: float = 0.0
    bore: float = 0.0
    count: int = 1
    coefficient: float = 0.995
    flow: float = 0.0
    pressure: float = 0.0
    valve_k: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Pump:
    """Digitised points at the tested speed, and how it runs now."""

    flow: tuple[float, ...]
    head: tuple[float, ...]
    npshr_flow: tuple[float, ...] = ()
    npshr: tuple[float, ...] = ()
    speed: float = 1.0
    wear: float = 1.0
    abreast: int = 1
    inlet: float | None = None
    outlet: float | None = None
    priming_lift: float | None = None


@dataclass(frozen=True, kw_only=True)
class Case:
    """One site from the strainer to the outlet."""

    density: float
    density_ratio: float
    viscosity: float
    air: float
    vapour: float
    lift: float
    margin: float
    suction: tuple[Hose, ...]
    discharge: tuple[Hose, ...]
    outlet: Outlet
    pump: Pump
    waypoints: tuple[tuple[float, float], ...] = ()
    holds_prime: bool = False


@dataclass(frozen=True, kw_only=True)
class Point:
    """One point of the route: the leg that holds it, the share of that leg before it, the least pressure head there."""

    kind: str
    distance: float
    height: float
    leg: int
    share: float
    least: float


@dataclass(kw_only=True)
class Answer:
    """What the other route says; None where a value does not apply."""

    state: str = ""
    flow: float | None = None
    head: float | None = None
    crossing_flow: float | None = None
    crossing_head: float | None = None
    static_head: float = 0.0
    cavitation_flow: float | None = None
    margin_flow: float | None = None
    npsha: float | None = None
    npshr: float | None = None
    inlet_gauge: float | None = None
    outlet_gauge: float | None = None
    dead_head: float | None = None
    shut_end: float | None = None
    reach: float = 0.0
    governs: Point | None = None
    roots: list[float] = field(default_factory=list[float])
    reynolds: tuple[float, ...] = ()
