"""A yard's own folder: made once, written whole, earlier versions kept, nobody's edit overwritten unseen."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from curvelab.errors import Fault, InputError, echo
from curvelab.model import files
from curvelab.model.catalogue import Catalogue, demo_catalogue, look_again
from curvelab.model.planning import plan_of
from curvelab.model.pump import FORMAT as PUMP
from curvelab.model.reading import GREATEST_SIZE, parse_table, read_table, read_text
from curvelab.model.setup import FORMAT as SETUP
from curvelab.model.setup import Setup
from curvelab.model.shelf import Shelf, toml_files
from curvelab.model.writing import alone, earlier_of, keep_earlier, unwritable, write_whole

PLACES: Final = {"pump": ("pumps", PUMP), "setup": ("setups", SETUP)}
"""Kinds that have a file each: their folder and format."""
LISTS: Final = {name: f"curvelab-{name}/1" for name in ("hoses", "fittings", "liquids", "prices", "cautions")}
"""Kinds that share a file, and its format."""

_NAME: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LONGEST: Final = 80
_TAKEN: Final = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""What Windows keeps for itself (from memory): a folder may be shared with one."""
_STARTER: Final = {
    "hoses": 'format = "curvelab-hoses/1"\n\n# [[hose]] with id, name, use, roughness and [[hose.size]].\n',
    "fittings": 'format = "curvelab-fittings/1"\n\n# [[fitting]] with id, name, where and k.\n',
    "prices": (
        'format = "curvelab-prices/1"\ncurrency = "USD"\nsource = "the yard\'s price list"\n\n'
        '# [[price]] with item (a pump, hose or fitting), size, per ("each", "length", "ft", "m") and day.\n'
    ),
}


@dataclass(frozen=True, slots=True)
class Stored:
    """A file of a yard as somebody read it: hand ``mark`` back when saving, so that another's edit is noticed."""

    text: str
    mark: str

    @classmethod
    def of(cls, text: str) -> Stored:
        """Of what stands in the file."""
        return cls(text, mark_of(text))


class OverwrittenError(InputError):
    """Somebody else saved the file meanwhile. ``theirs`` is what stands there now, with the mark to save over it."""

    theirs: Stored | None = None


def make_yard(folder: str | Path) -> list[Path]:
    """Make a yard's folder, or fill in what one lacks; nothing that is there is touched. Returns what was made.

    Raises
    ------
    InputError
        If the place is a file, or can't be written.
    """
    root = Path(folder)
    made = [] if root.is_dir() else [root]
    with alone(root):
        try:
            for name in (*(place for place, _ in PLACES.values()), "pictures"):
                if not (root / name).is_dir():
                    (root / name).mkdir()
                    made.append(root / name)
            for name, text in _STARTER.items():
                path = list_place(root, name)
                if not path.exists():
                    write_whole(path, text)
                    made.append(path)
        except OSError as error:
            raise unwritable(root, error) from None
    look_again()
    return made


def place_of(folder: str | Path, kind: str, name: str) -> Path:
    """Where a pump or setup of that name lies."""
    if kind not in PLACES:
        raise InputError(Fault("", "kind", f'"{echo(kind)}"', f"write one of: {', '.join(PLACES)}"))
    if len(name) > _LONGEST or _NAME.fullmatch(name) is None or _TAKEN.fullmatch(name):
        raise InputError(
            Fault("", "name", f'"{echo(name)}"', "small letters, digits and single hyphens, such as ferrow-3")
        )
    return Path(folder) / PLACES[kind][0] / f"{name}.toml"


def list_place(folder: str | Path, kind: str) -> Path:
    """The file of a yard's hoses, fittings, liquids, prices or cautions, whatever its name; where it would be made.

    Raises
    ------
    InputError
        If there are several: which one is meant only a person can tell.
    """
    root = Path(folder)
    found: list[Path] = []
    for path in toml_files(root) if root.is_dir() else ():
        try:
            if read_table(path).get("format") == LISTS[kind]:
                found.append(path)
        except InputError:
            continue  # its fault is told where the file is checked
    if len(found) > 1:
        names = " and ".join(echo(path.relative_to(root)) for path in found[:3])
        raise InputError(Fault(str(root), kind, f"stand in {names}", "put them into one file"))
    return found[0] if found else root / f"{kind}.toml"


