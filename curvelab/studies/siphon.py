"""Could the water run by itself? The flow without the pump, in hose that holds its shape and over no crest too high."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import kernel
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.line import SIPHON_RESERVE_M
from curvelab.hydraulics.plan import OutletKind, Plan
from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.run import run_of
from curvelab.units import Quantity, show

FORMAT: Final = "curvelab-siphon/1"

Floats = NDArray[np.float64]

_NOTHING_M: Final = 1e-7
"""Head of the pump that stands in for none. [m]"""
_ENDLESS_AIR_PA: Final = 1e9
"""Air under which no crest is too high. [Pa]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Siphon:
    """Whether and how the water runs without the pump, the pump taken out of the line and the hose full."""

    runs: bool
    flow_m3_s: float | None
    """``None`` where it doesn't run."""
    because: str | None
    """Why not: ``shape`` (hose that collapses), ``drop`` (the outlet lies no lower), ``outlet`` (it needs pressure) or
    ``crest`` (the water boils there)."""
    drop_m: float
    """Water surface down to the outlet."""
    crest_m: float
    """Water surface up to the highest point."""
    greatest_crest_m: float
    """How high a crest may lie here before the water breaks, standing still and with the reserve kept. [m]"""
    crest_gauge_pa: float | None
    """Least pressure anywhere along the line while it runs. [Pa]"""
    throttled_m3_s: float | None
    """Where the crest is the trouble: the flow at which it would just hold, with the outlet throttled."""
    in_pipe_m3_s: float | None
    """Where the hose's shape is the trouble: the flow of the same line in hose or pipe that holds its shape."""
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, **asdict(self)}


