"""Columns of a Plan for the pumps: the one at the water with those beside it, and boosters in the line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, NamedTuple

import numpy as np

from curvelab.hydraulics.plan import Curves, Pumps
from curvelab.model.curvetables import curves_of
from curvelab.model.pump import Engine, Pump
from curvelab.model.pumpgroup import Group, Member
from curvelab.model.setup import PumpChoice, Setup

_INF: Final = float("inf")


class _Column(NamedTuple):
    """One pump of a row, or several that count as one, in the order of the Plan's columns."""

    curve: int
    speed_ratio: float = 1.0
    wear: float = 1.0
    inlet_bore_m: float = 0.0
    outlet_bore_m: float = 0.0
    priming_lift_m: float = _INF
    air_rate_m3_s: float = 0.0
    engine_power_w: float = 0.0
    engine_continuous: float = 1.0
    casing_rating_pa: float = _INF
    distance_m: float = 0.0
    abreast: float = 1.0
    bound_head_m: float = 0.0
    used: float = 1.0


_PADDING: Final = _Column(curve=0, used=0.0)


def pumps_of(setups: Sequence[Setup], look_up: Callable[[PumpChoice], Pump]) -> tuple[Pumps, Curves]:
    """Pumps of every row, and the curve tables of all pumps and groups among them."""
    places: dict[Pump | Group, int] = {}
    rows = [_row(setup, look_up, places) for setup in setups]
    most = max(len(row) for row in rows)
    cells = np.array([row + [_PADDING] * (most - len(row)) for row in rows], dtype=np.float64)
    columns = {name: np.ascontiguousarray(cells[..., at]) for at, name in enumerate(_Column._fields)}
    curve, used = columns.pop("curve").astype(np.int64), columns.pop("used") != 0.0
    return Pumps(curve=curve, used=used, **columns), curves_of(tuple(places))


def members_of(setup: Setup, look_up: Callable[[PumpChoice], Pump]) -> tuple[Member, ...]:
    """The pumps at the water, each as it turns; one unless others stand beside it."""
    main = look_up(setup.pump)
    first = Member(main, ratio_of(setup.pump, main), setup.pump.wear, setup.pump.abreast)
    others = ((choice, look_up(choice)) for choice in setup.pump.beside)
    return (first, *(Member(pump, ratio_of(choice, pump), choice.wear) for choice, pump in others))


def ratio_of(choice: PumpChoice, pump: Pump) -> float:
    """Speed over the speed that the curve was taken at. [-]"""
    return choice.throttle if choice.speed is None else choice.speed.si / pump.speed.si


def _row(setup: Setup, look_up: Callable[[PumpChoice], Pump], places: dict[Pump | Group, int]) -> list[_Column]:
    members = members_of(setup, look_up)
    first, *others = members
    row = [_together(members, places) if others else _one(first, places)]
    for booster in setup.booster:
        pump = look_up(booster)
        member = Member(pump, ratio_of(booster, pump), booster.wear)
        row.append(_one(member, places)._replace(distance_m=booster.distance.si))
    return row


def _one(member: Member, places: dict[Pump | Group, int]) -> _Column:
    pump, engine, count = member.pump, member.pump.engine, member.count
    return _Column(
        curve=places.setdefault(pump, len(places)),
        speed_ratio=member.ratio,
        wear=member.wear,
        inlet_bore_m=0.0 if pump.inlet is None else pump.inlet.si * count**0.5,
        outlet_bore_m=0.0 if pump.outlet is None else pump.outlet.si * count**0.5,
        priming_lift_m=_INF if pump.priming_lift is None else pump.priming_lift.si,
        air_rate_m3_s=0.0 if pump.air_rate is None else pump.air_rate.si * count,
        engine_power_w=0.0 if engine is None else engine.power.si,
        engine_continuous=_CONTINUOUS if engine is None else engine.continuous,
        casing_rating_pa=_INF if pump.casing_pressure is None else pump.casing_pressure.si,
        abreast=float(count),
        bound_head_m=_bound(member),
    )


_CONTINUOUS: Final = float(Engine.model_fields["continuous"].default)


def _together(members: tuple[Member, ...], places: dict[Pump | Group, int]) -> _Column:
    """Unlike pumps as one: their ports' areas, air rates and engines add up, the weakest says what the group stands."""
    each = [_one(member, {}) for member in members]
    known = all(column.engine_power_w for column in each)
    power = sum(c.engine_power_w * c.abreast for c in each) if known else 0.0
    held = sum(c.engine_power_w * c.engine_continuous * c.abreast for c in each)
    return _Column(
        curve=places.setdefault(Group(members), len(places)),
        inlet_bore_m=_bore([c.inlet_bore_m for c in each]),
        outlet_bore_m=_bore([c.outlet_bore_m for c in each]),
        priming_lift_m=min(c.priming_lift_m for c in each),
        air_rate_m3_s=sum(c.air_rate_m3_s for c in each) if all(c.air_rate_m3_s for c in each) else 0.0,
        engine_power_w=power,
        engine_continuous=held / power if power else 1.0,
        casing_rating_pa=min(c.casing_rating_pa for c in each),
        bound_head_m=max(c.bound_head_m for c in each),
    )


def _bore(bores: Sequence[float]) -> float:
    """Bore of the area of all ports together; 0 where one is not stated. [m]"""
    return sum(bore**2 for bore in bores) ** 0.5 if all(bores) else 0.0


def _bound(member: Member) -> float:
    return max(member.ratio, 1.0) ** 2 * _greatest(member.pump)


def _greatest(pump: Pump) -> float:
    return float(pump.head.values_si.max())
