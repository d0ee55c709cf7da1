"""The standard atmosphere against an independent library, its own inverse, and common sense."""

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976

from curvelab.errors import DomainError
from curvelab.hydraulics import air

HEIGHTS = np.linspace(-500.0, 5000.0, 111)


def test_it_is_the_atmosphere_of_1976():
    expected = [ATMOSPHERE_1976(float(height)).P for height in HEIGHTS]
    np.testing.assert_allclose(air.pressure_at(HEIGHTS), expected, rtol=1e-12)


def test_the_inverse_brings_the_height_back():
    np.testing.assert_allclose(air.altitude_of(air.pressure_at(HEIGHTS)), HEIGHTS, atol=1e-8)


def test_higher_is_thinner():
    assert (np.diff(air.pressure_at(HEIGHTS)) < 0.0).all()


def test_a_forecast_s_figure_overstates_the_air_at_5000_feet_by_about_a_fifth():
    assert 1013.25e2 / air.pressure_at(1524.0) == pytest.approx(1.2, abs=0.01)


def test_the_barometer_s_limits_have_heights():
    low, high = air.altitude_of(list(air.BAROMETER_PA))
    assert low == pytest.approx(9164 / (1 - 9164 / 6_356_766), abs=1)  # tables: 300 hPa at 9164 m, geopotential
    assert -1500 < high < -1400


@pytest.mark.parametrize("height", [-501.0, 5001.0, np.nan, np.inf, [0.0, 9000.0]])
def test_outside_its_range_it_says_what_to_give_instead(height):
    with pytest.raises(DomainError, match="barometer"):
        air.pressure_at(height)


@pytest.mark.parametrize("pressure", [29_999.0, 120_001.0, -1.0, np.nan])
def test_an_impossible_barometer_is_refused(pressure):
    with pytest.raises(DomainError, match="station pressure"):
        air.altitude_of(pressure)
