"""What the flow does, what the gauges will show, what each group of the setup costs, and which hose is in danger."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from curvelab.model.setup import Setup
from curvelab.model.water import Receiver
from curvelab.report.rounded import Rounded
from curvelab.report.words import delivers, perhaps_starved
from curvelab.studies.result import BoosterFound, OverRated, Result, State
from curvelab.units import Quantity, System, display_unit, parse, plain, show

HOUR_S: Final = 3600.0
STOP_WITHIN_S: Final = 120.0
"""Longest a pump may run without flow: an estimate, so that the water in its body stays cool enough to touch. [s]"""
_DRUMS: Final = {
    System.US: "55 gal",
    System.METRIC: "200 L",
    System.IMPERIAL: "45 imp gal",
}
"""The drum that stands in every yard: common practice, no source."""
_NO_DRUM: Final = ("sprinklers", "pressure")
"""Outlets under which nobody holds a drum."""


@dataclass(frozen=True, slots=True)
class Does:
    """One line of "What that does": ``11,200 gal`` · ``an hour``."""

    amount: str
    does: str

    @property
    def text(self) -> str:
        """Both in one line."""
        return f"{self.amount} {self.does}"


@dataclass(frozen=True, slots=True)
class Reading:
    """One line of "Readings to expect"; an ``estimate`` says so wherever it is printed."""

    name: str
    value: str
    estimate: bool = False


@dataclass(frozen=True, slots=True)
class Station:
    """What a group of the setup costs, or gives: ``lift 12 + hose`` · ``4.2 ft``. The second is the strong one."""

    words: str
    strong: str

    @property
    def text(self) -> str:
        """Both in one line."""
        return f"{self.words} {self.strong}".strip()


def what_that_does(result: Result, setup: Setup, system: System) -> tuple[Does, ...]:
    """What is short of the flow wanted, an hour's water, how long a tank or a drum takes: the first two of them.

    The tank or the volume wanted comes before the hour, which comes before the drum.
    """
    does, short = hour_and_fill(result, setup, system), _short(result, setup, system)
    if short is None:
        return does
    filling = setup.receiver is not None or setup.goal.volume is not None
    return short, does[-1] if filling or result.flow_m3_s == 0.0 else does[0]


def _short(result: Result, setup: Setup, system: System) -> Does | None:
    """``16 short`` · ``of the 150 gal/min wanted``, between the printed figures; ``None`` where nothing is."""
    flow, wanted = result.flow_m3_s, setup.goal.flow_m3_s
    if flow is None or not wanted:
        return None
    unit = display_unit(Quantity.FLOW, system, flow or wanted)
    asked = unit.round(unit.from_si(wanted))
    less = asked - unit.round(unit.from_si(flow))
    of = f"of the {plain(asked)} {unit.symbol} wanted"
    if less <= 0.0:
        return None
    if flow == 0.0:
        return Does("none", of)
    short = f"{plain(round(less, 6))} short"
    return Does("perhaps", f"{short} {of}") if result.state is State.OFF_CURVE else Does(short, of)


def hour_and_fill(result: Result, setup: Setup, system: System) -> tuple[Does, ...]:
    """An hour's water, and how long the tank, the volume wanted or a drum takes."""
    flow = result.flow_m3_s
    volume, filled = vessel(setup, system)
    if flow is None:
        return ()
    if flow == 0.0:
        return Does("none", "an hour"), Does("never", f"fills {filled}")
    hourly = Does(show(flow * HOUR_S, Quantity.VOLUME, system), "an hour")
    if setup.receiver is None and setup.goal.volume is None and setup.outlet.kind in _NO_DRUM:
        return (hourly,)
    return hourly, Does(show(volume / flow, Quantity.TIME, system), f"fills {filled}")


def what_that_does_title(result: Result) -> str:
    """Head of those lines: says where the flow is no more than about so much."""
    if result.state is State.CAVITATING and delivers(result):
        return "What that does, about"
    if result.state is State.OFF_CURVE and delivers(result):
        return "What that does, at least"
    return "What that does"


def drum(system: System) -> tuple[str, float]:
    """Name and volume of the drum that times a flow: ``("55 gal drum", 0.208)``. [m³]"""
    text = _DRUMS[system]
    return f"{text.replace('imp ', '')} drum", parse(text, Quantity.VOLUME)


