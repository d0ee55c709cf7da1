"""What the work takes: each engine's power and fuel, the fuel of the job, and what there is to carry."""

from __future__ import annotations

from dataclasses import dataclass

from curvelab.errors import CurvelabError
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.setup import Setup
from curvelab.studies.carry import Carry, carry
from curvelab.studies.clock import clock
from curvelab.studies.clock_words import job_words
from curvelab.studies.engines import PowerCurve, power_curves
from curvelab.studies.power import PowerAnswer, power_of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Work:
    """Power, fuel and loads of one setup."""

    setup: Setup
    power: PowerAnswer
    curves: tuple[PowerCurve, ...]
    """Of ``power.pumps``, one pump of each."""
    loads: Carry
    job_s: float | None
    """How long the pumps run for the job; ``None`` where nobody can tell. [s]"""
    job_fuel_m3: float | None
    """For that. [m³]"""
    job: str
    """What that job is, after "to": ``fill the orchard tank``; empty where nobody can tell."""


def work(setup: Setup, catalogue: Catalogue | None = None) -> Work:
    """What the work takes.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    power = power_of(setup, known)
    lasts, fuel, job = _job(setup, known)
    return Work(
        setup=setup,
        power=power,
        curves=power_curves(setup, known, power.pumps),
        loads=carry(setup, known),
        job_s=lasts,
        job_fuel_m3=fuel,
        job=job,
    )


def _job(setup: Setup, catalogue: Catalogue) -> tuple[float | None, float | None, str]:
    """How long the job keeps the pumps running [s], its fuel [m³], what it is; ``None`` where the clock can't tell."""
    if setup.source is None and setup.receiver is None and setup.goal.volume is None:
        return None, None, ""
    try:
        found = clock(setup, catalogue)
    except CurvelabError:
        return None, None, ""
    return (None, None, "") if found.fuel_m3 is None else (found.running_s, found.fuel_m3, job_words(found, setup))
