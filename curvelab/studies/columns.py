"""Results of many setups as columns: one NumPy array for every number that a solve returns, one row a setup."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.studies.result import State

Floats = NDArray[np.float64]

STATES = {
    Outcome.NO_LIFT: State.NO_LIFT,
    Outcome.NO_PRIME: State.NO_PRIME,
    Outcome.CAVITATING: State.CAVITATING,
    Outcome.OFF_CURVE: State.OFF_CURVE,
    Outcome.THIN: State.THIN,
    Outcome.SOUND: State.SOUND,
}
"""The kernel's outcome as the word that people and files use."""

_WORDS = np.array([str(STATES[outcome]) for outcome in sorted(STATES)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Columns:
    """Arrays of shape (rows,), SI, named as in a ``Result``. NaN is null: the value does not apply."""

    state: NDArray[np.str_]
    flow_m3_s: Floats
    head_m: Floats
    crossing_flow_m3_s: Floats
    crossing_head_m: Floats
    static_head_m: Floats
    shutoff_head_m: Floats
    npsha_m: Floats
    npshr_m: Floats
    cavitation_flow_m3_s: Floats
    margin_flow_m3_s: Floats
    inlet_gauge_pa: Floats
    pump_outlet_gauge_pa: Floats
    dead_head_gauge_pa: Floats
    shut_end_gauge_pa: Floats
    shaft_power_w: Floats
    efficiency: Floats
    engine_share: Floats
    priming_lift_m: Floats
    prime_time_s: Floats
    hose_volume_m3: Floats

    @classmethod
    def of(cls, solution: Solution) -> Columns:
        """Columns of a Solution's rows."""
        numbers = {f.name: getattr(solution, f.name) for f in fields(cls) if f.name != "state"}
        return cls(state=_WORDS[solution.outcome], **numbers)

    def to_dict(self) -> dict[str, list[Any]]:
        """Plain lists for JSON, null for NaN."""
        out: dict[str, list[Any]] = {}
        for f in fields(self):
            values = getattr(self, f.name).tolist()
            out[f.name] = values if f.name == "state" else [None if math.isnan(v) else v for v in values]
        return out

    def __len__(self) -> int:
        return int(self.flow_m3_s.shape[0])
