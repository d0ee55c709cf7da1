"""Many variants of a setup in one call of the kernel, those that can't lie as described left out."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import kernel
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.rules import refusals
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.studies.columns import Columns

Floats = NDArray[np.float64]

DANGERS: Final = ("over-rated", "vacuum-over-rated", "short-of-power")
"""Warnings that a change must not bring."""

REFUSED: Final = "refused"
"""State of a row that a file would not be allowed to describe."""


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Rows solved together. ``plan`` and ``solution`` hold only those that are not ``refused``, in their order."""

    refused: NDArray[np.bool_]
    plan: Plan
    solution: Solution | None

    @classmethod
    def of(cls, plan: Plan) -> Batch:
        """Solve the rows of a plan that keep the rules."""
        refused = refusals(plan).refused
        if refused.any():
            plan = plan.take(np.flatnonzero(~refused))
        return cls(refused, plan, kernel.solve(plan) if plan.rows else None)

    def column(self, name: str) -> Floats:
        """A number of every row; NaN where refused."""
        return self._spread(getattr(self.solution, name) if self.solution else np.empty(0), np.nan)

    @property
    def sound(self) -> NDArray[np.bool_]:
        """Rows that run with the margin kept."""
        outcome = self.solution.outcome if self.solution else np.empty(0)
        return self._spread(outcome == Outcome.SOUND, fill=False)

    @property
    def outcome(self) -> NDArray[np.int64]:
        """State of every row, −1 where refused."""
        return self._spread(self.solution.outcome if self.solution else np.empty(0), -1).astype(np.int64)

    @property
    def over_rated(self) -> NDArray[np.bool_]:
        """Rows with hose that could see more than its rating."""
        return self._spread(self.solution.over_rated if self.solution else np.empty(0), fill=False)

    @property
    def perhaps_starved(self) -> NDArray[np.bool_]:
        """Rows whose pump states no need, and that give more than where its suction may give out, at a guess."""
        if self.solution is None:
            return self._spread(np.empty(0), fill=False)
        return self._spread(self.solution.flow_m3_s > self.solution.cavitation_low_m3_s, fill=False)

    @property
    def suction_unknown(self) -> NDArray[np.bool_]:
        """Rows that run past the last flow at which somebody tested what the pump needs at its inlet."""
        if self.solution is None:
            return self._spread(np.empty(0), fill=False)
        return self._spread(self.solution.suction_unknown, fill=False)

    @property
    def held_in_line(self) -> NDArray[np.bool_]:
        """Rows with a pump in the line that uses up what reaches it."""
        if self.solution is None:
            return self._spread(np.empty(0), fill=False)
        return self._spread(self.solution.held_in_line, fill=False)

    @property
    def well(self) -> NDArray[np.bool_]:
        """Rows that run with the margin kept, as far as anybody has tested it, and at the worst guess."""
        return self.sound & ~self.perhaps_starved & ~self.suction_unknown & ~self.held_in_line

    @property
    def strain(self) -> Floats:
        """Greatest pressure with the end shut over the rating of the hose that sees it; 0 where none is stated. [-]"""
        if self.solution is None:
            return self._spread(np.empty(0), 0.0)
        rating = np.where(self.plan.discharge.used, self.plan.discharge.rating_pa, np.inf)
        return self._spread((self.solution.leg_bound_pa / rating).max(axis=1), 0.0)

    @property
    def dangers(self) -> list[tuple[str, ...]]:
        """What could burst, fold flat or slow down in every row: codes of warnings, none where refused."""
        if self.solution is None:
            return [()] * self.refused.size
        s = self.solution
        marks = (s.over_rated, s.vacuum_over_rated, s.engine_share > 1.0)
        rows = self._spread(np.stack(marks, axis=1), fill=False)
        return [tuple(code for code, so in zip(DANGERS, row, strict=True) if so) for row in rows.tolist()]

    @property
    def columns(self) -> Columns:
        """Every number of every row, the state ``refused`` among them."""
        rows = self.refused.size
        if self.solution is None:
            nothing = np.full(rows, np.nan)
            numbers = {f.name: nothing for f in fields(Columns) if f.name != "state"}
            return Columns(state=np.full(rows, REFUSED), **numbers)
        good = Columns.of(self.solution)
        numbers = {f.name: self._spread(getattr(good, f.name), np.nan) for f in fields(Columns) if f.name != "state"}
        return Columns(state=self._spread(good.state, REFUSED), **numbers)

    def _spread(self, values: NDArray[Any], fill: object) -> NDArray[Any]:
        if not self.refused.any():
            return values
        kind = np.asarray(fill).dtype
        out = np.full(
            self.refused.shape + values.shape[1:],
            fill,
            dtype=np.result_type(values.dtype, kind) if values.size else kind,
        )
        out[~self.refused] = values
        return out
