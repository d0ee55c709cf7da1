"""A yard's hoses and prices as spreadsheets, and back: every fault with its line and column."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, cast

from curvelab.errors import Fault, InputError, UnitError, echo, near
from curvelab.model.amount import Amount, shown, wrong
from curvelab.model.hose import Derate, Hose
from curvelab.model.price import Price
from curvelab.model.section import Section
from curvelab.model.sheet import Row, Sheet, plain, with_points, write_sheet
from curvelab.units import Quantity, parse

MARK: Final = "version"
"""Head of the column that says which version of the yard's file a sheet was made from."""

_PRICES: Final = ("item", "size", "per", "day", "week", "currency", "source", "estimate")
_OF_HOSE: Final = ("id", "name", "use", "rigid", "roughness", "roughness_spread", "derate", "source", "estimate")
_OF_SIZE: Final = {
    "size": "size",
    "bore": "bore",
    "charged_bore": "charged_bore",
    "bore_spread": "bore_spread",
    "working_pressure": "working_pressure",
    "vacuum": "vacuum",
    "mass": "mass",
    "lengths": "lengths",
    "size_source": "source",
    "size_estimate": "estimate",
}
"""Columns of a size of a hose, and the field of each."""
COLUMNS: Final = {"prices": _PRICES, "hoses": (*_OF_HOSE, *_OF_SIZE)}
TABLES: Final[dict[str, tuple[str, type[Section]]]] = {"prices": ("price", Price), "hoses": ("hose", Hose)}
"""Name of a record's table in the yard's file, and what the record is."""

_TEXTS: Final = ("id", "item", "name", "use", "per", "currency", "source", "size_source")
_NUMBERS: Final = ("day", "week", "roughness_spread")
_FLAGS: Final = {"yes": True, "true": True, "no": False, "false": False}
_FLAGGED: Final = ("rigid", "estimate", "size_estimate")
_HEAD: Final = re.compile(r"(?P<name>[^\[(]*?)\s*(?:[\[(](?P<unit>[^\])]+)[\])])?")
_BARE: Final = re.compile(r"[+\-−]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")


@dataclass(frozen=True, slots=True)
class Listed:
    """The records of a sheet."""

    kind: str
    """``prices`` or ``hoses``."""
    records: tuple[Section, ...]
    mark: str
    """Of the file that the sheet was made from; empty where it doesn't say."""


def sheet_of(
    kind: str,
    records: Sequence[Section],
    *,
    mark: str = "",
    also: Sequence[Mapping[str, str]] = (),
    commas: bool = False,
) -> str:
    """Records as CSV text, with further rows to fill in. ``commas``: semicolons between cells and decimal commas."""
    rows = [*(row for record in records for row in _rows_of(record)), *also]
    columns = COLUMNS[kind]
    texts = [[_cell(name, row.get(name), commas=commas) for name in columns] for row in rows]
    head = (*columns, f"{MARK} {mark}") if mark else columns
    return write_sheet(head, texts, commas=commas)


def listed(sheet: Sheet, *, where: str, inherited: Mapping[str, object], items: Mapping[str, object]) -> Listed:
    """The records that a sheet holds.

    Parameters
    ----------
    sheet : Sheet
        A head line with names of columns, units in brackets where the cells have none, then a row a price, or a row a
        size of a hose. Columns may stand in any order and be left out.
    where : str
        Its name in messages.
    inherited : mapping
        ``source``, ``currency`` and the like where a row has none.
    items : mapping
        What may have a price, by id.

    Raises
    ------
    InputError
        With every fault, each with its line and column.
    """
    kind = kind_of(sheet, where=where)
    columns, mark = _columns(sheet.rows[0], where)
    faults: list[Fault] = []
    rows = [_read(row, columns, where, faults, commas=sheet.delimiter == ";") for row in sheet.rows[1:]]
    if faults:
        raise InputError(faults)
    made = _prices(rows, where, inherited, items) if kind == "prices" else _hoses(rows, where, inherited)
    records: list[Section] = []
    for found in made:
        if isinstance(found, Fault):
            faults.append(found)
        else:
            records.append(found)
    if faults:
        raise InputError(faults)
    return Listed(kind, tuple(records), mark)


