"""Which one change helps most? Every neighbour of a setup solved together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.batch import Batch
from curvelab.studies.change import Change, applied, neighbours
from curvelab.studies.columns import STATES
from curvelab.studies.kit import kit_of
from curvelab.units import Quantity, show

FORMAT: Final = "curvelab-choice/1"

RUNS: Final = ("sound", "thin", "cavitating", "off-curve")
"""States in which water flows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One change and what it makes of the setup. Money and mass are more (or less, below 0) than now."""

    change: str
    setup: dict[str, str | None]
    """The changed fields, path to text."""
    state: str
    flow_m3_s: float | None
    gain_m3_s: float | None
    cost: float | None
    """Hire for a day, in the price list's currency."""
    cost_per_gain: float | None
    """Money a day for each m³/s gained; ``None`` where there is no gain or no price."""
    mass_kg: float | None
    over_rated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """Rows with the greatest gain first; what can't run stands last."""

    rows: tuple[Choice, ...]
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, "rows": [asdict(row) for row in self.rows], "sentence": self.sentence}


def choose(setup: Setup, catalogue: Catalogue | None = None) -> Choices:
    """Every single change worth a look, solved: what ``change.neighbours`` lists.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    rows = rows_of(setup, neighbours(setup, known), known)
    ranked = sorted(rows, key=lambda row: (row.state not in RUNS, -(row.gain_m3_s or 0.0)))
    return Choices(rows=tuple(ranked), sentence=_sentence(setup, ranked))


def rows_of(setup: Setup, changes: Sequence[Change], catalogue: Catalogue) -> list[Choice]:
    """A row for each change that the setup can take, in the order given; row 0 of the batch is the setup as it is."""
    made = applied(setup, changes, catalogue)
    batch = Batch.of(plan_of([setup, *(variant for _, variant in made)], catalogue, checked=False))
    flow, outcome, over = batch.column("flow_m3_s"), batch.outcome, batch.over_rated
    kit, now = kit_of(setup, catalogue), _or_none(float(flow[0]))
    rows: list[Choice] = []
    for at, (change, variant) in enumerate(made, start=1):
        if outcome[at] == -1:
            continue
        here = _or_none(float(flow[at]))
        gain = None if here is None or now is None else here - now
        more = kit_of(variant, catalogue) - kit
        rows.append(
            Choice(
                change=change.label,
                setup=dict(change.fields),
                state=str(STATES[Outcome(int(outcome[at]))]),
                flow_m3_s=here,
                gain_m3_s=gain,
                cost=more.cost_day,
                cost_per_gain=more.cost_day / gain if more.cost_day is not None and gain and gain > 0.0 else None,
                mass_kg=more.mass_kg,
                over_rated=bool(over[at]),
            )
        )
    return rows


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value


def _sentence(setup: Setup, rows: Sequence[Choice]) -> str:
    best = next((row for row in rows if row.state in ("sound", "thin") and (row.gain_m3_s or 0.0) > 0.0), None)
    if best is None or best.gain_m3_s is None or best.flow_m3_s is None:
        return "No single change gives more water that the suction can feed."
    gain = show(best.gain_m3_s, Quantity.FLOW, setup.units)
    flow = show(best.flow_m3_s, Quantity.FLOW, setup.units)
    return f"{best.change[0].upper()}{best.change[1:]} helps most: {gain} more, {flow} in all."