def pump_place(folder: str | Path, pump_id: str) -> Path | None:
    """The file of a yard's pump, whatever its name; ``None`` where the yard has none of that id."""
    root = Path(folder)
    for path in toml_files(root) if root.is_dir() else ():
        try:
            table = read_table(path)
        except InputError:
            continue
        if table.get("format") == PUMP and table.get("id") == pump_id:
            return path
    return None


def read(folder: str | Path, kind: str, name: str) -> Stored | None:
    """A pump or setup of a yard as text with its mark; ``None`` where there is none of that name."""
    return read_file(place_of(folder, kind, name))


def read_file(path: Path) -> Stored | None:
    """A file of a yard as text with its mark; ``None`` where there is none."""
    return Stored.of(read_text(path)) if path.exists() or path.is_symlink() else None


def save(folder: str | Path, kind: str, name: str, text: str, *, mark: str | None = None) -> Stored:
    """Write a pump or setup whole, its earlier version kept.

    Parameters
    ----------
    folder : path
        The yard.
    kind : str
        ``pump`` or ``setup``.
    name : str
        File name without ending: small letters, digits, hyphens.
    text : str
        The whole file. It must be good, by itself and beside the yard's other files.
    mark : str, optional
        The mark of what was read; left out for a new file.

    Returns
    -------
    Stored
        What now stands there.

    Raises
    ------
    OverwrittenError
        If the file has changed since ``mark`` was read, or is there though it should be new. Nothing is written.
    InputError
        If the text has faults, the name is none, or the folder can't be written. Nothing is written.
    """
    return save_file(folder, place_of(folder, kind, name), PLACES[kind][1], text, mark=mark)


def save_file(folder: str | Path, path: Path, tag: str, text: str, *, mark: str | None = None) -> Stored:
    """As ``save``, for any file of a yard; ``tag`` is the format that it must have."""

    def theirs_or_ours(now: Stored | None) -> str:
        if (now.mark if now else None) != mark:
            got = "has been changed by somebody else" if mark else "is there already"
            if now is None:
                got = "has been taken away by somebody else"
            error = OverwrittenError(
                Fault(str(path), "", got, "look at theirs, then save over it or under another name")
            )
            error.theirs = now
            raise error
        return text

    return amend(folder, path, tag, theirs_or_ours)


def amend(folder: str | Path, path: Path, tag: str, change: Callable[[Stored | None], str]) -> Stored:
    """Make a file from what stands there now, with nobody else writing meanwhile; checked and kept as by ``save``."""
    root = Path(folder)
    with alone(root):
        now = read_file(path)
        text = change(now)
        if now is not None and now.text == text:
            return now
        _refuse(root, path, tag, text)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if now is not None:
                keep_earlier(path, now.text)
            write_whole(path, text)
        except OSError as error:
            raise unwritable(path, error) from None
    look_again()
    return Stored.of(text)


def earlier(folder: str | Path, kind: str, name: str) -> list[Path]:
    """Versions that saves have replaced, the newest first."""
    return earlier_of(place_of(folder, kind, name))


def mark_of(text: str) -> str:
    """What tells one version of a file from another."""
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _refuse(root: Path, path: Path, tag: str, text: str) -> None:
    """Refuse a text with faults of its own, or that others' files would have because of it."""
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise InputError(Fault(path.name, "", "has half a character", "write plain text")) from None
    if size > GREATEST_SIZE:
        raise InputError(Fault(path.name, "", "is over 1 MB", "no file here is that long; take something out"))
    files.expect(parse_table(text, where=path.name), tag, path.name)
    after = _shelf(root, {path: text})
    if after.told:
        before = set(_shelf(root, {}).faults)
        faults = [fault for fault in after.faults if fault.where == str(path) or fault not in before]
        if faults:
            raise InputError(replace(f, where=path.name) if f.where == str(path) else f for f in faults)
    setup = after.of(Setup).get(path.stem)
    if tag == SETUP and setup is not None:
        try:
            plan_of([setup], Catalogue.of(after))
        except InputError as error:
            raise error.at(where=path.name) from None


def _shelf(root: Path, drafts: dict[Path, str]) -> Shelf:
    shelf = Shelf.over(demo_catalogue().records)
    shelf.add(root, drafts)
    shelf.told += list(shelf.loose_ends())
    return shelf
