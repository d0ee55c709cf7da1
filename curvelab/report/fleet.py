"""The yard's pumps in words: a row each for the table, a sentence each for the pictures, everything about one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from curvelab.model.amount import Amount
from curvelab.model.catalogue import Catalogue
from curvelab.model.curvetables import npshr_columns
from curvelab.model.pump import Pump, ReturnTest
from curvelab.model.typed import symbol_beside
from curvelab.report.money import money
from curvelab.units import Quantity, System, display_unit, show

COLUMNS: Final[tuple[tuple[str, str, Quantity | None], ...]] = (
    ("name", "Pump", None),
    ("kind", "Kind", None),
    ("inlet", "Inlet", Quantity.BORE),
    ("outlet", "Outlet", Quantity.BORE),
    ("head", "Greatest head", Quantity.HEAD),
    ("flow", "Flow at the curve’s end", Quantity.FLOW),
    ("solids", "Solids", Quantity.BORE),
    ("mass", "Weight", Quantity.MASS),
    ("draws", "Draws up", Quantity.LENGTH),
    ("price", "A day", None),
)
"""Columns of the table: key, head, and the quantity of its figures."""
UNKNOWN: Final = "not stated"


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure as it is printed, and the number that it is sorted and filtered by: SI, ``None`` where not stated."""

    text: str
    si: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A pump of the table."""

    key: str
    name: str
    kind: str
    ports: tuple[str, ...]
    cells: Mapping[str, Cell]
    sentence: str
    """Its curve in words."""
    now: bool
    """Of the present setup."""


def row_of(key: str, pump: Pump, catalogue: Catalogue, system: System, *, now: bool) -> Row:
    """The pump's row; its figures without units, which stand over the columns."""
    head, flow = pump.head.values_si, pump.head.flow_m3_s
    price = catalogue.price(pump.id)
    per_day = None if price is None else price.day
    cells = {
        "name": Cell(pump.label, None),
        "kind": Cell(kind_words(pump.kind), None),
        "inlet": _cell(pump.inlet, system),
        "outlet": _cell(pump.outlet, system),
        "head": Cell(show(float(head.max()), Quantity.HEAD, system, unit=False), float(head.max())),
        "flow": Cell(show(float(flow[-1]), Quantity.FLOW, system, unit=False), float(flow[-1])),
        "solids": _cell(pump.solids, system),
        "mass": _cell(pump.mass, system),
        "draws": _cell(pump.priming_lift, system),
        "price": Cell("", None) if price is None or per_day is None else Cell(money(per_day, price.currency), per_day),
    }
    ports = dict.fromkeys(_text(port, system) for port in (pump.inlet, pump.outlet) if port is not None)
    return Row(
        key=key,
        name=pump.label,
        kind=kind_words(pump.kind),
        ports=tuple(ports),
        cells=cells,
        sentence=curve_sentence(pump, system),
        now=now,
    )


def heads(system: System) -> list[tuple[str, str, str]]:
    """Key, words and unit of every column; the kind of gallon stands with the flow."""
    return [(key, words, symbol_beside(quantity, system) if quantity else "") for key, words, quantity in COLUMNS]


def kind_words(kind: str) -> str:
    """``clear-water`` as people say it."""
    return kind.replace("-", " ")


def curve_sentence(pump: Pump, system: System) -> str:
    """What the curve says, for somebody who doesn't see the picture."""
    flow, head = pump.head.flow_m3_s, pump.head.values_si
    first = "with no flow" if flow[0] == 0.0 else f"at {show(float(flow[0]), Quantity.FLOW, system)}"
    start = show(float(head[0]), Quantity.HEAD, system)
    end = f"{show(float(head[-1]), Quantity.HEAD, system)} at {show(float(flow[-1]), Quantity.FLOW, system)}"
    estimate = " An estimate." if pump.estimate else ""
    return f"{start} {first}, {end}, where its curve ends.{estimate}{_suction_sentence(pump, system)}"


