"""Checks of water, air, friction, fittings, outlets and the suction side: one function a kind. SI in and out."""

from __future__ import annotations

import numpy as np

from curvelab.hydraulics import air, fittings, friction, gauges, hose, outlets, power, suction, water
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.crossing import find_roots
from curvelab.hydraulics.curve import CurveTable
from curvelab.units import Quantity
from tests.published.records import check

Q = Quantity
_COLD = 288.15


@check(Q.DENSITY, temperature=Q.TEMPERATURE)
def water_density(temperature):
    return water.density(temperature)


@check(Q.PRESSURE, temperature=Q.TEMPERATURE)
def vapour_pressure(temperature):
    return water.vapour_pressure(temperature)


@check(Q.HEAD, temperature=Q.TEMPERATURE)
def vapour_head(temperature):
    return gauges.head_of(water.vapour_pressure(temperature), density_kg_m3=water.density(temperature))


@check(Q.VISCOSITY, temperature=Q.TEMPERATURE)
def water_viscosity(temperature):
    return water.kinematic_viscosity(temperature)


@check(Q.PRESSURE, altitude=Q.LENGTH)
def air_pressure(altitude):
    return air.pressure_at(altitude)


@check(Q.LENGTH, pressure=Q.PRESSURE)
def altitude(pressure):
    return air.altitude_of(pressure)


@check(Q.HEAD, altitude=Q.LENGTH, density=Q.DENSITY)
def air_head(altitude, density):
    return gauges.head_of(air.pressure_at(altitude), density_kg_m3=density)


@check(Q.HEAD, pressure=Q.PRESSURE, density=Q.DENSITY)
def head(pressure, density):
    return gauges.head_of(pressure, density_kg_m3=density)


@check(Q.PRESSURE, head=Q.HEAD, density=Q.DENSITY)
def pressure(head, density):
    return gauges.pressure_of(head, density_kg_m3=density)


@check(None, reynolds=None, relative_roughness=None)
def friction_factor(reynolds, relative_roughness):
    return friction.friction_factor(reynolds, relative_roughness)


@check(Q.HEAD, flow=Q.FLOW, bore=Q.BORE, roughness=Q.ROUGHNESS, length=Q.LENGTH, temperature=Q.TEMPERATURE)
def hose_loss(flow, bore, roughness, length, temperature):
    speed = _speed(flow, bore)
    viscosity = water.kinematic_viscosity(temperature)
    return length * friction.gradient(speed, bore_m=bore, roughness_m=roughness, kinematic_viscosity_m2_s=viscosity)


@check(Q.SPEED, flow=Q.FLOW, bore=Q.BORE)
def speed(flow, bore):
    return flow / hose.hose_volume(1.0, bore_m=bore)


@check(Q.HEAD, flow=Q.FLOW, bore=Q.BORE, length=Q.LENGTH, coefficient=None)
def hazen_williams(flow, bore, length, coefficient):
    return friction.hazen_williams_loss(flow, length_m=length, bore_m=bore, coefficient=coefficient)


@check(Q.PRESSURE, flow=Q.FLOW, length=Q.LENGTH, coefficient=None)
def fire_hose(flow, length, coefficient):
    return friction.fire_hose_loss(flow, length_m=length, coefficient=coefficient)


@check(None, n=None, size=Q.BORE)
def crane_k(n, size):
    return fittings.crane_k(n, size)


@check(None, size=Q.BORE)
def crane_friction_factor(size):
    return fittings.crane_friction_factor(size)


@check(None, small=Q.BORE, large=Q.BORE)
def contraction(small, large):
    return fittings.step_k(large**2, small**2)


@check(None, small=Q.BORE, large=Q.BORE)
def contraction_on_the_larger(small, large):
    return fittings.contraction_k(small / large) * (large / small) ** 4


@check(None, small=Q.BORE, large=Q.BORE)
def enlargement(small, large):
    return fittings.step_k(small**2, large**2)


@check(
    Q.HEAD, air=Q.PRESSURE, vapour=Q.PRESSURE, density=Q.DENSITY, lift=Q.LENGTH, loss=Q.HEAD, needed=Q.HEAD,
    flow=Q.FLOW, bore=Q.BORE, k=None,
)  # fmt: skip
def npsh(air, vapour, density, lift, loss=0.0, needed=0.0, flow=0.0, bore=1.0, k=0.0):
    """NPSHA, less what is needed (then the greatest lift is what is left over a lift of 0)."""
    lost = loss + k * _speed(flow, bore) ** 2 / (2.0 * G)
    hand = gauges.npsh_available(
        air_pressure_pa=air, vapour_pressure_pa=vapour, density_kg_m3=density, lift_m=lift, loss_m=lost
    )
    return hand - needed


