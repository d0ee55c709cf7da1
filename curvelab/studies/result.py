"""What a solve returns: numbers with their units in their names, one object a setup."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from enum import StrEnum
from typing import Any, cast

from curvelab.hydraulics.solution import NOTICED

FORMAT = "curvelab-result/1"


class State(StrEnum):
    """Outcome of a solve. Order here is the order of reading, not of precedence (``hydraulics.kernel`` has that)."""

    SOUND = "sound"
    THIN = "thin"
    CAVITATING = "cavitating"
    NO_LIFT = "no-lift"
    NO_PRIME = "no-prime"
    OFF_CURVE = "off-curve"


@dataclass(frozen=True, slots=True, kw_only=True)
class Warn:
    """Something a careful person would say with the answer."""

    code: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of the head ledger or of the suction budget."""

    item: str
    head_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """A place where pump curve and system curve meet."""

    flow_m3_s: float
    head_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A number known only within limits; ``None`` where a limit does not exist."""

    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GoverningPoint:
    """The point of the route that asks most of the pump. ``kind``: outlet, waypoint, pump or joint."""

    kind: str
    distance_m: float
    height_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OverRated:
    """A stretch of discharge hose that could see more than its rating if the end were shut."""

    leg: int
    from_m: float
    to_m: float
    pressure_pa: float
    rating_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpShare:
    """What one pump of several at the water gives; ``count`` equal ones together. Flow 0: the others push it back."""

    id: str
    name: str
    count: int
    flow_m3_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoosterFound:
    """A pump in the line at the delivered flow; ``None`` where nothing flows."""

    id: str
    name: str
    distance_m: float
    head_m: float | None
    """On its curve. [m]"""
    held_back_m: float | None
    """What of that never arises, because its inlet gets no more water. [m]"""
    inlet_gauge_pa: float | None
    outlet_gauge_pa: float | None
    governs: bool
    """Its inlet is what holds the flow of the whole line."""

    @property
    def held(self) -> bool:
        """It holds the flow back, and gives noticeably less than its curve."""
        return self.governs and (self.held_back_m or 0.0) > NOTICED * (self.head_m or 0.0)

    @property
    def adds_m(self) -> float | None:
        """What it adds to the head of those before it. [m]"""
        return None if self.head_m is None or self.held_back_m is None else self.head_m - self.held_back_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The answer for one setup, SI, at the delivered flow (``crossing_*`` apart). ``None``: does not apply."""

    state: State
    flow_m3_s: float | None
    head_m: float | None
    crossing_flow_m3_s: float | None
    crossing_head_m: float | None
    static_head_m: float
    shutoff_head_m: float | None
    """Greatest head of the curve in use; ``None`` where the curve has no point at zero flow. [m]"""
    start_head_m: float
    """Head that starting asks: lift and the highest of waypoints and outlet, with what the outlet needs. [m]"""
    npsha_m: float | None
    npshr_m: float | None
    npshr_estimate_m: Band | None
    cavitation_flow_m3_s: float | None
    cavitation_flow_estimate_m3_s: Band | None
    margin_flow_m3_s: float | None
    """Flow at which NPSHA is down to NPSHR and the margin asked for: where ``thin`` begins. [m³/s]"""
    margin_m: float
    """The margin asked for. [m]"""
    air_head_m: float
    """Air pressure as a column of the liquid. [m]"""
    vapour_head_m: float
    inlet_gauge_pa: float | None
    pump_outlet_gauge_pa: float | None
    dead_head_gauge_pa: float | None
    shut_end_gauge_pa: float | None
    shaft_power_w: float | None
    efficiency: float | None
    engine_share: float | None
    engine_available_w: float | None
    priming_lift_m: float | None
    """Greatest lift that this pump draws dry at this site; ``None`` where nobody stated one. [m]"""
    prime_time_s: float | None
    end_flow_m3_s: float
    """Last tested flow of the curve in use. [m³/s]"""
    other_crossings: tuple[Crossing, ...]
    governing_point: GoverningPoint
    ledger: tuple[Part, ...]
    """Items that apply of lift, rise, suction, discharge, leaving, boosters, pressure, surplus, in this order."""
    suction_budget: tuple[Part, ...]
    """Items: vapour, lift, suction, needs, spare; without NPSHR vapour, lift, suction, left."""
    velocities_m_s: tuple[float, ...]
    """Speed of the water in each leg, suction legs first. [m/s]"""
    hose_volume_m3: float
    """Water that the whole hose holds. [m³]"""
    over_rated: tuple[OverRated, ...]
    pumps: tuple[PumpShare, ...]
    """Each pump at the water, where there is more than one kind or more than one; else empty."""
    boosters: tuple[BoosterFound, ...]
    """Pumps in the line, by distance."""
    warnings: tuple[Warn, ...]
    inputs: Mapping[str, Any] = field(repr=False)
    """The setup in SI as used."""

    @property
    def perhaps_starved(self) -> bool:
        """The pump states no suction need, and at a guess this flow is more than it lets through."""
        guess = self.cavitation_flow_estimate_m3_s
        if guess is None or guess.low is None or self.flow_m3_s is None:
            return False
        return self.flow_m3_s > guess.low

    @property
    def suction_unknown(self) -> bool:
        """It runs at a flow past the last one at which somebody tested what the pump needs at its inlet."""
        return self.state is State.SOUND and self.npshr_m is None and self.npshr_estimate_m is None

    @property
    def unsure(self) -> bool:
        """It runs with no trouble known, but nobody knows whether its suction can feed that flow."""
        return self.state is State.SOUND and (self.perhaps_starved or self.suction_unknown)

    @property
    def held_booster(self) -> BoosterFound | None:
        """The pump in the line whose inlet holds the flow back, where it gives noticeably less than its curve."""
        return next((one for one in self.boosters if one.held), None)

    @property
    def held_in_line(self) -> bool:
        """All is well at the water, and a pump in the line uses up what reaches it."""
        return self.state is State.SOUND and self.held_booster is not None

    @property
    def start_parts(self) -> tuple[Part, ...]:
        """The ledger's parts that count before the line is full: the pull of falling water comes only then."""
        return tuple(part for part in self.ledger if part.item != "pressure" or part.head_m > 0.0)

    @property
    def in_trouble(self) -> bool:
        """Something would have to change before anybody can say that it runs well."""
        return self.state is not State.SOUND or self.unsure

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, **{f.name: _plain(getattr(self, f.name)) for f in fields(self)}}


def _plain(value: Any) -> Any:
    if isinstance(value, StrEnum):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in cast("Mapping[str, Any]", value).items()}
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in cast("tuple[Any, ...]", value)]
    return value
