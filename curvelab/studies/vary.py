"""What does a longer hose do? One field of a setup swept through its values, everything else held."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics.plan import Plan
from curvelab.model.amount import Count, Kind, Number
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.fields import Field, field_of
from curvelab.model.planning import faults_of_setup, plan_of
from curvelab.model.setup import Setup
from curvelab.studies.batch import REFUSED, Batch
from curvelab.studies.columns import Columns
from curvelab.units import Quantity, parse, show, write

FORMAT: Final = "curvelab-columns/1"

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Variation:
    """A sweep. ``columns`` has one row a value; where a file would not be allowed it the state is ``refused``."""

    field: str
    values: tuple[float | str, ...]
    """SI, or text for a choice of words."""
    columns: Columns
    sentence: str
    label: str = ""
    """What sets this one apart among several."""
    curves: tuple[Variation, ...] = ()
    """One sweep for each value of a second field."""

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        out: dict[str, Any] = {"format": FORMAT, "field": self.field, "values": list(self.values)}
        if self.label:
            out["label"] = self.label
        if self.curves:
            out["curves"] = [curve.to_dict() for curve in self.curves]
        else:
            out |= self.columns.to_dict()
        return {**out, "sentence": self.sentence}


def vary(
    setup: Setup,
    field: str,
    values: Sequence[float | str] | Floats,
    *,
    for_each: Mapping[str, Sequence[str]] | None = None,
    catalogue: Catalogue | None = None,
) -> Variation:
    """Every number of a solve for each value of one field.

    Parameters
    ----------
    setup : Setup
        What else holds.
    field : str
        Path of the field, such as ``discharge.leg.0.length``.
    values : sequence
        SI numbers, or text as a file would have it ("50 ft").
    for_each : mapping of one path to texts, optional
        A second field and its values: one sweep for each, in ``curves``.

    Returns
    -------
    Variation
        One row a value. With ``for_each`` the columns are those of the setup as it is.

    Raises
    ------
    InputError
        If there is no such field, or a text is no value for it.
    """
    known = catalogue or default_catalogue()
    one, places = field_of(field)
    numbers = tuple(_si(one, value) for value in values)
    plain = _sweep(setup, one, places, numbers, known)
    if not for_each:
        return plain
    curves: list[Variation] = []
    for other, texts in for_each.items():
        second, second_places = field_of(other)
        for text in texts:
            label = _label(second, text, setup)
            curve = _sweep(second_set(setup, second, second_places, text), one, places, numbers, known)
            curves.append(replace(curve, label=label))
    return replace(plain, curves=tuple(curves), sentence=_sentence_for(curves))


def second_set(setup: Setup, field: Field, places: tuple[int, ...], text: str) -> Setup:
    """The setup with a field set from text."""
    return setup.with_(field.at(*places), text)


def spread(field: str, low: str, high: str, count: int) -> tuple[float, ...]:
    """Evenly spaced SI values between two texts, ends included. ``count`` from 2 to 20 000."""
    one, _ = field_of(field)
    start, end = _si(one, low), _si(one, high)
    if isinstance(start, str) or isinstance(end, str):
        raise InputError(Fault("", field, "holds words", "only a field with numbers can be swept"))
    return tuple(np.linspace(start, end, count).tolist())


def planned(
    setup: Setup, field: Field, places: tuple[int, ...], values: Sequence[float | str], catalogue: Catalogue
) -> tuple[Plan, NDArray[np.bool_]]:
    """A Plan with a row for each value that a setup may have, and which of the values those are, shape (values,).

    A field that is a column of the Plan is overridden there; any other goes through the setup.
    """
    plan = plan_of([setup], catalogue, checked=False)
    good = np.ones(len(values), dtype=np.bool_)
    if field.column:
        for at, value in enumerate(values):
            good[at] = _allowed(field, value)
        numbers = np.array([v for v, ok in zip(values, good, strict=True) if ok], dtype=np.float64)
        return with_column(plan.repeat(numbers.size), field.column, places, numbers), good
    setups: list[Setup] = []
    for at, value in enumerate(values):
        try:
            text = (
                value if isinstance(value, str) or field.quantity is None else write(value, field.quantity, setup.units)
            )
            variant = setup.with_(field.at(*places), text)
        except InputError:
            good[at] = False
            continue
        good[at] = next(faults_of_setup(variant, catalogue), None) is None
        if good[at]:
            setups.append(variant)
    return (plan_of(setups, catalogue, checked=False) if setups else plan.take(np.empty(0, dtype=np.int64))), good


def _allowed(field: Field, value: float | str) -> bool:
    """Whether a file may hold this SI value in the field."""
    leaf = field.leaf
    if not isinstance(leaf, (Kind, Number, Count)) or isinstance(value, str):
        return False
    return leaf.low < value <= leaf.high or (value == leaf.low and not getattr(leaf, "above", False))


def with_column(plan: Plan, column: str, places: tuple[int, ...], values: Floats) -> Plan:
    """The plan with one column set: ``lift_m``, or ``discharge.length_m`` at a place along its second axis."""
    table, _, name = column.rpartition(".")
    if not table:
        return plan.with_(**{name: values})
    part = getattr(plan, table)
    cells = getattr(part, name).copy()
    cells[:, places[0]] = values
    return plan.with_(**{table: part.with_(**{name: cells})})


def _sweep(
    setup: Setup, field: Field, places: tuple[int, ...], values: tuple[float | str, ...], catalogue: Catalogue
) -> Variation:
    plan, good = planned(setup, field, places, values, catalogue)
    columns = spread_rows(Batch.of(plan).columns if plan.rows else None, good)
    path = field.at(*places)
    return Variation(field=path, values=values, columns=columns, sentence=_sentence(setup, field, values, columns))


def spread_rows(columns: Columns | None, good: NDArray[np.bool_]) -> Columns:
    """Columns with a refused row wherever ``good`` is False."""
    from dataclasses import fields

    out: dict[str, Any] = {}
    for f in fields(Columns):
        state = f.name == "state"
        full = np.full(good.size, REFUSED if state else np.nan, dtype=np.array(REFUSED).dtype if state else np.float64)
        if columns is not None:
            cells = getattr(columns, f.name)
            full = full.astype(np.result_type(full.dtype, cells.dtype))
            full[good] = cells
        out[f.name] = full
    return Columns(**out)


def _si(field: Field, value: float | str) -> float | str:
    if not isinstance(value, str):
        return float(value)
    if field.quantity is not None:
        return parse(value, field.quantity)
    try:
        return float(value)
    except ValueError:
        return value


def _label(field: Field, text: str, setup: Setup) -> str:
    if field.quantity is None:
        return text
    return show(parse(text, field.quantity), field.quantity, setup.units)


def _sentence(setup: Setup, field: Field, values: Sequence[float | str], columns: Columns) -> str:
    runs = [(v, q) for v, q in zip(values, columns.flow_m3_s.tolist(), strict=True) if not math.isnan(q)]
    if len(runs) < 2:
        return "Nothing in this range has an answer." if not runs else "One value in this range has an answer."
    (first, most), (last, least) = runs[0], runs[-1]

    def say(value: float | str) -> str:
        if isinstance(value, str) or field.quantity is None:
            return str(value)
        return show(value, field.quantity, setup.units)

    flow = (show(q, Quantity.FLOW, setup.units) for q in (most, least))
    return f"{next(flow)} at {field.label} {say(first)}, {next(flow)} at {say(last)}."


def _sentence_for(curves: Sequence[Variation]) -> str:
    return " ".join(f"{curve.label}: {curve.sentence}" for curve in curves)
