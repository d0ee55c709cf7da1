"""Loss of head by friction along a round hose running full.

``gradient`` is the hot path: two logarithms an element. Laminar flow and the join are left out where no element
is so slow.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import Floats, G
from curvelab.hydraulics.ranges import positive, require
from curvelab.units.factors import FOOT, INCH, MINUTE, PSI, US_GALLON

RE_LAMINAR: Final = 2000.0
"""Reynolds number up to which flow is taken as laminar. [-]"""

RE_TURBULENT: Final = 4000.0
"""Reynolds number from which the Colebrook equation is used. [-]"""

REYNOLDS: Final = (RE_TURBULENT, 1e8)
"""Reynolds numbers for which the Colebrook equation is solved here. [-]"""

RE_LEAST: Final = 1e-6
"""Least Reynolds number for which a friction factor is given; at no flow there is none. [-]"""

RELATIVE_ROUGHNESS: Final = (0.0, 0.05)
"""Roughness over bore for which it is solved here. [-]"""

_K = 2.0 / math.log(10.0)
_FEW = 16  # elements for which plain floats are faster than arrays
_BLOCK = 4096  # elements whose temporaries stay in the processor's cache
N = TypeVar("N", float, Floats)
_GPM = US_GALLON / MINUTE


def colebrook(reynolds: ArrayLike, relative_roughness: ArrayLike) -> Floats:
    r"""Darcy friction factor of turbulent flow in a full circular pipe.

    Solves the implicit equation of Colebrook [1]_ for :math:`f`

    .. math:: 1/\sqrt f = -2 \log_{10}(\varepsilon/3.7 + 2.51/(Re \sqrt f))

    to a relative error below 1e-12.

    Parameters
    ----------
    reynolds : float or array, shape (n,)
        Reynolds number. [-]  Valid: 4e3 to 1e8.
    relative_roughness : float or array, broadcast with ``reynolds``
        Height of the wall's roughness over bore. [-]  Valid: 0 to 0.05.

    Returns
    -------
    array, shape (n,), or 0-d for scalars
        Darcy friction factor, four times the Fanning factor. [-]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] C. F. Colebrook, "Turbulent flow in pipes, with particular reference to the transition region between the
       smooth and rough pipe laws," J. Inst. Civil Eng., vol. 11, no. 4, pp. 133-156, 1939,
       doi:10.1680/ijoti.1939.13150. Equation number not known.
    """
    re = require("reynolds", reynolds, *REYNOLDS, hint="use friction_factor() for laminar flow")
    eps = require("relative_roughness", relative_roughness, *RELATIVE_ROUGHNESS)
    a, b = eps / 3.7, 2.51 / re
    return _refine(_inverse_root(a, b, np.log, np.sqrt), a, b, np.log) ** -2.0


def friction_factor(reynolds: ArrayLike, relative_roughness: ArrayLike) -> Floats:
    r"""Darcy friction factor of laminar and turbulent flow, with a smooth join between them.

    64/Re up to Re 2000, ``colebrook`` from 4000. Between them :math:`f Re^2`, to which the loss of a given hose is
    proportional, follows the cubic that keeps value and slope at both ends: the loss rises with flow throughout, while
    f itself falls to 0.032 at Re 2000 and comes up to about 0.040 at 4000. The join is our own; real flow there is
    unsteady.

    Parameters
    ----------
    reynolds : float or array, shape (n,)
        Reynolds number. [-]  Valid: 1e-6 to 1e8.
    relative_roughness : float or array, broadcast with ``reynolds``
        Height of the wall's roughness over bore. [-]  Valid: 0 to 0.05.

    Returns
    -------
    array, shape (n,), or 0-d for scalars
        Darcy friction factor. [-]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] C. F. Colebrook, 1939, as in ``colebrook``; 64/Re follows from the law of Hagen and Poiseuille.
    """
    re = require(
        "reynolds", reynolds, RE_LEAST, REYNOLDS[1], hint="at no flow there is no friction factor; use gradient()"
    )
    a = require("relative_roughness", relative_roughness, *RELATIVE_ROUGHNESS) / 3.7
    b = 2.51 / np.maximum(re, RE_TURBULENT)
    x = _refine(_inverse_root(a, b, np.log, np.sqrt), a, b, np.log)
    return np.where(re < RE_TURBULENT, _slow_loss(re, x, np.exp) / re**2, x**-2.0)


def gradient(
    velocity_m_s: ArrayLike, *, bore_m: ArrayLike, roughness_m: ArrayLike, kinematic_viscosity_m2_s: ArrayLike
) -> Floats:
    r"""Head lost per length of hose; the sign is the velocity's, zero at zero.

    :math:`f v |v| / (2 g D)` with f of ``friction_factor`` to a relative error below 1e-9. Made for the solver, which
    calls it often: arguments are not checked (a Plan's are), and what is not finite comes back as such.

    Parameters
    ----------
    velocity_m_s : float or array, shape (n,)
        Mean velocity, either sign. [m/s]  Valid: Reynolds number to 1e8.
    bore_m : float or array, broadcast
        True inside diameter. [m]  Valid: more than 0.
    roughness_m : float or array, broadcast
        Height of the wall's roughness. [m]  Valid: 0 to 5 % of the bore.
    kinematic_viscosity_m2_s : float or array, broadcast
        Kinematic viscosity. [m²/s]  Valid: more than 0.

    Returns
    -------
    array, shape (n,), or 0-d for scalars
        Head per length, metres of the liquid a metre. [m/m]

    References
    ----------
    .. [1] J. Weisbach, 1845, as given by C. F. Colebrook, 1939, doi:10.1680/ijoti.1939.13150. From memory.
    """
    given = (velocity_m_s, bore_m, roughness_m, kinematic_viscosity_m2_s)
    parts = [np.asarray(part, dtype=np.float64) for part in given]
    together = np.broadcast(*parts)
    if together.size <= _FEW:
        return np.array([_gradient_of_one(*map(float, one)) for one in together]).reshape(together.shape)
    if together.size <= _BLOCK:
        return _gradient_of_many(*parts)
    loss = np.empty(together.shape)
    axis = int(np.argmax(together.shape))
    step = max(1, _BLOCK * together.shape[axis] // together.size)
    parts = [part.reshape((1,) * (together.ndim - part.ndim) + part.shape) for part in parts]
    for start in range(0, together.shape[axis], step):
        block = (slice(None),) * axis + (slice(start, start + step),)
        loss[block] = _gradient_of_many(*(part[block] if part.shape[axis] > 1 else part for part in parts))
    return loss


def hazen_williams_loss(
    flow_m3_s: ArrayLike, *, length_m: ArrayLike, bore_m: ArrayLike, coefficient: ArrayLike
) -> Floats:
    """Head lost by the formula of Hazen and Williams: a check against trade tables, no part of an answer.

    h = 10.44 L Q^1.852 / (C^1.852 d^4.8704) in ft, gpm (US) and in.

    Parameters
    ----------
    flow_m3_s : float or array, broadcast
        Flow. [m³/s]  Valid: 0 or more.
    length_m : float or array, broadcast
        Length. [m]  Valid: 0 or more.
    bore_m : float or array, broadcast
        True inside diameter. [m]  Valid: more than 0.
    coefficient : float or array, broadcast
        C of the table: 150 for smooth plastic, 100 for old steel. [-]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Head, of water near 60 °F only. [m]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] G. S. Williams and A. Hazen, Hydraulic Tables, Wiley, 1905; coefficient and powers as commonly printed, from
       memory.
    """
    gpm, inches = require("flow_m3_s", flow_m3_s, 0.0) / _GPM, positive("bore_m", bore_m) / INCH
    per_length = 10.44 * (gpm / positive("coefficient", coefficient)) ** 1.852 / inches**4.8704
    return per_length * require("length_m", length_m, 0.0)


def fire_hose_loss(flow_m3_s: ArrayLike, *, length_m: ArrayLike, coefficient: ArrayLike) -> Floats:
    """Pressure lost by the fire service's formula: a check against its tables, no part of an answer.

    FL = C (Q/100)² (L/100) in psi, gpm (US) and ft.

    Parameters
    ----------
    flow_m3_s : float or array, broadcast
        Flow. [m³/s]  Valid: 0 or more.
    length_m : float or array, broadcast
        Length. [m]  Valid: 0 or more.
    coefficient : float or array, broadcast
        C of the table: 24 for 1½ in, 8 for 2 in, 2 for 2½ in, 0.8 for 3 in hose. [-]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Pressure. [Pa]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Fire service's friction loss formula, as in a city fire department's training slides (slide 3-8).
    """
    hundreds, lengths = require("flow_m3_s", flow_m3_s, 0.0) / (100.0 * _GPM), require("length_m", length_m, 0.0) / FOOT
    return positive("coefficient", coefficient) * hundreds**2 * (lengths / 100.0) * PSI


def _gradient_of_one(velocity: float, bore: float, roughness: float, viscosity: float) -> float:
    unit_speed, speed = viscosity / bore, abs(velocity)
    limit = RE_TURBULENT * unit_speed
    x = _inverse_root(roughness / (3.7 * bore), 2.51 * unit_speed / max(speed, limit), math.log, math.sqrt)
    if speed >= limit:
        return velocity * speed / (2.0 * G * bore * x * x)
    phi = _slow_loss(speed / unit_speed, x, math.exp)
    return math.copysign(phi * unit_speed * unit_speed / (2.0 * G * bore), velocity)


def _gradient_of_many(velocity: Floats, bore: Floats, roughness: Floats, viscosity: Floats) -> Floats:
    unit_speed, speed = viscosity / bore, np.abs(velocity)
    limit = RE_TURBULENT * unit_speed
    x = _inverse_root(roughness / (3.7 * bore), 2.51 * unit_speed / np.maximum(speed, limit), np.log, np.sqrt)
    factor = 0.5 / (G * bore)
    loss = velocity * speed * factor / (x * x)
    slow = speed < limit
    if slow.any():
        phi = _slow_loss(
            speed / unit_speed, x, np.exp
        )  # for all: picking out the slow ones was measured to take longer
        loss = np.where(slow, np.copysign(phi * (unit_speed * unit_speed * factor), velocity), loss)
    return loss


def _inverse_root(a: N, b: N, log: Callable[[N], N], sqrt: Callable[[N], N]) -> N:
    """Root x = 1/√f of the Colebrook equation x = −K ln(a + b·x), to 2e-10 of x within the valid ranges.

    The start is fitted to smooth pipe (4 %), once put through the equation (2 %), then refined once.
    """
    start = 4.49 + 8.43 / (1.0 + 418.0 * sqrt(b))
    return _refine(-_K * log(a + b * start), a, b, log)


def _refine(x: N, a: N, b: N, log: Callable[[N], N]) -> N:
    """One step of fourth order towards x = −K ln(a + b·x).

    With w = a + b·x and E = x + K ln w, the correction d solves E + d + K ln(1 + b·d/w) = 0. That logarithm is expanded
    instead of taken anew: the power series in b·d/w, turned round to third order.
    """
    w = a + b * x
    g = _K * b / w
    s = 1.0 / (1.0 + g)
    q = g * s
    d = (x + _K * log(w)) * s
    t = d * g / _K
    return x - d * (1.0 - t * q * (0.5 - t * (0.5 * q - 1.0 / 3.0)))


def _slow_loss(re: N, x: N, exp: Callable[[N], N]) -> N:
    """f·Re² below Re 4000, given ``x`` = 1/√f at Re 4000.

    The laminar line 64·Re, and from Re 2000 added to it the cubic that starts with no value and no slope and ends with
    Colebrook's. The slope there comes from the equation itself: d ln f / d ln Re = −2 g/(1 + g), g as in ``_refine``.
    """
    g = _K * (2.51 / RE_TURBULENT) / exp(x / -_K)
    end = (RE_TURBULENT / x) * (RE_TURBULENT / x)
    width, rise = RE_TURBULENT - RE_LAMINAR, end - 64.0 * RE_TURBULENT
    end_slope = 2.0 * end / (RE_TURBULENT * (1.0 + g)) - 64.0
    t = (re - RE_LAMINAR) / width
    t = 0.5 * (t + abs(t))  # 0 in laminar flow
    return 64.0 * re + t * t * ((3.0 - 2.0 * t) * rise + (t - 1.0) * (width * end_slope))
