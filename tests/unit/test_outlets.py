"""Outlets against hand sums in the trade's units, and the siphon against its own equation."""

import numpy as np
import pytest
from fluids.friction import Clamond
from hypothesis import given
from hypothesis import strategies as st

from curvelab.errors import DomainError
from curvelab.hydraulics import outlets

G, PSI, INCH, GPM, FT = 9.80665, 6894.757, 0.0254, 3.785411784e-3 / 60, 0.3048


def test_the_nozzle_is_the_fire_service_s():
    bore, psi = np.array([0.5, 0.75, 1.0])[:, None], np.array([30.0, 50.0, 80.0])
    flow = outlets.jet_flow(psi * PSI / (999.0 * G), bore_m=bore * INCH, coefficient=outlets.SMOOTH_BORE_COEFFICIENT)
    np.testing.assert_allclose(flow / GPM, 29.7 * bore**2 * np.sqrt(psi), rtol=2e-3)


def test_two_nozzles_pass_twice_as_much_and_resistance_is_the_same_thing():
    one = outlets.jet_flow(20.0, bore_m=0.02, coefficient=0.9)
    assert outlets.jet_flow(20.0, bore_m=0.02, coefficient=0.9, count=2) == pytest.approx(2 * one)
    assert outlets.jet_resistance(bore_m=0.02, coefficient=0.9) * one**2 == pytest.approx(20.0)


def test_sprinklers_at_their_stated_pressure_pass_their_stated_flow():
    resistance = outlets.sprinkler_resistance(count=6, flow_m3_s=4e-4, pressure_pa=3e5, density_kg_m3=1000.0)
    assert np.sqrt(3e5 / (1000.0 * G) / resistance) == pytest.approx(6 * 4e-4)


def test_the_jet_s_fall_is_the_rule_of_thirteen_inches():
    flow = outlets.level_jet_flow(12 * INCH, drop_m=13 * INCH, bore_m=3 * INCH)
    assert flow / GPM == pytest.approx(0.786 * 3**2 * 12, rel=1e-3)


def test_a_tank_drains_as_its_level_falls():
    levels = np.linspace(2.0, 0.5, 20_001)
    flow = outlets.jet_flow(levels, bore_m=0.05, coefficient=0.61)
    step = 3.0 * (levels[0] - levels[1])
    assert outlets.drain_time(2.0, 0.5, area_m2=3.0, bore_m=0.05, coefficient=0.61) == pytest.approx(
        np.sum(0.5 * (1 / flow[1:] + 1 / flow[:-1])) * step, rel=1e-6
    )
    with pytest.raises(DomainError, match="a tank that drains falls"):
        outlets.drain_time(1.0, 2.0, area_m2=3.0, bore_m=0.05, coefficient=0.61)


@given(st.floats(0.01, 20.0), st.floats(0.0, 500.0), st.floats(0.02, 0.2), st.floats(1.0, 20.0))
def test_a_siphon_spends_all_of_its_drop(drop: float, length: float, bore: float, k: float):
    speed = float(
        outlets.siphon_velocity(
            drop, length_m=length, bore_m=bore, roughness_m=5e-5, kinematic_viscosity_m2_s=1.1e-6, k=k
        )
    )
    reynolds = speed * bore / 1.1e-6
    if reynolds > 4000:
        spent = (Clamond(reynolds, 5e-5 / bore) * length / bore + k) * speed**2 / (2 * G)
        assert spent == pytest.approx(drop, rel=1e-8)


def test_a_level_siphon_stands_still():
    speed = outlets.siphon_velocity(
        [0.0, 1.0], length_m=30.0, bore_m=0.1, roughness_m=5e-5, kinematic_viscosity_m2_s=1.1e-6, k=1.5
    )
    assert speed[0] == 0.0
    assert speed[1] > 0.0


def test_the_crest_loses_pressure_to_height_speed_and_friction():
    still = outlets.crest_pressure(2.0, velocity_m_s=0.0, loss_m=0.0, air_pressure_pa=1e5, density_kg_m3=1000.0)
    assert still == pytest.approx(1e5 - 2.0 * 1000.0 * G)
    moving = outlets.crest_pressure(2.0, velocity_m_s=2.0, loss_m=0.5, air_pressure_pa=1e5, density_kg_m3=1000.0)
    assert still - moving == pytest.approx(1000.0 * (2.0 + 0.5 * G))


def test_the_push_of_a_nozzle_is_that_of_its_momentum():
    bore, pressure, density = 0.025, 4e5, 998.0
    flow = outlets.jet_flow(pressure / (density * G), bore_m=bore, coefficient=1.0)
    momentum = density * flow**2 / (np.pi / 4 * bore**2)
    assert outlets.nozzle_reaction(bore_m=bore, pressure_pa=pressure) == pytest.approx(momentum)
