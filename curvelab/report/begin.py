"""Four answers in words: what fits, and everything that was taken without being asked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from curvelab.model.catalogue import Catalogue
from curvelab.model.hoseline import Leg
from curvelab.model.planning import pump_of
from curvelab.model.setup import Setup
from curvelab.report.money import money
from curvelab.report.words import chip
from curvelab.studies.begin import Begun
from curvelab.studies.say import flow_text
from curvelab.units import Quantity, System, gallon_word, show

_PLACES: Final = {
    "open": "open ground",
    "building": "pump outdoors, water in a building",
    "pit": "pump above, by a pit or well",
    "flood": "flooded ground",
}


def begun_words(begun: Begun, catalogue: Catalogue) -> tuple[str, str]:
    """The verdict, and what was taken."""
    return verdict(begun, catalogue), taken(begun, catalogue)


def verdict(begun: Begun, catalogue: Catalogue) -> str:
    """What fits, or what comes nearest, and by how much it misses."""
    setup, wanted, system = begun.setup, begun.wish.wanted_m3_s, begun.setup.units
    kit = _kit(setup, catalogue)
    plain_flow = flow_text(begun.result.flow_m3_s or 0.0, system)
    flow = _with_kind(plain_flow, system)
    if begun.reached and wanted > 0.0:
        return f"{kit} gives {flow} and runs well; {flow_text(wanted, system)} is asked."
    if begun.reached:
        return f"{kit} gives {flow} and runs well. That is close to the most this yard can send there."
    if begun.well:
        asked = _with_kind(flow_text(wanted, system), system)
        return f"No pump here gives {asked} there and runs well. The most is {plain_flow}: {kit}."
    state = chip(begun.result).text
    return f"No pump here runs well there. The nearest is {kit}: {state[:1].lower()}{state[1:]}."


def taken(begun: Begun, catalogue: Catalogue) -> str:
    """``We took: …`` with a sentence for each group of the page, and that all of it can be changed."""
    return f"We took: {' '.join(_taken(begun, catalogue))} Change anything."


def _taken(begun: Begun, catalogue: Catalogue) -> Iterator[str]:
    setup, system = begun.setup, begun.setup.units
    yield f"{pump_of(setup.pump, catalogue).label} at full throttle."
    suction, discharge = setup.suction.leg[0], setup.discharge.leg[0]
    end = next((f.label for name in suction.fittings if (f := catalogue.fittings[name]).at_suction_end), "")
    yield f"Suction: {_hose(suction, catalogue, system)}{' with a ' + end.partition(',')[0] if end else ''}."
    yield f"Discharge: {_hose(discharge, catalogue, system)}, in whole lengths, with no hump, open at its end."
    things = f", with things up to {setup.job.solids.show(system)} in it" if setup.job.solids is not None else ""
    yield f"Water: {setup.site.temperature.show(system)}{things}."
    yield f"Place: {_PLACES[setup.job.place]}, {show(setup.site.altitude.si, Quantity.LENGTH, system)} above the sea."
    if begun.cost_day is not None:
        currency = next((price.currency for price in catalogue.prices.values()), "")
        yield f"Hire: {money(begun.cost_day, currency)} a day."


def _kit(setup: Setup, catalogue: Catalogue) -> str:
    """``Ferrow 3 with 3 in hose``."""
    size = setup.discharge.leg[0].size
    pump = pump_of(setup.pump, catalogue).label
    return f"{pump} with {size.show(setup.units)} hose" if size is not None else pump


def _hose(leg: Leg, catalogue: Catalogue, system: System) -> str:
    """``20 ft of 3 in suction hose (smooth bore)``."""
    name, _, make = catalogue.hoses[leg.hose or ""].label.partition(", ")
    size = f"{leg.size.show(system)} " if leg.size is not None else ""
    return f"{leg.length.show(system)} of {size}{name}" + (f" ({make})" if make else "")


def _with_kind(flow: str, system: System) -> str:
    """A flow with the kind of its gallons: ``192 US gal/min``."""
    number, _, unit = flow.partition(" ")
    kind = gallon_word(system)
    return f"{number} {kind} {unit}" if kind and unit.startswith("gal") else flow
