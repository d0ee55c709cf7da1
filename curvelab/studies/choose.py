"""Which one change helps most? Every neighbour of a setup solved together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final, NamedTuple

from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.batch import Batch
from curvelab.studies.change import Change, Value, applied, neighbours
from curvelab.studies.columns import STATES
from curvelab.studies.kit import kit_of
from curvelab.studies.say import flow_text, more_or_less
from curvelab.units import Quantity

FORMAT: Final = "curvelab-choice/1"

RUNS: Final = ("sound", "thin", "cavitating", "off-curve")
"""States in which water flows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One change and what it makes of the setup. Money and mass are more (or less, below 0) than now."""

    change: str
    setup: dict[str, Value]
    """The changed fields, path to text; to a whole table where a pump is set into the line."""
    state: str
    flow_m3_s: float | None
    gain_m3_s: float | None
    cost: float | None
    """Hire for a day, in the price list's currency."""
    cost_per_gain: float | None
    """Money a day for each m³/s gained; ``None`` where there is no gain or no price."""
    mass_kg: float | None
    dangers: tuple[str, ...]
    """What could burst, fold flat or slow down, as codes of warnings: see ``batch.DANGERS``."""
    perhaps_starved: bool
    """The pump states no suction need, and at a guess this flow is more than it lets through."""
    suction_unknown: bool
    """Nobody has tested what the pump needs at its inlet at so great a flow."""
    held_in_line: bool
    """A pump in the line gives less than its curve: its inlet holds the flow back."""

    @property
    def well(self) -> bool:
        """Runs with the margin kept, as far as anybody has tested it, and at the worst guess."""
        return self.state == "sound" and not (self.perhaps_starved or self.suction_unknown or self.held_in_line)

    @property
    def over_rated(self) -> bool:
        """Hose could see more than its rating with the end shut."""
        return "over-rated" in self.dangers


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
    plan_of([setup], known)
    now, *others = rows_of(setup, [Change("", ()), *neighbours(setup, known)], known)
    others.sort(key=lambda one: (not runs(one.row), -(one.row.gain_m3_s or 0.0)))
    return Choices(rows=tuple(one.row for one in others), sentence=_sentence(setup, now, others))


class Tried(NamedTuple):
    """A change solved, with what could go wrong there."""

    row: Choice
    strain: float
    """Greatest pressure with the end shut over the rating of the hose that sees it. [-]"""


def runs(row: Choice) -> bool:
    """Whether water flows, and how much is known."""
    return row.state in RUNS and bool(row.flow_m3_s)


def rows_of(setup: Setup, changes: Sequence[Change], catalogue: Catalogue) -> list[Tried]:
    """Each change that the setup can take, solved, in the order given."""
    made = applied(setup, changes, catalogue)
    batch = Batch.of(plan_of([setup, *(variant for _, variant in made)], catalogue, checked=False))
    flow, outcome = batch.column("flow_m3_s"), batch.outcome
    strain, dangers, starved, unknown = batch.strain, batch.dangers, batch.perhaps_starved, batch.suction_unknown
    held, kit, now = batch.held_in_line, kit_of(setup, catalogue), _or_none(float(flow[0]))
    rows: list[Tried] = []
    for at, (change, variant) in enumerate(made, start=1):
        if outcome[at] == -1:
            continue
        here = _or_none(float(flow[at]))
        gain = None if here is None or now is None else here - now
        more = kit_of(variant, catalogue) - kit
        row = Choice(
            change=change.label,
            setup=dict(change.fields),
            state=str(STATES[Outcome(int(outcome[at]))]),
            flow_m3_s=here,
            gain_m3_s=gain,
            cost=more.cost_day,
            cost_per_gain=more.cost_day / gain if more.cost_day is not None and gain and gain > 0.0 else None,
            mass_kg=more.mass_kg,
            dangers=dangers[at],
            perhaps_starved=bool(starved[at]),
            suction_unknown=bool(unknown[at]),
            held_in_line=bool(held[at]),
        )
        rows.append(Tried(row, float(strain[at])))
    return rows


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value


def cost_of(row: Choice) -> float:
    """Hire more than now; infinite where a part has no price."""
    return row.cost if row.cost is not None else float("inf")


def worse(one: Tried, before: Tried) -> bool:
    """Whether a danger is new or greater."""
    bursts = one.row.over_rated and one.strain > before.strain * (1.0 + 1e-9)
    return bursts or not set(one.row.dangers) <= set(before.row.dangers)


def _sentence(setup: Setup, now: Tried, rows: Sequence[Tried]) -> str:
    """Praises only what the suction can feed and what raises no danger; of two with one printed flow the cheaper."""
    good = [one.row for one in rows if one.row.state in ("sound", "thin") and not worse(one, now)]
    units, before = setup.units, now.row.flow_m3_s or 0.0
    most = flow_text((good[0] if good else now.row).flow_m3_s or 0.0, units)
    alike = [row for row in good if flow_text(row.flow_m3_s or 0.0, units) == most]
    best = min(alike, key=lambda row: (row.state != "sound", cost_of(row)), default=now.row)
    flow = best.flow_m3_s or 0.0
    gain = more_or_less(flow, before, Quantity.FLOW, units)
    if flow <= before or gain == "no more":
        return "No single change gives more water that the suction can feed."
    but = [
        word
        for word, so in (
            (gain, before > 0.0),
            ("with little to spare", best.state == "thin"),
            ("perhaps starved", best.perhaps_starved),
            ("suction not known", best.suction_unknown),
            ("held back in the line", best.held_in_line),
            ("hose rated too low", best.over_rated),
        )
        if so
    ]
    return f"Most water: {best.change}. {', '.join([flow_text(flow, units), *but])}."
