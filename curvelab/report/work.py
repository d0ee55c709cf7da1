"""Power and fuel in words: what the engine holds here, how long a tank lasts, and what there is to carry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curvelab.layout.engine import EngineWords
from curvelab.report.bores import Bar
from curvelab.report.slow_tables import WHERE
from curvelab.studies.carry import Carry
from curvelab.studies.clock_words import duration
from curvelab.studies.engines import HOT_K, Engine, Place
from curvelab.studies.work import Work
from curvelab.units import Quantity, System, display_unit, gallon_word, show

NAME: Final = "Power and fuel"
SOURCE: Final = "after Oklahoma State BAE-1204"
_NONE: Final = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineRow:
    """One pump with its engine."""

    name: str
    where: str
    short: bool
    """Asked for more than its engine holds."""
    share: Bar
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadRow:
    """Something to carry."""

    what: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSaid:
    """All that the study says."""

    brief: str
    finding: str
    under: str
    heads: tuple[str, ...]
    """Of the engines' columns from the share on; the first head is ``Pump``."""
    rows: tuple[EngineRow, ...]
    notes: tuple[str, ...]
    load_heads: tuple[str, ...]
    loads: tuple[LoadRow, ...]
    carrying: tuple[str, ...]
    """Sentences about the loads, the caution last."""
    picture: EngineWords | None
    """``None`` where no sheet has its pump's power."""


def work_said(found: Work) -> WorkSaid:
    """The study in words."""
    system = found.setup.units
    return WorkSaid(
        brief=_brief(found),
        finding=_finding(found),
        under=_under(found),
        heads=_heads(system),
        rows=tuple(_row(one, system) for one in found.power.pumps),
        notes=_notes(found),
        load_heads=_load_heads(system),
        loads=tuple(_loads(found.loads, system)),
        carrying=_carrying(found.loads),
        picture=_picture(found) if any(curve.flow_m3_s.size for curve in found.curves) else None,
    )


def _brief(found: Work) -> str:
    power, system = found.power, found.setup.units
    parts = [] if power.engine_share is None else [f"{show(power.engine_share, Quantity.SHARE, system)} of the engine"]
    if power.fuel_m3_s is not None:
        unit = display_unit(Quantity.FUEL, system)
        parts.append(f"{show(power.fuel_m3_s * 3600.0, Quantity.FUEL, system, unit=False)} {unit.symbol}/h")
    return ", ".join(parts) or ("nobody stated it" if _flows(found) else "nothing flows")


def _finding(found: Work) -> str:
    power, system = found.power, found.setup.units
    parts: list[str] = []
    if power.engine_share is not None and power.held is not None:
        share = show(power.engine_share, Quantity.SHARE, system)
        alone = len(power.pumps) == 1 and power.pumps[0].count == 1
        engine = "the engine" if alone else "the engines at the water"
        parts.append(
            f"This uses {share} of the power that {engine} can hold here for hours."
            if power.held.full
            else f"This asks {share} of the power that {engine} can hold here for hours. {power.held.sentence}"
        )
    parts += [
        f"The {one.name} in the line is asked {show(one.share, Quantity.SHARE, system)}: it will slow down."
        for one in power.pumps
        if one.place is Place.LINE and one.share is not None and one.share > 1.0
    ]
    if power.fuel_m3_s is not None:
        parts.append(_burns(found))
    untested = [one for one in power.pumps if one.shaft_power_w is None and one.flow_m3_s > 0.0]
    parts += [f"Nobody tested what the {one.name} asks at this flow." for one in untested]
    if not _flows(found):
        return "Nothing flows here, so nobody can tell what the work takes."
    return " ".join(parts) or "Nobody stated what this pump’s engine holds, or what it burns."


def _flows(found: Work) -> bool:
    return any(one.flow_m3_s > 0.0 for one in found.power.pumps)


def _burns(found: Work) -> str:
    power, system = found.power, found.setup.units
    hourly = show((power.fuel_m3_s or 0.0) * 3600.0, Quantity.FUEL, system)
    together = "" if len(power.pumps) == 1 and power.pumps[0].count == 1 else " together"
    tank = "" if power.tank_s is None else f", a tank lasts {duration(power.tank_s)}"
    first = f"It burns {hourly} an hour{together}{tank}."
    if found.job_fuel_m3 is not None and found.job_s is not None:
        whole = show(found.job_fuel_m3, Quantity.FUEL, system)
        return f"{first} To {found.job} it runs {duration(found.job_s)} and burns {whole}."
    day = show(power.day_fuel_m3 or 0.0, Quantity.FUEL, system)
    return f"{first} Ten hours take {day}."


def _under(found: Work) -> str:
    """Where what the engine holds comes from."""
    one, system = found.power.pumps[0], found.setup.units
    if one.rated_w is None or one.continuous is None:
        return ""
    air = show(found.setup.site.air_temperature.si, Quantity.TEMPERATURE, system)
    parts = [f"Rated {show(one.rated_w / one.count, Quantity.POWER, system)}"]
    parts.append(f"less {show(1.0 - one.continuous, Quantity.SHARE, system)} for hours on end")
    if one.height_factor < 1.0:
        parts.append(f"{show(1.0 - one.height_factor, Quantity.SHARE, system)} for the height")
    if one.air_factor < 1.0:
        parts.append(f"{show(1.0 - one.air_factor, Quantity.SHARE, system)} for air at {air}")
    return f"{', '.join(parts)}: {SOURCE}."


