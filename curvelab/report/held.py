"""What the handles on the pictures are called and what they say of themselves."""

from __future__ import annotations

from typing import Final

from curvelab.layout.grips import OUTLET, PUMP, WATER, place_of
from curvelab.model.setup import Setup
from curvelab.units import Quantity, display_unit, show

_NAMES: Final = {WATER: "Water level", PUMP: "Pump", OUTLET: "Outlet"}


def grip_name(key: str, setup: Setup) -> str:
    """Name of a handle: ``Outlet``, ``hump``."""
    place = place_of(key)
    if place is None:
        return _NAMES[key]
    return point_name(setup, place)


def point_name(setup: Setup, place: int) -> str:
    """A waypoint's own name, else its number."""
    return setup.discharge.waypoint[place].name or f"point {place + 1}"


def grip_said(key: str, setup: Setup) -> str:
    """What a handle stands at: ``rise 38 ft, 300 ft of hose``."""

    def length(si: float) -> str:
        return show(si, Quantity.LENGTH, setup.units)

    lift, place = setup.suction.lift.si, place_of(key)
    if key == WATER:
        return f"{length(lift)} below the pump" if lift >= 0.0 else f"{length(-lift)} above the pump"
    if key == PUMP:
        return f"lift {length(lift)}" if lift >= 0.0 else f"{length(-lift)} under water level"
    if place is not None:
        point = setup.discharge.waypoint[place]
        return f"height {length(point.height.si)}, {length(point.distance.si)} along"
    hose = sum(leg.length.si for leg in setup.discharge.leg)
    return f"rise {length(setup.discharge.rise.si)}, {length(hose)} of hose"


def grip_number(key: str, setup: Setup) -> float:
    """The height that an up key makes greater, in the unit shown: of the pump over the water, else over the pump."""
    place = place_of(key)
    if place is not None:
        si = setup.discharge.waypoint[place].height.si
    else:
        si = {WATER: -setup.suction.lift.si, PUMP: setup.suction.lift.si, OUTLET: setup.discharge.rise.si}[key]
    number = round(display_unit(Quantity.LENGTH, setup.units).from_si(si), 2)
    return int(number) if number.is_integer() else number
