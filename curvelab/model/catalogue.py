"""The catalogue: what a yard has, read from its data folders, looked up by id."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, TypeVar, cast

from curvelab.errors import Fault, InputError, near
from curvelab.model import files
from curvelab.model.amount import shown
from curvelab.model.caution import Caution
from curvelab.model.fitting import Fitting
from curvelab.model.hose import Hose
from curvelab.model.liquid import Liquid
from curvelab.model.price import Price
from curvelab.model.pump import FORMAT as PUMP
from curvelab.model.pump import Pump, pump_from
from curvelab.model.reading import read_table
from curvelab.model.section import Section
from curvelab.model.setup import FORMAT as SETUP
from curvelab.model.setup import Setup

YARD: Final = "CURVELAB_YARD"
"""Environment variable that names a yard's own folder."""
MOST_FILES: Final = 2000
"""Most files of a folder. [-]"""

_LISTS: Final[dict[str, tuple[str, type[Section]]]] = {
    "curvelab-hoses/1": ("hose", Hose),
    "curvelab-fittings/1": ("fitting", Fitting),
    "curvelab-liquids/1": ("liquid", Liquid),
    "curvelab-prices/1": ("price", Price),
    "curvelab-cautions/1": ("caution", Caution),
}
"""Files of many records: the name of their table, and what each record is."""
_INHERITED: Final = ("source", "estimate", "currency")
"""Keys at the top of such a file that stand for every record in it."""

S = TypeVar("S", bound=Section)


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """Records by id; make one with ``Catalogue.load``. Nothing in it changes once made."""

    pumps: Mapping[str, Pump]
    hoses: Mapping[str, Hose]
    fittings: Mapping[str, Fitting]
    liquids: Mapping[str, Liquid]
    cautions: Mapping[str, Caution]
    prices: Mapping[str, Price]
    """By ``Price.key``; ask ``price``."""
    setups: Mapping[str, Setup]
    """Ready setups, by the name of their file."""

    @classmethod
    def load(cls, *folders: str | Path) -> Catalogue:
        """The catalogue of one folder or several; a record of a later one stands instead of an earlier one's.

        Any ``*.toml`` in a folder or one folder below is taken for what its ``format`` says.

        Raises
        ------
        InputError
            With every fault of every file.
        """
        shelf = _Shelf()
        for folder in folders:
            shelf.add(Path(folder))
        if not shelf.faults:
            shelf.faults += _loose_ends(shelf)
        if shelf.faults:
            raise InputError(shelf.faults)
        return cls(
            pumps=shelf.of(Pump),
            hoses=shelf.of(Hose),
            fittings=shelf.of(Fitting),
            liquids=shelf.of(Liquid),
            cautions=shelf.of(Caution),
            prices=shelf.of(Price),
            setups=shelf.of(Setup),
        )

    def price(self, item: str, size_m: float | None = None) -> Price | None:
        """Price of an item, in a nominal size [m] where it has sizes; ``None`` where the yard has none."""
        sized = None if size_m is None else self.prices.get(Price.key_of(item, size_m))
        return sized or self.prices.get(item)


def default_catalogue() -> Catalogue:
    """The demonstration's catalogue, with that of the folder which ``CURVELAB_YARD`` names on top; read once."""
    return _loaded(demo_folder(), os.environ.get(YARD, ""))


def demo_catalogue() -> Catalogue:
    """The demonstration's catalogue alone; read once."""
    return _loaded(demo_folder(), "")


@lru_cache(maxsize=4)
def _loaded(demo: Path, yard: str) -> Catalogue:
    return Catalogue.load(demo, *([yard] if yard else []))


