"""The suction side: what the air's push leaves at the pump, what the pump needs, and whether it primes at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelab.hydraulics.constants import AIR_SEA_LEVEL_PA, REFERENCE_TEMPERATURE_K, G
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.pump import scale
from curvelab.hydraulics.water import vapour_pressure

Floats = NDArray[np.float64]

_FOOT = 0.3048
_COLD_PA = float(vapour_pressure(REFERENCE_TEMPERATURE_K))

_GAUSS = np.polynomial.legendre.leggauss(24)
_NODES, _WEIGHTS = 0.5 + 0.5 * _GAUSS[0], 0.5 * _GAUSS[1]


@dataclass(frozen=True, slots=True)
class _Guess:
    """NPSHR that somebody might guess: ``still_m`` over the value that the priming lift implies, and its growth. [m]"""

    still_m: float
    growth_m: float


LOW_GUESS, HIGH_GUESS = _Guess(-2.0 * _FOOT, 6.0 * _FOOT), _Guess(2.0 * _FOOT, 14.0 * _FOOT)
"""Band of NPSHR for a pump whose sheet has none: (5 to 9) + (6 to 14)·(Q/Q_max)² ft at a priming lift of 26 ft.
Estimate, reasoned from stated priming lifts; no source."""
_UNSTATED_M = 7.0 * _FOOT
_LEAST_M = 1.0 * _FOOT


@dataclass(frozen=True, slots=True, eq=False)
class Needs:
    """NPSHR of every row's pump, or the band of guesses where it has none. Shapes (rows,)."""

    plan: Plan
    known: NDArray[np.bool_]
    """The pump has NPSHR points."""
    end: Floats
    """Last flow that NPSHR, or the guess, is good for. [m³/s]"""
    still: Floats
    top: Floats

    @classmethod
    def of(cls, plan: Plan) -> Needs:
        """What each row's pump needs."""
        curve, times = plan.pumps.curve[:, 0], scale(plan)[:, 0]
        known = plan.curves.npshr_m.count[curve] > 0
        top = plan.curves.head_m.last(curve)
        lift = plan.pumps.priming_lift_m[:, 0]
        cold = (AIR_SEA_LEVEL_PA - _COLD_PA) / (1000.0 * G)
        still = np.where(np.isfinite(lift), cold - lift, _UNSTATED_M)
        end = np.where(known, plan.curves.npshr_m.last(curve), top) * times
        return cls(plan, known, end, still, top)

    def npshr(self, flow: Floats) -> Floats:
        """NPSHR at the pump's speed, shape (rows, flows); NaN without points. Held at its ends: ask ``end``. [m]"""
        ratio = self.plan.pumps.speed_ratio[:, :1]
        return ratio**2 * self.plan.curves.npshr_m(self.plan.pumps.curve[:, 0], flow / scale(self.plan)[:, :1])

    def guess(self, flow: Floats, guess: _Guess) -> Floats:
        """One edge of the band of guesses, shape (rows, flows). [m]"""
        ratio = self.plan.pumps.speed_ratio[:, :1]
        share = flow / (scale(self.plan)[:, :1] * self.top[:, None])
        return ratio**2 * (np.maximum(self.still[:, None] + guess.still_m, _LEAST_M) + guess.growth_m * share**2)

    def first(self, flow: Floats) -> Floats:
        """NPSHR, or the high guess where there is none: past where this is met the pump starves for certain. [m]"""
        known = self.known[:, None]
        if known.all():
            return self.npshr(flow)
        guess = self.guess(flow, HIGH_GUESS)
        return np.where(known, self.npshr(flow), guess) if known.any() else guess

    def second(self, flow: Floats, first: Floats) -> Floats:
        """NPSHR and the margin asked for, or the low guess where there is none; ``first`` is ``first(flow)``. [m]"""
        with_margin = first + self.plan.margin_m[:, None]
        if self.known.all():
            return with_margin
        return np.where(self.known[:, None], with_margin, self.guess(flow, LOW_GUESS))


def air_head(plan: Plan) -> tuple[Floats, Floats]:
    """Air pressure and vapour pressure as columns of the liquid, shape (rows,). [m]"""
    weight = plan.density_kg_m3 * G
    return plan.air_pressure_pa / weight, plan.vapour_pressure_pa / weight


def priming_lift(plan: Plan) -> Floats:
    """Greatest lift that the dry pump draws at this site, shape (rows,); inf where nobody stated one. [m]

    The stated lift holds for cold water at sea level; the air's push less the vapour's scales it, the density divides
    it.
    """
    here = (plan.air_pressure_pa - plan.vapour_pressure_pa) / (AIR_SEA_LEVEL_PA - _COLD_PA)
    return plan.pumps.priming_lift_m[:, 0] * here / plan.density_ratio


def priming_time(
    lift_m: ArrayLike,
    *,
    reach_m: ArrayLike,
    hose_volume_m3: ArrayLike,
    air_rate_m3_s: ArrayLike,
    air_pressure_pa: ArrayLike,
    density_kg_m3: ArrayLike,
) -> Floats:
    """Time until the dry pump has drawn the water up its suction hose.

    The air in the hose is one isothermal body. Water at height y leaves it the pressure p = p_air − ρgy and the volume
    V(1 − y/lift); the pump takes away air at the rate S₀(1 − y/reach), which is nothing at its greatest vacuum:

        t = ∫ −d(pV)/dy / (p S) dy   from 0 to lift

    Parameters
    ----------
    lift_m : array
        Water surface up to the pump. [m] At or below 0 the hose fills by itself and the time is 0.
    reach_m : array
        Greatest height the dry pump draws here. [m] A lift at or over it never primes: inf.
    hose_volume_m3 : array
        Volume of the suction hose. [m³]
    air_rate_m3_s : array
        Air removed at no vacuum, measured at the pressure in the hose. [m³/s] 0: not known, NaN.
    air_pressure_pa, density_kg_m3 : array
        The air [Pa] and the liquid [kg/m³].

    Returns
    -------
    array
        Time. [s]

    References
    ----------
    .. [1] Own derivation from Boyle's law; checked against its closed form for a constant rate.
    """
    lift, reach, volume, rate, air, density = (
        np.asarray(a, float)[..., None]
        for a in (lift_m, reach_m, hose_volume_m3, air_rate_m3_s, air_pressure_pa, density_kg_m3)
    )
    up = np.maximum(lift, 0.0)
    share = _NODES
    y = up * share
    pressure = air - density * G * y
    # −d(pV)/dy · dy with V = volume(1 − y/lift), y = lift·share
    moved = density * G * volume * (1.0 - share) * up + pressure * volume
    left = np.where(np.isfinite(reach), 1.0 - y / reach, 1.0)
    ok = (lift < reach) & (pressure > 0.0).all(-1, keepdims=True)
    speed = np.where(ok & (rate > 0.0), pressure * rate * left, 1.0)
    time = (moved / speed * _WEIGHTS).sum(-1)
    time = np.where(ok[..., 0], time, np.inf)
    time = np.where(rate[..., 0] > 0.0, time, np.nan)
    return np.where(lift[..., 0] <= 0.0, 0.0, time)