def siphon(setup: Setup, catalogue: Catalogue | None = None) -> Siphon:
    """The flow of the setup's hose without its pump.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    alone = setup.pump.model_copy(update={"abreast": 1, "beside": (), "throttle": 1.0, "speed": None})
    plan = plan_of([setup.model_copy(update={"pump": alone, "booster": ()})], known)
    found = siphon_of_plan(plan, setup)
    return replace(found, sentence=_sentence(found, setup))


def siphon_of_plan(plan: Plan, setup: Setup | None = None) -> Siphon:
    """The same of a Plan of one row; without a setup the least pressure along the line is left out."""
    drop, crest = -float(plan.lift_m[0] + plan.rise_m[0]), float(plan.lift_m[0] + _highest(plan))
    weight = float(plan.density_kg_m3[0]) * G
    room = float(plan.air_pressure_pa[0] - plan.vapour_pressure_pa[0]) / weight - SIPHON_RESERVE_M
    no = Siphon(
        runs=False,
        flow_m3_s=None,
        because=_why_not(plan, drop),
        drop_m=drop,
        crest_m=crest,
        greatest_crest_m=room,
        crest_gauge_pa=None,
        throttled_m3_s=None,
        in_pipe_m3_s=None,
        sentence="",
    )
    if no.because == "shape" and drop > 0.0:
        held = siphon_of_plan(_holding(plan))
        return replace(no, in_pipe_m3_s=held.flow_m3_s)
    if no.because is not None:
        return no
    line = _without_pump(plan, drop)
    solution = kernel.solve(line)
    held, free = (float(q) for q in np.nan_to_num(solution.crossing_flow_m3_s))
    if held < free * (1.0 - 1e-6):
        return replace(no, because="crest", throttled_m3_s=held if held > 0.0 else None)
    least = None if setup is None else _least_pressure(setup, line, free)
    return replace(no, runs=True, flow_m3_s=free, crest_gauge_pa=least)


def _highest(plan: Plan) -> float:
    way = plan.waypoints
    heights = np.where(way.used, way.height_m, 0.0)[0]
    return max(0.0, float(plan.rise_m[0]), *heights.tolist())


def _why_not(plan: Plan, drop: float) -> str | None:
    if plan.outlet_kind[0] == OutletKind.PRESSURE:
        return "outlet"
    if not all(bool((legs.rigid | ~legs.used)[0].all()) for legs in (plan.suction, plan.discharge)):
        return "shape"
    return "drop" if drop <= 0.0 else None


def _holding(plan: Plan) -> Plan:
    """The same line in hose that holds its shape."""
    suction, discharge = (legs.with_(rigid=np.ones_like(legs.rigid)) for legs in (plan.suction, plan.discharge))
    return plan.with_(suction=suction, discharge=discharge)


def _without_pump(plan: Plan, drop: float) -> Plan:
    """Two rows with a pump of no head: as it is, and under air that no crest is too high for.

    The ports give way to a joint of suction and discharge hose.
    """
    legs = plan.discharge
    joint = np.sqrt(legs.abreast[:, :1]) * legs.bore_m[:, :1]
    most = 2.0 * np.sqrt(2.0 * G * drop) * float((np.pi / 4.0 * legs.abreast * legs.bore_m**2)[0].max())
    ends, nothing = np.array([0.0, most]), np.empty(0)
    empty = CurveTable.of([(nothing, nothing)])
    curves = replace(
        plan.curves,
        head_m=CurveTable.of([(ends, np.full(2, _NOTHING_M))]),
        npshr_m=empty,
        efficiency=empty,
        power_w=empty,
        names=("no pump",),
    )
    pumps = plan.pumps.with_(
        curve=np.zeros_like(plan.pumps.curve),
        speed_ratio=np.ones_like(plan.pumps.speed_ratio),
        wear=np.ones_like(plan.pumps.wear),
        inlet_bore_m=joint,
        outlet_bore_m=joint,
    )
    both = plan.with_(curves=curves, pumps=pumps).repeat(2)
    return both.with_(air_pressure_pa=np.array([float(plan.air_pressure_pa[0]), _ENDLESS_AIR_PA]))


def _least_pressure(setup: Setup, line: Plan, flow: float) -> float:
    """Least gauge pressure along the line at a flow: the run's, drawn for it. [Pa]"""
    one = line.take(slice(0, 1))
    at_rest = kernel.solve(one)
    at = np.array([[flow]])
    running = replace(
        at_rest,
        outcome=np.array([int(Outcome.SOUND)]),
        flow_m3_s=np.array([flow]),
        head_m=np.zeros(1),
        suction_part_m=at_rest.line.suction(at)[:, 0],
    )
    return float(np.nanmin(run_of(setup, one, running).gauge_pa))


def _sentence(found: Siphon, setup: Setup) -> str:
    units = setup.units

    def height(metres: float) -> str:
        return show(metres, Quantity.LENGTH, units)

    if found.runs and found.flow_m3_s is not None:
        flow = show(found.flow_m3_s, Quantity.FLOW, units)
        return f"Once full it runs by itself: about {flow} without the pump, as long as no joint draws air."
    match found.because:
        case "shape":
            if found.in_pipe_m3_s is None:
                why = "lay-flat collapses where it would have to draw"
                return f"It can't run by itself: {why}. Rigid pipe holds its shape."
            flow = show(found.in_pipe_m3_s, Quantity.FLOW, units)
            return (
                f"Lay-flat collapses where it would have to draw. In pipe of this size it would run by itself: {flow}."
            )
        case "drop":
            return f"It can't run by itself: the outlet lies {height(-found.drop_m)} over the water."
        case "outlet":
            return "It can't run by itself: the outlet asks for pressure."
        case _:
            most = height(found.greatest_crest_m)
            high = f"the crest lies {height(found.crest_m)} over the water, and here it holds to {most}"
            if found.throttled_m3_s is None:
                return f"It can't run by itself: {high}."
            flow = show(found.throttled_m3_s, Quantity.FLOW, units)
            return (
                f"Wide open the water would break at the crest; with the outlet throttled to {flow} it runs by itself."
            )
