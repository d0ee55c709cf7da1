"""Checks of the slow studies: falling levels, bodies of water, siphons by the kernel, doubts and their blame, fuel."""

from __future__ import annotations

import numpy as np

from curvelab.hydraulics import friction, hose, outlets, power, tank
from curvelab.hydraulics.crossing import find_roots
from curvelab.hydraulics.drain import drain
from curvelab.studies.doubt import shares_of
from curvelab.studies.doubt_draws import GRADE_HEAD, NINE_IN_TEN
from curvelab.studies.siphon import siphon_of_plan
from curvelab.units import Quantity
from tests.published.records import check
from tests.speed.bridge import plan_of_cases
from tests.speed.case import Case, Hose, Outlet, Pump

Q = Quantity
_HOLE = {"level_from": Q.LENGTH, "level_to": Q.LENGTH, "hole": Q.AREA, "coefficient": None}


def _even(area: float):
    return lambda level: np.full(level.shape, area)


def _hole(hole: float, coefficient: float):
    bore = np.sqrt(4.0 * hole / np.pi)
    return lambda head: outlets.jet_flow(np.maximum(head, 0.0), bore_m=bore, coefficient=coefficient)


@check(Q.TIME, area=Q.AREA, **_HOLE)
def falls(area, level_from, level_to, hole, coefficient):
    """Upright walls run out through a hole, by the integral that the clock uses."""
    fall = drain(_hole(hole, coefficient), area=_even(area), level_from_m=level_from, level_to_m=level_to)
    return fall.time_s[-1]


@check(Q.TIME, radius=Q.LENGTH, **_HOLE)
def bowl_falls(radius, level_from, level_to, hole, coefficient):
    """The lower part of a sphere, its area tabled."""
    levels = np.linspace(0.0, level_from, 201)
    body = tank.table(level_m=levels, area_m2=np.pi * (2.0 * radius * levels - levels**2))
    fall = drain(_hole(hole, coefficient), area=body.area, level_from_m=level_from, level_to_m=level_to)
    return fall.time_s[-1]


@check(
    Q.TIME,
    from_area=Q.AREA,
    to_area=Q.AREA,
    difference_from=Q.LENGTH,
    difference_to=Q.LENGTH,
    hole=Q.AREA,
    coefficient=None,
)
def two_tanks_level_out(from_area, to_area, difference_from, difference_to, hole, coefficient):
    """One body empties into another: the second level follows from the first."""
    last = difference_from - (difference_from - difference_to) * to_area / (from_area + to_area)
    through = _hole(hole, coefficient)
    fall = drain(
        lambda level: through(level - (difference_from - level) * from_area / to_area),
        area=_even(from_area),
        level_from_m=difference_from,
        level_to_m=last,
    )
    return fall.time_s[-1]


@check(Q.TIME, area=Q.AREA, level_from=Q.LENGTH, level_to=Q.LENGTH, flow=Q.FLOW, inflow=Q.FLOW)
def falls_against_an_inflow(area, level_from, level_to, flow, inflow):
    """An outflow that goes with the root of the level, given at the first."""
    fall = drain(
        lambda level: flow * np.sqrt(level / level_from),
        area=_even(area),
        level_from_m=level_from,
        level_to_m=level_to,
        inflow_m3_s=inflow,
    )
    return fall.time_s[-1]


@check(Q.TIME, area=Q.AREA, level_from=Q.LENGTH, volume=Q.VOLUME, bore=Q.BORE, length=Q.LENGTH, viscosity=Q.VISCOSITY)
def falls_through_a_thick_pipe(area, level_from, volume, bore, length, viscosity):
    """A thick liquid through a thin pipe that takes all the head; its velocity head is left out."""

    def through(level):
        def gap(speed):
            slope = friction.gradient(speed, bore_m=bore, roughness_m=0.0, kinematic_viscosity_m2_s=viscosity)
            return slope * length - level

        most = np.full(level.shape, 10.0)
        return find_roots(gap, np.zeros(level.shape), most, -level, gap(most)) * np.pi / 4.0 * bore**2

    last = level_from - volume / area
    return drain(through, area=_even(area), level_from_m=level_from, level_to_m=last).time_s[-1]


_POND = {"level": Q.LENGTH, "area": Q.AREA, "outlet_below": Q.LENGTH}


@check(Q.TIME, bore=Q.BORE, **_POND)
def pond_falls(level, area, bore, outlet_below):
    body = tank.table(level_m=level, area_m2=area)
    through = _hole(np.pi / 4.0 * bore**2, 1.0)
    fall = drain(lambda at: through(at + outlet_below), area=body.area, level_from_m=float(level[-1]), level_to_m=0.0)
    return fall.time_s[-1]


