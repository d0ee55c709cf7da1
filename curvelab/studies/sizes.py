"""The sizes in which the first discharge hose could lie instead: the setup once more for each of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from curvelab.errors import InputError
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.rules import refusals
from curvelab.model.catalogue import Catalogue
from curvelab.model.planning import faults_of_setup, plan_of
from curvelab.model.setup import Setup
from curvelab.studies.change import STANDARD_SIZES
from curvelab.units import Quantity, parse

MOST: Final = 5
"""Sizes shown together: what a picture and a customer hold. [-]"""
_BELOW: Final = 3
"""Of these, how many lie below the present one where the rack has them. [-]"""
_ALIKE: Final = 0.03
"""A standard size so near to a bore written out is that bore. [-]"""


@dataclass(frozen=True, slots=True)
class Sized:
    """The setup with its first discharge hose in one size."""

    size_m: float
    """Nominal, or the bore of a hose written out."""
    setup: Setup
    now: bool
    """It lies there already."""


class Sizes(NamedTuple):
    """Sizes from small to large, and their Plan with a row each."""

    sized: tuple[Sized, ...]
    plan: Plan

    @property
    def now(self) -> int:
        """Row of the present size."""
        return now_of(self.sized)


def in_sizes(setup: Setup, catalogue: Catalogue) -> Sizes:
    """The setup in up to ``MOST`` neighbouring sizes of its own make of hose.

    Leg 0 of the discharge is changed, the one that the page's controls address; any further legs stay as they are. A
    hose written out takes the standard sizes. Sizes that its fittings don't come in are left out.

    Raises
    ------
    InputError
        If the setup as it is can't be solved.
    """
    plan_of([setup], catalogue)
    found = sorted(_each(setup, catalogue), key=lambda sized: sized.size_m)
    plan = plan_of([sized.setup for sized in found], catalogue, checked=False)
    good = [int(row) for row in np.flatnonzero(~refusals(plan).refused)]
    now = now_of([found[row] for row in good])
    first = max(0, min(now - _BELOW, len(good) - MOST))
    kept = good[first : first + MOST]
    return Sizes(tuple(found[row] for row in kept), plan.take(np.array(kept, dtype=np.int64)))


def next_sizes(setup: Setup, catalogue: Catalogue) -> tuple[Sized | None, Sized | None]:
    """The setup with its first discharge hose one size down and one up, as far as its make and fittings come in it."""
    present, field, texts = _offered(setup, catalogue)
    sizes = sorted((parse(text, Quantity.BORE), text) for text in texts)
    below = [pair for pair in reversed(sizes) if pair[0] < present * (1.0 - _ALIKE)]
    above = [pair for pair in sizes if pair[0] > present * (1.0 + _ALIKE)]
    found = (
        next(filter(None, (_in_size(setup, size, field, text, catalogue) for size, text in side)), None)
        for side in (below, above)
    )
    return next(found), next(found)


def now_of(sized: tuple[Sized, ...] | list[Sized]) -> int:
    """Place of the present size."""
    return next(at for at, one in enumerate(sized) if one.now)


def _each(setup: Setup, catalogue: Catalogue) -> Iterator[Sized]:
    present, field, texts = _offered(setup, catalogue)
    yield Sized(present, setup, now=True)
    for text in texts:
        size = parse(text, Quantity.BORE)
        if abs(size - present) <= _ALIKE * present:
            continue
        sized = _in_size(setup, size, field, text, catalogue)
        if sized is not None:
            yield sized


def _in_size(setup: Setup, size_m: float, field: str, text: str, catalogue: Catalogue) -> Sized | None:
    """The setup in another size; None where hose or fittings don't come in it."""
    try:
        variant = setup.with_(f"discharge.leg.0.{field}", text)
    except InputError:
        return None
    return Sized(size_m, variant, now=False) if next(faults_of_setup(variant, catalogue), None) is None else None


def _offered(setup: Setup, catalogue: Catalogue) -> tuple[float, str, tuple[str, ...]]:
    """Size of the hose now [m], the field that sets it, and what may be set."""
    leg = setup.discharge.leg[0]
    hose = catalogue.hoses.get(leg.hose or "")
    if hose is not None and leg.size is not None:
        return leg.size.si, "size", tuple(size.size.text for size in hose.size)
    return (leg.bore.si if leg.bore is not None else 0.0), "bore", STANDARD_SIZES
