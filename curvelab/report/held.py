"""What the handles on the pictures are called and what they say of themselves."""

from __future__ import annotations

from typing import Final

from curvelab.layout.bench_grips import FLOW, FOOT, LENGTH, LEVEL, height_of, highest
from curvelab.layout.grips import BOOSTER, LIFT, OUTLET, PUMP, RISE, WATER, hose_m, place_of, stand_of
from curvelab.model.fields import field_of
from curvelab.model.setup import Setup
from curvelab.model.stops import Stops
from curvelab.report.rounded import Rounded
from curvelab.report.words import flow_words
from curvelab.studies.result import State
from curvelab.units import Quantity, display_unit, show

_NAMES: Final = {
    WATER: "Water level",
    PUMP: "Pump",
    OUTLET: "Outlet",
    FLOW: "Operating point",
    FOOT: "Foot of the site’s curve",
    LEVEL: "Start of the suction curve",
}


def grip_name(key: str, setup: Setup) -> str:
    """Name of a handle: ``Outlet``, ``hump``, ``Pump in the line``."""
    place, stands = place_of(key), place_of(key, BOOSTER)
    if stands is not None:
        return "Pump in the line" + (f" {stands + 1}" if len(setup.booster) > 1 else "")
    return _NAMES[key] if place is None else point_name(setup, place)


def point_name(setup: Setup, place: int) -> str:
    """A waypoint's own name, else its number."""
    return setup.discharge.waypoint[place].name or f"point {place + 1}"


def grip_said(key: str, setup: Setup, figures: Rounded) -> str:
    """What a handle stands at: ``rise 38 ft, 300 ft of hose``."""
    place, stand = place_of(key), stand_of(key, setup)
    if stand is not None:
        return f"{_length(_si(setup, stand), setup)} along, {_length(hose_m(setup), setup)} of hose"
    if place is not None:
        point = setup.discharge.waypoint[place]
        side = "over" if point.height.si >= 0.0 else "under"
        return f"{_length(abs(point.height.si), setup)} {side} the pump, {_length(point.distance.si, setup)} along"
    if key == FLOW:
        return _flow_said(setup, figures)
    if key == OUTLET:
        return f"rise {_length(setup.discharge.rise.si, setup)}, {_length(hose_m(setup), setup)} of hose"
    if key == FOOT:
        path = highest(setup)
        name = "rise" if path == RISE else f"{point_name(setup, int(path.split('.')[2]))}:"
        return f"{name} {_length(height_of(setup, path), setup)}"
    lift = setup.suction.lift.si
    size = _length(abs(lift), setup)
    if key == WATER:
        return f"{size} {'below' if lift >= 0.0 else 'above'} the pump"
    return f"lift {size}" if lift >= 0.0 else f"{size} under water level"


def grip_number(key: str, setup: Setup, figures: Rounded) -> float:
    """What an up or right key makes greater, in the unit shown: a flow, a distance, else the height of what is held."""
    place, stand = place_of(key), stand_of(key, setup)
    if key == FLOW:
        return figures.flow.number if figures.flow is not None else 0.0
    if stand is not None:
        si = _si(setup, stand)
    elif place is not None:
        si = setup.discharge.waypoint[place].height.si
    elif key in (OUTLET, FOOT):
        si = setup.discharge.rise.si if key == OUTLET else height_of(setup, highest(setup))
    else:
        si = setup.suction.lift.si if key == PUMP else -setup.suction.lift.si
    number = round(display_unit(Quantity.LENGTH, setup.units).from_si(si), 2)
    return int(number) if number.is_integer() else number


def grip_ends(key: str, setup: Setup, greatest_flow: float) -> tuple[float, float]:
    """Least and greatest such number."""
    if key == FLOW:
        return 0.0, greatest_flow
    if stand_of(key, setup) is not None:
        return 0.0, round(display_unit(Quantity.LENGTH, setup.units).from_si(hose_m(setup)), 2)
    low, high = Stops(setup).ends(LIFT if key in (WATER, PUMP, LEVEL) else highest(setup) if key == FOOT else RISE)
    return (-high, -low) if key in (WATER, LEVEL) else (low, high)


def _si(setup: Setup, path: str) -> float:
    field, places = field_of(path)
    return field.si(setup, *places) or 0.0


def _flow_said(setup: Setup, figures: Rounded) -> str:
    """Flow and hose, and why there is no more where there isn't."""
    length = setup.discharge.leg[0].length.si
    said = f"{flow_words(figures).text} with {_length(length, setup)} of hose"
    if figures.result.state is State.CAVITATING:
        return f"{said}: the suction lets no more in"
    low, *_, high = Stops(setup).all_of(LENGTH)
    if length <= low * (1.0 + 1e-9):
        return f"{said}, the shortest here"
    return f"{said}, the longest here" if length >= high * (1.0 - 1e-9) else said


def _length(si: float, setup: Setup) -> str:
    return show(si, Quantity.LENGTH, setup.units)