@check(None, at=Q.LENGTH, **_POND)
def pond_slowness(at, level, area, outlet_below):
    """Area over the speed of the jet. [m s]"""
    speed = np.sqrt(2.0 * 9.80665 * (at + outlet_below))
    return tank.table(level_m=level, area_m2=area).area(np.array(at)) / speed


@check(Q.TIME, area=Q.AREA, level_to=Q.LENGTH, shut_off=Q.HEAD, static=Q.HEAD, loss=Q.HEAD, at=Q.FLOW)
def room_fills(area, level_to, shut_off, static, loss, at):
    """A tank filled by a pump of shut_off − a Q² through a line of b Q²; (a + b) Q² is ``loss`` at one flow."""
    room = tank.box(length_m=area, width_m=1.0).room_below(level_to)
    fall = drain(
        lambda left: at * np.sqrt((shut_off - static - (level_to - left)) / loss),
        area=room.area,
        level_from_m=level_to,
        level_to_m=0.0,
    )
    return fall.time_s[-1]


@check(Q.AREA, length=Q.LENGTH, width=Q.LENGTH)
def water_surface(length, width):
    return tank.box(length_m=length, width_m=width).area(np.array(1.0))


@check(Q.AREA, shoreline=Q.LENGTH)
def round_surface(shoreline):
    return tank.cylinder(diameter_m=shoreline / np.pi).area(np.array(1.0))


@check(Q.VOLUME, area=Q.AREA, depth=Q.LENGTH)
def water_held(area, depth):
    return tank.pond(area_m2=area, full_depth_m=depth, power=0.0).volume(np.array(depth))


_SIPHON = {"drop": Q.LENGTH, "bore": Q.BORE, "k": None, "crest": Q.LENGTH, "crest_share": None, "length": Q.LENGTH}


@check(Q.FLOW, **_SIPHON)
def line_siphons(drop, bore, k, crest=0.0, crest_share=0.0, length=0.0):
    """Through the kernel, the pump taken out.

    ``k`` is all that is lost but the velocity head at the open end, spread along a pipe that adds next to nothing.
    """
    pipe = Hose(length=length, bore=bore, roughness=0.0, k=k, rigid=True)
    case = Case(
        density=998.2,
        density_ratio=1.0,
        viscosity=1e-9,
        air=101325.0,
        vapour=2339.0,
        lift=0.0,
        margin=0.0,
        suction=(Hose(length=1.0, bore=bore, roughness=0.0, rigid=True),),
        discharge=(pipe,),
        outlet=Outlet(rise=-drop),
        pump=Pump(flow=(0.0, 0.01), head=(30.0, 0.0)),
        waypoints=((crest_share * length, crest),) if crest_share else (),
    )
    plan = plan_of_cases([case])
    smooth = plan.with_(suction=plan.suction.with_(length_m=np.zeros_like(plan.suction.length_m)))
    return siphon_of_plan(smooth).flow_m3_s


@check(Q.TIME, volume=Q.VOLUME, **_SIPHON)
def line_siphons_for(volume, drop, bore, k):
    return volume / line_siphons(drop, bore, k)


@check(Q.SHARE, grade=None)
def grade_of_head(grade):
    """How far the head may lie over the sheet's."""
    return GRADE_HEAD[grade][1]


@check(None, within=Q.SHARE)
def standard_deviations(within):
    """What the width of a doubt is in standard deviations."""
    return NINE_IN_TEN if within == 0.9 else np.nan


@check(Q.SHARE, of=None)
def ishigami_share(of):
    """First-order share of sin a + 7 sin² b + 0.1 c⁴ sin a, all three even from −π to π."""
    a, b, c = np.random.default_rng(3).uniform(-np.pi, np.pi, (3, 200_000))
    value = np.sin(a) + 7.0 * np.sin(b) ** 2 + 0.1 * c**4 * np.sin(a)
    return shares_of(value, {"a": a, "b": b, "c": c})[of]


@check(Q.POWER, consumption=Q.SPECIFIC_FUEL, efficiency=Q.SHARE, burnt=Q.FUEL)
def water_power_of_fuel(consumption, efficiency, burnt):
    """Power in the water while so much fuel is burnt in an hour."""
    shaft = burnt / 3600.0 / power.fuel_rate(1.0, consumption_m3_j=consumption)
    return shaft * efficiency


@check(None, bore=Q.BORE, pressure=Q.PRESSURE)
def nozzle_push(bore, pressure):
    """In pounds of force."""
    return outlets.nozzle_reaction(bore_m=bore, pressure_pa=pressure) / 4.4482216152605


@check(Q.MASS, length=Q.LENGTH, bore=Q.BORE, density=Q.DENSITY)
def water_in_hose(length, bore, density):
    return hose.hose_mass(length, line_mass_kg_m=0.0, bore_m=bore, density_kg_m3=density)
