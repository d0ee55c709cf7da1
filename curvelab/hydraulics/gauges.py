"""Head and pressure into each other, and what gauges at a pump say about it."""

from __future__ import annotations

from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import Floats, G
from curvelab.hydraulics.ranges import positive, require


def head_of(pressure_pa: ArrayLike, *, density_kg_m3: ArrayLike) -> Floats:
    """Height of a column of the liquid that makes this pressure, p/(ρg).

    Parameters
    ----------
    pressure_pa : float or array, broadcast
        Pressure. [Pa]  Valid: finite.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Head. [m]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Follows from the definition of head.
    """
    return require("pressure_pa", pressure_pa) / (positive("density_kg_m3", density_kg_m3) * G)


def pressure_of(head_m: ArrayLike, *, density_kg_m3: ArrayLike) -> Floats:
    """Pressure under a column of the liquid, ρgh in Pa: ``head_of`` turned round, with its ranges and errors."""
    return require("head_m", head_m) * positive("density_kg_m3", density_kg_m3) * G


def npsh_available(
    *,
    air_pressure_pa: ArrayLike,
    vapour_pressure_pa: ArrayLike,
    density_kg_m3: ArrayLike,
    lift_m: ArrayLike,
    loss_m: ArrayLike,
) -> Floats:
    """Suction head in hand at the pump, (p_air − p_vapour)/(ρg) − lift − losses.

    Parameters
    ----------
    air_pressure_pa : float or array, broadcast
        Absolute pressure on the water's surface, the air's or that in a closed tank. [Pa]  Valid: 0 or more.
    vapour_pressure_pa : float or array, broadcast
        Vapour pressure of the liquid. [Pa]  Valid: 0 or more.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.
    lift_m : float or array, broadcast
        Water surface up to the pump; negative when the pump lies below. [m]  Valid: finite.
    loss_m : float or array, broadcast
        Head lost on the suction side. [m]  Valid: 0 or more.

    Returns
    -------
    array, or 0-d for scalars
        NPSHA; negative where the liquid would boil. [m]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Hydraulic Institute, ANSI/HI 9.6.1, Rotodynamic Pumps: Guideline for NPSH Margin; definition,
       clause from memory.
    """
    surface = require("air_pressure_pa", air_pressure_pa, 0.0) - require("vapour_pressure_pa", vapour_pressure_pa, 0.0)
    return head_of(surface, density_kg_m3=density_kg_m3) - require("lift_m", lift_m) - require("loss_m", loss_m, 0.0)


def npsh_from_gauge(
    gauge_pa: ArrayLike,
    *,
    air_pressure_pa: ArrayLike,
    vapour_pressure_pa: ArrayLike,
    density_kg_m3: ArrayLike,
    gauge_height_m: ArrayLike,
    velocity_m_s: ArrayLike,
) -> Floats:
    """NPSHA from a gauge on the suction: a gauge shows static pressure, so that the velocity head is added to it.

    Parameters
    ----------
    gauge_pa : float or array, broadcast
        Gauge pressure, negative for a vacuum. [Pa]  Valid: finite.
    air_pressure_pa, vapour_pressure_pa, density_kg_m3 : float or array, broadcast
        As ``npsh_available``.
    gauge_height_m : float or array, broadcast
        Gauge above the middle of the pump. [m]  Valid: finite.
    velocity_m_s : float or array, broadcast
        Velocity where the gauge is tapped. [m/s]  Valid: finite.

    Returns
    -------
    array, or 0-d for scalars
        NPSHA. [m]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Follows from Bernoulli's equation.
    """
    at_tap = npsh_available(
        air_pressure_pa=require("air_pressure_pa", air_pressure_pa, 0.0) + require("gauge_pa", gauge_pa),
        vapour_pressure_pa=vapour_pressure_pa,
        density_kg_m3=density_kg_m3,
        lift_m=0.0,
        loss_m=0.0,
    )
    return at_tap + require("velocity_m_s", velocity_m_s) ** 2 / (2.0 * G) + require("gauge_height_m", gauge_height_m)


def head_from_gauges(
    *,
    inlet_pa: ArrayLike,
    outlet_pa: ArrayLike,
    density_kg_m3: ArrayLike,
    height_between_m: ArrayLike,
    inlet_velocity_m_s: ArrayLike,
    outlet_velocity_m_s: ArrayLike,
) -> Floats:
    """Total head of a pump from the gauges at its ports: difference of pressure, of height and of velocity head.

    Parameters
    ----------
    inlet_pa, outlet_pa : float or array, broadcast
        Gauge pressures, negative for a vacuum. [Pa]  Valid: finite.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.
    height_between_m : float or array, broadcast
        Outlet gauge above inlet gauge. [m]  Valid: finite.
    inlet_velocity_m_s, outlet_velocity_m_s : float or array, broadcast
        Velocities where they are tapped. [m/s]  Valid: finite.

    Returns
    -------
    array, or 0-d for scalars
        Total head. [m]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Follows from Bernoulli's equation; ISO 9906 defines pump total head so (clause from memory).
    """
    slow, fast = require("inlet_velocity_m_s", inlet_velocity_m_s), require("outlet_velocity_m_s", outlet_velocity_m_s)
    difference = require("outlet_pa", outlet_pa) - require("inlet_pa", inlet_pa)
    static = head_of(difference, density_kg_m3=density_kg_m3) + require("height_between_m", height_between_m)
    return static + (fast**2 - slow**2) / (2.0 * G)