# --- the tables


def _heads(system: System) -> tuple[str, ...]:
    power, fuel = display_unit(Quantity.POWER, system).symbol, display_unit(Quantity.FUEL, system).symbol
    word = gallon_word(system)
    burnt = f"Fuel an hour, {word} {fuel}" if word else f"Fuel an hour, {fuel}"
    return (
        *("Share of the engine", f"Asks, {power}", f"Holds here, {power}", f"Rated, {power}"),
        *(burnt, "A tank lasts", "End shut: hot in"),
    )


def _row(one: Engine, system: System) -> EngineRow:
    def said(value: float | None, quantity: Quantity) -> str:
        return _NONE if value is None else show(value, quantity, system, unit=False)

    count = "" if one.count == 1 else f"{one.count} × "
    where = WHERE[one.place]
    if one.place is Place.LINE:
        where = f"{where} at {show(one.distance_m, Quantity.LENGTH, system)}"
    share = one.share or 0.0
    fuel = None if one.fuel_m3_s is None else one.fuel_m3_s * 3600.0
    short = share > 1.0
    return EngineRow(
        name=f"{count}{one.name}",
        where=where,
        short=short,
        share=Bar(
            _NONE if one.share is None else show(share, Quantity.SHARE, system),
            min(share, 1.0),
            "over" if short else "now" if one.place is Place.WATER else "",
        ),
        cells=(
            said(one.shaft_power_w, Quantity.POWER),
            said(one.available_w, Quantity.POWER),
            said(one.rated_w, Quantity.POWER),
            said(fuel, Quantity.FUEL),
            _NONE if one.tank_s is None else duration(one.tank_s),
            _NONE if one.hot_s is None else f"about {show(one.hot_s, Quantity.TIME, system)}",
        ),
    )


def _notes(found: Work) -> tuple[str, ...]:
    pumps = found.power.pumps
    notes: list[str] = []
    if any(one.hot_s is not None for one in pumps):
        hot = show(HOT_K, Quantity.TEMPERATURE, found.setup.units)
        notes.append(
            f"Hot is {hot} in the body, with no heat lost, at the power of the lowest flow tested: an estimate."
        )
    if any(one.estimate for one in pumps):
        notes.append("Some engine figures are estimates.")
    notes.append("Nobody stated how loud these engines are.")
    return tuple(notes)


def _load_heads(system: System) -> tuple[str, ...]:
    mass = display_unit(Quantity.MASS, system).symbol
    return ("Pieces", f"Empty, {mass}", f"Full, {mass}", "People, empty")


def _loads(loads: Carry, system: System) -> list[LoadRow]:
    return [
        LoadRow(
            what=load.what,
            cells=(
                str(load.count),
                show(load.empty_kg, Quantity.MASS, system, unit=False),
                _NONE if load.full_kg is None else show(load.full_kg, Quantity.MASS, system, unit=False),
                str(load.people),
            ),
        )
        for load in loads.loads
    ]


def _carrying(loads: Carry) -> tuple[str, ...]:
    missing = f"No weight stated: {', '.join(loads.unknown)}." if loads.unknown else ""
    return tuple(sentence for sentence in (loads.sentence, missing, loads.caution) if sentence)


# --- the picture


def _picture(found: Work) -> EngineWords:
    power, system = found.power, found.setup.units
    most = max(float(curve.flow_m3_s[-1]) for curve in found.curves if curve.flow_m3_s.size)
    unit = display_unit(Quantity.FLOW, system, most).symbol
    word = gallon_word(system)
    flow = f"{word} {unit}" if word else unit
    watts = display_unit(Quantity.POWER, system).symbol

    def said(watt: float | None, count: int) -> str:
        return "" if watt is None else show(watt / count, Quantity.POWER, system)

    asks = tuple((f"{one.name} asks", one.name) for one in power.pumps)
    holds = tuple(
        (f"its engine holds {text} here", f"holds {text}") if (text := said(one.available_w, one.count)) else ()
        for one in power.pumps
    )
    if len({one.id for one in power.pumps}) > 1:
        holds = tuple(
            (f"{one.name}’s engine holds {said(one.available_w, one.count)} here", *forms[1:]) if forms else ()
            for one, forms in zip(power.pumps, holds, strict=True)
        )
    spots = tuple((text,) if (text := said(one.shaft_power_w, one.count)) else () for one in power.pumps)
    held = power.held
    slow = "" if held is None or held.full else show(held.speed_per_s, Quantity.ROTATION, system)
    points = " ".join(
        f"{one.name}: {said(one.shaft_power_w, one.count)} of {said(one.available_w, one.count) or 'an unknown power'}."
        for one in power.pumps
        if one.shaft_power_w is not None
    )
    each = " each" if any(one.count > 1 for one in power.pumps) else ""
    return EngineWords(
        title=(f"Power{each}, {watts}, against flow{each}, {flow}", f"Power, {watts}, by flow"),
        label=f"What each pump asks of its engine, against flow. {points}",
        asks=asks,
        holds=holds,
        spots=spots,
        held=(f"holds {slow}", slow) if slow else (),
    )
