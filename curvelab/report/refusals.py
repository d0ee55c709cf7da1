"""What a control says under its row when it refuses: how far it goes in the units shown, or what to write."""

from __future__ import annotations

from curvelab.errors import InputError, UnitError, UnknownNameError
from curvelab.model.amount import Count, Kind, Number
from curvelab.model.fields import Field, field_of, range_of
from curvelab.model.setup import Setup
from curvelab.studies.say import at_least, at_most, capital
from curvelab.units import parse, plain


def refusal(error: InputError, path: str, value: object, setup: Setup) -> str:
    """One sentence or two; of several faults the first, which is the one to mend.

    Parameters
    ----------
    path : str
        Path of the control.
    value : object
        What was typed or set: text, or a number in the unit shown.
    """
    try:
        field, _ = field_of(path)
    except UnknownNameError:
        field = None
    if field is not None and (limits := _limits(field, value, setup)):
        return f"{capital(field.label)} goes from {limits[0]} to {limits[1]}."
    fault = error.faults[0]
    return "; ".join(part for part in (capital(fault.got), fault.right) if part).rstrip(".") + "."


def _limits(field: Field, value: object, setup: Setup) -> tuple[str, str] | None:
    """Both ends of a field that the value lies beyond, in the units shown; ``None`` where that isn't what is wrong."""
    leaf, si = field.leaf, _si(field, value, setup)
    if si is None or not isinstance(leaf, (Kind, Number, Count)) or leaf.low <= si <= leaf.high:
        return None
    if isinstance(leaf, Kind):
        return at_least(leaf.low, leaf.quantity, setup.units), at_most(leaf.high, leaf.quantity, setup.units)
    if "%" in field.page:
        return f"{plain(100.0 * leaf.low)} %", f"{plain(100.0 * leaf.high)} %"
    return plain(leaf.low), plain(leaf.high)


def _si(field: Field, value: object, setup: Setup) -> float | None:
    text = str(value).strip().removesuffix("%").replace(",", "").replace("−", "-")
    try:
        number = float(text)
    except ValueError:
        try:
            return parse(text, field.quantity) if field.quantity is not None else None
        except UnitError:
            return None
    return range_of(field, setup.units).si(number) if field.page else number
