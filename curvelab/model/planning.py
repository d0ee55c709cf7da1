"""Setups to a Plan: the catalogue is looked up for the last time, what is left are SI arrays, a row a setup."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from curvelab.errors import Fault, InputError, UnknownNameError
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.rules import refusals
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.legfacts import leg_faults
from curvelab.model.legtables import legs_of
from curvelab.model.liquid import WATER, Liquid
from curvelab.model.plancolumns import air_of, liquids_of, outlets_of, waypoints_of
from curvelab.model.pump import Pump
from curvelab.model.pumpcolumns import pumps_of
from curvelab.model.setup import PumpChoice, Setup


def plan_of(setups: Sequence[Setup], catalogue: Catalogue | None = None, *, checked: bool = True) -> Plan:
    """The Plan of some setups, a row each in their order.

    Parameters
    ----------
    setups : sequence of Setup
        At least one.
    catalogue : Catalogue
        Where ids are looked up; the default one where left out.
    checked : bool
        Refuse rows that break a rule of ``hydraulics.rules``; where False the caller asks ``refusals`` itself.

    Raises
    ------
    InputError
        With every fault of the first setup that names something the catalogue lacks or breaks a rule of
        ``hydraulics.rules``. Fields are the setup's.
    """
    catalogue = default_catalogue() if catalogue is None else catalogue
    if not setups:
        raise InputError(Fault("", "", "no setup", "a Plan has one row at least"))
    try:
        plan = _plan(setups, catalogue)
    except InputError:
        for setup in setups:
            faults = tuple(faults_of_setup(setup, catalogue))
            if faults:
                raise InputError(faults) from None
        raise
    if checked:
        _refuse(plan, setups)
    return plan


def faults_of_setup(setup: Setup, catalogue: Catalogue) -> Iterator[Fault]:
    """Everything that the catalogue has against a setup."""
    yield from unknown_in(setup, catalogue)


def unknown_in(setup: Setup, catalogue: Catalogue) -> Iterator[Fault]:
    """What a setup names and the catalogue lacks, or has for another place or in other sizes."""
    for field, choice in _choices(setup):
        yield from _faults(lambda choice=choice: pump_of(choice, catalogue), field)
    yield from _faults(lambda: liquid_of(setup, catalogue), "site")
    for place, leg in enumerate(setup.suction.leg):
        found = leg_faults(leg, side="suction", in_water=place == 0, catalogue=catalogue)
        yield from _under(f"suction.leg.{place}", found)
    for place, leg in enumerate(setup.discharge.leg):
        found = leg_faults(leg, side="discharge", in_water=False, catalogue=catalogue)
        yield from _under(f"discharge.leg.{place}", found)


def pump_of(choice: PumpChoice, catalogue: Catalogue) -> Pump:
    """The pump that a setup names or carries; ``UnknownNameError`` where the catalogue has none of that id."""
    if choice.record is not None:
        return choice.record
    pump = catalogue.pumps.get(choice.id or "")
    if pump is None:
        raise UnknownNameError.among("pump", choice.id, catalogue.pumps, field="id")
    return pump


def liquid_of(setup: Setup, catalogue: Catalogue) -> Liquid | None:
    """The liquid's record; ``None`` for water, whose properties are computed."""
    name = setup.site.liquid
    if name == WATER:
        return None
    liquid = catalogue.liquids.get(name)
    if liquid is None:
        raise UnknownNameError.among("liquid", name, catalogue.liquids, field="liquid")
    return liquid


def _plan(setups: Sequence[Setup], catalogue: Catalogue) -> Plan:
    air, altitude = air_of(setups)
    temperature = np.array([setup.site.temperature.si for setup in setups])
    liquids = liquids_of([liquid_of(setup, catalogue) for setup in setups], temperature)
    suction = legs_of([setup.suction.leg for setup in setups], liquids.hose_k, side="suction", catalogue=catalogue)
    discharge = legs_of(
        [setup.discharge.leg for setup in setups], liquids.hose_k, side="discharge", catalogue=catalogue
    )
    outlets = outlets_of([setup.outlet for setup in setups], liquids.density_kg_m3)
    pumps, curves = pumps_of(setups, lambda choice: pump_of(choice, catalogue))
    return Plan(
        air_pressure_pa=air,
        altitude_m=altitude,
        temperature_k=temperature,
        air_temperature_k=np.array([setup.site.air_temperature.si for setup in setups]),
        density_kg_m3=liquids.density_kg_m3,
        kinematic_viscosity_m2_s=liquids.kinematic_viscosity_m2_s,
        vapour_pressure_pa=liquids.vapour_pressure_pa,
        density_ratio=liquids.density_ratio,
        lift_m=np.array([setup.suction.lift.si for setup in setups]),
        margin_m=np.array([setup.suction.margin.si for setup in setups]),
        holds_prime=suction.holds_prime,
        strained=suction.strained,
        strainer_cover_m=np.array([_cover(setup) for setup in setups]),
        rise_m=np.array([setup.discharge.rise.si for setup in setups]),
        outlet_kind=outlets.kind,
        outlet_static_m=outlets.static_m,
        outlet_resistance=outlets.resistance,
        valve_k=np.array([setup.discharge.valve_k for setup in setups]),
        goal_flow_m3_s=np.array([setup.goal.flow_m3_s for setup in setups]),
        suction=suction.legs,
        discharge=discharge.legs,
        waypoints=waypoints_of(setups),
        pumps=pumps,
        curves=curves,
    )


def _cover(setup: Setup) -> float:
    """Water over the strainer now [m], inf where the depth isn't known; it lies on the bottom unless stated."""
    if setup.source is None:
        return float("inf")
    height = setup.suction.strainer_height
    return setup.source.depth.si - (0.0 if height is None else height.si)


def _choices(setup: Setup) -> Iterator[tuple[str, PumpChoice]]:
    yield "pump", setup.pump
    for place, choice in enumerate(setup.pump.beside):
        yield f"pump.beside.{place}", choice
    for place, choice in enumerate(setup.booster):
        yield f"booster.{place}", choice


def _faults(look_up: Callable[[], object], place: str) -> Iterator[Fault]:
    try:
        look_up()
    except InputError as error:
        yield from _under(place, error.faults)


def _under(place: str, faults: Iterator[Fault] | Sequence[Fault]) -> Iterator[Fault]:
    for fault in faults:
        yield Fault(fault.where, f"{place}.{fault.field}", fault.got, fault.right)


def _refuse(plan: Plan, setups: Sequence[Setup]) -> None:
    found = refusals(plan)
    if not found.refused.any():
        return
    row = int(np.argmax(found.refused))
    setup = setups[row]
    faults: list[Fault] = []
    for refusal in found.of(row):
        turned = refusal.field == "pump.throttle" and setup.pump.speed is not None
        faults.append(Fault("", "pump.speed" if turned else refusal.field, *refusal.text(setup.units)))
    raise InputError(faults)