@check(Q.HEAD, altitude=Q.LENGTH, temperature=Q.TEMPERATURE, lift=Q.LENGTH, loss=Q.HEAD)
def npsh_of_water(altitude, temperature, lift=0.0, loss=0.0):
    return npsh(air.pressure_at(altitude), water.vapour_pressure(temperature), water.density(temperature), lift, loss)


@check(Q.FLOW, air=Q.PRESSURE, vapour=Q.PRESSURE, density=Q.DENSITY, needed=Q.HEAD, bore=Q.BORE, k=None)
def flow_without_lift(air, vapour, density, needed, bore, k):
    left = npsh(air, vapour, density, 0.0, needed=needed)
    return np.sqrt(2.0 * G * left / k) * np.pi / 4.0 * bore**2


@check(Q.HEAD, gauge=Q.PRESSURE, air=Q.PRESSURE, vapour=Q.PRESSURE, density=Q.DENSITY, height=Q.LENGTH, speed=Q.SPEED)
def npsh_from_gauge(gauge, air, vapour, density, height, speed):
    return gauges.npsh_from_gauge(
        gauge,
        air_pressure_pa=air,
        vapour_pressure_pa=vapour,
        density_kg_m3=density,
        gauge_height_m=height,
        velocity_m_s=speed,
    )


_UPRIGHT = {
    "air": Q.PRESSURE, "vapour": Q.PRESSURE, "density": Q.DENSITY, "viscosity": Q.VISCOSITY, "needed": Q.HEAD,
}  # fmt: skip


@check(Q.LENGTH, flow=Q.FLOW, bore=Q.BORE, **_UPRIGHT)
def upright_suction_lift(flow, bore, viscosity, **liquid):
    """Lift x of a smooth upright suction pipe as long as its lift: x + x·gradient is what the air's push leaves."""
    loss = friction.gradient(_speed(flow, bore), bore_m=bore, roughness_m=0.0, kinematic_viscosity_m2_s=viscosity)
    return npsh(lift=0.0, **liquid) / (1.0 + loss)


@check(Q.FLOW, lift=Q.LENGTH, bore=Q.BORE, **_UPRIGHT)
def upright_suction_flow(lift, bore, **liquid):
    return _root(lambda flow: lift - upright_suction_lift(flow, bore, **liquid), 1e-6, 1e-1)


@check(Q.BORE, lift=Q.LENGTH, flow=Q.FLOW, **_UPRIGHT)
def upright_suction_bore(lift, flow, **liquid):
    return _root(lambda bore: upright_suction_lift(flow, bore, **liquid) - lift, 5e-3, 0.5)


@check(Q.FLOW, head=Q.HEAD, bore=Q.BORE, coefficient=None)
def jet(head, bore, coefficient):
    return outlets.jet_flow(head, bore_m=bore, coefficient=coefficient)


@check(Q.FLOW, pressure=Q.PRESSURE, bore=Q.BORE, coefficient=None, density=Q.DENSITY)
def nozzle(pressure, bore, coefficient, density):
    return jet(gauges.head_of(pressure, density_kg_m3=density), bore, coefficient)


@check(Q.TIME, level_from=Q.LENGTH, level_to=Q.LENGTH, area=Q.AREA, bore=Q.BORE, coefficient=None)
def drain_time(level_from, level_to, area, bore, coefficient):
    return outlets.drain_time(level_from, level_to, area_m2=area, bore_m=bore, coefficient=coefficient)


@check(Q.TIME, level=Q.LENGTH, area=Q.AREA, bore=Q.BORE, outlet_below=Q.LENGTH)
def pond_drain_time(level, area, bore, outlet_below):
    """A pond of tabled area, PCHIP between, empties through a pipe whose end lies below its bottom."""
    table = CurveTable.of([(level, area)])
    h = np.linspace(level[0], level[-1], 4001)[None, :]
    passes = outlets.jet_flow(h + outlet_below, bore_m=bore, coefficient=1.0)
    return _trapezoid((table(np.zeros(1, dtype=np.int64), h) / passes)[0], h[0])


@check(Q.FLOW, reach=Q.LENGTH, drop=Q.LENGTH, bore=Q.BORE)
def level_jet(reach, drop, bore):
    return outlets.level_jet_flow(reach, drop_m=drop, bore_m=bore)


@check(Q.FLOW, drop=Q.LENGTH, bore=Q.BORE, k=None)
def siphon_flow(drop, bore, k):
    """All friction as a loss coefficient: the source fixes its factor."""
    return _siphon_speed(drop, bore, k) * np.pi / 4.0 * bore**2