def readings(figures: Rounded) -> tuple[Reading, ...]:
    """What the gauges and a watch will show."""
    result, system = figures.result, figures.system
    rows = [_inlet(result, system)] if result.inlet_gauge_pa is not None else []
    if result.pump_outlet_gauge_pa is not None:
        rows.append(Reading("Pressure at the pump", show(result.pump_outlet_gauge_pa, Quantity.PRESSURE, system)))
    rows += [_in_line(booster, system) for booster in result.boosters if booster.inlet_gauge_pa is not None]
    if result.flow_m3_s is None:
        return tuple(rows)
    if not delivers(result):
        stop = Reading("Stop it within", show(STOP_WITHIN_S, Quantity.TIME, system), estimate=True)
        return (*rows, Reading("Flow at the end", "none"), stop)
    if result.shut_end_gauge_pa is not None:
        rows.append(Reading("At the pump, end shut", show(result.shut_end_gauge_pa, Quantity.PRESSURE, system)))
    flow = result.flow_m3_s
    if result.inputs.get("outlet", {}).get("kind") not in _NO_DRUM:
        name, volume = drum(system)
        rows.append(Reading(f"{name} fills in", show(volume / flow, Quantity.TIME, system)))
    if result.state is not State.CAVITATING:
        held = show(result.hose_volume_m3, Quantity.VOLUME, system)
        rows.append(Reading(f"Hose fills ({held})", show(result.hose_volume_m3 / flow, Quantity.TIME, system)))
    return tuple(rows)


def pressure_units(system: System) -> str:
    """``100 kPa is 1 bar``, where small pressures have a unit of their own; else empty."""
    small, great = (display_unit(Quantity.PRESSURE, system, gauge) for gauge in (0.0, 1e6))
    if small == great:
        return ""
    return f"{plain(great.scale / small.scale)} {small.symbol} is 1 {great.symbol}"


def readings_note(result: Result) -> str:
    """What the readings look like where something is wrong; empty where nothing is."""
    if result.state is State.CAVITATING:
        return "Both needles shiver; it sounds like gravel." if delivers(result) else "It growls, and nothing comes."
    if result.state is State.NO_LIFT:
        return "The hose fills to the height the pump can hold, and the water stands there."
    if result.state is State.NO_PRIME:
        return "The vacuum climbs to this figure and stays; the pump runs on the water in its body and heats it."
    if perhaps_starved(result):
        return "If both needles shiver and it sounds like gravel, the suction has given out."
    return ""


def stations(figures: Rounded) -> dict[str, Station]:
    """What each group of the setup costs: site, suction, pump, discharge, outlet. These add up to the ledger."""
    result, ledger = figures.result, figures.ledger
    unit = figures.total.unit

    def part(item: str) -> str:
        return ledger[item].text if item in ledger else "0"

    at_rest = result.state in (State.NO_LIFT, State.NO_PRIME)
    found = {
        "site": Station("air pushes", str(figures.air)),
        "suction": Station(f"lift {part('lift')} + hose", f"{part('suction')} {unit}"),
        "pump": Station("pushes", str(figures.total)),
        "discharge": Station(f"rise {part('rise')} + hose", f"{part('discharge')} {unit}"),
        "outlet": Station("leaves with", f"{part('leaving')} {unit}"),
    }
    if "pressure" in ledger:
        found["outlet"] = Station(f"leaves with {part('leaving')} + pressure", f"{part('pressure')} {unit}")
    if result.state is State.NO_PRIME and figures.reach is not None:
        found["suction"] = Station("draws up", f"{figures.reach} dry")
    if at_rest:
        reaches = str(figures.shutoff) if figures.shutoff is not None else ""
        found["pump"] = Station("reaches", reaches) if reaches else Station("", "")
        found["discharge"] = Station("rise", f"{part('rise')} {unit}")
    if result.flow_m3_s is None:
        found |= {"pump": Station("not tested so low", ""), "outlet": Station("", "")}
    elif not delivers(result):
        found["outlet"] = Station("nothing leaves", "")
    return found