def facts(pump: Pump, catalogue: Catalogue, system: System) -> Iterator[tuple[str, str]]:
    """Everything else that the pump's file says: term and words."""
    yield "Kind", kind_words(pump.kind)
    ports = [_text(port, system) if port else UNKNOWN for port in (pump.inlet, pump.outlet)]
    yield "Inlet, outlet", ", ".join(ports)
    yield "Largest solids", _text(pump.solids, system)
    yield "Speed of the curve", _text(pump.speed, system)
    yield "Draws water up", _text(pump.priming_lift, system) + (" at sea level" if pump.priming_lift else "")
    yield "Weight", _text(pump.mass, system)
    yield "Engine", _engine(pump, system)
    made = [words for words in (pump.housing, pump.seal and f"seal {pump.seal}") if words]
    yield "Made of", ", ".join(made) or UNKNOWN
    yield "Casing stands", _text(pump.casing_pressure, system)
    names = catalogue.liquids
    for term, ids in (("May carry", pump.carries), ("Never", pump.never)):
        if ids:
            yield term, ", ".join(names[name].label if name in names else name for name in ids)
    yield "Source", pump.source or "estimate"


def points_table(pump: Pump, system: System) -> tuple[tuple[str, str, str], list[tuple[str, str, str]]]:
    """The head curve as printed: column heads (the last one empty but for a band), and a row a point."""
    head = display_unit(Quantity.HEAD, system).symbol
    columns = (
        f"Flow, {symbol_beside(Quantity.FLOW, system)}",
        f"Head, {head}",
        "nine times in ten" if pump.head.low else "",
    )
    low, high = pump.head.low_m.tolist(), pump.head.high_m.tolist()
    rows: list[tuple[str, str, str]] = []
    for place, (at, value) in enumerate(zip(pump.head.flow_m3_s.tolist(), pump.head.values_si.tolist(), strict=True)):
        edges = [show(edge[place], Quantity.HEAD, system, unit=False) for edge in (low, high) if edge]
        printed = (show(at, Quantity.FLOW, system, unit=False), show(value, Quantity.HEAD, system, unit=False))
        rows.append((*printed, " to ".join(edges)))
    return columns, rows


def read_words(test: ReturnTest, system: System) -> str:
    """A test as it was read: ``2026-04-11, shut-off: 33 psi at 3580 rpm``."""
    read = {
        "shut-off": [test.pressure],
        "vacuum": [test.vacuum],
        "drum": [test.volume, test.time, test.pressure],
    }[test.kind]
    parts = [_text(amount, system) for amount in read if amount is not None]
    if test.kind != "vacuum" and test.vacuum is not None:
        parts.append(f"vacuum {_text(test.vacuum, system)}")
    speed = f" at {_text(test.speed, system)}" if test.speed is not None else ""
    by = f", by {test.by}" if test.by else ""
    return f"{test.date.isoformat()}, {test.kind}: {', '.join(parts)}{speed}{by}"


def _engine(pump: Pump, system: System) -> str:
    engine = pump.engine
    if engine is None:
        return UNKNOWN
    tank = f", tank {_text(engine.tank, system)}" if engine.tank is not None else ""
    return f"{_text(engine.power, system)}{f', {engine.fuel}' if engine.fuel else ''}{tank}"


def _suction_sentence(pump: Pump, system: System) -> str:
    flow, npshr = npshr_columns(pump)
    if not flow.size:
        return " Its sheet has no suction figure."
    needs, at = (
        show(float(value), quantity, system)
        for value, quantity in ((npshr[-1], Quantity.HEAD), (flow[-1], Quantity.FLOW))
    )
    return f" At {at} it needs {needs} at its inlet."


def _cell(amount: Amount | None, system: System) -> Cell:
    return Cell("", None) if amount is None else Cell(_text(amount, system, unit=False), amount.si)


def _text(amount: Amount | None, system: System, *, unit: bool = True) -> str:
    return UNKNOWN if amount is None else show(amount.si, amount.quantity, system, unit=unit)