@check(Q.TIME, volume=Q.VOLUME, drop=Q.LENGTH, bore=Q.BORE, k=None)
def siphon_time(volume, drop, bore, k):
    return volume / siphon_flow(drop, bore, k)


@check(
    Q.PRESSURE, drop=Q.LENGTH, bore=Q.BORE, k=None, k_to_crest=None, crest=Q.LENGTH, air=Q.PRESSURE, density=Q.DENSITY
)
def siphon_crest(drop, bore, k, k_to_crest, crest, air, density):
    velocity = _siphon_speed(drop, bore, k)
    return outlets.crest_pressure(
        crest,
        velocity_m_s=velocity,
        loss_m=k_to_crest * velocity**2 / (2.0 * G),
        air_pressure_pa=air,
        density_kg_m3=density,
    )


@check(Q.HEAD, drop=Q.LENGTH, bore=Q.BORE, k=None, k_to_crest=None, crest=Q.LENGTH, air=Q.HEAD)
def siphon_crest_head(air, **siphon):
    pressure = siphon_crest(air=gauges.pressure_of(air, density_kg_m3=1000.0), density=1000.0, **siphon)
    return gauges.head_of(pressure, density_kg_m3=1000.0)


@check(Q.LENGTH, drop=Q.LENGTH, air=Q.PRESSURE, vapour=Q.PRESSURE, density=Q.DENSITY, above=Q.LENGTH)
def greatest_crest(drop, air, vapour, density, above):
    """Height of a lossless siphon's crest where its water boils, ``above`` the datum of the upper surface."""
    velocity = _siphon_speed(drop, 0.1, 1.0)
    left = outlets.crest_pressure(0.0, velocity_m_s=velocity, loss_m=0.0, air_pressure_pa=air, density_kg_m3=density)
    return above + gauges.head_of(left - vapour, density_kg_m3=density)


@check(Q.PRESSURE, speed=Q.SPEED, wave=Q.SPEED, density=Q.DENSITY)
def surge(speed, wave, density):
    return power.surge_pressure(speed, wave_speed_m_s=wave, density_kg_m3=density)


@check(Q.HEAD, speed=Q.SPEED, wave=Q.SPEED)
def surge_head(speed, wave):
    return gauges.head_of(surge(speed, wave, 1000.0), density_kg_m3=1000.0)


@check(Q.TIME, length=Q.LENGTH, wave=Q.SPEED)
def surge_return(length, wave):
    return power.surge_return_time(length, wave_speed_m_s=wave)


@check(Q.VOLUME, length=Q.LENGTH, bore=Q.BORE)
def hose_volume(length, bore):
    return hose.hose_volume(length, bore_m=bore)


@check(
    Q.HEAD, inlet=Q.PRESSURE, outlet=Q.PRESSURE, density=Q.DENSITY, between=Q.LENGTH, flow=Q.FLOW, inlet_bore=Q.BORE,
    outlet_bore=Q.BORE,
)  # fmt: skip
def head_from_gauges(inlet, outlet, density, between, flow, inlet_bore, outlet_bore):
    return gauges.head_from_gauges(
        inlet_pa=inlet,
        outlet_pa=outlet,
        density_kg_m3=density,
        height_between_m=between,
        inlet_velocity_m_s=_speed(flow, inlet_bore),
        outlet_velocity_m_s=_speed(flow, outlet_bore),
    )


@check(Q.TIME, lift=Q.LENGTH, bore=Q.BORE, air_head=Q.HEAD, rate=Q.FLOW)
def priming_time(lift, bore, air_head, rate):
    """Constant rate, upright hose as long as the lift."""
    return suction.priming_time(
        lift,
        reach_m=np.inf,
        hose_volume_m3=hose.hose_volume(lift, bore_m=bore),
        air_rate_m3_s=rate,
        air_pressure_pa=gauges.pressure_of(air_head, density_kg_m3=1000.0),
        density_kg_m3=1000.0,
    )


def _speed(flow: float, bore: float) -> float:
    return flow / (np.pi / 4.0 * bore**2)


def _siphon_speed(drop: float, bore: float, k: float) -> float:
    return float(
        outlets.siphon_velocity(drop, length_m=0.0, bore_m=bore, roughness_m=0.0, kinematic_viscosity_m2_s=1e-6, k=k)
    )


def _root(gap, low: float, high: float) -> float:
    ends = np.array([low]), np.array([high])
    each = np.vectorize(lambda x: float(gap(x)))
    return float(find_roots(each, *ends, each(ends[0]), each(ends[1]))[0])


def _trapezoid(y: np.ndarray, x: np.ndarray) -> float:
    return float((0.5 * (y[1:] + y[:-1]) * np.diff(x)).sum())
