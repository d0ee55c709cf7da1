"""Unlike pumps side by side as one curve: at equal head their flows add up."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.plan import Floats
from curvelab.model.points import Points
from curvelab.model.pump import Pump
from curvelab.model.suctiontests import npshr_of_tests

_SAMPLES = 400
"""Points taken along each pump's curve for turning it round: straight lines between them miss it by under 1e-5."""
_HEADS = 60
"""Points of the curve of all together."""


@dataclass(frozen=True, slots=True)
class Member:
    """One pump of a group, as it turns."""

    pump: Pump
    ratio: float
    """Speed over tested speed. [-]"""
    wear: float
    count: int = 1

    def flow_at(self, head_m: Floats) -> Floats:
        """Flow at heads of the group [m³/s], on the falling part of its curve; 0 where the others push it back."""
        flow, head = _turned(self)
        return self.count * np.interp(-head_m, -head, flow, left=0.0)

    @property
    def greatest_head_m(self) -> float:
        """At its speed and wear. [m]"""
        return float(_turned(self)[1][0])

    @property
    def last_head_m(self) -> float:
        """At its last tested flow. [m]"""
        return float(_turned(self)[1][-1])

    def value_at(self, points: Points | tuple[Floats, Floats] | None, flow: Floats, power: int) -> Floats | None:
        """Another curve of this pump at flows of one of it, scaled by the speed's power; ``None`` without points."""
        if points is None:
            return None
        x, y = points if isinstance(points, tuple) else (points.flow_m3_s, points.values_si)
        if x.size == 0:
            return None
        table = CurveTable.of([(x, y)])
        return self.ratio**power * table(np.zeros(1, dtype=np.int64), flow[None, :] / self.ratio)[0]


@dataclass(frozen=True, slots=True)
class Group:
    """Pumps side by side. Hashable: a Plan looks each group up once."""

    members: tuple[Member, ...]

    @property
    def id(self) -> str:
        """Ids of all of them."""
        return " + ".join(member.pump.id for member in self.members)

    @property
    def heads(self) -> Floats:
        """Heads of the group's curve, falling from the greatest of any to where one runs off its tested curve. [m]"""
        top = max(member.greatest_head_m for member in self.members)
        end = max(member.last_head_m for member in self.members)
        knees = [m.greatest_head_m for m in self.members if end < m.greatest_head_m < top]
        # closer together towards the top, where a curve is flat and flow changes fast with head
        even = end + (top - end) * (1.0 - np.linspace(0.0, 1.0, _HEADS) ** 2)
        return np.unique(np.concatenate([even, knees]))[::-1]

    @property
    def head_points(self) -> tuple[Floats, Floats]:
        """Flow [m³/s] and head [m].

        Where the highest curve droops at the start its top is carried back to no flow: pumps side by side can't share a
        flow there.
        """
        head = self.heads
        flow = np.sum([member.flow_at(head) for member in self.members], axis=0)
        flow[0] = 0.0
        return _rising(flow, head)

    @property
    def npshr_points(self) -> tuple[Floats, Floats]:
        """Flow of all [m³/s] and the most that any of them needs [m]; empty where one's need is not known."""
        head = self.heads
        flow = np.sum([member.flow_at(head) for member in self.members], axis=0)
        needs: list[Floats] = []
        for member in self.members:
            own = member.flow_at(head) / member.count
            tests = member.pump.suction_test
            points = npshr_of_tests(tests) if tests else member.pump.npshr
            need = member.value_at(points, own, 2)
            if need is None:
                return np.empty(0), np.empty(0)
            needs.append(np.where((own > 0.0) | (flow <= 0.0), need, 0.0))
        return _rising(flow, np.max(needs, axis=0))

    @property
    def power_points(self) -> tuple[Floats, Floats]:
        """Flow of all [m³/s] and the shaft power of all in water [W]; empty where one's is not known."""
        head = self.heads
        flow = np.sum([member.flow_at(head) for member in self.members], axis=0)
        total = np.zeros_like(head)
        for member in self.members:
            own = member.flow_at(head) / member.count
            power = member.value_at(member.pump.power, own, 3)
            if power is None:
                eta = member.value_at(member.pump.efficiency, own, 0)
                if eta is None:
                    return np.empty(0), np.empty(0)
                as_new = head / member.wear
                power = np.where(eta > 0.0, 998.2 * 9.80665 * own * as_new / np.where(eta > 0.0, eta, 1.0), 0.0)
            total += member.count * power
        return _rising(flow, total)


@lru_cache(maxsize=128)
def _turned(member: Member) -> tuple[Floats, Floats]:
    """Flow [m³/s] and head [m] of one pump from its greatest head on, head falling strictly."""
    x, y = member.pump.head.flow_m3_s, member.pump.head.values_si
    table = CurveTable.of([(x, y)])
    top = int(np.argmax(y))
    flow = float(x[top]) + (float(x[-1]) - float(x[top])) * np.arange(_SAMPLES, dtype=np.float64) / (_SAMPLES - 1)
    head = table(np.zeros(1, dtype=np.int64), flow[None, :])[0]
    keep = np.concatenate([[True], np.diff(np.minimum.accumulate(head)) < 0.0])
    return flow[keep] * member.ratio, head[keep] * member.ratio**2 * member.wear


def _rising(flow: Floats, value: Floats) -> tuple[Floats, Floats]:
    """Points with strictly rising flow."""
    keep = np.concatenate([[True], np.diff(np.maximum.accumulate(flow)) > 1e-12])
    return flow[keep], value[keep]
