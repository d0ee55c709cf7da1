"""A table of a curve as somebody types it, or pastes it from a sheet: two columns of numbers, units over them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, TypeVar

from curvelab.errors import Fault, InputError, echo
from curvelab.model.amount import wrong
from curvelab.model.points import MOST_POINTS, EfficiencyPoints, HeadPoints, NpshrPoints, Points, PowerPoints
from curvelab.model.sheet import has_decimal_commas, with_points
from curvelab.units import Quantity, meant
from curvelab.units.factors import UNITS

LONGEST: Final = 200_000
"""Most characters of a table. [-]"""

P = TypeVar("P", bound=Points)

_NUMBER: Final = re.compile(r"[+\-−]?(?:[0-9]+(?:[.,][0-9]*)*|[.,][0-9]+)(?:[eE][+\-]?[0-9]{1,3})?")
_NAMES: Final[dict[type[Points], str]] = {
    HeadPoints: r"head|tdh|h\b",
    NpshrPoints: r"npsh",
    EfficiencyPoints: r"eff|eta\b|η",
    PowerPoints: r"power|shaft|p\b",
}
_LOOSE: Final = re.compile(r"\s{2,}|\t|[;,]")
_FLOW_NAME: Final = r"flow|capacity|discharge|q\b"
_EXAMPLE: Final = 'two columns under a line such as "flow gpm; head ft"'


@dataclass(frozen=True, slots=True)
class _Line:
    number: int
    text: str


@dataclass(frozen=True, slots=True)
class _Column:
    """What a head cell says of the numbers under it."""

    text: str
    flow_unit: str
    value_unit: str


def points_from_text(text: str, of: type[P] = HeadPoints, *, flow_unit: str = "", value_unit: str = "") -> P:
    """The points in a table of text.

    Parameters
    ----------
    text : str
        A line a point: tabs, semicolons, commas or blanks between the numbers; decimal points or commas. Lines before
        the first number are the head; units there stand over ``flow_unit`` and ``value_unit``. Points may fall or rise.
    of : type
        ``HeadPoints``, ``NpshrPoints``, ``EfficiencyPoints`` or ``PowerPoints``.
    flow_unit, value_unit : str
        Units where the head line has none.

    Raises
    ------
    InputError
        With every fault found; the field is its line, such as ``line 4``.
    """
    if len(text) > LONGEST:
        raise _error(0, f"{len(text)} characters", f"at most {LONGEST}")
    head, body = _parted(text)
    if not body:
        raise _error(0, "has no line that starts with a number", f"write {_EXAMPLE}")
    mark = _mark([line.text for line in body])
    rows = [(line.number, _cut(line.text, mark)) for line in body]
    place = _Place(head[-1].number if head else body[0].number, max(len(cells) for _, cells in rows))
    columns = _columns(head, mark, of)
    flow, value = _chosen(columns, place, of)
    units = [
        _unit(columns, flow, "flow", flow_unit, place),
        _unit(columns, value, of.NAME, value_unit, place),
    ]
    ordered = sorted(_pairs(rows, mark, (flow, value)), key=lambda point: point[1])
    if len(ordered) > MOST_POINTS:
        raise _error(0, f"{len(ordered)} points", f"at most {MOST_POINTS}")
    for (line, pair), (other, again) in pairwise(ordered):
        if pair[0] == again[0]:
            first, second = sorted((line, other))
            raise _error(second, f"flow {pair[0]:g} stands in line {first} too", "write each flow once")
    table = {"flow": units[0], of.NAME: units[1], "points": [list(pair) for _, pair in ordered]}
    try:
        return of.model_validate(table)
    except InputError as error:
        raise InputError(_placed(fault, [line for line, _ in ordered]) for fault in error.faults) from None


@dataclass(frozen=True, slots=True)
class _Place:
    """The head's last line, and how many columns there are."""

    line: int
    width: int


def _parted(text: str) -> tuple[list[_Line], list[_Line]]:
    """Head lines, and lines of numbers; empty ones and those with ``#`` before them are left out."""
    stripped = (_Line(at, raw.strip(" \r\ufeff")) for at, raw in enumerate(text.split("\n"), start=1))
    lines = [line for line in stripped if line.text.strip() and not line.text.startswith("#")]
    first = next((at for at, line in enumerate(lines) if _NUMBER.match(line.text.lstrip("\t"))), len(lines))
    return lines[:first], lines[first:]


def _mark(texts: Sequence[str]) -> str:
    """What stands between cells: tabs, else semicolons, else blanks if that leaves nothing but numbers, else commas."""
    for mark in "\t;":
        if any(mark in text for text in texts):
            return mark
    rows = [_cut(text, " ") for text in texts]
    return " " if all(len(row) > 1 and all(map(_NUMBER.fullmatch, row)) for row in rows) else ","


def _cut(text: str, mark: str) -> list[str]:
    if mark == " ":
        return [cell.strip(",") for cell in text.split()]
    return [cell.strip() for cell in text.split(mark)]


