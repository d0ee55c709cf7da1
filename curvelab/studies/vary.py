"""What does a longer hose do? One field of a setup swept through its values, everything else held."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics.plan import Plan
from curvelab.model.amount import Count, Kind, Number
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.fields import Field, field_of, value_at
from curvelab.model.planning import faults_of_setup, plan_of
from curvelab.model.setup import Setup
from curvelab.studies.batch import REFUSED, Batch
from curvelab.studies.columns import Columns
from curvelab.studies.say import LONGEST, flow_text, three_figures
from curvelab.units import Quantity, display_unit, parse, show, write

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
    swept = _sweep(setup, one, places, numbers, known)
    if not for_each:
        return swept
    curves: list[Variation] = []
    for other, texts in for_each.items():
        second, second_places = field_of(other)
        for text in texts:
            variant = setup.with_(second.at(*second_places), text)
            if next(faults_of_setup(variant, known), None) is None:
                curve = _sweep(variant, one, places, numbers, known)
            else:  # the catalogue has nothing of the kind, as a size that a fitting doesn't come in
                nothing = spread_rows(None, np.zeros(len(numbers), dtype=np.bool_))
                curve = replace(swept, columns=nothing, sentence=_sentence(setup, one, numbers, nothing))
            curves.append(replace(curve, label=said(second, _si(second, text), setup)))
    return replace(swept, curves=tuple(curves), sentence=_sentence_for(setup, one, curves))


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

    Raises
    ------
    InputError
        If the setup has no such place, or can't have the field whatever its value: the bore of a catalogue's hose.
    """
    _present(setup, field, places)
    if _is_column(setup, field, places):
        return _overridden(setup, field, places, values, catalogue)
    good = np.ones(len(values), dtype=np.bool_)
    setups: list[Setup] = []
    errors: list[InputError] = []
    for at, value in enumerate(values):
        try:
            variant = setup.with_(field.at(*places), written(field, value, setup))
        except InputError as error:
            errors.append(error)
            good[at] = False
            continue
        good[at] = next(faults_of_setup(variant, catalogue), None) is None
        if good[at]:
            setups.append(variant)
    if errors and len(errors) == len(values) and field.get(setup, *places) is None:
        raise errors[0]
    nothing = plan_of([setup], catalogue, checked=False).take(np.empty(0, dtype=np.int64))
    return (plan_of(setups, catalogue, checked=False) if setups else nothing), good


def _present(setup: Setup, field: Field, places: tuple[int, ...]) -> None:
    """Raise where a place of the path does not exist."""
    parts = field.at(*places).split(".")
    for end, part in enumerate(parts):
        if part.isdecimal() and value_at(setup, ".".join(parts[: end + 1])) is None:
            items = ".".join(parts[:end])
            count = len(value_at(setup, items) or ())
            right = f"places go from 0 to {count - 1}" if count else "this setup has none"
            raise InputError(Fault("", ".".join(parts), f"there is no {items}.{part}", right))


def _is_column(setup: Setup, field: Field, places: tuple[int, ...]) -> bool:
    """Whether overriding the Plan's column says all: the bore of a hose with fittings sets their loss too."""
    if not field.column or field.get(setup, *places) is None:
        return False
    leg = value_at(setup, field.at(*places).rpartition(".")[0])
    return not (field.path.endswith(".bore") and leg.fittings)


def _overridden(
    setup: Setup, field: Field, places: tuple[int, ...], values: Sequence[float | str], catalogue: Catalogue
) -> tuple[Plan, NDArray[np.bool_]]:
    plan = plan_of([setup], catalogue, checked=False)
    good = np.array([_allowed(field, value) for value in values], dtype=np.bool_)
    numbers = np.array([v for v, ok in zip(values, good, strict=True) if ok], dtype=np.float64)
    if field.path.endswith(".leg.*.k"):  # the Plan's column holds the fittings too
        side, at = field.path.partition(".")[0], places[0]
        numbers = numbers + float(getattr(plan, side).k[0, at]) - float(field.get(setup, *places))
    return with_column(plan.repeat(numbers.size), field.column, places, numbers), good


def written(field: Field, value: float | str, setup: Setup) -> float | str:
    """An SI value as a file would hold it."""
    if isinstance(value, str):
        return value
    if field.quantity is not None:
        return write(value, field.quantity, setup.units)
    return int(value) if isinstance(field.leaf, Count) and float(value).is_integer() else value


def _allowed(field: Field, value: float | str) -> bool:
    """Whether a file may hold this SI value in the field."""
    leaf = field.leaf
    if not isinstance(leaf, (Kind, Number, Count)) or isinstance(value, str):
        return False
    if isinstance(leaf, Count) and not float(value).is_integer():
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
    return float(field.leaf.typed(value)) if isinstance(field.leaf, (Number, Count)) else value


def said(field: Field, value: float | str, setup: Setup) -> str:
    """A value of the field as people read it."""
    if isinstance(value, str):
        return value
    if field.quantity is not None:
        return show(value, field.quantity, setup.units)
    return show(value, Quantity.SHARE, setup.units) if "%" in field.page else three_figures(value)


def _runs(values: Sequence[float | str], columns: Columns) -> list[tuple[float | str, float]]:
    """Values that have an answer, each with its flow."""
    return [(v, q) for v, q in zip(values, columns.flow_m3_s.tolist(), strict=True) if not math.isnan(q)]


def _sentence(setup: Setup, field: Field, values: Sequence[float | str], columns: Columns) -> str:
    runs = _runs(values, columns)
    if len(runs) < 2:
        return "Nothing in this range has an answer." if not runs else "One value in this range has an answer."
    (first, most), (last, least) = runs[0], runs[-1]
    start, end = (flow_text(q, setup.units) for q in (most, least))
    return f"{start} at {field.label} {said(field, first, setup)}, {end} at {said(field, last, setup)}."


def _sentence_for(setup: Setup, field: Field, curves: Sequence[Variation]) -> str:
    """Each curve's flows at its two ends, the unit once; the outer curves alone where there are too many to say."""
    unit = display_unit(Quantity.FLOW, setup.units)
    parts: list[str] = []
    answered: list[float | str] = []
    for curve in curves:
        runs = _runs(curve.values, curve.columns)
        answered += [value for value, _ in runs]
        ends = [_bare(q, setup) for _, q in (runs[:1] + runs[-1:])]
        parts.append(f"{curve.label} {' to '.join(dict.fromkeys(ends)) or 'none'}")
    answers = [value for value in curves[0].values if value in answered]
    if not answers:
        return "Nothing in this range has an answer."
    first, last = said(field, answers[0], setup), said(field, answers[-1], setup)
    lead = f"From {field.label} {first} to {last}"
    text = f"{lead}, in {unit.symbol}: {'; '.join(parts)}."
    return text if len(text) <= LONGEST else f"{lead}, in {unit.symbol}: {parts[0]}; … {parts[-1]}."


def _bare(flow: float, setup: Setup) -> str:
    """A flow without its unit, unless that is another than the column's."""
    own, column = (display_unit(Quantity.FLOW, setup.units, value) for value in (flow, None))
    return show(flow, Quantity.FLOW, setup.units, unit=own != column)
