"""Power in the water, at the shaft and from the engine; fuel; what a stopped flow does to hose and pump."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import Floats, G
from curvelab.hydraulics.ranges import positive, require

TEST_DENSITY_KG_M3: Final = 998.2
"""Density of the clean cold water in which a sheet's power points were taken: 20 °C. [kg/m³] IAPWS SR6-08(2011); that
pumps are tested near 20 °C is common practice, no source."""

WATER_HEAT_J_KG_K: Final = 4186.0
"""Heat capacity of liquid water between 15 and 60 °C, within 0.2 %. [J/(kg K)] From memory."""

LAY_FLAT_WAVE_SPEED_M_S: Final = (50.0, 160.0)
"""Speed of a pressure wave in lay-flat hose. [m/s] Estimate: no published value was found."""

_LOSS_PER_METRE = 0.03 / 304.8
_LOSS_PER_KELVIN = 0.01 / (10.0 / 1.8)
_RATED_AT_K = (60.0 + 459.67) / 1.8


def water_power(flow_m3_s: ArrayLike, head_m: ArrayLike, *, density_kg_m3: ArrayLike) -> Floats:
    """Power that the water takes up, ρ g Q H.

    Parameters
    ----------
    flow_m3_s : float or array, broadcast
        Flow. [m³/s]  Valid: 0 or more.
    head_m : float or array, broadcast
        Total head. [m]  Valid: finite.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Power. [W]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Follows from the definition of head.
    """
    flow = require("flow_m3_s", flow_m3_s, 0.0)
    return positive("density_kg_m3", density_kg_m3) * G * flow * require("head_m", head_m)


def shaft_power(flow_m3_s: ArrayLike, head_m: ArrayLike, *, efficiency: ArrayLike, density_kg_m3: ArrayLike) -> Floats:
    """Power that the pump asks of its shaft, ρ g Q H/η.

    Parameters
    ----------
    flow_m3_s, head_m, density_kg_m3 : float or array, broadcast
        As ``water_power``.
    efficiency : float or array, broadcast
        Pump efficiency. [-]  Valid: more than 0, to 1.

    Returns
    -------
    array, or 0-d for scalars
        Power. [W]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Definition of pump efficiency.
    """
    hint = "at no flow there is no efficiency; use the pump's power points"
    return water_power(flow_m3_s, head_m, density_kg_m3=density_kg_m3) / positive(
        "efficiency", efficiency, 1.0, hint=hint
    )


def engine_available(
    rated_w: ArrayLike, *, continuous: ArrayLike, altitude_m: ArrayLike, temperature_k: ArrayLike
) -> Floats:
    """Power that a naturally aspirated engine holds for hours at its site.

    rated × continuous × (1 − 3 % per 1000 ft above sea level) × (1 − 1 % per 10 °F above 60 °F). The three factors are
    multiplied, not added up; below sea level or 60 °F nothing is gained; no factor falls below 0.

    Parameters
    ----------
    rated_w : float or array, broadcast
        Rated power. [W]  Valid: 0 or more.
    continuous : float or array, broadcast
        Share of it that the engine holds for hours. [-]  Valid: 0 to 1; 0.8 in the source, for larger engines.
    altitude_m : float or array, broadcast
        Ground height. [m]  Valid: finite.
    temperature_k : float or array, broadcast
        Temperature of the air. [K]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Power. [W]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Oklahoma State University Extension, "Comparative Energy Costs for Irrigation Pumping," BAE-1204. The source
       gives the percentages; that they multiply is our choice.
    """
    high = np.maximum(require("altitude_m", altitude_m), 0.0)
    warm = np.maximum(positive("temperature_k", temperature_k) - _RATED_AT_K, 0.0)
    thin = np.maximum(1.0 - _LOSS_PER_METRE * high, 0.0)
    hot = np.maximum(1.0 - _LOSS_PER_KELVIN * warm, 0.0)
    return require("rated_w", rated_w, 0.0) * require("continuous", continuous, 0.0, 1.0) * thin * hot


def fuel_rate(shaft_w: ArrayLike, *, consumption_m3_j: ArrayLike) -> Floats:
    """Fuel burnt at a shaft power.

    Parameters
    ----------
    shaft_w : float or array, broadcast
        Shaft power. [W]  Valid: 0 or more.
    consumption_m3_j : float or array, broadcast
        Fuel for shaft work. [m³/J]  Valid: more than 0. Taken as the same at every load.

    Returns
    -------
    array, or 0-d for scalars
        Fuel. [m³/s]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Definition of specific consumption.
    """
    return require("shaft_w", shaft_w, 0.0) * positive("consumption_m3_j", consumption_m3_j)


def surge_pressure(velocity_change_m_s: ArrayLike, *, wave_speed_m_s: ArrayLike, density_kg_m3: ArrayLike) -> Floats:
    """Rise of pressure when a flow is stopped at once, ρ a Δv: faster than a wave runs to the far end and back.

    Parameters
    ----------
    velocity_change_m_s : float or array, broadcast
        Velocity before less after. [m/s]  Valid: finite.
    wave_speed_m_s : float or array, broadcast
        Speed of the pressure wave. [m/s]  Valid: more than 0; lay-flat: ``LAY_FLAT_WAVE_SPEED_M_S``.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Pressure above the running pressure. [Pa]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] N. Joukowsky, "Ueber den hydraulischen Stoss in Wasserleitungsroehren," Mem. Acad. Imp. Sci. St.-Petersbourg,
       ser. 8, vol. 9, no. 5, 1898. From memory.
    """
    speed = positive("wave_speed_m_s", wave_speed_m_s)
    return positive("density_kg_m3", density_kg_m3) * speed * require("velocity_change_m_s", velocity_change_m_s)


def surge_return_time(length_m: ArrayLike, *, wave_speed_m_s: ArrayLike) -> Floats:
    """Time in which a pressure wave runs to the far end and back, 2L/a: closing faster than this counts as at once.

    Parameters
    ----------
    length_m : float or array, broadcast
        Length of the line. [m]  Valid: 0 or more.
    wave_speed_m_s : float or array, broadcast
        Speed of the pressure wave. [m/s]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Time. [s]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] N. Joukowsky, 1898, as in ``surge_pressure``.
    """
    return 2.0 * require("length_m", length_m, 0.0) / positive("wave_speed_m_s", wave_speed_m_s)


def heating_time(
    volume_m3: ArrayLike, *, shaft_w: ArrayLike, temperature_rise_k: ArrayLike, density_kg_m3: ArrayLike = 1000.0
) -> Floats:
    """Time in which the water in the body of a pump that runs against a shut end warms up, losing no heat.

    Parameters
    ----------
    volume_m3 : float or array, broadcast
        Water in the body. [m³]  Valid: more than 0.
    shaft_w : float or array, broadcast
        Shaft power at no flow, all of it heat. [W]  Valid: more than 0.
    temperature_rise_k : float or array, broadcast
        By how much. [K]  Valid: 0 or more.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Time; the body's metal and its losses make it longer. [s]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Balance of energy.
    """
    mass = positive("density_kg_m3", density_kg_m3) * positive("volume_m3", volume_m3)
    rise = require("temperature_rise_k", temperature_rise_k, 0.0)
    return mass * WATER_HEAT_J_KG_K * rise / positive("shaft_w", shaft_w)
