"""A yard's lists out to a spreadsheet and in again: the whole list or nothing, nobody's edit overwritten unseen."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, cast

from curvelab.errors import Fault, InputError, UnknownNameError
from curvelab.model.catalogue import demo_catalogue
from curvelab.model.fitting import Fitting
from curvelab.model.hose import Hose
from curvelab.model.listsheets import TABLES, Listed, kind_of, listed, sheet_of
from curvelab.model.price import Price
from curvelab.model.pump import Pump
from curvelab.model.reading import parse_table
from curvelab.model.section import Section
from curvelab.model.sheet import Sheet, read_sheet
from curvelab.model.shelf import Shelf
from curvelab.model.writing import unwritable, write_whole
from curvelab.model.written import item_toml
from curvelab.model.yard import LISTS, Stored, amend, list_place, read_file

_INHERITED: Final = ("currency", "source", "estimate")


@dataclass(frozen=True, slots=True)
class Taken:
    """What reading a sheet in did to a list."""

    kind: str
    path: Path
    new: tuple[str, ...]
    changed: tuple[str, ...]
    gone: tuple[str, ...]
    same: int


@dataclass(frozen=True, slots=True)
class Seen:
    """What a sheet would do to a list."""

    taken: Taken
    before: Mapping[str, Section]
    after: Mapping[str, Section]
    """Records by key, as the list has them and as the sheet does."""
    stale: str
    """Why the sheet is not of the list as it stands now, in words; empty where it is."""
    head: Mapping[str, object]
    found: Listed


def write_out(folder: str | Path, kind: str, target: str | Path, *, commas: bool = False) -> int:
    """Write a yard's own hoses or prices to a CSV file; how many rows.

    Prices come with a row for everything of the yard's own that has none yet.

    Parameters
    ----------
    folder : path
        The yard.
    kind : str
        ``hoses`` or ``prices``.
    target : path
        The sheet; one that is there is overwritten.
    commas : bool
        Semicolons between cells and decimal commas, as some countries' spreadsheets want.

    Raises
    ------
    UnknownNameError
        If no list of that kind goes out.
    InputError
        If the list has faults, or the sheet can't be written.
    """
    text = out_text(folder, kind, commas=commas)
    try:
        write_whole(Path(target), text)
    except OSError as error:
        raise unwritable(Path(target), error) from None
    return text.count("\r\n") - 1


def out_text(folder: str | Path, kind: str, *, commas: bool = False) -> str:
    """What ``write_out`` writes, with the mark at its start by which a spreadsheet knows UTF-8."""
    if kind not in TABLES:
        raise UnknownNameError.among("list", kind, TABLES)
    path = list_place(folder, kind)
    own, now = _own(Path(folder), path), read_file(path)
    records = list(own.of(TABLES[kind][1]).values())
    also = list(_unpriced(own)) if kind == "prices" else []
    return "\ufeff" + sheet_of(kind, records, mark=now.mark if now else "", also=also, commas=commas)


def read_in(folder: str | Path, source: str | Path, *, over: bool = False) -> Taken:
    """Take a yard's hoses or prices from a CSV file: the sheet is the whole list. The list before is kept.

    Remarks between the records of the list are lost, those at its top stay.

    Parameters
    ----------
    folder : path
        The yard.
    source : path
        The sheet; its columns say whether it has hoses or prices.
    over : bool
        Also where the list has changed since the sheet was made, or nobody can tell.

    Raises
    ------
    InputError
        With every fault of the sheet, its line and column; or where the list has changed meanwhile. Nothing is written.
    """
    return take_in(folder, read_sheet(Path(source), where=str(source)), where=str(source), over=over)


def take_in(folder: str | Path, sheet: Sheet, *, where: str, over: bool = False) -> Taken:
    """As ``read_in``, from a sheet that was read already; ``where`` is its name in messages."""
    root = Path(folder)
    kind = kind_of(sheet, where=where)
    path = list_place(root, kind)
    done: list[Taken] = []

    def replaced(now: Stored | None) -> str:
        seen = _seen(root, path, sheet, now, where=where)
        done.append(seen.taken)
        if now and not (seen.taken.new or seen.taken.changed or seen.taken.gone):
            return now.text
        if seen.stale and not over:
            right = "write the list out anew, or say --over"
            raise InputError(Fault(where, "", f"{path.name} {seen.stale}", right))
        return _text(now.text if now else "", seen.head, seen.found)

    amend(root, path, LISTS[kind], replaced)
    return done[-1]


def look_at(folder: str | Path, sheet: Sheet, *, where: str) -> Seen:
    """What taking a sheet in would do; nothing is written. Errors as ``read_in``, but for a list that has changed."""
    root = Path(folder)
    path = list_place(root, kind_of(sheet, where=where))
    return _seen(root, path, sheet, read_file(path), where=where)


def _seen(root: Path, path: Path, sheet: Sheet, now: Stored | None, *, where: str) -> Seen:
    kind = kind_of(sheet, where=where)
    own = _own(root, path)
    items = {**demo_catalogue().pumps, **demo_catalogue().hoses, **demo_catalogue().fittings, **_items(own)}
    table = parse_table(now.text, where=str(path)) if now else {}
    head = {name: table[name] for name in _INHERITED if name in table}
    found = listed(sheet, where=where, inherited=_for(kind, head), items=items)
    before, after = _records(table, kind), {_key(record): record for record in found.records}
    taken = _compared(kind, path, before, after)
    stale = ""
    if before and now and found.mark != now.mark:
        stale = "has changed since this sheet was made" if found.mark else "is there, and this sheet doesn't know it"
    return Seen(taken, before, after, stale, head, found)


def _own(root: Path, path: Path) -> Shelf:
    """What a yard has of its own; ``InputError`` where the list itself has faults, for then it isn't written over."""
    shelf = Shelf()
    shelf.add(root)
    faults = [fault for fault in shelf.faults if fault.where in (str(path), str(root))]
    if faults:
        raise InputError(faults)
    return shelf