def kind_of(sheet: Sheet, *, where: str) -> str:
    """``prices`` or ``hoses``, by the columns; ``InputError`` where they are neither's, or there is nothing below."""
    if len(sheet.rows) < 2:
        right = f"a head line such as {', '.join(_PRICES[:5])}, then a row each"
        raise InputError(Fault(where, "", "has no rows", right))
    names = _columns(sheet.rows[0], where)[0].names
    if "item" in names:
        return "prices"
    missing = [name for name in ("id", "size", "bore") if name not in names]
    if missing:
        right = "prices have a column item; hoses have id, size and bore"
        raise InputError(Fault(_at(where, sheet.rows[0].line), name, "has no column", right) for name in missing)
    return "hoses"


@dataclass(frozen=True, slots=True)
class _Columns:
    names: tuple[str, ...]
    """In the order of the sheet; empty for one to be left alone."""
    units: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Given:
    """A row's cells that have something in them, read as values of a file."""

    line: int
    values: dict[str, Any] = field(default_factory=dict[str, Any])


def _at(where: str, line: int) -> str:
    return f"{where}: line {line}"


def _columns(head: Row, where: str) -> tuple[_Columns, str]:
    known = tuple(dict.fromkeys(name for columns in COLUMNS.values() for name in columns))
    names: list[str] = []
    units: list[str] = []
    mark, faults = "", list[Fault]()
    for cell in head.cells:
        if cell.split(" ")[0] == MARK:
            mark = cell.partition(" ")[2]
            names.append("")
            units.append("")
            continue
        found = _HEAD.fullmatch(cell)
        name = re.sub(r"[\s-]+", "_", (found["name"] if found else cell).strip().casefold())
        if name and (name not in known or name in names):
            close = near(name, known)
            got = "stands twice" if name in names else "is no column known here"
            right = f'did you mean "{close}"?' if close and name not in names else f"known: {', '.join(known)}"
            faults.append(Fault(_at(where, head.line), echo(cell), got, right))
        names.append(name)
        units.append((found["unit"] if found else "") or "")
    if faults:
        raise InputError(faults)
    return _Columns(tuple(names), tuple(units)), mark


def _read(row: Row, columns: _Columns, where: str, faults: list[Fault], *, commas: bool) -> _Given:
    given = _Given(row.line)
    if len(row.cells) > len(columns.names) and any(row.cells[len(columns.names) :]):
        got = f"{len(row.cells)} cells under {len(columns.names)} columns"
        faults.append(Fault(_at(where, row.line), "", got, "a cell with the mark between cells in it stands in quotes"))
    for name, unit, cell in zip(columns.names, columns.units, row.cells, strict=False):
        if not name or not cell:
            continue
        try:
            given.values[name] = _value(name, plain(cell), unit, commas=commas)
        except InputError as error:
            faults += error.at(where=_at(where, row.line), field=name).faults
    return given


def _value(name: str, cell: str, unit: str, *, commas: bool) -> Any:
    if name in _TEXTS:
        return cell
    if name in _FLAGGED:
        if cell.casefold() not in _FLAGS:
            raise wrong(shown(cell), "write yes or no")
        return _FLAGS[cell.casefold()]
    text = with_points(cell, commas=commas)
    if name in _NUMBERS:
        bare = "".join(c for c in text if unicodedata.category(c) != "Sc").strip()
        if _BARE.fullmatch(bare) is None:
            raise wrong(f'"{echo(cell)}" is no plain number', "write digits, such as 9.50")
        return float(bare.replace("−", "-"))
    if name == "lengths":
        return [_with_unit(part, unit) for part in text.split(";") if part.strip()]
    if name == "derate":
        return [_derate(part) for part in text.split(";") if part.strip()]
    return _with_unit(text, unit)


def _with_unit(text: str, unit: str) -> str:
    text = text.strip()
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def _derate(text: str) -> dict[str, object]:
    temperature, _, share = text.strip().rpartition(" ")
    if _BARE.fullmatch(share) is None:
        raise wrong(
            f'"{echo(text.strip())}" is no temperature with a share', 'write such as "30 degC 0.9; 50 degC 0.5"'
        )
    return {"temperature": temperature, "share": float(share)}


