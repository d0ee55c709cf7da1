"""The catalogue: what a yard has, read from its data folders, looked up by id."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from threading import Lock
from typing import Any, Final

from curvelab.errors import Fault, InputError
from curvelab.model import files
from curvelab.model.caution import Caution
from curvelab.model.fitting import Fitting
from curvelab.model.hose import Hose
from curvelab.model.liquid import Liquid
from curvelab.model.price import Price
from curvelab.model.pump import Pump
from curvelab.model.reading import read_table
from curvelab.model.section import Section
from curvelab.model.setup import Setup
from curvelab.model.shelf import Shelf, Told, entries_of, path_in, toml_files

YARD: Final = "CURVELAB_YARD"
"""Environment variable that names a yard's own folder."""
LOOK_AGAIN_S: Final = 1.0
"""How long what was read of a yard is taken for what stands there. [s]"""


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
        shelf = Shelf()
        for folder in folders:
            shelf.add(Path(folder))
        if not shelf.told:
            shelf.told += shelf.loose_ends()
        if shelf.told:
            raise InputError(shelf.faults)
        return cls.of(shelf)

    @classmethod
    def of(cls, shelf: Shelf) -> Catalogue:
        """What is good on a shelf."""
        return cls(
            pumps=shelf.of(Pump),
            hoses=shelf.of(Hose),
            fittings=shelf.of(Fitting),
            liquids=shelf.of(Liquid),
            cautions=shelf.of(Caution),
            prices=shelf.of(Price),
            setups=shelf.of(Setup),
        )

    @property
    def records(self) -> Mapping[type[Section], Mapping[str, Section]]:
        """All of it, by what it is."""
        return {
            Pump: self.pumps,
            Hose: self.hoses,
            Fitting: self.fittings,
            Liquid: self.liquids,
            Caution: self.cautions,
            Price: self.prices,
            Setup: self.setups,
        }

    def price(self, item: str, size_m: float | None = None) -> Price | None:
        """Price of an item, in a nominal size [m] where it has sizes; ``None`` where the yard has none."""
        sized = None if size_m is None else self.prices.get(Price.key_of(item, size_m))
        return sized or self.prices.get(item)


def default_catalogue() -> Catalogue:
    """The demonstration's catalogue, with that of the folder which ``CURVELAB_YARD`` names on top.

    Read once; the yard's again when its files have changed, which is looked for once a second. While what they have
    become can't be read, the catalogue before stays; ``catalogue_faults`` says why.

    Raises
    ------
    InputError
        With every fault of every file, where there is no catalogue before.
    """
    yard = os.environ.get(YARD, "")
    return _current(yard).catalogue if yard else demo_catalogue()


@lru_cache(maxsize=1)
def demo_catalogue() -> Catalogue:
    """The demonstration's catalogue alone; read once."""
    return Catalogue.load(demo_folder())


def catalogue_faults() -> tuple[Fault, ...]:
    """What keeps the default catalogue from being what the yard's files now say; empty where nothing does."""
    yard = os.environ.get(YARD, "")
    return _current(yard).faults if yard else ()


def yard_folder() -> Path | None:
    """The folder that ``CURVELAB_YARD`` names; ``None`` where it names none."""
    yard = os.environ.get(YARD, "")
    return Path(yard) if yard else None


def catalogue_mark() -> str:
    """What tells the default catalogue from what it was before a yard's file changed."""
    yard = os.environ.get(YARD, "")
    return f"{hash((_current(yard).state, _current(yard).faults)) & 0xFFFFFFFFFFFF:x}" if yard else ""


def look_again() -> None:
    """Have the next ``default_catalogue`` look at the yard's files at once: something there was changed just now."""
    with _looking:
        for yard, loaded in _loaded.items():
            _loaded[yard] = replace(loaded, looked_s=-LOOK_AGAIN_S)


@dataclass(frozen=True, slots=True)
class _Loaded:
    catalogue: Catalogue
    state: tuple[object, ...]
    looked_s: float
    faults: tuple[Fault, ...] = ()


_loaded: Final[dict[str, _Loaded]] = {}
_looking: Final = Lock()


def _current(yard: str) -> _Loaded:
    now = time.monotonic()
    with _looking:
        loaded = _loaded.get(yard)
        if loaded is not None and now < loaded.looked_s + LOOK_AGAIN_S:
            return loaded
        try:
            state = _state(Path(yard))
            if loaded is None or state != loaded.state:
                loaded = _Loaded(Catalogue.load(demo_folder(), yard), state, now)
        except InputError as error:
            if loaded is None:
                raise
            loaded = replace(loaded, state=(), faults=error.faults)
        _loaded[yard] = replace(loaded, looked_s=now)
        return _loaded[yard]


def _state(folder: Path) -> tuple[object, ...]:
    """What tells a folder from the same folder after a change."""
    kept: list[object] = []
    for path in toml_files(folder):
        with contextlib.suppress(OSError):  # gone meanwhile: the next look sees it
            found = path.stat()
            kept.append((path, found.st_mtime_ns, found.st_size, found.st_ino))
    return tuple(kept)


def demo_folder() -> Path:
    """Where the demonstration's data are: within the package once installed, beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inner = package / "data"
    return inner if inner.is_dir() else package.parent / "data"


def check_file(path: str | Path, catalogue: Catalogue | None = None) -> list[Fault]:
    """Everything wrong in a data file or a setup, empty where it is good.

    A setup is held against ``catalogue`` too, the default one where left out.
    """
    where, path = str(path), Path(path)
    try:
        table = read_table(path, where=where)
        return [told.fault for told in faults_in(table, path, catalogue, where=where)]
    except InputError as error:
        return list(error.at(where=where).faults)


def faults_in(
    table: dict[str, Any], path: Path, catalogue: Catalogue | None = None, *, where: str = ""
) -> Iterator[Told]:
    """Everything wrong in the table that a file holds; as ``check_file``."""
    where = where or str(path)
    try:
        tag = files.format_of(table, where)
        for entry in entries_of(table, tag, path.parent, where):
            yield from entry.told
            if isinstance(entry.record, Setup):
                from curvelab.model.planning import plan_of

                plan_of([entry.record], catalogue or default_catalogue())
    except InputError as error:
        yield from (Told(fault, path_in(fault.field)) for fault in error.at(where=where).faults)
