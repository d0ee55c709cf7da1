"""The short table that ``curvelab solve FILE`` prints: the page's figures and sentences, as text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from curvelab.model.setup import Setup
from curvelab.report.answers import readings, readings_note, what_that_does, what_that_does_title
from curvelab.report.rounded import Rounded, rounded
from curvelab.report.words import chip, delivers, flow_words, hardest_point, on_chart, suction, suction_title
from curvelab.studies.result import Result, State
from curvelab.units import System, gallon_word

ITEM_NAMES: Final = {
    "lift": "Lift from the water",
    "rise": "Rise to the outlet",
    "suction": "Suction hose, strainer",
    "discharge": "Discharge hose",
    "leaving": "Leaving the hose",
    "pressure": "Pressure at the outlet",
    "surplus": "More than the site asks",
    "vapour": "Vapour",
    "needs": "Pump needs",
    "spare": "To spare",
    "left": "Left at the pump",
}
"""What parts of ledger and budget are called."""
_INDENT: Final = "  "


def item_name(item: str, result: Result, setup: Setup) -> str:
    """Name of a part; the rise goes to the point that asks most."""
    if item == "rise" and result.governing_point.kind != "outlet":
        return f"Rise to the {hardest_point(result, setup)}"
    if item == "pressure" and result.governing_point.kind == "booster":
        return f"Kept at the {hardest_point(result, setup)}"
    if item == "boosters":
        return " and ".join(dict.fromkeys(booster.name for booster in result.boosters)) + " in the line"
    return ITEM_NAMES.get(item, item)


def table_of(setup: Setup, result: Result, system: System | None = None) -> str:
    """The answer as text, in the setup's units where ``system`` is left out; ends without a newline."""
    shown = system or setup.units
    figures = rounded(result, shown)
    blocks = [
        _head(figures, setup),
        _titled(
            what_that_does_title(result), ((d.amount, d.does) for d in what_that_does(result, setup, shown)), right=True
        ),
        _words(figures, setup),
        _parts(figures, setup),
        _readings(figures),
        _titled("Mind", (("!", warn.text) for warn in result.warnings)),
    ]
    return "\n\n".join(block for block in blocks if block)


def _head(figures: Rounded, setup: Setup) -> str:
    result, flow = figures.result, flow_words(figures)
    kind = gallon_word(figures.system)
    beside = f", {flow.beside}" if flow.beside else ""
    head = f" at {figures.total} of head" if result.head_m is not None else ""
    lines = [setup.title] if setup.title else []
    return "\n".join([*lines, f"{flow.with_kind(kind)}{head}{beside}", chip(result).text])


def _words(figures: Rounded, setup: Setup) -> str:
    result = figures.result
    lines = [f"{suction_title(result)}: {suction(figures, setup).text}"]
    lines += [line for line in (on_chart(figures),) if line]
    if delivers(result):
        lines.append(f"Hardest point: {hardest_point(result, setup)}.")
    return "\n".join(lines)


def _parts(figures: Rounded, setup: Setup) -> str:
    """Ledger and budget, each with its total."""
    result = figures.result
    at_rest = result.state in (State.NO_LIFT, State.NO_PRIME)
    ledger = "Head ledger: what is asked at rest" if at_rest else "Head ledger: how the pump’s effort is spent"
    columns = (
        (ledger, figures.ledger, f"{figures.total} in all"),
        ("Suction budget: how the air’s push is spent", figures.budget, f"{figures.air}, the air’s push"),
    )
    wholes = (figure.text.partition(".")[0] for _, parts, _ in columns for figure in parts.values())
    width = max(map(len, wholes))
    blocks: list[str] = []
    for title, parts, total in columns:
        number, rest = total.split(" ", 1)
        rows = [
            f"{_on_point(f.text, width)}  {item_name(item, result, setup)}{', helps' if f.number < 0 else ''}"
            for item, f in parts.items()
        ]
        blocks.append("\n".join([title, *rows, f"{_on_point(number, width)}  {rest}"]))
    return "\n\n".join(blocks)


def _on_point(number: str, width: int) -> str:
    """A number with its decimal point under those of the others."""
    whole, point, tenths = number.partition(".")
    return f"{_INDENT}{whole:>{width}}{point + tenths:<2}"


def _readings(figures: Rounded) -> str:
    rows = [(row.name, f"{row.value} (estimate)" if row.estimate else row.value) for row in readings(figures)]
    note = readings_note(figures.result)
    block = _titled("Readings to expect", rows)
    return f"{block}\n{_INDENT}{note}" if block and note else block


def _titled(title: str, rows: Iterable[tuple[str, str]], *, right: bool = False) -> str:
    listed: Sequence[tuple[str, str]] = list(rows)
    if not listed:
        return ""
    width = max(len(first) for first, _ in listed)
    align = str.rjust if right else str.ljust
    return "\n".join([title, *(f"{_INDENT}{align(first, width)}  {second}".rstrip() for first, second in listed)])
