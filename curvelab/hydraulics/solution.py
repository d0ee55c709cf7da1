"""The Solution: what the kernel finds for every row of a Plan. NaN stands for null."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.line import Line, Route
from curvelab.hydraulics.suction import Needs

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


NOTICED = 0.01
"""Share of its head that a pump in the line holds back before it is said. [-]"""


class Outcome(IntEnum):
    """State of a row, in order of precedence."""

    NO_LIFT = 0
    NO_PRIME = 1
    CAVITATING = 2
    OFF_CURVE = 3
    THIN = 4
    SOUND = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solution:
    """Arrays of shape (rows,) unless said otherwise, SI, at the delivered flow. Names as in a Result."""

    outcome: Ints
    flow_m3_s: Floats
    head_m: Floats
    crossing_flow_m3_s: Floats
    crossing_head_m: Floats
    static_head_m: Floats
    shutoff_head_m: Floats
    start_head_m: Floats
    npsha_m: Floats
    npshr_m: Floats
    npshr_low_m: Floats
    npshr_high_m: Floats
    cavitation_flow_m3_s: Floats
    cavitation_low_m3_s: Floats
    cavitation_high_m3_s: Floats
    margin_flow_m3_s: Floats
    margin_m: Floats
    air_head_m: Floats
    vapour_head_m: Floats
    inlet_gauge_pa: Floats
    pump_outlet_gauge_pa: Floats
    dead_head_gauge_pa: Floats
    shut_end_gauge_pa: Floats
    shaft_power_w: Floats
    efficiency: Floats
    engine_share: Floats
    engine_available_w: Floats
    priming_lift_m: Floats
    prime_time_s: Floats
    end_flow_m3_s: Floats
    other_row: Ints
    """Rows of the further crossings, shape (others,)."""
    other_flow_m3_s: Floats
    other_head_m: Floats
    line: Line
    """The losses of every row, for curves at other flows."""
    needs: Needs
    route: Route
    point: Ints
    """The governing point: column of the route."""
    lift_part_m: Floats
    rise_part_m: Floats
    suction_part_m: Floats
    discharge_part_m: Floats
    leaving_part_m: Floats
    pressure_part_m: Floats
    boosted_part_m: Floats
    """What pumps in the line give on the way to the governing point. [m]"""
    surplus_part_m: Floats
    """Head that the pump gives beyond what is asked: off-curve only, else 0. [m]"""
    suction_velocity_m_s: Floats
    """Shape (rows, suction legs); NaN in padding."""
    discharge_velocity_m_s: Floats
    """Shape (rows, discharge legs); NaN in padding."""
    hose_volume_m3: Floats
    leg_bound_pa: Floats
    """Greatest pressure that each discharge leg could see with the end shut, shape (rows, discharge legs)."""
    over_rated: Bools
    vacuum_over_rated: Bools
    npshr_past_curve: Bools
    """The delivered flow lies beyond the last tested NPSHR."""

    @property
    def suction_unknown(self) -> Bools:
        """Rows that run with no trouble known, but past the last tested NPSHR."""
        return (self.outcome == Outcome.SOUND) & self.npshr_past_curve

    @property
    def held_in_line(self) -> Bools:
        """Rows with no trouble at the water where a pump in the line gives less than its curve: its inlet governs."""
        if self.line.boosters is None:
            return np.zeros(self.outcome.shape, dtype=np.bool_)
        flow = np.nan_to_num(self.flow_m3_s)[:, None]
        held, heads = self.line.held_back(flow)[:, 0], self.line.boosters.heads(flow)[:, 0]
        points = self.route.kind.shape[1]
        places = np.arange(points - held.shape[1], points, dtype=np.int64)
        said: Bools = (places == self.point[:, None]) & (held > NOTICED * heads)
        return (self.outcome == Outcome.SOUND) & said.any(-1)
