"""The files of a yard's own folder as a list: what each is, when it was saved, and the versions that saves replaced."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from curvelab.errors import Fault, InputError, UnknownNameError
from curvelab.model.pump import FORMAT as PUMP
from curvelab.model.reading import read_table, read_text
from curvelab.model.setup import FORMAT as SETUP
from curvelab.model.shelf import toml_files
from curvelab.model.writing import earlier_of
from curvelab.model.yard import LISTS, Stored, mark_of, read_file, save_file

KINDS: Final = {PUMP: "pump", SETUP: "setup", **{tag: kind for kind, tag in LISTS.items()}}
"""What a file is, by its format."""
_STAMP: Final = re.compile(r"\.(\d{8}T\d{6}\.\d{6})Z\.toml$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """A version that a save replaced. ``key`` is its own among those of its file."""

    key: str
    replaced: dt.datetime
    path: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class YardFile:
    """A file of a yard. ``key`` tells it from the others and says nothing of where it lies."""

    key: str
    kind: str
    """``pump``, ``setup``, ``hoses`` and so on."""
    label: str
    """What stands in it: a pump's name, a setup's title; the kind of a list."""
    shown: str
    """Where it lies in the folder, for people."""
    tag: str
    saved: dt.datetime
    path: Path
    versions: tuple[Version, ...]
    """The newest first."""


def files_of(folder: Path) -> list[YardFile]:
    """Every file of a yard that can be read at all, pumps first.

    Raises
    ------
    InputError
        If there is no such folder.
    """
    found = [file for path in toml_files(folder) if (file := _file(folder, path)) is not None]
    order = list(dict.fromkeys(KINDS.values()))
    return sorted(found, key=lambda file: (order.index(file.kind), file.label.casefold()))


def file_of(folder: Path, key: str) -> YardFile:
    """The file of that key.

    Raises
    ------
    UnknownNameError
        If the yard has none: it may have been taken away.
    """
    for file in files_of(folder):
        if file.key == key:
            return file
    raise UnknownNameError(Fault("", "", "that file is no longer there", "look at the list again"))


def version_of(file: YardFile, key: str) -> Version:
    """An earlier version of a file; ``UnknownNameError`` where it has none of that key."""
    for version in file.versions:
        if version.key == key:
            return version
    raise UnknownNameError(Fault("", "", "that version is no longer there", "look at the list again"))


def bring_back(folder: Path, file: YardFile, version: Version, *, mark: str) -> Stored:
    """Put an earlier version in a file's place; what stands there now becomes an earlier version itself.

    Raises
    ------
    OverwrittenError
        If the file has changed since ``mark`` was read.
    InputError
        If the version has faults beside the yard's other files. Nothing is written.
    """
    return save_file(folder, file.path, file.tag, read_text(version.path), mark=mark)


def mark_in(file: YardFile) -> str:
    """The mark of what stands in a file now; empty where it is gone."""
    now = read_file(file.path)
    return now.mark if now is not None else ""


def _file(folder: Path, path: Path) -> YardFile | None:
    try:
        table = read_table(path)
        saved = path.stat().st_mtime
    except (InputError, OSError):
        return None  # its fault is told where the yard is checked
    tag = str(table.get("format"))
    if tag not in KINDS:
        return None
    shown = path.relative_to(folder).as_posix()
    kind = KINDS[tag]
    named = {"pump": table.get("name") or table.get("id"), "setup": table.get("title") or path.stem}
    return YardFile(
        key=mark_of(shown)[:12],
        kind=kind,
        label=str(named.get(kind, f"the yard’s {kind}")),
        shown=shown,
        tag=tag,
        saved=dt.datetime.fromtimestamp(saved, dt.UTC),
        path=path,
        versions=tuple(_versions(path)),
    )


def _versions(path: Path) -> Iterator[Version]:
    for kept in earlier_of(path):
        stamp = _STAMP.search(kept.name)
        if stamp is not None:
            when = dt.datetime.strptime(stamp[1], "%Y%m%dT%H%M%S.%f").replace(tzinfo=dt.UTC)
            yield Version(key=stamp[1], replaced=when, path=kept)
