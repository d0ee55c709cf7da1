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
from curvelab.units import Quantity, System, show

_PLACES: Final = {
    "open": "open ground",
    "building": "a pump outdoors and the water in a building",
    "pit": "a pump above, by a pit or well",
    "flood": "flooded ground",
}


def begun_words(begun: Begun, catalogue: Catalogue) -> tuple[str, str]:
    """The verdict, and what was taken."""
    return verdict(begun, catalogue), taken(begun, catalogue)


def verdict(begun: Begun, catalogue: Catalogue) -> str:
    """What fits, or what comes nearest, and by how much it misses."""
    setup, wanted, system = begun.setup, begun.wish.wanted_m3_s, begun.setup.units
    kit = _kit(setup, catalogue)
    flow = flow_text(begun.result.flow_m3_s or 0.0, system)
    if begun.reached and wanted > 0.0:
        return f"{kit} gives {flow}, where {flow_text(wanted, system)} is asked, and runs well."
    if begun.reached:
        return f"{kit} gives {flow} and runs well: nearly the most that this yard can send there."
    if begun.well:
        return f"Nothing in this yard gives {flow_text(wanted, system)} there. The most that runs well: {kit}, {flow}."
    state = chip(begun.result).text
    return f"Nothing in this yard runs well there. The nearest, {kit}: {state[:1].lower()}{state[1:]}."


def taken(begun: Begun, catalogue: Catalogue) -> str:
    """``We took: …; change anything.``"""
    return f"We took: {'; '.join(_taken(begun, catalogue))}. Change anything."


def _taken(begun: Begun, catalogue: Catalogue) -> Iterator[str]:
    setup, system = begun.setup, begun.setup.units
    pump = pump_of(setup.pump, catalogue)
    yield f"{pump.label}, {_a(pump.kind.replace('-', ' '))} pump at full throttle"
    suction, discharge = setup.suction.leg[0], setup.discharge.leg[0]
    end = next((f.label for name in suction.fittings if (f := catalogue.fittings[name]).at_suction_end), "")
    yield _hose(suction, catalogue, system) + (f" with a {end.partition(',')[0]}" if end else "")
    yield f"{_hose(discharge, catalogue, system)} in whole lengths, open at its end, without humps"
    if setup.job.solids is not None and setup.job.solids.si > 0.0:
        yield f"things up to {setup.job.solids.show(system)} in the water"
    yield _PLACES[setup.job.place]
    height = show(setup.site.altitude.si, Quantity.LENGTH, system)
    yield f"{height} above the sea, water at {setup.site.temperature.show(system)}"
    if begun.cost_day is not None:
        currency = next((price.currency for price in catalogue.prices.values()), "")
        yield f"{money(begun.cost_day, currency)} a day"


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


def _a(words: str) -> str:
    return f"an {words}" if words[:1] in "aeiou" else f"a {words}"
