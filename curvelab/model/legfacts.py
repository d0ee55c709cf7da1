"""A leg of a setup looked up in the catalogue: what its hose and fittings are, in SI."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal, NamedTuple

from curvelab.errors import Fault, InputError, UnknownNameError
from curvelab.model.amount import wrong
from curvelab.model.catalogue import Catalogue
from curvelab.model.fitting import Fitting
from curvelab.model.hose import Hose
from curvelab.model.hoseline import Leg

Side = Literal["suction", "discharge"]

_INF: Final = float("inf")


class HoseFacts(NamedTuple):
    """The hose of a leg."""

    bore_m: float
    roughness_m: float
    rigid: bool
    rating_pa: float = _INF
    """Working pressure (gauge) at 20 °C; inf where not stated."""
    vacuum_rating_pa: float = _INF
    """Vacuum that it stands; inf where not stated."""
    derated: Hose | None = None
    """Its record, where it has a rating that falls with temperature."""


class FittingFacts(NamedTuple):
    """The fittings of a leg together."""

    k: float = 0.0
    rating_pa: float = _INF
    """Least working pressure (gauge); inf where none states any."""
    strained: bool = False
    """One stands in the water, at the end of the hose."""
    holds_prime: bool = False


def hose_facts(leg: Leg, *, side: Side, catalogue: Catalogue) -> HoseFacts:
    """The hose of a leg: on the discharge lay-flat has its charged bore.

    Raises
    ------
    InputError
        For a hose or a size that the catalogue lacks, and for lay-flat on the suction; fields are named within the leg.
    """
    if leg.bore is not None and leg.roughness is not None:
        rigid = side == "suction" if leg.rigid is None else leg.rigid
        return HoseFacts(leg.bore.si, leg.roughness.si, rigid)
    hose = catalogue.hoses.get(leg.hose or "")
    if hose is None:
        raise UnknownNameError.among("hose", leg.hose, catalogue.hoses, field="hose")
    if side == "suction" and hose.use == "discharge":
        raise wrong(f'"{hose.label}" falls flat under suction', "name a suction hose", "hose")
    size = hose.sized(leg.size.si) if leg.size is not None else None
    if size is None:
        got = f'"{hose.label}" doesn\'t come in {leg.size.text if leg.size else "that size"}'
        raise wrong(got, f"write one of {', '.join(s.size.text for s in hose.size)}", "size")
    swells = side == "discharge" and not hose.rigid and size.charged_bore is not None
    return HoseFacts(
        bore_m=(size.charged_bore if swells and size.charged_bore else size.bore).si,
        roughness_m=hose.roughness.si,
        rigid=hose.rigid,
        rating_pa=size.working_pressure.si if size.working_pressure else _INF,
        vacuum_rating_pa=size.vacuum.si if size.vacuum else _INF,
        derated=hose if hose.derate and size.working_pressure else None,
    )


def fitting_facts(leg: Leg, *, side: Side, in_water: bool, catalogue: Catalogue) -> FittingFacts:
    """The fittings of a leg; ``in_water`` for the first leg of the suction.

    K is that of the leg's nominal size, for a hose written out that of the size nearest its bore.

    Raises
    ------
    InputError
        For fittings that the catalogue lacks, that don't come in the size or don't belong there.
    """
    if not leg.fittings and not leg.k:
        return FittingFacts()
    faults = [
        Fault("", f"fittings.{name}", *why)
        for name in leg.fittings
        if (why := _misplaced(name, leg, side=side, in_water=in_water, catalogue=catalogue))
    ]
    if faults:
        raise InputError(faults)
    found = [(catalogue.fittings[name], count) for name, count in leg.fittings.items()]
    return FittingFacts(
        k=leg.k + sum(count * _k(fitting, leg) for fitting, count in found),
        rating_pa=min((_rating(fitting, leg) for fitting, _ in found), default=_INF),
        strained=any(fitting.at_suction_end for fitting, _ in found),
        holds_prime=any(fitting.holds_prime for fitting, _ in found),
    )


def belongs(name: str, leg: Leg, *, side: Side, in_water: bool, catalogue: Catalogue) -> bool:
    """Whether a fitting of the catalogue may sit in a leg: it is for that place, and comes in that size."""
    return _misplaced(name, leg, side=side, in_water=in_water, catalogue=catalogue) is None


def leg_faults(leg: Leg, *, side: Side, in_water: bool, catalogue: Catalogue) -> Iterator[Fault]:
    """Everything that the catalogue has against a leg."""
    try:
        hose_facts(leg, side=side, catalogue=catalogue)
    except InputError as error:
        yield from error.faults
    try:
        fitting_facts(leg, side=side, in_water=in_water, catalogue=catalogue)
    except InputError as error:
        yield from error.faults


def _misplaced(name: str, leg: Leg, *, side: Side, in_water: bool, catalogue: Catalogue) -> tuple[str, str] | None:
    """What is wrong with a fitting there, and what would be right."""
    fitting = catalogue.fittings.get(name)
    if fitting is None:
        fault = UnknownNameError.among("fitting", name, catalogue.fittings).faults[0]
        return fault.got, fault.right
    if fitting.at_suction_end and not in_water:
        return f'"{fitting.label}" stands at the end of the suction hose', "move it to suction.leg.0"
    wanted = {"suction-end": "suction", "suction": "suction", "discharge": "discharge", "outlet": "discharge"}
    if wanted.get(fitting.where, side) != side:
        return f'"{fitting.label}" is for the {wanted[fitting.where]}', f"leave it out on the {side}"
    if leg.size is not None and not fitting.stocked(leg.size.si):
        sizes = [s.size.text for s in fitting.size] or [s.text for s in fitting.sizes]
        return f'"{fitting.label}" doesn\'t come in {leg.size.text}', f"it comes in {', '.join(sizes)}"
    return None


def _nominal_m(leg: Leg) -> float:
    size = leg.size or leg.bore
    return size.si if size is not None else 0.0


def _k(fitting: Fitting, leg: Leg) -> float:
    sized = fitting.sized(_nominal_m(leg))
    return sized.k if sized is not None else fitting.k or 0.0


def _rating(fitting: Fitting, leg: Leg) -> float:
    sized = fitting.sized(_nominal_m(leg))
    stated = (sized.working_pressure if sized is not None else None) or fitting.working_pressure
    return stated.si if stated is not None else _INF
