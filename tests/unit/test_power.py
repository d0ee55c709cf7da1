"""Power, fuel, surge, heat: against hand sums in other units."""

import numpy as np
import pytest

from curvelab.hydraulics import power

HP, FT, GPM = 745.6998715822702, 0.3048, 3.785411784e-3 / 60


def fahrenheit(degrees: float) -> float:
    return (degrees + 459.67) / 1.8


def test_gallons_feet_and_3960():
    watts = power.water_power(100 * GPM, 50 * FT, density_kg_m3=1000.0)
    assert watts / HP == pytest.approx(100 * 50 / 3956.5, rel=2e-3)  # 3960 holds for water of 62.3 to 62.4 lb/ft³
    assert power.shaft_power(100 * GPM, 50 * FT, efficiency=0.5, density_kg_m3=1000.0) == pytest.approx(2 * watts)


def test_an_engine_loses_by_height_and_heat_and_the_factors_multiply():
    at = power.engine_available(60 * HP, continuous=0.8, altitude_m=3000 * FT, temperature_k=fahrenheit(95.0))
    assert at / HP == pytest.approx(60 * 0.8 * 0.91 * 0.965, rel=1e-12)
    added = 60 * (1 - 0.20 - 0.09 - 0.035)
    assert at / HP > added + 1.0  # the order matters: adding up the losses would say less


@pytest.mark.parametrize(("altitude", "degrees"), [(-300.0, 60.0), (0.0, 20.0), (0.0, 60.0)])
def test_an_engine_gains_nothing_from_depth_or_cold(altitude: float, degrees: float):
    held = power.engine_available(1e4, continuous=1.0, altitude_m=altitude, temperature_k=fahrenheit(degrees))
    assert held == pytest.approx(1e4)


def test_an_engine_never_holds_less_than_nothing():
    assert power.engine_available(1e4, continuous=1.0, altitude_m=20_000.0, temperature_k=300.0) == 0.0


def test_fuel_of_an_hour():
    per_hour = 3600 * power.fuel_rate(2000.0, consumption_m3_j=0.55e-3 / 3.6e6)
    assert per_hour == pytest.approx(1.1e-3)  # 2 kW at 0.55 L/kWh is 1.1 L an hour


def test_surge_in_lay_flat_is_tens_of_psi():
    low, high = (
        power.surge_pressure(3.048, wave_speed_m_s=power.LAY_FLAT_WAVE_SPEED_M_S, density_kg_m3=1000.0) / 6894.757
    )
    assert (low, high) == pytest.approx((22.1, 70.7), abs=0.1)  # 10 ft/s stopped at once
    assert power.surge_pressure(-1.0, wave_speed_m_s=100.0, density_kg_m3=1000.0) == -1e5
    assert power.surge_return_time(100.0, wave_speed_m_s=50.0) == 4.0


def test_a_pump_against_a_shut_end_is_hot_in_minutes():
    litres, watts = np.array([2e-3, 5e-3]), np.array([1200.0, 2000.0])
    minutes = power.heating_time(litres, shaft_w=watts, temperature_rise_k=40.0) / 60
    np.testing.assert_allclose(minutes, [4.65, 6.98], rtol=2e-3)
