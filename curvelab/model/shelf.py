"""Records as they are read from the files of a folder, each with its place, and everything wrong on the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple, TypeVar, cast

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
from curvelab.model.reading import parse_table, read_table
from curvelab.model.section import Section
from curvelab.model.setup import FORMAT as SETUP

MOST_FILES: Final = 2000
"""Most files of a folder. [-]"""
EARLIER: Final = "earlier"
"""Folder, in each folder of a yard, that keeps what a save replaced; nothing in it is read."""
WITHDRAWN: Final = "withdrawn"
"""Folder of a yard for pumps that were taken out of its list; nothing in it is read with the others."""

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


def toml_files(folder: Path) -> list[Path]:
    """The files of a folder that is laid out as a yard: in it and one folder below.

    Left out are hidden files, what saves replaced, and what was withdrawn.

    Raises
    ------
    InputError
        If there is no such folder, or it has more than ``MOST_FILES``.
    """
    if not folder.is_dir():
        right = "name a folder with pumps/, hoses.toml and the like; curvelab yard DIR makes one"
        raise InputError(Fault(str(folder), "", "is no folder", right))
    found = [*sorted(folder.glob("*.toml")), *sorted(folder.glob("*/*.toml"))]
    aside = (EARLIER, WITHDRAWN)
    paths = [p for p in found if not (p.name.startswith(".") or _hidden(p.parent, folder) or p.parent.name in aside)]
    if len(paths) > MOST_FILES:
        raise InputError(Fault(str(folder), "", f"{len(paths)} files", f"a yard has at most {MOST_FILES}"))
    return paths


def _hidden(inner: Path, folder: Path) -> bool:
    return inner != folder and inner.name.startswith(".")


class Told(NamedTuple):
    """A fault, and the path in its file that it is about."""

    fault: Fault
    at: tuple[str, ...] = ()
    twice: bool = False
    """Two records have one id: no fault of the file by itself."""


class Entry(NamedTuple):
    """A record of a file with its id, or what is wrong with it."""

    key: str
    record: Section | None
    at: tuple[str, ...]
    told: tuple[Told, ...] = ()


class Shelf:
    """Records as they are read, and what was wrong on the way."""

    def __init__(self) -> None:
        self.records: dict[type[Section], dict[str, Section]] = {}
        self.told: list[Told] = []
        self.unread = False
        """A file couldn't be read at all: nobody knows what it has."""
        self._broken: set[str] = set()
        self._from: dict[tuple[type[Section], str], tuple[str, tuple[str, ...]]] = {}

    @classmethod
    def over(cls, records: Mapping[type[Section], Mapping[str, Section]]) -> Shelf:
        """A shelf that has these records already, good as they are."""
        shelf = cls()
        shelf.records = {kind: dict(of_kind) for kind, of_kind in records.items()}
        return shelf

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What was wrong, without the places."""
        return tuple(told.fault for told in self.told)

    def of(self, kind: type[S]) -> Mapping[str, S]:
        """Records of a kind by id."""
        return MappingProxyType(cast("dict[str, S]", self.records.get(kind, {})))

    def add(self, folder: Path, drafts: Mapping[Path, str] = MappingProxyType({})) -> None:
        """All files of a folder, with ``drafts`` in the place of what stands there."""
        fresh: dict[tuple[type[Section], str], str] = {}
        try:
            paths = toml_files(folder)
        except InputError as error:
            self.told += map(Told, error.faults)
            return
        for path in sorted({*paths, *drafts}):
            where = str(path)
            try:
                table = parse_table(drafts[path], where=where) if path in drafts else read_table(path, where=where)
                found = list(entries_of(table, files.format_of(table, where), path.parent, where))
            except InputError as error:
                self.told += map(Told, error.at(where=where).faults)
                self.unread = True
                continue
            for entry in found:
                self._put(entry, where, fresh)

    def _put(self, entry: Entry, where: str, fresh: dict[tuple[type[Section], str], str]) -> None:
        self.told += entry.told
        if entry.record is None:
            self._broken.add(entry.key)
            return
        kind, key = type(entry.record), entry.key
        if (kind, key) in fresh:
            fault = Fault(where, key, f"stands in {fresh[kind, key]} too", "give each its own")
            self.told.append(Told(fault, entry.at, twice=True))
        fresh[kind, key] = where
        self._from[kind, key] = where, entry.at
        self.records.setdefault(kind, {})[key] = entry.record

    def loose_ends(self) -> Iterator[Told]:
        """Ids that a record names and no other record has, good or not."""
        liquids = self.of(Liquid)
        for pump in self.of(Pump).values():
            for field, ids in (("carries", pump.carries), ("never", pump.never)):
                for place, name in enumerate(ids):
                    if liquids and name not in liquids and name not in self._broken:
                        yield self._unknown(pump, pump.id, f"{field}.{place}", ("liquid", name, liquids))
        items = {**self.of(Pump), **self.of(Hose), **self.of(Fitting)}
        for key, price in self.of(Price).items():
            if price.item not in items and price.item not in self._broken:
                yield self._unknown(price, key, "item", ("pump, hose or fitting", price.item, items))

    def _unknown(self, record: Section, key: str, field: str, wanted: tuple[str, str, Mapping[str, object]]) -> Told:
        where, at = self._from.get((type(record), key), ("", ()))
        kind, name, options = wanted
        close = near(name, options)
        right = f'did you mean "{close}"?' if close else f"write the id of a {kind} in the catalogue"
        label = f"price.{name}.{field}" if isinstance(record, Price) else field.partition(".")[0]
        fault = Fault(where, label, f'no {kind} is called "{name}"', right)
        return Told(fault, (*at, *path_in(field)))


def path_in(field: str) -> tuple[str, ...]:
    """A field's path in parts."""
    return tuple(field.split(".")) if field else ()


