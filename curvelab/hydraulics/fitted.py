"""A head curve from less than a curve: greatest head and flow, and whatever points were measured, with a band of doubt.

    H(Q) = H₀ (1 − (Q/Q₀)ⁿ)

Three numbers are not known exactly: the shut-off head H₀, the flow Q₀ at which no head is left, and the exponent n.
What is known of them before anything is measured (``Box``) is weighed against the measured points by least squares, in
logarithms, each in units of its own doubt. The result falls from end to end whatever was measured. It is an estimate
and has to be called one.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelab.errors import DomainError
from curvelab.hydraulics.constants import Floats
from curvelab.hydraulics.ranges import positive, require

NINE_IN_TEN: Final = NormalDist().inv_cdf(0.95)
"""Standard deviations within which a normal value lies nine times in ten. [-]"""

HEAD_DOUBT: Final = 0.08
"""How far a small pump's head may lie from what is stated for it. [-] ISO 9906:2012, pumps up to 10 kW, as quoted by
trade pages; that it holds nine times in ten is our choice."""
FLOW_DOUBT: Final = 0.115
"""How far the flow without head may lie from the greatest one stated, nine times in ten. [-] Estimate: 10 % by ISO 9906
as above, widened so that curves which end with a tenth to a fifth of their head left are covered too."""
SHAPE_DOUBT: Final = 0.015
"""How far a true curve lies from the formula, as a share of the shut-off head, one standard deviation. [-] Estimate:
0.1 to 1.3 % over portable pumps' and textbooks' curves."""

_LARGEST_STEP: Final = 0.5
_ROUNDS: Final = 60


@dataclass(frozen=True, slots=True)
class Exponent:
    """What is known of n beforehand: the middle, and the factor up and down that it lies within nine times in ten."""

    middle: float
    factor: float


CENTRIFUGAL: Final = Exponent(1.9, 1.4)
"""Estimate: 1.8 to 2.1 over the demonstration's invented pumps (2.7 with a drooping start), 1.6 to 1.8 and once 4.6
over curves in textbooks (Brasch and Whyman ex. 6.4, a university's lesson, a course notebook)."""
DIAPHRAGM: Final = Exponent(8.0, 1.8)
"""Estimate: 6 and 14 over the demonstration's two, which are invented."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """Two figures off a box. [m], [m³/s]"""

    greatest_head_m: float
    greatest_flow_m3_s: float
    exponent: Exponent = CENTRIFUGAL


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FittedCurve:
    """An estimated curve, falling from no flow to the last flow, and the band that holds it nine times in ten."""

    flow_m3_s: Floats
    """Shape (count,), from 0. [m³/s]"""
    head_m: Floats
    """Only the last may be 0. [m]"""
    low_m: Floats
    high_m: Floats
    shut_off_head_m: float
    free_flow_m3_s: float
    """Where no head would be left; may lie past the last flow. [m³/s]"""
    exponent: float
    against_box: Floats
    """How far each measured point lies from what the box alone says, in units of how far it might; past 1 the two
    contradict each other. Shape (points,). [-]"""


def fitted_curve(
    box: Box,
    flow_m3_s: ArrayLike = (),
    head_m: ArrayLike = (),
    *,
    flow_doubt: float = 0.03,
    head_doubt: float = 0.05,
    count: int = 15,
) -> FittedCurve:
    """The curve that a box and measured points allow.

    Parameters
    ----------
    box : Box
        Greatest head and greatest flow. [m], [m³/s]  Valid: more than 0.
    flow_m3_s, head_m : array, shape (points,)
        Measured at the speed that the curve is for. [m³/s], [m]  Valid: 0 or more; any number of points, in any order.
    flow_doubt, head_doubt : float
        Shares that a measured flow and head lie within, nine times in ten. [-]  Valid: 0 to 1. The defaults are
        estimates for a drum with a watch and for a gauge of class 2.5.
    count : int
        Points of the curve. [-]  Valid: 3 or more.

    Raises
    ------
    DomainError
        If a value is outside its range, or flows and heads are not alike in number.

    References
    ----------
    .. [1] Own derivation: least squares with values known beforehand, by Gauss and Newton's method. The form of the
       curve is common practice, no source.
    """
    positive("greatest_head_m", box.greatest_head_m)
    positive("greatest_flow_m3_s", box.greatest_flow_m3_s)
    flow, head = require("flow_m3_s", flow_m3_s, 0.0), require("head_m", head_m, 0.0)
    if flow.ndim != 1 or flow.shape != head.shape or count < 3:
        raise DomainError(
            f"points need a flow and a head each, count 3 or more (got {flow.shape}, {head.shape}, {count})"
        )
    shares = (require("flow_doubt", flow_doubt, 0.0, 1.0), require("head_doubt", head_doubt, 0.0, 1.0))
    doubts = np.array([float(share) for share in shares]) / NINE_IN_TEN
    before = np.log([box.greatest_head_m, box.greatest_flow_m3_s, box.exponent.middle])
    spread = np.array([HEAD_DOUBT, FLOW_DOUBT, np.log(box.exponent.factor)]) / NINE_IN_TEN
    expected = np.sqrt(_deviation(before, np.diag(spread**2), flow) ** 2 + _errors(before, flow, head, doubts) ** 2)
    against = (head - _head(before, flow)) / (NINE_IN_TEN * expected)
    looser = max(1.0, float(np.abs(against).max(initial=0.0)))  # a box that the points contradict counts for less
    theta, covariance = _weighed(before, looser * spread, flow, head, doubts)
    shut_off, free, exponent = np.exp(theta).tolist()
    last = min(free, max(box.greatest_flow_m3_s, float(flow.max(initial=0.0))))
    flows: Floats = np.asarray(np.linspace(0.0, last, count), np.float64)
    middle = np.maximum(_head(theta, flows), 0.0)
    half = NINE_IN_TEN * _deviation(theta, covariance, flows)
    return FittedCurve(
        flow_m3_s=flows,
        head_m=middle,
        low_m=np.minimum.accumulate(np.maximum(middle - half, 0.0)),
        high_m=np.maximum.accumulate((middle + half)[::-1])[::-1],
        shut_off_head_m=shut_off,
        free_flow_m3_s=free,
        exponent=exponent,
        against_box=against,
    )


def _head(theta: Floats, flow: Floats) -> Floats:
    shut_off, free, exponent = np.exp(theta)
    return shut_off * (1.0 - (flow / free) ** exponent)


def _slopes(theta: Floats, flow: Floats) -> Floats:
    """Change of head with the logarithms of H₀, Q₀ and n, shape (flows, 3). [m]"""
    shut_off, free, exponent = np.exp(theta)
    share = flow / free
    fallen = shut_off * share**exponent
    log_share = np.log(np.where(share > 0.0, share, 1.0))
    return np.stack([shut_off - fallen, exponent * fallen, -exponent * fallen * log_share], axis=-1)


def _deviation(theta: Floats, covariance: Floats, flow: Floats) -> Floats:
    """Standard deviation of the head at flows, shape (flows,). [m]"""
    slopes = _slopes(theta, flow)
    of_numbers = np.einsum("ij,jk,ik->i", slopes, covariance, slopes)
    return np.sqrt(np.maximum(of_numbers, 0.0) + (SHAPE_DOUBT * np.exp(theta[0])) ** 2)


def _errors(theta: Floats, flow: Floats, head: Floats, doubts: NDArray[np.float64]) -> Floats:
    """Standard deviation of each measured point's distance from the curve, its flow's error taken along. [m]"""
    shut_off, free, exponent = np.exp(theta)
    along = exponent * shut_off * (flow / free) ** exponent * doubts[0]
    return np.sqrt(along**2 + (head * doubts[1]) ** 2 + (SHAPE_DOUBT * shut_off) ** 2)


def _weighed(
    before: Floats, spread: Floats, flow: Floats, head: Floats, doubts: NDArray[np.float64]
) -> tuple[Floats, Floats]:
    """The likeliest logarithms of H₀, Q₀ and n, and their covariance; wider where the points disagree with the form."""
    theta, prior = before.copy(), np.diag(spread**-2.0)
    normal, error = prior, np.empty(0)
    for _ in range(_ROUNDS if flow.size else 0):
        error = (head - _head(theta, flow)) / (deviation := _errors(theta, flow, head, doubts))
        slopes = _slopes(theta, flow) / deviation[:, None]
        normal = prior + slopes.T @ slopes
        step = np.linalg.solve(normal, slopes.T @ error - prior @ (theta - before))
        step *= min(1.0, _LARGEST_STEP / max(float(np.abs(step).max()), 1e-300))
        theta = theta + step
        if np.abs(step).max() < 1e-10:
            break
    worse = max(1.0, float(np.mean(error**2))) if error.size else 1.0
    covariance: Floats = worse * np.asarray(np.linalg.inv(normal), np.float64)
    return theta, covariance
