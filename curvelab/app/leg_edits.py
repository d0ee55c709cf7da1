"""Legs put in, split, taken out and moved: the line stays whole, and what stands in the water stays at its end."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from curvelab.errors import Fault, InputError
from curvelab.model.catalogue import Catalogue
from curvelab.model.hoseline import Leg
from curvelab.model.route import taken_along
from curvelab.model.setup import Setup
from curvelab.units import Quantity, display_unit, write

_NEW_M: Final = 30.48
"""Length of a new leg of hose that no rack holds. [m] Our own choice, 100 ft."""


def add_leg(setup: Setup, side: str, place: int, catalogue: Catalogue) -> Setup:
    """One more leg after ``place``, of the same hose: one length of it, the longest, on the suction the shortest."""
    legs = _legs(setup, side)
    before = legs[place]
    hose = catalogue.hoses.get(before.hose or "")
    size = hose.sized(before.size.si) if hose is not None and before.size is not None else None
    lengths = sorted(size.lengths, key=lambda length: length.si) if size is not None else []
    text = write(min(_NEW_M, before.length.si), Quantity.LENGTH, setup.units)
    if lengths:
        text = (lengths[0] if side == "suction" else lengths[-1]).text
    joints = {name: 1 for name in before.fittings if name.endswith("coupling")}
    new = before.with_("length", text).with_("fittings", joints).with_("k", 0.0)
    return _with(setup, side, [*legs[: place + 1], new, *legs[place + 1 :]], catalogue)


def split_leg(setup: Setup, side: str, place: int, catalogue: Catalogue) -> Setup:
    """A leg in two halves that may then differ, its fittings and losses shared out: next to nothing else changes.

    Losses of a leg lie spread along it. Only an odd fitting, which one half must have, moves any of them: up to a hump
    that governs it then counts by the first half's length.
    """
    legs = _legs(setup, side)
    leg = legs[place]
    unit = display_unit(Quantity.LENGTH, setup.units)
    half = unit.to_si(unit.round(unit.from_si(0.5 * leg.length.si)))
    if not 0.0 < half < leg.length.si:
        raise InputError(Fault("", f"{side}.leg.{place}", "too short to split", "make it longer first"))
    first, second = (write(si, Quantity.LENGTH, setup.units) for si in (half, leg.length.si - half))
    later = {name: count // 2 for name, count in leg.fittings.items() if count > 1}
    sooner = {name: count - later.get(name, 0) for name, count in leg.fittings.items()}
    share = half / leg.length.si
    head = leg.with_("length", first).with_("fittings", sooner).with_("k", share * leg.k)
    tail = leg.with_("length", second).with_("fittings", later).with_("k", (1.0 - share) * leg.k)
    return _with(setup, side, [*legs[:place], head, tail, *legs[place + 1 :]], catalogue)


def drop_leg(setup: Setup, side: str, place: int, catalogue: Catalogue) -> Setup:
    """Without a leg; the last one stays."""
    legs = _legs(setup, side)
    return _with(setup, side, [*legs[:place], *legs[place + 1 :]], catalogue) if len(legs) > 1 else setup


def move_leg(setup: Setup, side: str, place: int, by: int, catalogue: Catalogue) -> Setup:
    """A leg as many places later; as far as there are any."""
    legs = list(_legs(setup, side))
    to = min(max(place + by, 0), len(legs) - 1)
    legs.insert(to, legs.pop(place))
    return _with(setup, side, legs, catalogue)


CHANGES: Final[Mapping[str, Callable[[Setup, str, int, Catalogue], Setup]]] = {
    "add-leg": add_leg,
    "split-leg": split_leg,
    "drop-leg": drop_leg,
}


def _legs(setup: Setup, side: str) -> tuple[Leg, ...]:
    return (setup.suction if side == "suction" else setup.discharge).leg


def _with(setup: Setup, side: str, legs: list[Leg], catalogue: Catalogue) -> Setup:
    if side == "suction":
        return setup.with_("suction.leg", _in_water(setup.suction.leg[0], legs, catalogue))
    return taken_along(setup, setup.with_("discharge.leg", tuple(legs)))


def _in_water(before: Leg, legs: list[Leg], catalogue: Catalogue) -> tuple[Leg, ...]:
    """The legs of the suction, on the first of them what stood in the water before."""
    ends = {name: count for name, count in before.fittings.items() if _is_end(name, catalogue)}
    bare: list[Leg] = []
    for leg in legs:
        rest = {name: count for name, count in leg.fittings.items() if name not in ends}
        bare.append(leg if len(rest) == len(leg.fittings) else leg.with_("fittings", rest))
    return bare[0].with_("fittings", {**ends, **bare[0].fittings}), *bare[1:]


def _is_end(name: str, catalogue: Catalogue) -> bool:
    fitting = catalogue.fittings.get(name)
    return fitting is not None and fitting.at_suction_end
