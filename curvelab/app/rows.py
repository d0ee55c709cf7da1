"""Rows of the setup column: what a control is, before a browser makes it one.

A row has a kind, the path of what it sets, and a label. A row that opens others holds them as ``rows``; one with a
button that opens others holds that as ``more``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any, Final

from curvelab.model.fields import field_of, range_of
from curvelab.model.setup import Setup
from curvelab.units import Quantity, display_unit, plain, show

Row = dict[str, Any]
STILL: Final = ("note", "buttons", "adder")
"""Kinds of rows that show no value of the setup."""


def row(kind: str, path: str, label: str, **more: Any) -> Row:
    """Any row."""
    return {"kind": kind, "path": path, "label": label, **more}


def number(setup: Setup, path: str, label: str) -> Row:
    """A box for a number without a slider."""
    field, places = field_of(path)
    quantity = field.quantity
    symbol = display_unit(quantity, setup.units, field.si(setup, *places)).symbol if quantity is not None else ""
    return row("number", path, label, symbol=symbol)


def slider(setup: Setup, path: str, label: str, **more: Any) -> Row:
    """A slider with its box, widened where the setup's value lies outside."""
    field, places = field_of(path)
    shown = range_of(field, setup.units, field.si(setup, *places))
    span = shown.span
    steps = [list(step) for step in span.steps]
    return row("slider", path, label, low=span.low, steps=steps, symbol=shown.symbol, **more)


def figure(setup: Setup, path: str) -> tuple[float, str]:
    """Number of a slider or a box in the unit shown, and how it is printed: as stated where three figures hold it."""
    field, places = field_of(path)
    si, quantity = field.si(setup, *places) or 0.0, field.quantity
    if quantity is None:
        number = range_of(field, setup.units).number(si) if field.page else si
        return number, plain(round(number, 1)) if field.page else plain(si)
    unit = display_unit(quantity, setup.units, None if field.page else si)
    number = range_of(field, setup.units).number(si) if field.page else si
    stated = float(f"{unit.from_si(si):.3g}")
    if quantity not in (Quantity.BORE, Quantity.TIME) and math.isclose(stated, unit.from_si(si), rel_tol=1e-9):
        return number, plain(stated)
    return number, plain(unit.round(number)) if field.page else show(si, quantity, setup.units, unit=False)


def sizes(setup: Setup, path: str, texts: Sequence[tuple[str, float]], **more: Any) -> Row:
    """Sizes side by side, each as its text in the file and its metres."""
    unit = display_unit(Quantity.BORE, setup.units).symbol
    shown = [(text, show(si, Quantity.BORE, setup.units, unit=False)) for text, si in texts]
    options = [(text, words, f"{words} {unit}") for text, words in shown]
    return row("choice", path, "Hose size", options=options, symbol=unit, shape="sizes", **more)


def flat(structure: Sequence[dict[str, Any]]) -> Iterator[Row]:
    """Every row of the column, those within others too."""
    for group in structure:
        yield from _within(group["rows"])


def _within(rows: Sequence[Row]) -> Iterator[Row]:
    for one in rows:
        yield one
        if "more" in one:
            yield from _within([one["more"]])
        yield from _within(one.get("rows", ()))
