"""What water does where it leaves: nozzles, sprinklers, holes, a jet's fall, and a siphon."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import Floats, G
from curvelab.hydraulics.crossing import find_roots
from curvelab.hydraulics.friction import gradient
from curvelab.hydraulics.ranges import positive, require

SMOOTH_BORE_COEFFICIENT: Final = 0.995
"""Discharge coefficient of a smooth-bore nozzle. [-] Reproduces gpm = 29.7 d² √psi (in), the fire service's relation as
in NFPA 1962; from memory."""

SHARP_HOLE_COEFFICIENT: Final = 0.61
"""Discharge coefficient of a sharp-edged hole. [-] Common practice, no source; textbooks have 0.60 to 0.62."""


def jet_flow(head_m: ArrayLike, *, bore_m: ArrayLike, coefficient: ArrayLike, count: ArrayLike = 1.0) -> Floats:
    r"""Flow through nozzles or holes, :math:`Q = n\,C_d\,\pi d^2/4\,\sqrt{2gH}`.

    Parameters
    ----------
    head_m : float or array, broadcast
        Total head at the base of the nozzle, or depth over the middle of the hole. [m]  Valid: 0 or more.
    bore_m : float or array, broadcast
        Bore of one. [m]  Valid: more than 0.
    coefficient : float or array, broadcast
        Discharge coefficient. [-]  Valid: more than 0, to 1; ``SMOOTH_BORE_COEFFICIENT``, ``SHARP_HOLE_COEFFICIENT``.
    count : float or array, broadcast
        How many, side by side. [-]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Flow of all together. [m³/s]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] E. Torricelli, De motu gravium, 1644; from memory.
    """
    return np.sqrt(require("head_m", head_m, 0.0) / jet_resistance(bore_m=bore_m, coefficient=coefficient, count=count))


def jet_resistance(
    *, bore_m: ArrayLike, coefficient: ArrayLike = SMOOTH_BORE_COEFFICIENT, count: ArrayLike = 1.0
) -> Floats:
    """Total head over flow squared at the base of nozzles: ``jet_flow`` turned round.

    Parameters
    ----------
    bore_m, coefficient, count : float or array, broadcast
        As ``jet_flow``.

    Returns
    -------
    array, or 0-d for scalars
        Resistance. [s²/m⁵]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] E. Torricelli, 1644, as in ``jet_flow``.
    """
    area = (np.pi / 4.0) * positive("bore_m", bore_m) ** 2
    passes = positive("count", count) * positive("coefficient", coefficient, 1.0) * area
    return 1.0 / (2.0 * G * passes**2)


def sprinkler_resistance(
    *, count: ArrayLike, flow_m3_s: ArrayLike, pressure_pa: ArrayLike, density_kg_m3: ArrayLike
) -> Floats:
    """Total head over total flow squared of sprinklers that each pass this flow at this pressure, q ∝ √p.

    Parameters
    ----------
    count : float or array, broadcast
        How many. [-]  Valid: more than 0.
    flow_m3_s : float or array, broadcast
        Flow of one. [m³/s]  Valid: more than 0.
    pressure_pa : float or array, broadcast
        Gauge pressure at its base for that flow. [Pa]  Valid: more than 0.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Resistance. [s²/m⁵]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Follows from Bernoulli's equation for an orifice.
    """
    head = positive("pressure_pa", pressure_pa) / (positive("density_kg_m3", density_kg_m3) * G)
    return head / (positive("count", count) * positive("flow_m3_s", flow_m3_s)) ** 2


def drain_time(
    level_from_m: ArrayLike, level_to_m: ArrayLike, *, area_m2: ArrayLike, bore_m: ArrayLike, coefficient: ArrayLike
) -> Floats:
    r"""Time in which a tank with upright walls runs out through a hole.

    :math:`t = 2A(\sqrt{h_1} - \sqrt{h_2}) / (C_d\,a\,\sqrt{2g})`.

    Parameters
    ----------
    level_from_m, level_to_m : float or array, broadcast
        Level over the hole at first and at last. [m]  Valid: 0 or more, the last at most the first.
    area_m2 : float or array, broadcast
        Surface of the water. [m²]  Valid: more than 0, and much more than the hole's area.
    bore_m : float or array, broadcast
        Bore of the hole. [m]  Valid: more than 0.
    coefficient : float or array, broadcast
        Discharge coefficient. [-]  Valid: more than 0, to 1.

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
    .. [1] E. Torricelli, 1644, as in ``jet_flow``, integrated over the level.
    """
    first, last = require("level_from_m", level_from_m, 0.0), require("level_to_m", level_to_m, 0.0)
    require("level_from_m less level_to_m", first - last, 0.0, hint="a tank that drains falls")
    resistance = jet_resistance(bore_m=bore_m, coefficient=coefficient)
    return 2.0 * positive("area_m2", area_m2) * np.sqrt(resistance) * (np.sqrt(first) - np.sqrt(last))


def level_jet_flow(reach_m: ArrayLike, *, drop_m: ArrayLike, bore_m: ArrayLike) -> Floats:
    r"""Flow of a level pipe that runs full, from how far its jet flies while it falls.

    Free fall: the water is :math:`t = \sqrt{2y/g}` in the air and flies :math:`x = v t`.

    Parameters
    ----------
    reach_m : float or array, broadcast
        Along the level from the pipe's end to where the jet has dropped. [m]  Valid: 0 or more.
    drop_m : float or array, broadcast
        Drop of the jet's top below the inside top of the pipe. [m]  Valid: more than 0;
        13 in makes gpm = 0.786 d² x (in).
    bore_m : float or array, broadcast
        True inside diameter. [m]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Flow. [m³/s]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Own derivation from free fall; the 13 in form is common practice of extension services, no source.
    """
    speed = require("reach_m", reach_m, 0.0) / np.sqrt(2.0 * positive("drop_m", drop_m) / G)
    return (np.pi / 4.0) * positive("bore_m", bore_m) ** 2 * speed


def nozzle_reaction(*, bore_m: ArrayLike, pressure_pa: ArrayLike) -> Floats:
    """Push of a smooth-bore nozzle on whoever holds it, 2 A p: F[lb] = 1.57 d² p (in, psi).

    Parameters
    ----------
    bore_m : float or array, broadcast
        Bore of the nozzle. [m]  Valid: more than 0.
    pressure_pa : float or array, broadcast
        Gauge pressure at its base. [Pa]  Valid: 0 or more.

    Returns
    -------
    array, or 0-d for scalars
        Force. [N]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Follows from the balance of momentum, without loss in the nozzle; 1.57 as the fire service has it, from
       memory.
    """
    return 2.0 * (np.pi / 4.0) * positive("bore_m", bore_m) ** 2 * require("pressure_pa", pressure_pa, 0.0)


def siphon_velocity(
    drop_m: ArrayLike,
    *,
    length_m: ArrayLike,
    bore_m: ArrayLike,
    roughness_m: ArrayLike,
    kinematic_viscosity_m2_s: ArrayLike,
    k: ArrayLike,
) -> Floats:
    """Velocity in a line that runs full by its drop alone: drop = (f L/D + K) v²/2g.

    Parameters
    ----------
    drop_m : float or array, broadcast
        Upper water surface down to the lower one, or to the open end. [m]  Valid: 0 or more.
    length_m : float or array, broadcast
        Length. [m]  Valid: 0 or more.
    bore_m, roughness_m : float or array, broadcast
        True inside diameter [m] and height of the wall's roughness [m].  Valid: more than 0; 0 or more.
    kinematic_viscosity_m2_s : float or array, broadcast
        Kinematic viscosity. [m²/s]  Valid: more than 0.
    k : float or array, broadcast
        Loss coefficients summed, the 1 of the exit included. [-]  Valid: 1 or more.

    Returns
    -------
    array, or 0-d for scalars
        Velocity. [m/s]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] J. Weisbach, 1845, as in ``friction.gradient``.
    """
    drop, length, bore, roughness, viscosity, loss = np.broadcast_arrays(
        require("drop_m", drop_m, 0.0),
        require("length_m", length_m, 0.0),
        positive("bore_m", bore_m),
        require("roughness_m", roughness_m, 0.0),
        positive("kinematic_viscosity_m2_s", kinematic_viscosity_m2_s),
        require("k", k, 1.0, hint="count the exit"),
    )

    def gap(velocity: Floats) -> Floats:
        friction = gradient(velocity, bore_m=bore, roughness_m=roughness, kinematic_viscosity_m2_s=viscosity)
        return friction * length + loss * velocity**2 / (2.0 * G) - drop

    most = np.sqrt(2.0 * G * drop / loss)
    return find_roots(gap, np.zeros(drop.shape), most, -drop, gap(most))


def crest_pressure(
    crest_m: ArrayLike,
    *,
    velocity_m_s: ArrayLike,
    loss_m: ArrayLike,
    air_pressure_pa: ArrayLike,
    density_kg_m3: ArrayLike,
) -> Floats:
    """Absolute pressure at the crest of a siphon; it breaks where this falls to the vapour pressure.

    Parameters
    ----------
    crest_m : float or array, broadcast
        Upper water surface up to the crest. [m]  Valid: finite.
    velocity_m_s : float or array, broadcast
        Velocity there. [m/s]  Valid: finite.
    loss_m : float or array, broadcast
        Head lost from the inlet to the crest. [m]  Valid: 0 or more.
    air_pressure_pa : float or array, broadcast
        Absolute pressure of the air. [Pa]  Valid: more than 0.
    density_kg_m3 : float or array, broadcast
        Density. [kg/m³]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Absolute pressure; below the vapour pressure, and even below 0, where no siphon can run. [Pa]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Follows from Bernoulli's equation with losses.
    """
    velocity_head = require("velocity_m_s", velocity_m_s) ** 2 / (2.0 * G)
    head = require("crest_m", crest_m) + require("loss_m", loss_m, 0.0) + velocity_head
    return positive("air_pressure_pa", air_pressure_pa) - positive("density_kg_m3", density_kg_m3) * G * head
