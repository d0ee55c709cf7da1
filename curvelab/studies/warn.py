"""What a careful person would say with an answer: the warnings, every code and its sentence in this one place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

import numpy as np

from curvelab.hydraulics.constants import G
from curvelab.hydraulics.outlets import nozzle_reaction
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.shut import casing_bounds
from curvelab.hydraulics.solution import Solution
from curvelab.model.catalogue import Catalogue
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.curves import head_band
from curvelab.studies.engines import Place, engines_of
from curvelab.studies.result import BoosterFound, PumpShare, Warn
from curvelab.studies.say import push_text
from curvelab.units import Quantity, show

FAST_SUCTION_M_S: Final = 6 * 0.3048
"""Speed in the suction hose past which a warning stands, 6 ft/s. [m/s] Hydraulic design handbook, section 5.7.2.2: 4 to
6 ft/s most common in pump suctions."""
SLOW_GRIT_M_S: Final = 0.91
"""Least speed that keeps sand moving in a hose, 3 ft/s. [m/s] ASPE Data Book vol. 2 p. 88: some authorities' figure."""
LEAST_COVER_M: Final = 18 * 0.0254
"""Least water over a strainer, 18 in. [m] Common practice, no source."""
CURVE_HOLDS_TO_M2_S: Final = 10e-6
"""Viscosity past which a curve taken with water no longer holds. [m²/s] After ANSI/HI 9.6.7; figure from memory."""
FLATTERING_BELOW: Final = 0.8
"""Speed ratio under which NPSHR by the square law flatters. [-] Common practice, no source."""

TEXTS: Final[dict[str, str]] = {
    "curve-estimate": "{pump}’s curve is an estimate{band}.",
    "no-npshr": "This pump's sheet doesn't say what its suction needs. Where it gives out is a guess.",
    "npshr-past-curve": "At this flow nobody has tested what the pump's suction needs.",
    "slow-suction-figure": "Below 80 % of full speed the suction figure flatters: a real pump needs more.",
    "fast-suction": "Fast suction, {speed}: over {limit} a clogging strainer or a leak tells sooner.",
    "shallow-strainer": "Only {cover} of water lies over the strainer; it wants {least}, or it draws air.",
    "no-end-fitting": "The suction hose has no strainer, foot valve or bare end on it: the loss there isn't counted.",
    "over-rated": "{length} of hose could see up to {pressure} if the end is shut; it is rated {rating}.",
    "casing-over-rated": "{pump}{where} could see up to {pressure} if the end is shut; its casing is rated {rating}.",
    "vacuum-over-rated": "The suction hose could see more vacuum than it stands, {vacuum}: it may fold flat.",
    "short-of-power": "{asks} {share} of what {engine} holds here for hours. It will slow down and give less.",
    "too-viscous": "This liquid is too thick for a curve taken with water: the real pump gives less.",
    "solids-too-big": "Things of {solids} are in the water; this pump passes {passes}.",
    "liquid-refused": "{pump} must not carry {liquid}.",
    "slow-for-grit": "At {speed} in the discharge hose sand settles; it wants {limit}.",
    "nozzle-push": "{who} pushes back with {push}: stand firm, and open it slowly.",
    "pushed-back": "{pump} is pushed back by the others and gives nothing at this head.",
    "held-in-line": "{pump} {where} along the hose is held back at its inlet: it gives {adds} of its {head}.",
    "crosses-again": "The curves cross at {flow} too: the flow may swing between the two, or stay at the smaller.",
    "shut-off-unknown": "The curve has no point at zero flow, so the pressure with the end shut is not known.",
}
"""Sentence of each code, with the places where figures go."""


class _Case(NamedTuple):
    setup: Setup
    catalogue: Catalogue
    pump: Pump
    others: tuple[Pump, ...]
    """Pumps side by side with it, and boosters in the line."""
    shares: tuple[PumpShare, ...]
    boosters: tuple[BoosterFound, ...]
    liquid: str
    plan: Plan
    solution: Solution

    def show(self, value: float, quantity: Quantity) -> str:
        return show(value, quantity, self.setup.units)


_Figures = dict[str, str]


def warnings_of(
    setup: Setup,
    catalogue: Catalogue,
    plan: Plan,
    solution: Solution,
    *,
    shares: tuple[PumpShare, ...] = (),
    boosters: tuple[BoosterFound, ...] = (),
) -> tuple[Warn, ...]:
    """Warnings of row 0, those that can hurt someone first; ``shares`` of several pumps at the water."""
    pump = setup.pump.record or catalogue.pumps[setup.pump.id or ""]
    liquid = catalogue.liquids.get(setup.site.liquid)
    name = (liquid.name if liquid else None) or setup.site.liquid
    others = tuple(c.record or catalogue.pumps[c.id or ""] for c in (*setup.pump.beside, *setup.booster))
    case = _Case(setup, catalogue, pump, others, shares, boosters, name, plan, solution)
    return tuple(
        Warn(code=code, text=TEXTS[code].format(**figures))
        for code, check in _CHECKS.items()
        for figures in check(case)
    )


