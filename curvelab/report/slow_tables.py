"""The slow studies as text: clock, doubts, power, loads, siphon and nozzles. The sentence first, then the figures."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.model.setup import Setup
from curvelab.report.study_tables import NOTHING, columns
from curvelab.studies.carry import Carry
from curvelab.studies.clock import Clock
from curvelab.studies.clock_words import duration, job_words, tank_words
from curvelab.studies.doubt import Doubt
from curvelab.studies.doubt_words import WHAT
from curvelab.studies.engines import Place
from curvelab.studies.feeds import Feeds
from curvelab.studies.power import PowerAnswer
from curvelab.studies.siphon import Siphon
from curvelab.studies.times import Clocks
from curvelab.units import Quantity, System, display_unit, gallon_word, show

_ROWS: Final = 9
"""Times of the clock that are printed, evenly spaced; ``--json`` has all."""
_INDENT: Final = "  "
WHERE: Final = {Place.WATER: "at the water", Place.BESIDE: "beside it", Place.LINE: "in the line"}
"""Where a pump of a setup stands."""

_Pairs = Iterable[tuple[str, str | None]]


def clocks_text(found: Clocks, setup: Setup) -> str:
    """What is emptied first, then what is filled; where there is only one of them, that one."""
    if found.emptied is None or found.emptied.time_s.size < 2:
        return clock_text(found.whole, setup)
    said = (clock_text(found.emptied, setup), clock_text(found.whole, setup, tank_words(found.whole, setup)))
    return "\n\n".join(said)


def clock_text(found: Clock, setup: Setup, said: str | None = None) -> str:
    """The sentence, or what is said in its place; the figures that apply, and the levels against time."""
    system = setup.units
    told = "\n".join(w.text for w in found.warnings)
    blocks = [said or found.sentence, _listed(clock_facts(found, setup)), _course(found, system), told]
    return "\n\n".join(block for block in blocks if block)


def clock_facts(found: Clock, setup: Setup) -> tuple[tuple[str, str | None], ...]:
    """Names and values of what a clock found besides the levels; ``None`` where it does not apply."""
    system = setup.units
    return (
        ("through the pump", _said(found.volume_m3, Quantity.VOLUME, system)),
        ("running unthrottled", _unless_alike(found.running_s, found.duration_s)),
        ("suction starved from", "the start" if found.starved_from_s == 0.0 else _time(found.starved_from_s)),
        ("inflow that it can hold", _said(found.greatest_inflow_m3_s, Quantity.FLOW, system)),
        (f"fuel to {job_words(found, setup)}", _said(found.fuel_m3, Quantity.FUEL, system)),
        *_fuel_of_each(found, system),
        ("first refuel after", _time(found.first_refuel_s)),
    )


def _fuel_of_each(found: Clock, system: System) -> _Pairs:
    """Of several pumps, what each of them burns."""
    if len(found.pump_fuel) == 1:
        return
    for one in found.pump_fuel:
        many = "" if one.count == 1 else f"{one.count} × "
        yield f"fuel, {many}{one.name} {WHERE[one.place]}", _said(one.fuel_m3, Quantity.FUEL, system)


def doubt_text(found: Doubt, setup: Setup) -> str:
    """The sentence, the shares of the states, and the blame."""
    shares = _listed((state, show(share, Quantity.SHARE, setup.units)) for state, share in found.state_share.items())
    rows = [(WHAT[part.doubt], show(part.share, Quantity.SHARE, setup.units)) for part in found.blame or ()]
    blame = columns(("what the spread comes from", "share"), rows, "<") if rows else ""
    return "\n\n".join(block for block in (found.sentence, shares, blame) if block)


def power_text(found: PowerAnswer, setup: Setup) -> str:
    """Power asked and held, fuel, heat and first water."""
    system = setup.units
    hourly = None if found.fuel_m3_s is None else found.fuel_m3_s * 3600.0
    facts = (
        ("pump asks", _said(found.shaft_power_w, Quantity.POWER, system)),
        ("engine is rated", _said(found.engine_rated_w, Quantity.POWER, system)),
        ("engine holds here for hours", _said(found.engine_available_w, Quantity.POWER, system)),
        ("fuel an hour", _said(hourly, Quantity.FUEL, system)),
        ("a tank lasts", _time(found.tank_s)),
        ("end shut: hot in (estimate)", _time(found.hot_s)),
        ("end shut: boils in (estimate)", _time(found.boil_s)),
        ("draws the water up dry in", _time(found.prime_dry_s)),
        ("with a foot valve, hose full", "at once"),
        ("fills the hose in (estimate)", _time(found.fill_s)),
    )
    blocks = [found.sentence, _listed(facts), _engines(found, system) if len(found.pumps) > 1 else ""]
    return "\n\n".join(block for block in blocks if block)


def _engines(found: PowerAnswer, system: System) -> str:
    """Each of several pumps with its engine."""
    rows = [
        (
            f"{one.name}, {one.place}",
            str(one.count),
            _said(one.shaft_power_w, Quantity.POWER, system) or NOTHING,
            _said(one.available_w, Quantity.POWER, system) or NOTHING,
            _said(one.share, Quantity.SHARE, system) or NOTHING,
            _said(None if one.fuel_m3_s is None else one.fuel_m3_s * 3600.0, Quantity.FUEL, system) or NOTHING,
            _time(one.tank_s) or NOTHING,
        )
        for one in found.pumps
    ]
    return columns(("pump", "count", "asks", "holds here", "share", "fuel an hour", "a tank lasts"), rows, "<")


def carry_text(found: Carry, setup: Setup) -> str:
    """What there is to carry."""
    system = setup.units
    rows = [
        (
            load.what,
            str(load.count),
            show(load.empty_kg, Quantity.MASS, system, unit=False),
            NOTHING if load.full_kg is None else show(load.full_kg, Quantity.MASS, system, unit=False),
            str(load.people),
        )
        for load in found.loads
    ]
    mass = display_unit(Quantity.MASS, system).symbol
    table = columns(("what", "pieces", f"empty {mass}", "full", "people"), rows, "<") if rows else ""
    missing = f"No mass stated: {', '.join(found.unknown)}." if found.unknown else ""
    return "\n\n".join(block for block in (found.sentence, table, missing, found.caution) if block)


def siphon_text(found: Siphon, setup: Setup) -> str:
    """Whether it runs by itself, and the heights that decide it."""
    system = setup.units
    facts = (
        ("from the water down to the outlet", show(found.drop_m, Quantity.LENGTH, system)),
        ("from the water up to the crest", show(found.crest_m, Quantity.LENGTH, system)),
        ("a crest holds here to", show(found.greatest_crest_m, Quantity.LENGTH, system)),
    )
    return f"{found.sentence}\n\n{_listed(facts)}"


def feeds_text(found: Feeds, setup: Setup) -> str:
    """Pressure and flow for each number of nozzles or sprinklers."""
    system = setup.units
    flow = " ".join(word for word in (gallon_word(system), display_unit(Quantity.FLOW, system).symbol) if word)
    rows = [
        (
            str(row.count),
            row.state,
            _said(row.pressure_pa, Quantity.PRESSURE, system) or NOTHING,
            _bare(row.each_m3_s, Quantity.FLOW, system),
            _bare(row.flow_m3_s, Quantity.FLOW, system),
        )
        for row in found.rows
    ]
    table = columns((found.kind, "state", "pressure", f"each {flow}", "together"), rows, "><")
    return "\n\n".join(block for block in (found.sentence, table, found.caution) if block)


def _course(found: Clock, system: System) -> str:
    """Levels and flow at evenly spaced times."""
    if found.time_s.size < 2:
        return ""
    times = np.linspace(0.0, float(found.time_s[-1]), _ROWS)
    kinds: tuple[tuple[str, NDArray[np.float64], Quantity], ...] = (
        ("level", found.level_m, Quantity.LENGTH),
        ("lift", found.lift_m, Quantity.LENGTH),
        ("tank", found.receiver_level_m, Quantity.LENGTH),
        ("flow", found.flow_m3_s, Quantity.FLOW),
    )
    used = [kind for kind in kinds if not np.isnan(kind[1]).all()]
    heads = ["after", *(f"{name} {display_unit(quantity, system).symbol}" for name, _, quantity in used)]

    def row(time: float) -> Sequence[str]:
        return [duration(time), *(_bare(_at(found, column, time), q, system) for _, column, q in used)]

    return columns(heads, map(row, times.tolist()), "<")


def _at(found: Clock, column: NDArray[np.float64], time: float) -> float:
    return float(np.interp(time, found.time_s, column))


def _listed(pairs: _Pairs) -> str:
    """Names and values in two columns, those that apply."""
    rows = [(name, value) for name, value in pairs if value is not None]
    width = max((len(name) for name, _ in rows), default=0)
    return "\n".join(f"{_INDENT}{name:<{width}}  {value}" for name, value in rows)


def _said(value: float | None, quantity: Quantity, system: System) -> str | None:
    return None if value is None else show(value, quantity, system)


def _bare(value: float | None, quantity: Quantity, system: System) -> str:
    """A number in the unit of its column."""
    if value is None or math.isnan(value):
        return NOTHING
    unit = display_unit(quantity, system)
    return show(value, quantity, system, unit=display_unit(quantity, system, value) != unit)


def _unless_alike(running: float | None, lasts: float | None) -> str | None:
    alike = running is None or lasts is None or math.isclose(running, lasts, rel_tol=1e-3)
    return None if alike else _time(running)


def _time(seconds: float | None) -> str | None:
    return None if seconds is None else duration(seconds)
