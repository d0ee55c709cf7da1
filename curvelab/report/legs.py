"""Legs of hose in words: one line for each, the lengths a yard has of it, and what its fittings are called."""

from __future__ import annotations

from typing import Final

from curvelab.model.catalogue import Catalogue
from curvelab.model.hoseline import Leg
from curvelab.studies.kit import covering, pieces_text, stock_lengths
from curvelab.units import Quantity, System, show

_STEP: Final = 0.05
"""What is left over of a length in stock goes unsaid below this share of the length asked. [-]"""


def leg_words(leg: Leg, catalogue: Catalogue, system: System) -> str:
    """A leg in one line: ``100 ft of 2 in lay-flat, 2 fittings``."""
    length = ("" if leg.abreast == 1 else f"{leg.abreast} × ") + show(leg.length.si, Quantity.LENGTH, system)
    bore = leg.size or leg.bore
    size = f"{show(bore.si, Quantity.BORE, system)} " if bore is not None else ""
    return f"{length} of {size}{_make(leg, catalogue)}, {fittings_words(leg)}"


def fittings_words(leg: Leg, without: tuple[str, ...] = ()) -> str:
    """How many fittings a leg has: ``no fittings``, ``1 fitting``, ``3 fittings``."""
    count = sum(pieces for name, pieces in leg.fittings.items() if name not in without)
    return f"{count or 'no'} fitting{'' if count == 1 else 's'}"


def stock_words(leg: Leg, catalogue: Catalogue, system: System) -> str:
    """The lengths a yard has of a leg's hose, and how many of them reach."""
    stock = stock_lengths(leg, catalogue)
    if not stock:
        return "Not from the rack: cut to any length."
    *shorter, longest = (show(piece, Quantity.LENGTH, system) for piece in stock)
    have = ", ".join([*(text.partition(" ")[0] for text in shorter), longest])
    pieces = covering(leg.length.si, stock)
    over = sum(piece * count for piece, count in pieces) - leg.length.si
    spare = f", {show(over, Quantity.LENGTH, system)} to spare" if over > _STEP * leg.length.si else ""
    beside = f" for each of the {leg.abreast}" if leg.abreast > 1 else ""
    return f"Comes in {have} lengths. This takes {pieces_text(pieces, system)}{beside}{spare}."


def _make(leg: Leg, catalogue: Catalogue) -> str:
    hose = catalogue.hoses.get(leg.hose or "")
    return hose.label.partition(",")[0] if hose is not None else "hose"
