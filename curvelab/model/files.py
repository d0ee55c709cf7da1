"""Setups from files."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from curvelab.errors import Fault, InputError, echo, near
from curvelab.model.reading import read_table
from curvelab.model.setup import FORMAT, Setup

FORMATS: Final[dict[str, str]] = {
    FORMAT: "a setup",
    "curvelab-pump/1": "a pump",
    "curvelab-hoses/1": "hoses",
    "curvelab-fittings/1": "fittings",
    "curvelab-liquids/1": "liquids",
    "curvelab-prices/1": "prices",
    "curvelab-cautions/1": "cautions",
    "curvelab-sources/1": "sources",
    "curvelab-frame/1": "the frame of a picture",
}
"""Formats of the files that a yard holds, and what each holds."""


def load_setup(path: str | Path) -> Setup:
    """The setup in a file; a pump file that it names is looked for beside it or below.

    Raises
    ------
    InputError
        With every fault found, each under the file's name: ``mill-pond.toml: suction.lift: 12 has no unit; …``.
    """
    where, path = str(path), Path(path)
    table = read_table(path, where=where)
    expect(table, FORMAT, where)
    return setup_from(table, path.parent, where)


def setup_from(table: dict[str, Any], folder: Path, where: str) -> Setup:
    """The setup that a table from a file in ``folder`` describes; faults are under ``where``."""
    try:
        return Setup.model_validate(table, context={"folder": folder})
    except InputError as error:
        raise error.at(where=where) from None


def expect(table: dict[str, Any], wanted: str, where: str) -> None:
    """Raise ``InputError`` unless the table's ``format`` is the one wanted."""
    tag = format_of(table, where)
    if tag != wanted:
        got = f'"{tag}" is for {FORMATS[tag]}'
        raise InputError(Fault(where, "format", got, f'name a file whose format is "{wanted}"'))


def format_of(table: dict[str, Any], where: str) -> str:
    """The table's ``format``, one of ``FORMATS``; ``InputError`` where there is none or another."""
    tag = table.get("format")
    if isinstance(tag, str) and tag in FORMATS:
        return tag
    if tag is None:
        raise InputError(
            Fault(where, "format", "is missing", f'write format = "{FORMAT}", or that of another kind, first')
        )
    close = near(tag, FORMATS) if isinstance(tag, str) else ""
    right = f'did you mean "{close}"?' if close else f'write format = "{FORMAT}", or that of another kind'
    raise InputError(Fault(where, "format", f'"{echo(tag)}" is no format known here', right))
