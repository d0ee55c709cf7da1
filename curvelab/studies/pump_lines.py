"""Each of several pumps by itself, as a line of the picture: what it gives at its own flow, and where it stands."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.curve import CurveTable
from curvelab.model.pump import Pump
from curvelab.model.pumpcolumns import members_of, ratio_of
from curvelab.model.pumpgroup import Member
from curvelab.model.setup import PumpChoice, Setup
from curvelab.studies.result import Result

Floats = NDArray[np.float64]

_POINTS: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PumpLine:
    """Head of one pump against its own flow, at its speed and wear, over its tested points."""

    name: str
    count: int
    """Equal ones side by side that this stands for."""
    in_line: bool
    flow_m3_s: Floats
    head_m: Floats
    at_flow_m3_s: float | None
    """What one of them gives; ``None`` where nothing flows. [m³/s]"""
    at_head_m: float | None

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON."""
        return {
            "name": self.name,
            "count": self.count,
            "in_line": self.in_line,
            "flow_m3_s": self.flow_m3_s.tolist(),
            "head_m": self.head_m.tolist(),
            "at_flow_m3_s": self.at_flow_m3_s,
            "at_head_m": self.at_head_m,
        }


def pump_lines(setup: Setup, look_up: Callable[[PumpChoice], Pump], result: Result) -> tuple[PumpLine, ...]:
    """A line for each of the pumps at the water and for each in the line; none for a pump alone."""
    members = members_of(setup, look_up)
    lines: list[PumpLine] = []
    if result.pumps:
        for member, share in zip(members, result.pumps, strict=True):
            flows = result.head_m is not None
            flow = share.flow_m3_s / share.count if flows else None
            lines.append(_line(member, flow, result.head_m if share.flow_m3_s > 0.0 else None, in_line=False))
    gives = {(one.id, one.distance_m): one.adds_m for one in result.boosters}
    for choice in setup.booster:
        pump = look_up(choice)
        member = Member(pump, ratio_of(choice, pump), choice.wear)
        head = gives.get((pump.id, choice.distance.si))
        lines.append(_line(member, result.flow_m3_s if head is not None else None, head, in_line=True))
    return tuple(lines)


def _line(member: Member, flow: float | None, head: float | None, *, in_line: bool) -> PumpLine:
    points = member.pump.head
    tested = np.linspace(float(points.flow_m3_s[0]), float(points.flow_m3_s[-1]), _POINTS)
    heads = CurveTable.of([(points.flow_m3_s, points.values_si)])(np.zeros(1, dtype=np.int64), tested[None, :])[0]
    return PumpLine(
        name=member.pump.label,
        count=member.count,
        in_line=in_line,
        flow_m3_s=tested * member.ratio,
        head_m=heads * member.ratio**2 * member.wear,
        at_flow_m3_s=flow,
        at_head_m=head,
    )