def _liquid_refused(case: _Case) -> Iterator[_Figures]:
    liquid = case.setup.site.liquid
    if liquid in case.pump.never or (case.pump.carries and liquid not in case.pump.carries):
        yield {"pump": case.pump.label, "liquid": case.liquid}


def _over_rated(case: _Case) -> Iterator[_Figures]:
    from curvelab.studies.run import over_rated_of

    stretches = over_rated_of(case.plan, case.solution)
    for rating in sorted({stretch.rating_pa for stretch in stretches}):
        mine = [stretch for stretch in stretches if stretch.rating_pa == rating]
        length = sum(stretch.to_m - stretch.from_m for stretch in mine)
        yield {
            "length": case.show(_up(length, case), Quantity.LENGTH),
            "pressure": case.show(max(stretch.pressure_pa for stretch in mine), Quantity.PRESSURE),
            "rating": case.show(rating, Quantity.PRESSURE),
        }


def _up(length_m: float, case: _Case) -> float:
    """A length in danger, rounded up to the next 5 ft or 1 m. [m]"""
    step = 1.0 if case.setup.units == "metric" else 5 * 0.3048
    return float(np.ceil(length_m / step - 1e-6)) * step


def _casing_over_rated(case: _Case) -> Iterator[_Figures]:
    """Each pump's casing: a pump in the line stands the pressure of those before it too."""
    could, pumps = casing_bounds(case.plan)[0], case.plan.pumps
    for at in np.flatnonzero(pumps.used[0] & (could > pumps.casing_rating_pa[0])).tolist():
        booster = case.setup.booster[at - 1] if at else None
        record = case.pump if booster is None else case.others[len(case.setup.pump.beside) + at - 1]
        yield {
            "pump": record.name or record.id,
            "where": "" if booster is None else f" {booster.distance.show(case.setup.units)} along the hose",
            "pressure": case.show(float(could[at]), Quantity.PRESSURE),
            "rating": case.show(float(pumps.casing_rating_pa[0, at]), Quantity.PRESSURE),
        }


def _vacuum_over_rated(case: _Case) -> Iterator[_Figures]:
    if case.solution.vacuum_over_rated[0]:
        yield {"vacuum": case.show(float(case.plan.suction.vacuum_rating_pa[0].min()), Quantity.VACUUM)}


def _short_of_power(case: _Case) -> Iterator[_Figures]:
    share = float(case.solution.engine_share[0])
    if share > 1.0:
        yield {"asks": "This asks", "share": case.show(share, Quantity.SHARE), "engine": "the engine"}
    if case.setup.booster:
        for one in engines_of(case.setup, case.catalogue, case.solution):
            if one.place is Place.LINE and one.share is not None and one.share > 1.0:
                share_text = case.show(one.share, Quantity.SHARE)
                yield {"asks": f"The {one.name} in the line is asked", "share": share_text, "engine": "its engine"}


def _solids(case: _Case) -> Iterator[_Figures]:
    solids, passes = case.setup.job.solids, case.pump.solids
    if solids is not None and passes is not None and solids.si > passes.si * (1.0 + 1e-9):
        yield {"solids": case.show(solids.si, Quantity.BORE), "passes": case.show(passes.si, Quantity.BORE)}


def _no_end_fitting(case: _Case) -> Iterator[_Figures]:
    if not case.plan.strained[0]:
        yield {}


def _shallow(case: _Case) -> Iterator[_Figures]:
    cover = float(case.plan.strainer_cover_m[0])
    bore, speed = float(case.plan.suction.bore_m[0, 0]), float(case.solution.suction_velocity_m_s[0, 0])
    froude = speed / np.sqrt(G * bore)
    least = max(LEAST_COVER_M, bore * (1.0 + 2.3 * froude))  # ANSI/HI 9.8: S = D(1 + 2.3 Fr)
    if cover < least:
        yield {"cover": case.show(max(cover, 0.0), Quantity.LENGTH), "least": case.show(least, Quantity.LENGTH)}


def _fast_suction(case: _Case) -> Iterator[_Figures]:
    speed = float(np.nanmax(case.solution.suction_velocity_m_s[0]))
    if speed > FAST_SUCTION_M_S:
        yield {"speed": case.show(speed, Quantity.SPEED), "limit": case.show(FAST_SUCTION_M_S, Quantity.SPEED)}