def over_rated(result: Result, system: System) -> str:
    """``65 ft of hose could see up to 53 psi if the end is shut; it is rated 50.``; empty where no hose could."""
    parts = over_rated_parts(result, system)
    return f"{' '.join(parts)}." if parts else ""


def over_rated_parts(result: Result, system: System) -> tuple[str, ...]:
    """That sentence in its two lines, without the full stop; none where no hose could."""
    if not result.over_rated:
        return ()
    length, could, rated = _over_rated_figures(result, system)
    return f"{length} of hose could see up to {could}", f"if the end is shut; it is rated {rated}"


def keep_open(result: Result, system: System) -> str:
    """As an order: ``Keep the end open: 65 ft of hose could see up to 53 psi if it is shut, and is rated 50``."""
    if not result.over_rated:
        return ""
    length, could, rated = _over_rated_figures(result, system)
    return f"Keep the end open: {length} of hose could see up to {could} if it is shut, and is rated {rated}."


def length_in_trouble(length_m: float, system: System) -> str:
    """A length that is in danger, rounded up to the next 5 ft or 1 m."""
    unit = display_unit(Quantity.LENGTH, system)
    step = 1.0 if system is System.METRIC else 5.0
    return f"{plain(math.ceil(unit.from_si(length_m) / step - 1e-6) * step)} {unit.symbol}"


def vessel(setup: Setup, system: System) -> tuple[float, str]:
    """Volume of what is filled, and its name: the tank, the volume wanted, else a drum. [m³]"""
    receiver = setup.receiver
    name = (receiver.name if receiver is not None else "") or "tank"
    room = _room(receiver) if receiver is not None else None
    goal = room or (setup.goal.volume.si if setup.goal.volume is not None else None)
    if goal is None:
        drum_name, volume = drum(system)
        return volume, f"a {drum_name}"
    size = show(goal, Quantity.VOLUME, system)
    return goal, f"the {size} {name}" if receiver is not None else f"the {size} wanted"


def _room(receiver: Receiver) -> float | None:
    """Water that an upright tank takes from its level now until it is full; ``None`` for other shapes. [m³]"""
    height = receiver.full.si - receiver.level_m
    if receiver.shape == "box" and receiver.length is not None and receiver.width is not None:
        area = receiver.length.si * receiver.width.si
    elif receiver.shape == "cylinder" and receiver.diameter is not None:
        area = math.pi / 4.0 * receiver.diameter.si**2
    else:
        return None
    return area * height if height > 0.0 else None


def _in_line(booster: BoosterFound, system: System) -> Reading:
    """Gauges of a pump in the line, suction side first."""
    ports = (booster.inlet_gauge_pa or 0.0, booster.outlet_gauge_pa or 0.0)
    return Reading("In the line: in, out", ", ".join(show(gauge, Quantity.PRESSURE, system) for gauge in ports))


def _inlet(result: Result, system: System) -> Reading:
    gauge = result.inlet_gauge_pa or 0.0
    if gauge > 0.0:
        return Reading("Pressure at the inlet", show(gauge, Quantity.PRESSURE, system))
    return Reading("Vacuum at the inlet", show(-gauge + 0.0, Quantity.VACUUM, system))


def _over_rated_figures(result: Result, system: System) -> tuple[str, str, str]:
    worst: OverRated = max(result.over_rated, key=lambda stretch: stretch.pressure_pa / stretch.rating_pa)
    alike = [stretch for stretch in result.over_rated if stretch.rating_pa == worst.rating_pa]
    length = length_in_trouble(sum(stretch.to_m - stretch.from_m for stretch in alike), system)
    could, rated = (
        display_unit(Quantity.PRESSURE, system, pressure) for pressure in (worst.pressure_pa, worst.rating_pa)
    )
    high = could.round(could.from_si(worst.pressure_pa))
    low = rated.round(rated.from_si(worst.rating_pa))
    if could.symbol != rated.symbol:
        return length, f"{plain(high)} {could.symbol}", f"{plain(low)} {rated.symbol}"
    if high <= low:
        high = low + 10.0**-could.decimals if low < could.whole_from else low + 1.0
    return length, f"{plain(high)} {could.symbol}", plain(low)
