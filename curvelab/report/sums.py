"""The calculation as the page shows it: part by part, each line with its formula, numbers and source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curvelab.studies.sumline import Line, figure
from curvelab.studies.sums import Sums

NAME: Final = "The sums"
BRIEF: Final = "every number"
UNDER: Final = (
    "Each line starts from printed numbers, so a pocket calculator gives the same. In metres, seconds and pascals."
)


@dataclass(frozen=True, slots=True)
class LineSaid:
    """One line: what it is, how it is reckoned, what comes of it, and who says so."""

    title: str
    formula: str
    numbers: str
    value: str
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class SumsSaid:
    """All parts with their lines."""

    finding: str
    under: str
    parts: tuple[tuple[str, tuple[LineSaid, ...]], ...]


def sums_said(found: Sums) -> SumsSaid:
    """Words of the sums."""
    parts = tuple((name, tuple(_line(line, name) for line in lines)) for name, lines in found.parts)
    return SumsSaid(found.sentence, UNDER, parts)


def _line(line: Line, part: str) -> LineSaid:
    title = line.title.removeprefix(f"{part.lower()}: ")
    value = figure(line.value)
    numbers = "" if line.numbers == value else line.numbers
    return LineSaid(title[:1].upper() + title[1:], line.formula, numbers, value, line.unit, line.source)