def entries_of(table: dict[str, Any], tag: str, folder: Path, where: str) -> Iterator[Entry]:
    """Every record of a file."""
    if tag in _LISTS:
        yield from _list_entries(table, tag, where)
        return
    one: dict[str, Callable[[], tuple[str, Section]]] = {
        PUMP: lambda: (str(table.get("id")), pump_from(table, where=where)),
        SETUP: lambda: (Path(where).stem, files.setup_from(table, folder, where)),
    }
    if tag in one:
        try:
            key, record = one[tag]()
        except InputError as error:
            told = tuple(Told(fault, path_in(fault.field)) for fault in error.faults)
            yield Entry(str(table.get("id")), None, (), told)
        else:
            yield Entry(key, record, ("id",))


def _list_entries(table: dict[str, Any], tag: str, where: str) -> Iterator[Entry]:
    name, kind = _LISTS[tag]
    for key in table:
        if key not in (name, "format", *_INHERITED):
            close = near(key, (name, *_INHERITED))
            right = f'did you mean "{close}"?' if close else f"write [[{name}]] for each record"
            yield Entry("", None, (), (Told(Fault(where, key, "unknown key", right), (key,)),))
    items: object = table.get(name, [])
    if not isinstance(items, list):
        fault = Fault(where, name, shown(items), f"write [[{name}]] for each record")
        yield Entry("", None, (), (Told(fault, (name,)),))
        return
    inherited = {key: table[key] for key in _INHERITED if key in table and key in kind.model_fields}
    for place, item in enumerate(cast("list[object]", items)):
        given = cast("dict[str, object]", item) if isinstance(item, dict) else {}
        named = given.get("id", given.get("item"))
        label = f"{name}.{named}" if isinstance(named, str) and named else f"{name}.{place}"
        at = (name, str(place))
        try:
            record = kind.model_validate({**inherited, **given})
        except InputError as error:
            told = [
                Told(Fault(f.where or where, f"{label}.{f.field}", f.got, f.right), (*at, *path_in(f.field)))
                for f in error.faults
            ]
            yield Entry(str(named), None, at, tuple(told))
        else:
            yield Entry(record.key if isinstance(record, Price) else str(named), record, at)