def _columns(head: Sequence[_Line], mark: str, of: type[Points]) -> list[_Column]:
    """What the head says, column by column; names and units may stand in lines of their own."""
    columns: list[_Column] = []
    for line in head:
        cells = [cell.strip() for cell in (line.text.split(mark) if mark in "\t;" else _LOOSE.split(line.text))]
        if len(cells) == 1:
            cells = _after_units(line.text, of)
        for at, cell in enumerate(cells):
            before = columns[at].text if at < len(columns) else ""
            columns[at : at + 1] = [_told(f"{before} {cell}".strip(), line.number, of)]
    return columns


def _after_units(text: str, of: type[Points]) -> list[str]:
    """A head line without marks, cut after each unit in it: ``gpm ft``, ``flow imp gpm head ft``."""
    cells = [""]
    for word in text.split():
        if any(_unit_in(cells[-1], quantity) for quantity in (Quantity.FLOW, of.QUANTITY)):
            cells.append("")
        cells[-1] = f"{cells[-1]} {word}".strip()
    return cells


def _told(cell: str, line: int, of: type[Points]) -> _Column:
    flow, value = _unit_in(cell, Quantity.FLOW), _unit_in(cell, of.QUANTITY)
    other = _unit_in(cell, Quantity.PRESSURE)
    if other and not flow and not value and _is_named(cell, _NAMES[of]):
        raise _error(line, f"{other} is no unit of {of.NAME}", meant(of.QUANTITY))
    return _Column(cell, flow, "" if flow else value)


def _unit_in(cell: str, quantity: Quantity) -> str:
    """The longest unit of a quantity that stands in a cell as a word of its own, as it is spelled here."""
    spelled = " ".join(cell.translate({ord("³"): "3", ord("²"): "2"}).split())
    for flags in (0, re.IGNORECASE):
        for unit in sorted(UNITS[quantity], key=len, reverse=True):
            if re.search(rf"(?<![\w/%]){re.escape(unit)}(?![\w/%])", spelled, flags):
                return unit
    return ""


def _is_named(cell: str, names: str) -> bool:
    return re.search(rf"(?<!\w)(?:{names})", cell, re.IGNORECASE) is not None


def _chosen(columns: Sequence[_Column], place: _Place, of: type[Points]) -> tuple[int, int]:
    """Which columns are flow and value: by name and unit, by name, by unit; of two unnamed ones the first is flow."""
    flow = _best([(_is_named(c.text, _FLOW_NAME), bool(c.flow_unit)) for c in columns])
    value = _best([(_is_named(c.text, _NAMES[of]), bool(c.value_unit)) for c in columns])
    if place.width > 2 and (flow is None or value is None):
        right = f"say over them which is which, or put semicolons between numbers with commas: {_EXAMPLE}"
        raise _error(place.line, f"{place.width} columns", right)
    if flow is None:
        flow = 1 if value == 0 else 0
    if value is None or value == flow:
        value = 1 if flow == 0 else 0
    return flow, value


def _best(told: Sequence[tuple[bool, bool]]) -> int | None:
    return next((told.index(wanted) for wanted in ((True, True), (True, False), (False, True)) if wanted in told), None)


def _unit(columns: Sequence[_Column], at: int, name: str, given: str, place: _Place) -> str:
    column = columns[at] if at < len(columns) else _Column("", "", "")
    unit = (column.flow_unit if name == "flow" else column.value_unit) or given
    if not unit:
        raise _error(place.line, f"no unit stands over the column of {name}", f"write {_EXAMPLE}")
    return unit


def _pairs(
    rows: Sequence[tuple[int, list[str]]], mark: str, at: tuple[int, int]
) -> list[tuple[int, tuple[float, float]]]:
    """Line and numbers of every point; a line of several columns whose value is left empty is none."""
    commas = mark == ";" or (mark != "," and has_decimal_commas(cell for _, cells in rows for cell in cells))
    faults: list[Fault] = []
    found: list[tuple[int, tuple[float, float]]] = []
    for line, cells in rows:
        try:
            flow, value = (_number(cells, place, commas=commas) for place in at)
        except InputError as error:
            faults += error.at(field=f"line {line}").faults
            continue
        if flow is not None and value is not None:
            found.append((line, (flow, value)))
    if faults:
        raise InputError(faults)
    return found


def _number(cells: Sequence[str], place: int, *, commas: bool) -> float | None:
    cell = cells[place] if place < len(cells) else ""
    if not cell and len(cells) > 2:
        return None
    if _NUMBER.fullmatch(cell) is None:
        got = f'"{echo(cell)}" is no plain number' if cell else "has one number only"
        raise wrong(got, "write a flow and a value in digits; units stand in the head line")
    return float(with_points(cell, commas=commas).replace("−", "-"))


def _placed(fault: Fault, lines: Sequence[int]) -> Fault:
    """A fault of a point under the line that the point was read from."""
    name, _, place = fault.field.partition(".")
    known = name == "points" and place.isdecimal() and int(place) < len(lines)
    return Fault(fault.where, f"line {lines[int(place)]}" if known else fault.field, fault.got, fault.right)


def _error(line: int, got: str, right: str) -> InputError:
    return wrong(got, right, f"line {line}" if line else "")
