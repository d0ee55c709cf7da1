"""Who carries it: pump and hose, empty and full, against what one person should lift."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

from curvelab.hydraulics.hose import hose_mass
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.hoseline import Leg
from curvelab.model.legfacts import hose_facts
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.kit import stock_lengths
from curvelab.units import Quantity, show

FORMAT: Final = "curvelab-carry/1"

ONE_PERSON_KG: Final = 51 * 0.45359237
"""What one person should lift at the most, under the best of conditions, 51 lb. [kg] The load constant of the NIOSH
lifting equation; from memory."""
FUEL_KG_M3: Final = {"diesel": 840.0, "petrol": 745.0}
"""Density of fuel; an estimate. [kg/m³] Petrol where nothing is stated."""
CAUTION: Final = (
    "51 lb (23 kg) each is for a short lift close to the body on level ground. Banks, mud and long ways ask for less; "
    "the employer's rules come first."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One thing to carry."""

    what: str
    count: int
    """How many of it."""
    empty_kg: float
    full_kg: float | None
    """With its fuel, or full of the liquid; ``None`` where not known. [kg]"""
    people: int
    """To carry one of it, empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carry:
    """Everything of a setup that has a mass stated. Masses without one are left out, and named in ``unknown``."""

    loads: tuple[Load, ...]
    unknown: tuple[str, ...]
    two_people_kg: float
    """What two people can carry. [kg]"""
    sentence: str
    caution: str = CAUTION

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, **asdict(self)}


def carry(setup: Setup, catalogue: Catalogue | None = None) -> Carry:
    """What the parts weigh and how many people each takes.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    density = float(plan_of([setup], known).density_kg_m3[0])
    loads: list[Load] = []
    unknown: list[str] = []
    for choice in (setup.pump, *setup.pump.beside, *setup.booster):
        record = pump_of(choice, known)
        load = _pump(record, setup.pump.abreast if choice is setup.pump else 1)
        if load is None:
            unknown.append(record.name or record.id)
        else:
            loads.append(load)
    for side, legs in (("suction", setup.suction.leg), ("discharge", setup.discharge.leg)):
        for leg in legs:
            load = _hose(leg, setup, known, density, suction=side == "suction")
            if load is None:
                unknown.append(f"{side} hose")
            else:
                loads.append(load)
    return Carry(
        loads=_alike(loads),
        unknown=tuple(unknown),
        two_people_kg=2.0 * ONE_PERSON_KG,
        sentence=_sentence(loads, setup),
    )


def _pump(record: Pump, count: int) -> Load | None:
    """A pump, dry and with a full tank."""
    if record.mass is None:
        return None
    engine, mass = record.engine, record.mass.si
    full = None
    if engine is not None and engine.tank is not None:
        full = mass + engine.tank.si * FUEL_KG_M3.get(engine.fuel or "", FUEL_KG_M3["petrol"])
    return Load(what=record.name or record.id, count=count, empty_kg=mass, full_kg=full, people=_people(mass))


def _hose(leg: Leg, setup: Setup, catalogue: Catalogue, density: float, *, suction: bool) -> Load | None:
    """The longest piece of a leg as it comes from the rack."""
    if leg.hose is None or leg.size is None:
        return None
    hose = catalogue.hoses[leg.hose]
    size = hose.sized(leg.size.si)
    if size is None or size.mass is None or leg.length.si == 0.0:
        return None
    pieces = [length for length in stock_lengths(leg, catalogue) if length <= leg.length.si * (1 + 1e-6)]
    piece = max(pieces, default=leg.length.si)
    bore = hose_facts(leg, side="suction" if suction else "discharge", catalogue=catalogue).bore_m
    empty, full = (
        float(hose_mass(piece, line_mass_kg_m=size.mass.si, bore_m=bore, density_kg_m3=content))
        for content in (0.0, density)
    )
    what = f"{show(piece, Quantity.LENGTH, setup.units)} of {leg.size.show(setup.units)} {hose.name or hose.id}"
    count = math.ceil(leg.length.si / piece - 1e-6) * leg.abreast
    return Load(what=what, count=count, empty_kg=empty, full_kg=full, people=_people(empty))


def _alike(loads: list[Load]) -> tuple[Load, ...]:
    """Equal things as so many of one."""
    found: dict[Load, int] = {}
    for load in loads:
        one = replace(load, count=1)
        found[one] = found.get(one, 0) + load.count
    return tuple(replace(one, count=count) for one, count in found.items())


def _people(mass_kg: float) -> int:
    return max(1, math.ceil(mass_kg / ONE_PERSON_KG - 1e-9))


def _sentence(loads: list[Load], setup: Setup) -> str:
    if not loads:
        return "Nobody stated what these parts weigh."

    def say(mass: float) -> str:
        return show(mass, Quantity.MASS, setup.units)

    heaviest = max(loads, key=lambda load: load.empty_kg)
    who = {1: "one person carries it", 2: "two people carry it"}.get(
        heaviest.people, f"it takes {heaviest.people} people, or wheels"
    )
    parts = [f"{heaviest.what}: {say(heaviest.empty_kg)}, {who}."]
    hoses = [load for load in loads if load.full_kg is not None and _people(load.full_kg) > max(2, load.people)]
    if hoses:
        worst = max(hoses, key=lambda load: load.full_kg or 0.0)
        parts.append(
            f"{worst.what} is {say(worst.empty_kg)} empty and {say(worst.full_kg or 0.0)} full: drain it first."
        )
    return " ".join(parts)
