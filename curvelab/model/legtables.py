"""Legs of many setups as the tables of a Plan: each make of leg looked up once, one array a column."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.plan import Floats, Legs
from curvelab.model.catalogue import Catalogue
from curvelab.model.hose import Hose
from curvelab.model.hoseline import Leg
from curvelab.model.legfacts import FittingFacts, HoseFacts, Side, fitting_facts, hose_facts

Bools = NDArray[np.bool_]


class LegTable(NamedTuple):
    """Legs of one side of every row, and what stands at the end in the water, shape (rows,)."""

    legs: Legs
    strained: Bools
    holds_prime: Bools


def legs_of(rows: Sequence[Sequence[Leg]], temperature_k: Floats, *, side: Side, catalogue: Catalogue) -> LegTable:
    """The legs of every row, padded to the longest.

    Parameters
    ----------
    rows : sequence of sequences of Leg
        Legs of each row as the water meets them, one at least.
    temperature_k : array, shape (rows,)
        Temperature of each row's hose. [K] Derates its rating.

    Raises
    ------
    InputError
        For what the catalogue lacks; fields are named within the leg at fault.
    """
    known: dict[tuple[object, ...], tuple[float, ...]] = {}
    derated: list[Hose | None] = [None]
    width = max(len(legs) for legs in rows)
    cells: list[tuple[float, ...]] = []
    for legs in rows:
        in_water = side == "suction"
        for leg in legs:
            key = (leg.hose, leg.size, leg.bore, leg.roughness, leg.rigid, leg.fittings, leg.k, leg.abreast, in_water)
            facts = known.get(key)
            if facts is None:
                hose = hose_facts(leg, side=side, catalogue=catalogue)
                fittings = fitting_facts(leg, side=side, in_water=in_water, catalogue=catalogue)
                facts = known[key] = _facts(leg, hose, fittings, derated)
            cells.append((leg.length.si, *facts))
            in_water = False
        if len(legs) < width:
            cells += [(0.0, *cells[-1][1:-_OWN], *_PADDING)] * (width - len(legs))
    columns = np.array(cells, dtype=np.float64).T.reshape(-1, len(rows), width)
    return _table(_Columns(*(np.ascontiguousarray(column) for column in columns)), derated, temperature_k)


class _Columns(NamedTuple):
    """What is looked up of a leg, one array each of shape (rows, legs)."""

    length: Floats
    bore: Floats
    roughness: Floats
    abreast: Floats
    rigid: Floats
    hose_rating: Floats
    coupling_rating: Floats
    vacuum: Floats
    derated: Floats
    """Place of the hose among those whose rating falls with temperature, 0 where it doesn't."""
    k: Floats
    strained: Floats
    holds_prime: Floats
    used: Floats


_OWN: Final = 4
"""Last columns of ``_Columns`` that padding does not take from the last real leg."""
_PADDING: Final = (0.0,) * _OWN


def _facts(leg: Leg, hose: HoseFacts, fittings: FittingFacts, derated: list[Hose | None]) -> tuple[float, ...]:
    """A leg's cells behind its length."""
    if hose.derated is not None and hose.derated not in derated:
        derated.append(hose.derated)
    return (
        hose.bore_m,
        hose.roughness_m,
        leg.abreast,
        hose.rigid,
        hose.rating_pa,
        fittings.rating_pa,
        hose.vacuum_rating_pa,
        derated.index(hose.derated),
        fittings.k,
        fittings.strained,
        fittings.holds_prime,
        1.0,
    )


def _table(columns: _Columns, derated: list[Hose | None], temperature_k: Floats) -> LegTable:
    rating = columns.hose_rating
    kelvin = np.broadcast_to(temperature_k[:, None], rating.shape)
    for place, hose in enumerate(derated):
        if hose is not None:
            here = columns.derated == place
            rating[here] *= hose.pressure_share(kelvin[here])
    legs = Legs(
        length_m=columns.length,
        bore_m=columns.bore,
        roughness_m=columns.roughness,
        abreast=columns.abreast,
        k=columns.k,
        rigid=columns.rigid != 0.0,
        rating_pa=np.minimum(rating, columns.coupling_rating),
        vacuum_rating_pa=columns.vacuum,
        used=columns.used != 0.0,
    )
    return LegTable(legs, columns.strained[:, 0] != 0.0, columns.holds_prime[:, 0] != 0.0)