def demo_folder() -> Path:
    """Where the demonstration's data are: within the package once installed, beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inner = package / "data"
    return inner if inner.is_dir() else package.parent / "data"


def check_file(path: str | Path) -> list[Fault]:
    """Everything wrong in a data file or a setup, empty where it is good; a setup is held against the catalogue too."""
    where, path = str(path), Path(path)
    try:
        table = read_table(path, where=where)
        tag = files.format_of(table, where)
        if tag == SETUP:
            from curvelab.model.planning import plan_of

            setup = files.setup_from(table, path.parent, where)
            plan_of([setup], default_catalogue())
            return []
        return [fault for _, fault in _records(table, tag, path.parent, where) if isinstance(fault, Fault)]
    except InputError as error:
        return list(error.at(where=where).faults)


class _Shelf:
    """Records as they are read, and what was wrong on the way."""

    def __init__(self) -> None:
        self.records: dict[type[Section], dict[str, Section]] = {}
        self.faults: list[Fault] = []

    def of(self, kind: type[S]) -> Mapping[str, S]:
        return MappingProxyType(cast("dict[str, S]", self.records.get(kind, {})))

    def add(self, folder: Path) -> None:
        """All files of a folder."""
        fresh: dict[tuple[type[Section], str], str] = {}
        try:
            paths = _toml_files(folder)
        except InputError as error:
            self.faults += error.faults
            return
        for path in paths:
            where = str(path)
            try:
                table = read_table(path, where=where)
                found = list(_records(table, files.format_of(table, where), path.parent, where))
            except InputError as error:
                self.faults += error.at(where=where).faults
                continue
            for key, record in found:
                if isinstance(record, Fault):
                    self.faults.append(record)
                    continue
                kind = type(record)
                if (kind, key) in fresh:
                    right = "give each its own"
                    self.faults.append(Fault(where, key, f"stands in {fresh[kind, key]} too", right))
                fresh[kind, key] = where
                self.records.setdefault(kind, {})[key] = record


def _toml_files(folder: Path) -> list[Path]:
    if not folder.is_dir():
        raise InputError(Fault(str(folder), "", "is no folder", "name a folder with pumps/, hoses.toml and the like"))
    paths = sorted(folder.glob("*.toml")) + sorted(folder.glob("*/*.toml"))
    if len(paths) > MOST_FILES:
        raise InputError(Fault(str(folder), "", f"{len(paths)} files", f"a yard has at most {MOST_FILES}"))
    return paths


def _records(table: dict[str, Any], tag: str, folder: Path, where: str) -> Iterator[tuple[str, Section | Fault]]:
    """Every record of a file with its id, or a fault instead."""
    if tag in _LISTS:
        yield from _list_records(table, tag, where)
        return
    one: dict[str, Callable[[], tuple[str, Section]]] = {
        PUMP: lambda: (str(table.get("id")), pump_from(table, where=where)),
        SETUP: lambda: (Path(where).stem, files.setup_from(table, folder, where)),
    }
    if tag in one:
        try:
            yield one[tag]()
        except InputError as error:
            for fault in error.faults:
                yield "", fault


def _list_records(table: dict[str, Any], tag: str, where: str) -> Iterator[tuple[str, Section | Fault]]:
    name, kind = _LISTS[tag]
    for key in table:
        if key not in (name, "format", *_INHERITED):
            close = near(key, (name, *_INHERITED))
            right = f'did you mean "{close}"?' if close else f"write [[{name}]] for each record"
            yield "", Fault(where, key, "unknown key", right)
    items: object = table.get(name, [])
    if not isinstance(items, list):
        yield "", Fault(where, name, shown(items), f"write [[{name}]] for each record")
        return
    inherited = {key: table[key] for key in _INHERITED if key in table and key in kind.model_fields}
    for place, item in enumerate(cast("list[object]", items)):
        given = cast("dict[str, object]", item) if isinstance(item, dict) else {}
        named = given.get("id", given.get("item"))
        label = f"{name}.{named}" if isinstance(named, str) and named else f"{name}.{place}"
        try:
            record = kind.model_validate({**inherited, **given})
        except InputError as error:
            for fault in error.faults:
                yield "", Fault(fault.where or where, f"{label}.{fault.field}", fault.got, fault.right)
            continue
        yield record.key if isinstance(record, Price) else str(named), record


def _loose_ends(shelf: _Shelf) -> Iterator[Fault]:
    """Ids that a record names and no other record has."""
    liquids = shelf.of(Liquid)
    for pump in shelf.of(Pump).values():
        for field, ids in (("carries", pump.carries), ("never", pump.never)):
            for name in ids:
                if liquids and name not in liquids:
                    yield _unknown(f"pump {pump.id}", field, "liquid", name, liquids)
    items = {**shelf.of(Pump), **shelf.of(Hose), **shelf.of(Fitting)}
    for price in shelf.of(Price).values():
        if price.item not in items:
            yield _unknown(f"price of {price.item}", "item", "pump, hose or fitting", price.item, items)


def _unknown(where: str, field: str, kind: str, name: str, options: Mapping[str, object]) -> Fault:
    close = near(name, options)
    right = f'did you mean "{close}"?' if close else f"write the id of a {kind} in the catalogue"
    return Fault(where, field, f'no {kind} is called "{name}"', right)
