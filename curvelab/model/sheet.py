"""Text from a spreadsheet: cells between commas, semicolons or tabs, each with its line, and numbers with either mark.

A comma within a number is read where it can mean only one thing; ``1,200`` can't. Nothing is ever evaluated.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from curvelab.errors import Fault, InputError, echo
from curvelab.model.amount import wrong
from curvelab.model.reading import read_bytes

MOST_ROWS: Final = 20_000
"""Most rows of a sheet. [-]"""
DELIMITERS: Final = ("\t", ";", ",")

_NUMBER: Final = re.compile(r"[0-9]*(?:[.,][0-9]+)+")
_THOUSANDS: Final = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_DECLARED: Final = re.compile(r"sep=(.)")
_RUNS: Final = ("=", "+", "-", "@", "\t")
"""What a spreadsheet takes for the start of a formula."""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of cells, without the blanks around them, and the line that it starts on, from 1."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Rows that have something in them."""

    rows: tuple[Row, ...]
    delimiter: str


def read_sheet(path: Path, *, where: str = "") -> Sheet:
    """The sheet in a file: UTF-8, with or without a byte order mark, or UTF-16 with one.

    Raises
    ------
    InputError
        If it can't be read, is no ordinary file, is over 1 MB, is text in another encoding, or its quotes don't close.
    """
    where = where or str(path)
    return sheet_from(read_bytes(path, where), where=where)


def sheet_from(data: bytes, *, where: str) -> Sheet:
    """The sheet in a file's bytes; as ``read_sheet``."""
    coding = "utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig"
    try:
        text = data.decode(coding)
    except UnicodeDecodeError:
        raise InputError(Fault(where, "", "is text in another encoding", "save it as CSV in UTF-8")) from None
    if "\0" in text:
        raise InputError(Fault(where, "", "is no text", "save it as CSV in UTF-8"))
    return parse_sheet(text, where=where)


def parse_sheet(text: str, *, where: str = "") -> Sheet:
    """The sheet that a text holds; the mark between cells is the one that the head line has most of."""
    delimiter, skip = _delimiter(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[Row] = []
    line = 1
    try:
        for cells in reader:
            if line > skip and any(cell.strip() for cell in cells):
                rows.append(Row(line, tuple(cell.strip() for cell in cells)))
            line = reader.line_num + 1
            if len(rows) > MOST_ROWS:
                raise InputError(Fault(where, f"line {line}", f"more than {MOST_ROWS} rows", "is this the right file?"))
    except csv.Error as error:
        right = "check the quotes: one that opens a cell has to close it"
        raise InputError(Fault(where, f"line {line}", str(error), right)) from None
    return Sheet(tuple(rows), delimiter)


def write_sheet(head: Sequence[str], rows: Iterable[Sequence[str]], *, commas: bool = False) -> str:
    """Rows as CSV text. ``commas``: semicolons between cells, for spreadsheets whose decimal mark is a comma.

    A cell that a spreadsheet would take for a formula gets an apostrophe before it; ``plain`` takes it off again.
    """
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if commas else ",", lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([f"'{cell}" if cell.startswith(_RUNS) else cell for cell in row] for row in rows)
    return out.getvalue()


def plain(cell: str) -> str:
    """A cell's text without the apostrophe that keeps a spreadsheet from working it out."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_RUNS) else cell


def with_points(text: str, *, commas: bool) -> str:
    """Numbers in a text written with decimal points.

    Parameters
    ----------
    text : str
        A cell, such as ``3,05 in`` or ``15,5 m; 30 m``.
    commas : bool
        The sheet is known to have decimal commas.

    Raises
    ------
    InputError
        One fault, without place, where a number has two marks, or one that may stand between thousands.
    """
    return _NUMBER.sub(lambda found: _with_point(found[0], commas=commas), text)


def has_decimal_commas(texts: Iterable[str]) -> bool:
    """Whether a number among them has a comma that can only be a decimal one."""
    numbers = (number for text in texts for number in _NUMBER.findall(text))
    return any(number.count(",") == 1 and "." not in number and not _THOUSANDS.fullmatch(number) for number in numbers)


def _with_point(number: str, *, commas: bool) -> str:
    marks = number.count(",") + number.count(".")
    other = "." if commas else ","
    if marks > 1 or (_THOUSANDS.fullmatch(number.replace(".", ",")) and other in number):
        name = "comma" if "," in number else "point"
        right = "write it without a mark between thousands"
        raise wrong(f'"{echo(number)}" has a {name}, which may mean two things', right)
    return number.replace(",", ".")


def _delimiter(text: str) -> tuple[str, int]:
    """The mark between cells, and how many lines at the top only declare it."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    declared = _DECLARED.fullmatch(first.strip())
    if declared is not None:
        return declared[1], text[: text.index(first)].count("\n") + 1
    bare = re.sub(r'"[^"]*"', "", first)
    counts = [bare.count(mark) for mark in DELIMITERS]
    return (DELIMITERS[counts.index(max(counts))] if any(counts) else ","), 0
