"""Pumps withdrawn from a yard's list: their files are moved aside, never destroyed, and can be put back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from curvelab.errors import Fault, InputError, UnknownNameError
from curvelab.model.catalogue import demo_catalogue, look_again
from curvelab.model.price import Price
from curvelab.model.pump import pump_from
from curvelab.model.reading import parse_table, read_text
from curvelab.model.setup import Setup
from curvelab.model.shelf import WITHDRAWN, Shelf
from curvelab.model.writing import alone, keep_earlier, moved, unwritable
from curvelab.model.yard import PLACES, mark_of, pump_place


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """A pump that was moved aside. ``key`` is its own among them and says nothing of where it lies."""

    key: str
    label: str
    shown: str
    """Where it lies in the folder, for people."""
    since: dt.datetime
    path: Path


def withdraw(folder: Path, pump_id: str) -> Path:
    """Move the file of a yard's own pump aside; where it lies then. What lay there under its name is kept as well.

    Raises
    ------
    InputError
        If the yard has no such pump of its own, a setup or a price of the yard needs it, or the folder can't be
        written. Nothing is moved.
    """
    with alone(folder):
        path = pump_place(folder, pump_id)
        if path is None:
            right = "only pumps that the yard saved itself can be withdrawn"
            raise InputError(Fault("", "", "is none of the yard's own", right))
        if pump_id not in demo_catalogue().pumps:
            _refuse(folder, pump_id)
        target = folder / WITHDRAWN / path.name
        try:
            target.parent.mkdir(exist_ok=True)
            if target.exists():
                keep_earlier(target, read_text(target))
            moved(path, target)
        except OSError as error:
            raise unwritable(folder, error) from None
    look_again()
    return target


def put_back(folder: Path, one: Withdrawn) -> Path:
    """Put a withdrawn pump's file back among the pumps; where it lies then.

    Raises
    ------
    InputError
        If another file stands in its place, or it no longer fits beside the yard's others. Nothing is moved.
    """
    target = folder / PLACES["pump"][0] / one.path.name
    with alone(folder):
        if target.exists() or target.is_symlink():
            raise InputError(Fault("", "", f"{target.name} stands in the list already", "withdraw that one before"))
        before, after = Shelf.over(demo_catalogue().records), Shelf.over(demo_catalogue().records)
        before.add(folder)
        after.add(folder, {target: read_text(one.path)})
        new = [fault for fault in after.faults if fault not in before.faults]
        if new:
            raise InputError(replace(fault, where="") for fault in new)
        try:
            target.parent.mkdir(exist_ok=True)
            moved(one.path, target)
        except OSError as error:
            raise unwritable(folder, error) from None
    look_again()
    return target


def withdrawn_in(folder: Path) -> list[Withdrawn]:
    """Every pump that was withdrawn and can be read, by name."""
    found = (_read(folder, path) for path in sorted((folder / WITHDRAWN).glob("*.toml")))
    return sorted((one for one in found if one is not None), key=lambda one: one.label.casefold())


def withdrawn_of(folder: Path, key: str) -> Withdrawn:
    """The one of that key; ``UnknownNameError`` where there is none: it may be back already."""
    for one in withdrawn_in(folder):
        if one.key == key:
            return one
    raise UnknownNameError(Fault("", "", "that pump is no longer there", "look at the list again"))


def _read(folder: Path, path: Path) -> Withdrawn | None:
    try:
        pump = pump_from(parse_table(read_text(path), where=path.name), where=path.name)
        since = dt.datetime.fromtimestamp(path.stat().st_ctime, dt.UTC)  # a file moved keeps when it was written
    except (InputError, OSError):
        return None
    shown = path.relative_to(folder).as_posix()
    return Withdrawn(key=mark_of(shown)[:12], label=pump.label, shown=shown, since=since, path=path)


def _refuse(folder: Path, pump_id: str) -> None:
    """Refuse to withdraw what the yard's other files need."""
    shelf = Shelf.over(demo_catalogue().records)
    shelf.add(folder)
    needed = list(_users(shelf, pump_id))
    if needed:
        more = f" and {len(needed) - 3} more" if len(needed) > 3 else ""
        got = f"stands in {', '.join(needed[:3])}{more}"
        raise InputError(Fault("", "", got, "put another pump there first"))


def _users(shelf: Shelf, pump_id: str) -> Iterator[str]:
    for key, setup in shelf.of(Setup).items():
        if any(one.id == pump_id for one in (setup.pump, *setup.pump.beside, *setup.booster)):
            yield f"the job {setup.title or key}"
    for price in shelf.of(Price).values():
        if price.item == pump_id:
            yield "the list of prices"
            return
