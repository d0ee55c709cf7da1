"""Water against two libraries that share nothing with the package: IAPWS-95 by CoolProp, IAPWS-IF97 by iapws."""

from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97

from curvelab.errors import DomainError
from curvelab.hydraulics import water

LIQUID = np.linspace(273.16, 372.7, 60)  # at 0.1 MPa water boils at 372.76 K


def test_density_is_that_of_iapws_95():
    expected = [PropsSI("D", "T", kelvin, "P", 1e5, "Water") for kelvin in LIQUID]
    np.testing.assert_allclose(water.density(LIQUID), expected, rtol=1e-6)  # the release fits IAPWS-95 to 1e-7 or so


def test_viscosity_is_that_of_the_full_formulation():
    expected = [PropsSI("V", "T", kelvin, "P", 1e5, "Water") for kelvin in LIQUID]
    np.testing.assert_allclose(water.viscosity(LIQUID), expected, rtol=5e-5)  # the simple form is a fit; it states 1 %


def test_vapour_pressure_is_that_of_iapws_95():
    kelvin = np.linspace(273.16, 640.0, 60)
    expected = [PropsSI("P", "T", each, "Q", 0, "Water") for each in kelvin]
    np.testing.assert_allclose(
        water.vapour_pressure(kelvin), expected, rtol=1e-4
    )  # two formulations, 7e-5 apart near 0 °C


@pytest.mark.parametrize("celsius", [0.01, 5.0, 15.0, 20.0, 40.0, 60.0, 90.0])
def test_the_industrial_formulation_agrees(celsius: float):
    kelvin = celsius + 273.15
    liquid: Any = IAPWS97(T=kelvin, P=0.1)
    boiling: Any = IAPWS97(T=kelvin, x=0)
    assert water.density(kelvin) == pytest.approx(liquid.rho, rel=3e-5)
    assert water.kinematic_viscosity(kelvin) == pytest.approx(liquid.mu / liquid.rho, rel=1e-4)
    assert water.vapour_pressure(kelvin) == pytest.approx(boiling.P * 1e6, rel=1e-4)


def test_density_is_greatest_at_four_degrees():
    kelvin = np.arange(274.0, 283.0, 0.01)
    assert kelvin[np.argmax(water.density(kelvin))] == pytest.approx(277.13, abs=0.02)  # 3.98 °C


def test_between_the_ice_point_and_the_triple_point_vapour_pressure_stays():
    triple = water.vapour_pressure(273.16)
    assert triple == pytest.approx(611.657, abs=0.01)
    assert water.vapour_pressure(273.15) == water.vapour_pressure(273.155) == triple


def test_it_boils_under_one_atmosphere_at_a_hundred_degrees():
    assert water.vapour_pressure(373.124) == pytest.approx(101325.0, rel=1e-4)  # 99.974 °C on the scale of 1990


@pytest.mark.parametrize(
    ("function", "kelvin", "index"),
    [
        (water.density, 253.0, None),
        (water.density, [300.0, 384.0], 1),
        (water.viscosity, np.nan, None),
        (water.vapour_pressure, 273.0, None),
        (water.vapour_pressure, [300.0, 300.0, np.inf], 2),
        (water.kinematic_viscosity, 20.0, None),
    ],
)
def test_outside_its_range_it_says_so(function, kelvin, index):
    with pytest.raises(DomainError, match="temperature_k must lie between") as caught:
        function(kelvin)
    assert caught.value.index == index
    assert caught.value.limits is not None
