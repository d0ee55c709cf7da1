"""A pump from a form: what was typed, field by field, and its curve from a trace, a box, a table, or as it stands."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Self, cast

from curvelab.errors import Fault, InputError
from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.pasted import points_from_text
from curvelab.model.points import EfficiencyPoints, HeadPoints, NpshrPoints, Points, PowerPoints
from curvelab.model.pump import FORMAT, Pump
from curvelab.model.typed import moved, unit_beside, with_unit
from curvelab.units import Quantity, System

AMOUNTS: Final[dict[str, Quantity]] = {
    "inlet": Quantity.BORE,
    "outlet": Quantity.BORE,
    "solids": Quantity.BORE,
    "speed": Quantity.ROTATION,
    "priming_lift": Quantity.LENGTH,
    "mass": Quantity.MASS,
    "casing_pressure": Quantity.PRESSURE,
    "body_volume": Quantity.VOLUME,
    "engine.power": Quantity.POWER,
    "engine.tank": Quantity.FUEL,
}
"""Fields with a unit, by their path in the pump's file."""
WORDS: Final = ("name", "kind", "housing", "seal", "engine.fuel")
"""Fields of plain words."""
_ENGINE: Final = ("engine.power", "engine.fuel", "engine.tank")
BOX: Final[dict[str, Quantity]] = {"greatest_head": Quantity.HEAD, "greatest_flow": Quantity.FLOW}
MEASURED: Final[dict[str, Quantity]] = {
    "flow": Quantity.FLOW,
    "head": Quantity.HEAD,
    "pressure": Quantity.PRESSURE,
    "vacuum": Quantity.VACUUM,
}
"""Fields of a point that somebody measured."""
TABLES: Final[dict[str, type[Points]]] = {
    "head": HeadPoints,
    "npshr": NpshrPoints,
    "efficiency": EfficiencyPoints,
    "power": PowerPoints,
}
"""Tables that may be pasted, by their name in the pump's file."""
MOST_MEASURED: Final = 8
"""Most measured points that the form takes. [-]"""
_CURVES: Final = (*TABLES, "suction_test")
_STAND_INS: Final = {"format": FORMAT, "id": "pump", "kind": "trash", "speed": "3600 rpm"}
_STAND_IN_HEAD: Final = {"flow": "m3/s", "head": "m", "points": [[0.0, 2.0], [1.0, 1.0]]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form as it is filled in. Texts are as typed; a bare number is in the units of ``system``."""

    system: System
    way: str
    """``trace``, ``box``, ``table`` or ``kept``."""
    fields: Mapping[str, str] = field(default_factory=dict[str, str])
    """By path: ``AMOUNTS`` and ``WORDS``, and ``source``."""
    estimate: bool = False
    liquids: Mapping[str, str] = field(default_factory=dict[str, str])
    """``carries`` or ``never`` by the id of a liquid."""
    box: Mapping[str, str] = field(default_factory=dict[str, str])
    measured: tuple[Mapping[str, str], ...] = ()
    tables: Mapping[str, str] = field(default_factory=dict[str, str])
    """Pasted text by ``TABLES``, its bare numbers in the units of ``tables_system``."""
    tables_system: System = System.US
    traced: Mapping[str, Any] = field(default_factory=dict[str, Any])
    """``source`` and ``tables`` of a trace."""

    @classmethod
    def read(cls, asked: Mapping[str, object]) -> Form:
        """From what a browser sent; whatever is not of its kind is left out."""
        measured = asked.get("measured")
        rows = cast("list[object]", measured)[:MOST_MEASURED] if isinstance(measured, list) else []
        return cls(
            system=_system(asked.get("units")),
            way=str(asked.get("way", "")),
            fields=_texts(asked.get("fields"), (*AMOUNTS, *WORDS, "source")),
            estimate=asked.get("estimate") is True,
            liquids=_texts(asked.get("liquids")),
            box=_texts(asked.get("box"), BOX),
            measured=tuple(row for row in (_texts(row, MEASURED) for row in rows) if any(row.values())),
            tables=_texts(asked.get("tables"), TABLES),
            tables_system=_system(asked.get("tables_units", asked.get("units"))),
            traced=_as_table(asked.get("traced")),
        )

    def moved_to(self, system: System) -> dict[str, Any]:
        """The form's texts in other units, as ``read`` takes them: bare numbers become the same amounts."""

        def texts(given: Mapping[str, str], quantities: Mapping[str, Quantity]) -> dict[str, str]:
            return {
                name: moved(text, quantities[name], self.system, system) if name in quantities else text
                for name, text in given.items()
            }

        return {
            "units": str(system),
            "fields": texts(self.fields, AMOUNTS),
            "box": texts(self.box, BOX),
            "measured": [texts(row, MEASURED) for row in self.measured],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What comes of a form: a pump, or what is wrong field by field; and what a careful person would add."""

    pump: Pump | None
    sketch: Pump | None
    """The pump, or one with the curve as far as it is known and stand-ins for what is missing: only for a picture."""
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()
    measured: tuple[tuple[float, float], ...] = ()
    """Points that an estimate rests on. [m³/s], [m]"""


@dataclass(frozen=True, slots=True)
class _Curve:
    """The curve's part of a pump's file."""

    table: Mapping[str, Any]
    notes: tuple[str, ...] = ()
    measured: tuple[tuple[float, float], ...] = ()


def drafted(form: Form, base: Mapping[str, Any] | None = None) -> Draft:
    """The pump that a form describes; never raises for what somebody typed.

    Parameters
    ----------
    base : mapping, optional
        The file of the pump that is being changed: what the form has no field for stays as it is there.
    """
    faults: list[Fault] = []
    table = _filled(form, dict(base or {}), faults)
    rest = {name: value for name, value in table.items() if name not in (*_CURVES, "source", "estimate")}
    faults += _faults_of({**rest, "head": _STAND_IN_HEAD, "source": "a form"}, {fault.field for fault in faults})
    wrong = {fault.field.partition(".")[0] for fault in faults}
    good = {name: value for name, value in rest.items() if name not in wrong}
    try:
        curve = _WAYS.get(form.way, _from_nowhere)(form, {**_STAND_INS, **good}, table)
    except InputError as error:
        return Draft(pump=None, sketch=None, faults=(*faults, *error.faults))
    if not (curve.table.get("source") or curve.table.get("estimate")):
        faults.append(Fault("", "source", "is missing", "say where these numbers are from, or call them an estimate"))
    named = {} if curve.table.get("source") else {"source": None if curve.table.get("estimate") else "a form"}
    try:
        sketch = Pump.model_validate({**_STAND_INS, **good, **curve.table, **named})
    except InputError as error:
        return Draft(pump=None, sketch=None, faults=(*faults, *error.faults))
    pump = None if faults else sketch
    return Draft(pump=pump, sketch=sketch, faults=tuple(faults), notes=curve.notes, measured=curve.measured)


def _faults_of(table: Mapping[str, Any], told: set[str]) -> list[Fault]:
    """What is wrong in the fields, whatever the curve is; not those that were told already."""
    try:
        Pump.model_validate(table)
    except InputError as error:
        return [fault for fault in error.faults if fault.field not in told]
    return []


def id_of(name: str) -> str:
    """The id, and the name of the file, that a pump of that name gets: small letters, digits and single hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-")


def typed_of(pump: Pump) -> dict[str, str]:
    """The fields of a pump's form as they stand in its file."""
    found: dict[str, str] = {}
    for path in (*AMOUNTS, *WORDS, "source"):
        value: Any = pump
        for part in path.split("."):
            value = None if value is None else getattr(value, part)
        found[path] = "" if value is None else str(value)
    return found


def _filled(form: Form, table: dict[str, Any], faults: list[Fault]) -> dict[str, Any]:
    """The pump's file with what was typed in its fields; an empty field takes out what stood there."""
    name = form.fields.get("name", "").strip()
    if not name:
        faults.append(Fault("", "name", "is missing", "write what the yard calls it"))
    table |= {"format": FORMAT, "id": table.get("id") or id_of(name) or "pump"}
    for path in (*AMOUNTS, *WORDS):
        text = form.fields.get(path, "").strip()
        try:
            value = with_unit(text, AMOUNTS[path], form.system) if path in AMOUNTS else text
        except InputError as error:
            faults += error.at(field=path).faults
            continue
        _put(table, path, value)
    if not any(form.fields.get(path, "").strip() for path in _ENGINE):
        table.pop("engine", None)  # what else the file says of it means nothing without its power
    if form.liquids:
        for side in ("carries", "never"):
            table[side] = [liquid for liquid, said in form.liquids.items() if said == side]
    return table


def _put(table: dict[str, Any], path: str, value: str) -> None:
    top, _, rest = path.partition(".")
    owner: dict[str, Any] = table
    if rest:
        owner = dict(cast("Mapping[str, Any]", table.get(top) or {}))
        if owner or value:
            table[top] = owner
    name = rest or top
    owner.pop(name, None)
    if value:
        owner[name] = value
    elif rest and not owner:
        table.pop(top, None)


def _from_box(form: Form, good: Mapping[str, Any], _table: Mapping[str, Any]) -> _Curve:
    """Two figures and whatever was measured: an estimate with its band."""
    given: dict[str, Any] = {"kind": good["kind"]}
    rows: list[dict[str, str]] = []
    with _Collector() as collected:
        for name, text in form.box.items():
            if text.strip():
                collected.put(given, name, _reader(text, BOX[name], form.system))
        for place, row in enumerate(form.measured):
            rows.append({})
            for name, text in row.items():
                if text.strip():
                    read = _reader(text, MEASURED[name], form.system)
                    collected.put(rows[-1], name, read, at=f"measured.{place}.{name}")
    box = BoxSheet.model_validate({**given, "measured": rows})
    pump = pump_from_box({"id": "pump", "speed": good["speed"]}, box, system=form.system)
    table = {"head": pump.head, "source": pump.source, "estimate": True}
    measured = tuple((point.flow.si, point.head_m) for point in box.measured)
    return _Curve(table, box.contradictions(form.system), measured)


def _from_tables(form: Form, _good: Mapping[str, Any], _table: Mapping[str, Any]) -> _Curve:
    """Pasted tables; ``source`` says where they are from."""
    found: dict[str, Any] = {}
    with _Collector() as collected:
        for name in TABLES:
            if form.tables.get(name, "").strip() or name == "head":
                collected.put(found, name, _pasted(form, name), within=f"tables.{name}")
    return _Curve({**found, **_sourced(form)})


def _pasted(form: Form, name: str) -> Callable[[], Points]:
    of, text = TABLES[name], form.tables.get(name, "")
    told = of.QUANTITY in (Quantity.SHARE, Quantity.POWER)  # %, fraction, kW, hp: what is meant nobody can tell
    value = "" if told else unit_beside(of.QUANTITY, form.tables_system)
    flow = unit_beside(Quantity.FLOW, form.tables_system)
    return lambda: points_from_text(text, of, flow_unit=flow, value_unit=value)


def _from_trace(form: Form, _good: Mapping[str, Any], _table: Mapping[str, Any]) -> _Curve:
    """Traced points, with the source that the tracer gives them."""
    tables = _as_table(form.traced.get("tables"))
    if "head" not in tables:
        raise InputError(Fault("", "traced", "no curve is traced yet", "open a picture and click its curve"))
    notes = form.traced.get("notes")
    said = tuple(str(note) for note in cast("list[object]", notes)[:20]) if isinstance(notes, list) else ()
    source = form.fields.get("source", "").strip() or str(form.traced.get("source") or "")
    return _Curve({**{name: tables[name] for name in TABLES if name in tables}, "source": source}, said)


def _from_kept(form: Form, _good: Mapping[str, Any], table: Mapping[str, Any]) -> _Curve:
    """The curve of the pump that is being changed, as it stands."""
    if "head" not in table:
        raise InputError(Fault("", "way", "this pump has no curve yet", "choose where the curve is from"))
    return _Curve({**{name: table[name] for name in _CURVES if name in table}, **_sourced(form)})


def _from_nowhere(_form: Form, _good: Mapping[str, Any], _table: Mapping[str, Any]) -> _Curve:
    raise InputError(Fault("", "way", "is missing", "choose where the curve is from"))


_WAYS: Final[dict[str, Callable[[Form, Mapping[str, Any], Mapping[str, Any]], _Curve]]] = {
    "trace": _from_trace,
    "box": _from_box,
    "table": _from_tables,
    "kept": _from_kept,
}


def _sourced(form: Form) -> dict[str, object]:
    source = form.fields.get("source", "").strip()
    return {"source": source or None, "estimate": form.estimate}


class _Collector:
    """Puts values into tables and keeps what can't be read, so that every fault is told at once."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def put(self, table: dict[str, Any], name: str, read: Callable[[], Any], *, at: str = "", within: str = "") -> None:
        """The value under its name; its faults under ``at``, or below ``within``."""
        try:
            table[name] = read()
        except InputError as error:
            if within:
                self.faults += (Fault("", within, _lined(fault), fault.right) for fault in error.faults)
            else:
                self.faults += error.at(field=at or name).faults

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        if kind is None and self.faults:
            raise InputError(self.faults)


def _reader(text: str, quantity: Quantity, system: System) -> Callable[[], str]:
    return lambda: with_unit(text, quantity, system)


def _lined(fault: Fault) -> str:
    return f"{fault.field}: {fault.got}" if fault.field else fault.got


def _texts(value: object, names: Iterable[str] | None = None) -> dict[str, str]:
    table = _as_table(value)
    kept = table if names is None else {name: table[name] for name in names if name in table}
    return {name: text for name, text in kept.items() if isinstance(text, str)}


def _as_table(value: object) -> dict[str, Any]:
    return {str(name): v for name, v in cast("dict[object, Any]", value).items()} if isinstance(value, dict) else {}


def _system(value: object) -> System:
    return System(value) if isinstance(value, str) and value in set(System) else System.US