def _prices(
    rows: Sequence[_Given], where: str, inherited: Mapping[str, object], items: Mapping[str, object]
) -> Iterator[Price | Fault]:
    lines: dict[str, int] = {}
    for row in rows:
        if not {"day", "week"} & set(row.values):
            continue  # an item without a price yet
        at = _at(where, row.line)
        try:
            price = Price.model_validate({**inherited, **row.values})
        except InputError as error:
            yield from error.at(where=at).faults
            continue
        if price.item not in items:
            close = near(price.item, items)
            right = f'did you mean "{close}"?' if close else "write the id of a pump, hose or fitting"
            yield Fault(at, "item", f'nothing is called "{echo(price.item)}"', right)
        elif price.key in lines:
            yield Fault(at, "item", f"stands in line {lines[price.key]} too", "give each a size, or take one out")
        else:
            yield price
        lines.setdefault(price.key, row.line)


def _hoses(rows: Sequence[_Given], where: str, inherited: Mapping[str, object]) -> Iterator[Hose | Fault]:
    groups: dict[str, list[_Given]] = {}
    for row in rows:
        groups.setdefault(str(row.values.get("id", "")), []).append(row)
    for group in groups.values():
        faults = list(_unlike(group, where))
        yield from faults
        sizes = sorted(group, key=_size_m)
        top = {name: value for row in reversed(group) for name, value in row.values.items() if name in _OF_HOSE}
        table = [{_OF_SIZE[name]: value for name, value in row.values.items() if name in _OF_SIZE} for row in sizes]
        try:
            hose = Hose.model_validate({**inherited, **top, "size": table})
        except InputError as error:
            for fault in error.faults:
                line, column = _column(fault.field, group, sizes)
                yield Fault(_at(where, line), column, fault.got, fault.right)
            continue
        if not faults:
            yield hose


def _unlike(group: Sequence[_Given], where: str) -> Iterator[Fault]:
    """Cells about the hose that differ between the rows of its sizes."""
    first: dict[str, tuple[int, Any]] = {}
    for row in group:
        for name in _OF_HOSE:
            if name not in row.values:
                continue
            line, value = first.setdefault(name, (row.line, row.values[name]))
            if value != row.values[name]:
                yield Fault(_at(where, row.line), name, f"differs from line {line}", "one hose has one of these")


def _size_m(row: _Given) -> float:
    try:
        return parse(row.values.get("size"), Quantity.BORE)
    except UnitError:
        return 0.0  # refused with its own fault


def _column(path: str, group: Sequence[_Given], sizes: Sequence[_Given]) -> tuple[int, str]:
    """Line and column of a field of a hose."""
    name, _, rest = path.partition(".")
    place, _, inner = rest.partition(".")
    if name == "size" and place.isdecimal():
        of_size = inner.partition(".")[0]
        column = next((column for column, of in _OF_SIZE.items() if of == of_size), "size")
        return sizes[int(place)].line, column
    line = next((row.line for row in group if name in row.values), group[0].line)
    return line, name


def _rows_of(record: Section) -> Iterator[dict[str, Any]]:
    if not isinstance(record, Hose):
        yield {name: _stated(record, name) for name in _PRICES}
        return
    top = {name: _stated(record, name) for name in _OF_HOSE}
    for size in record.size:
        yield {**top, **{column: _stated(size, of) for column, of in _OF_SIZE.items()}}


def _stated(record: Section, name: str) -> Any:
    """A field's value; ``None`` where nobody wrote it."""
    return getattr(record, name) if name in record.model_fields_set else None


def _cell(name: str, value: Any, *, commas: bool) -> str:
    if value is None or value == ():
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return "; ".join(_cell(name, item, commas=commas) for item in cast("tuple[Any, ...]", value))
    if isinstance(value, Derate):
        text = f"{value.temperature} {value.share!r}"
    else:
        text = value.text if isinstance(value, Amount) else str(value).removesuffix(".0")
    return text.replace(".", ",") if commas and name not in _TEXTS else text
