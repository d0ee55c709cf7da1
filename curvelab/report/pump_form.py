"""The words of a new pump's form: its fields in groups, and what is said beside each while it is filled in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, get_args

from curvelab.errors import Fault
from curvelab.model.pump import Housing, PumpKind
from curvelab.model.pumpform import AMOUNTS, BOX, MEASURED, Draft, Form
from curvelab.model.typed import symbol_beside
from curvelab.report.fleet import kind_words
from curvelab.units import Quantity, System

Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """A field of the form: its path, its label, the unit beside it, and what can be chosen where it is a choice."""

    path: str
    label: str
    unit: str = ""
    choices: Choices = ()


@dataclass(frozen=True, slots=True)
class Said:
    """What stands beside a field. ``tone``: ``needed``, ``wrong``, or ``without`` for what its being empty loses."""

    tone: str
    text: str


_KINDS: Final[Choices] = tuple((kind, kind_words(kind)) for kind in get_args(PumpKind))
_HOUSINGS: Final[Choices] = tuple((housing, housing) for housing in get_args(Housing))
_FUELS: Final[Choices] = (("petrol", "petrol"), ("diesel", "diesel"))
_GROUPS: Final[tuple[tuple[str, tuple[tuple[str, str, Choices], ...]], ...]] = (
    ("What it is", (("name", "Name", ()), ("kind", "Kind", _KINDS), ("speed", "Speed of the curve", ()))),
    (
        "Ports and limits",
        (
            ("inlet", "Inlet", ()),
            ("outlet", "Outlet", ()),
            ("solids", "Largest solids", ()),
            ("priming_lift", "Draws water up, at sea level", ()),
            ("mass", "Weight", ()),
            ("casing_pressure", "Casing stands", ()),
        ),
    ),
    ("Engine", (("engine.power", "Rated power", ()), ("engine.fuel", "Fuel", _FUELS), ("engine.tank", "Tank", ()))),
    (
        "Made of",
        (("housing", "Housing", _HOUSINGS), ("seal", "Seal", ()), ("body_volume", "Water in the body", ())),
    ),
)
_NEEDED: Final[dict[str, str]] = {
    "name": "Write what the yard calls it.",
    "kind": "Choose what kind it is.",
    "speed": "Write the speed that the curve was taken at.",
    "greatest_head": "Write the greatest head on the box.",
    "greatest_flow": "Write the greatest flow on the box.",
    "tables.head": "Two columns: flow and head. Paste them, or type a line a point.",
    "source": "Say where the numbers are from, or tick that they are an estimate.",
    "traced": "No curve is traced yet.",
}
"""Beside what must be filled in and isn't."""
_WITHOUT: Final[dict[str, str]] = {
    "inlet": "Left out: the step from hose to port isn’t counted.",
    "outlet": "Left out: the step from port to hose isn’t counted.",
    "solids": "Left out: nobody is told when larger things are in the water.",
    "priming_lift": "Left out: nobody is told when it stands too high to prime.",
    "mass": "Left out: what people carry can’t be added up.",
    "casing_pressure": "Left out: the casing isn’t held against the pressure with the end shut.",
    "engine.power": "Left out: nobody is told when the engine is too small.",
    "engine.fuel": "",
    "engine.tank": "Left out: refuels can’t be counted.",
    "tables.npshr": "Left out: where the suction gives out is drawn as a guess.",
}
"""Beside what may stay empty."""


def groups(system: System) -> list[tuple[str, list[Field]]]:
    """The fields of every pump, group by group."""
    return [(name, [_field(row, system) for row in rows]) for name, rows in _GROUPS]


def _field(row: tuple[str, str, Choices], system: System) -> Field:
    path, label, choices = row
    return Field(path=path, label=label, unit=_unit(path, AMOUNTS, system), choices=choices)


def box_fields(system: System) -> list[Field]:
    """The two figures on a box."""
    labels = {"greatest_head": "Greatest head on the box", "greatest_flow": "Greatest flow on the box"}
    return [Field(path=path, label=labels[path], unit=_unit(path, BOX, system)) for path in BOX]


def measured_fields(system: System) -> list[Field]:
    """The figures of a point that somebody measured."""
    labels = {
        "flow": "Flow",
        "head": "Head",
        "pressure": "or pressure at the outlet",
        "vacuum": "and vacuum at the inlet",
    }
    return [Field(path=path, label=labels[path], unit=_unit(path, MEASURED, system)) for path in MEASURED]


def units_beside(system: System) -> dict[str, str]:
    """The unit beside every field, by the name that it has in the form."""
    fields = [field for _, group in groups(system) for field in group] + box_fields(system)
    return {
        **{field.path: field.unit for field in fields},
        **{f"measured.{field.path}": field.unit for field in measured_fields(system)},
    }


def table_units(system: System) -> str:
    """What a pasted table's bare numbers are taken for."""
    flow, head = symbol_beside(Quantity.FLOW, system), symbol_beside(Quantity.HEAD, system)
    return f"Without units over them the columns are {flow} and {head}."


def beside(form: Form, draft: Draft) -> dict[str, Said]:
    """What stands beside each field of a form, and under the empty name what belongs to none."""
    said = {path: Said("without", words) for path, words in _WITHOUT.items() if words and _is_empty(form, path)}
    for fault in reversed(draft.faults):  # of several beside one field the first stands
        path = fault.field if _is_field(fault.field) else ""
        words = _NEEDED.get(path) if fault.got == "is missing" or (path and _is_empty(form, path)) else None
        said[path] = Said("needed", words) if words else Said("wrong", fault_words(fault, path))
    return said


def fault_words(fault: Fault, path: str = "") -> str:
    """A fault as a sentence; its own path stands first where it isn't shown beside its field."""
    place = "" if path else fault.field
    return ": ".join(part for part in (place, "; ".join(p for p in (fault.got, fault.right) if p)) if part)


def unsure(draft: Draft) -> Iterator[str]:
    """What a careful person would add."""
    yield from draft.notes
    if draft.sketch is not None and draft.sketch.head.low:
        below, above = draft.sketch.head.doubt or (0.0, 0.0)
        least, most = f"−{round(-100.0 * below)} %", f"+{round(100.0 * above)} %"
        yield f"An estimate: nine times in ten the true head lies within {least} to {most} over the middle flows."


def _is_field(path: str) -> bool:
    known = path in AMOUNTS or path in BOX or path in _NEEDED or path in _WITHOUT or path.startswith("tables.")
    return known or path in ("engine.fuel", "housing", "seal") or path.startswith("measured.")


def _is_empty(form: Form, path: str) -> bool:
    if path.startswith("tables."):
        return not form.tables.get(path.removeprefix("tables."), "").strip()
    if path == "traced":
        return True
    return not {**form.fields, **form.box}.get(path, "").strip()


def _unit(path: str, quantities: dict[str, Quantity], system: System) -> str:
    return symbol_beside(quantities[path], system) if path in quantities else ""