def _slow_for_grit(case: _Case) -> Iterator[_Figures]:
    speed = float(np.nanmin(case.solution.discharge_velocity_m_s[0]))
    if case.setup.job.solids is not None and 0.0 < speed < SLOW_GRIT_M_S:
        yield {"speed": case.show(speed, Quantity.SPEED), "limit": case.show(SLOW_GRIT_M_S, Quantity.SPEED)}


def _no_npshr(case: _Case) -> Iterator[_Figures]:
    if not case.solution.needs.known[0]:
        yield {}


def _curve_estimate(case: _Case) -> Iterator[_Figures]:
    for pump in case.others:
        if pump.estimate:
            yield {"pump": pump.name or pump.id, "band": ""}
    if not case.pump.estimate:
        return
    band = ""
    edges = head_band(case.plan, case.pump, np.nan_to_num(case.solution.flow_m3_s[:1]))
    if edges is not None:
        low, high = (case.show(float(edge[0]), Quantity.HEAD) for edge in edges)
        band = f": at this flow its head may be {low} to {high}"
    yield {"pump": case.pump.name or case.pump.id, "band": band}


def _crosses_again(case: _Case) -> Iterator[_Figures]:
    for flow in case.solution.other_flow_m3_s[case.solution.other_row == 0].tolist():
        yield {"flow": case.show(flow, Quantity.FLOW)}


def _npshr_past(case: _Case) -> Iterator[_Figures]:
    if case.solution.npshr_past_curve[0]:
        yield {}


def _slow_suction_figure(case: _Case) -> Iterator[_Figures]:
    if case.solution.needs.known[0] and case.plan.pumps.speed_ratio[0, 0] < FLATTERING_BELOW:
        yield {}


def _nozzle_push(case: _Case) -> Iterator[_Figures]:
    outlet, flow = case.setup.outlet, float(np.nan_to_num(case.solution.flow_m3_s[0]))
    if outlet.kind == "nozzle" and outlet.bore is not None and flow > 0.0:
        head = float(case.plan.outlet_resistance[0]) * flow**2
        pressure = float(case.plan.density_kg_m3[0]) * G * head
        push = float(nozzle_reaction(bore_m=outlet.bore.si, pressure_pa=pressure))
        who = "The nozzle" if (outlet.count or 1) == 1 else "Each nozzle"
        yield {"who": who, "push": push_text(push, case.setup.units)}


def _pushed_back(case: _Case) -> Iterator[_Figures]:
    flows = (case.solution.flow_m3_s[0] > 0.0) and len(case.shares) > 1
    for share in case.shares if flows else ():
        if share.flow_m3_s == 0.0:
            yield {"pump": share.name}


def _held_in_line(case: _Case) -> Iterator[_Figures]:
    for one in case.boosters:
        if one.held:
            yield {
                "pump": one.name,
                "where": case.show(one.distance_m, Quantity.LENGTH),
                "adds": case.show(max(one.adds_m or 0.0, 0.0), Quantity.HEAD),
                "head": case.show(one.head_m or 0.0, Quantity.HEAD),
            }


def _too_viscous(case: _Case) -> Iterator[_Figures]:
    if case.plan.kinematic_viscosity_m2_s[0] > CURVE_HOLDS_TO_M2_S:
        yield {}


def _shut_off_unknown(case: _Case) -> Iterator[_Figures]:
    if np.isnan(case.solution.shutoff_head_m[0]):
        yield {}


_CHECKS: Final[dict[str, Callable[[_Case], Iterator[_Figures]]]] = {
    "liquid-refused": _liquid_refused,
    "over-rated": _over_rated,
    "casing-over-rated": _casing_over_rated,
    "vacuum-over-rated": _vacuum_over_rated,
    "shut-off-unknown": _shut_off_unknown,
    "solids-too-big": _solids,
    "too-viscous": _too_viscous,
    "nozzle-push": _nozzle_push,
    "short-of-power": _short_of_power,
    "pushed-back": _pushed_back,
    "held-in-line": _held_in_line,
    "no-end-fitting": _no_end_fitting,
    "shallow-strainer": _shallow,
    "crosses-again": _crosses_again,
    "curve-estimate": _curve_estimate,
    "no-npshr": _no_npshr,
    "npshr-past-curve": _npshr_past,
    "slow-suction-figure": _slow_suction_figure,
    "fast-suction": _fast_suction,
    "slow-for-grit": _slow_for_grit,
}

CODES: Final = tuple(_CHECKS)
"""Every warning code."""
