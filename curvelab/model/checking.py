"""Everything wrong in data files and in whole yards, each fault with its file, its line and its field."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from curvelab.errors import Fault, InputError
from curvelab.model.catalogue import Catalogue, demo_catalogue, demo_folder, faults_in
from curvelab.model.lines import Lines
from curvelab.model.reading import parse_table, read_text
from curvelab.model.shelf import Shelf, Told, path_in, toml_files

_SYNTAX: Final = re.compile(r"line ([0-9]+)")


@dataclass(frozen=True, slots=True)
class Wrong:
    """A fault, and the line of its file that it is about; ``None`` where no line can be told."""

    fault: Fault
    line: int | None

    def placed(self) -> Fault:
        """The fault with its line beside the file's name."""
        if self.line is None or _SYNTAX.fullmatch(self.fault.field):
            return self.fault
        return replace(self.fault, where=f"{self.fault.where}: line {self.line}")

    def text(self) -> str:
        """One line: ``hoses.toml: line 12: hose.reed.size.0.bore: 3 has no unit; write …``."""
        return self.placed().line()

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON."""
        fault = self.fault
        return {
            "where": fault.where,
            "line": self.line,
            "field": fault.field,
            "got": fault.got,
            "right": fault.right,
        }


@dataclass(frozen=True, slots=True)
class Checked:
    """A file and what is wrong in it."""

    path: Path
    wrong: tuple[Wrong, ...]


Reader = Callable[[dict[str, Any], str], object]
"""Reads a table of a format under a name for messages; ``InputError`` where something is wrong."""


def check(paths: Sequence[Path], readers: Mapping[str, Reader] = MappingProxyType({})) -> list[Checked]:
    """Check data files of any kind, and folders laid out as a yard: those files together, on top of the demonstration.

    Parameters
    ----------
    paths : sequence of Path
        Files and folders.
    readers : mapping
        By format, for formats that are nothing to this layer.

    Raises
    ------
    InputError
        If a folder has no data files.
    """
    checked: list[Checked] = []
    for path in paths:
        checked += _yard(path, readers) if path.is_dir() else [_file(path, readers)]
    return checked


def with_lines(error: InputError, path: Path) -> InputError:
    """The error with the line beside each fault of a file, where its field tells one."""
    try:
        lines = Lines(read_text(path))
    except InputError:
        return error
    told = (
        _wrong(Told(fault, path_in(fault.field)), lines if fault.where == str(path) else None) for fault in error.faults
    )
    return InputError(wrong.placed() for wrong in told)


def _yard(folder: Path, readers: Mapping[str, Reader]) -> list[Checked]:
    """Every file of a folder, the records that stand twice among them, and the ids that nothing has."""
    paths = toml_files(folder)
    if not paths:
        raise InputError(Fault(str(folder), "", "has no .toml files", "name a data file, or a folder of them"))
    shelf = Shelf.over({} if folder.resolve() == demo_folder() else demo_catalogue().records)
    shelf.add(folder)
    between = [*(told for told in shelf.told if told.twice), *(() if shelf.unread else shelf.loose_ends())]
    catalogue = Catalogue.of(shelf)
    return [
        _file(path, readers, catalogue, [told for told in between if told.fault.where == str(path)]) for path in paths
    ]


def _file(
    path: Path, readers: Mapping[str, Reader], catalogue: Catalogue | None = None, further: Sequence[Told] = ()
) -> Checked:
    try:
        text = read_text(path)
        table = parse_table(text, where=str(path))
        told = [*faults_in(table, path, catalogue), *_read_by(readers, table, str(path)), *further]
    except InputError as error:
        return Checked(path, tuple(_wrong(Told(fault), None) for fault in error.at(where=str(path)).faults))
    lines = Lines(text) if told else None
    return Checked(path, tuple(_wrong(one, lines if one.fault.where == str(path) else None) for one in told))


def _read_by(readers: Mapping[str, Reader], table: dict[str, Any], where: str) -> Iterator[Told]:
    reader = readers.get(str(table.get("format")))
    if reader is None:
        return
    try:
        reader(table, where)
    except InputError as error:
        yield from (Told(fault, path_in(fault.field)) for fault in error.at(where=where).faults)


def _wrong(told: Told, lines: Lines | None) -> Wrong:
    syntax = _SYNTAX.fullmatch(told.fault.field)
    if syntax is not None:
        return Wrong(told.fault, int(syntax[1]))
    return Wrong(told.fault, lines.of(told.at) if lines else None)
