"""Water without a pump, and what a pump feeds: the siphon, nozzles and sprinklers, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curvelab.report.bores import STATES
from curvelab.studies.feeds import Fed, Feeds
from curvelab.studies.result import State
from curvelab.studies.say import push_text
from curvelab.studies.siphon import Siphon
from curvelab.units import Quantity, System, display_unit, gallon_word, show

WITHOUT: Final = "Without a pump"
_NONE: Final = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class FedRow:
    """So many nozzles or sprinklers. ``enough``: each still gets its pressure."""

    count: int
    now: bool
    enough: bool
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FedSaid:
    """How many this pump feeds."""

    title: str
    sentence: str
    heads: tuple[str, ...]
    rows: tuple[FedRow, ...]
    caution: str


def siphon_said(found: Siphon) -> str:
    """Whether the water could run by itself; empty where the outlet lies no lower than the water."""
    if found.drop_m <= 0.0 or found.because == "outlet":
        return ""
    return found.sentence


def fed_said(found: Feeds, now: int, system: System) -> FedSaid:
    """How many nozzles or sprinklers, with pressure, flow and push for each number of them."""
    word = gallon_word(system)
    flow = " ".join(part for part in (word, display_unit(Quantity.FLOW, system).symbol) if part)
    push = ("Pushes back",) if any(row.reaction_n is not None for row in found.rows) else ()
    return FedSaid(
        title="Nozzles" if found.kind == "nozzle" else "Sprinklers",
        sentence=found.sentence,
        heads=("Pressure at each", f"Each gives, {flow}", f"Together, {flow}", *push, "How it runs"),
        rows=tuple(_row(row, found, now, system, push=bool(push)) for row in found.rows),
        caution=found.caution,
    )


def _row(row: Fed, found: Feeds, now: int, system: System, *, push: bool) -> FedRow:
    def said(value: float | None, quantity: Quantity, *, unit: bool) -> str:
        return _NONE if value is None else show(value, quantity, system, unit=unit)

    cells = [
        said(row.pressure_pa, Quantity.PRESSURE, unit=True),
        said(row.each_m3_s, Quantity.FLOW, unit=False),
        said(row.flow_m3_s, Quantity.FLOW, unit=False),
    ]
    if push:
        cells.append(_NONE if row.reaction_n is None else push_text(row.reaction_n, system))
    cells.append(STATES[State(row.state)])
    return FedRow(count=row.count, now=row.count == now, enough=row.count <= found.most, cells=tuple(cells))