def _items(shelf: Shelf) -> dict[str, Section]:
    return {**shelf.of(Pump), **shelf.of(Hose), **shelf.of(Fitting)}


def _unpriced(own: Shelf) -> Iterator[dict[str, str]]:
    priced = own.of(Price)
    for item, record in _items(own).items():
        if not isinstance(record, Hose):
            if item not in priced:
                yield {"item": item, "per": "each"}
            continue
        for size in record.size:
            if Price.key_of(item, size.size.si) not in priced and item not in priced:
                yield {"item": item, "size": size.size.text, "per": "length"}


def _for(kind: str, head: Mapping[str, object]) -> dict[str, object]:
    """What a record has from the top of its file."""
    return {name: value for name, value in head.items() if name in TABLES[kind][1].model_fields}


def _records(table: Mapping[str, Any], kind: str) -> dict[str, Section]:
    name, record = TABLES[kind]
    head = _for(kind, {key: table[key] for key in _INHERITED if key in table})
    items = cast("list[dict[str, Any]]", table.get(name, []))
    return {_key(made): made for made in (record.model_validate({**head, **item}) for item in items)}


def _key(record: Section) -> str:
    return record.key if isinstance(record, Price) else str(getattr(record, "id", ""))


def _compared(kind: str, path: Path, before: Mapping[str, Section], after: Mapping[str, Section]) -> Taken:
    kept = [key for key in after if key in before]
    changed = tuple(key for key in kept if after[key] != before[key])
    return Taken(
        kind=kind,
        path=path,
        new=tuple(key for key in after if key not in before),
        changed=changed,
        gone=tuple(key for key in before if key not in after),
        same=len(kept) - len(changed),
    )


def _text(old: str, head: Mapping[str, object], found: Listed) -> str:
    """The list's file: the top of the one before, or a new one, and every record."""
    name = TABLES[found.kind][0]
    first = re.search(rf"^[ \t]*\[\[[ \t]*{name}[ \t]*\]\]", old, re.MULTILINE)
    top = old[: first.start()] if first else old
    if not old or (not first and parse_table(old).get(name)):  # nothing, or a list written in one line
        top = f'format = "{LISTS[found.kind]}"\n' + "".join(
            f"{key} = {json.dumps(value, ensure_ascii=False)}\n" for key, value in head.items()
        )
    records = "".join(f"\n{item_toml(record, name, head)}" for record in found.records)
    return top.replace("\r\n", "\n").rstrip("\n") + "\n" + records
