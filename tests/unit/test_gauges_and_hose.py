"""Head, pressure, NPSHA and total head from gauges; what a hose holds and weighs."""

import pytest

from curvelab.hydraulics import gauges, hose

WATER, G = 998.2, 9.80665


def test_pressure_and_head_undo_each_other():
    assert gauges.head_of(gauges.pressure_of(12.5, density_kg_m3=WATER), density_kg_m3=WATER) == pytest.approx(12.5)
    assert gauges.head_of(6894.757, density_kg_m3=999.0) / 0.3048 == pytest.approx(2.31, abs=0.002)


def test_a_gauge_in_the_suction_and_the_site_tell_one_npsha():
    site = {"air_pressure_pa": 95e3, "vapour_pressure_pa": 2e3, "density_kg_m3": WATER}
    speed, lift, loss = 2.1, 4.0, 1.3
    shown = -WATER * G * (lift + loss + speed**2 / (2 * G) + 0.4)  # a gauge 0.4 m above the pump's middle
    from_gauge = gauges.npsh_from_gauge(shown, **site, gauge_height_m=0.4, velocity_m_s=speed)
    assert from_gauge == pytest.approx(float(gauges.npsh_available(**site, lift_m=lift, loss_m=loss)))


def test_total_head_is_what_the_pump_added():
    head = gauges.head_from_gauges(
        inlet_pa=-30e3, outlet_pa=250e3, density_kg_m3=WATER, height_between_m=0.5,
        inlet_velocity_m_s=2.0, outlet_velocity_m_s=3.0,
    )  # fmt: skip
    assert head == pytest.approx(280e3 / (WATER * G) + 0.5 + 5.0 / (2 * G))


def test_a_full_hose_weighs_its_water_more():
    empty = hose.hose_mass(30.0, line_mass_kg_m=0.67, bore_m=0.0762)
    full = hose.hose_mass(30.0, line_mass_kg_m=0.67, bore_m=0.0762, density_kg_m3=1000.0)
    assert empty == pytest.approx(20.1)
    assert full - empty == pytest.approx(1000.0 * hose.hose_volume(30.0, bore_m=0.0762))
    assert pytest.approx((full - empty) / 0.45359237 / (30.0 / 0.3048), rel=0.01) == 0.340 * 3**2  # lb/ft, d in in
