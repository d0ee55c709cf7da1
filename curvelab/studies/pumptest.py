"""How worn is a pump? Its head against its sheet's, from what gauges, drum and watch said when it came back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum
from math import hypot
from typing import Any, Final

import numpy as np

from curvelab.hydraulics.air import pressure_at
from curvelab.hydraulics.constants import AIR_SEA_LEVEL_PA, REFERENCE_TEMPERATURE_K
from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.gauges import head_from_gauges, head_of, pressure_of
from curvelab.hydraulics.rules import SPEED_RATIO
from curvelab.hydraulics.water import density, vapour_pressure
from curvelab.model.pump import Pump, ReturnTest
from curvelab.model.setup import Setup
from curvelab.studies.pumptest_words import advice_of, drawn, sentence_of
from curvelab.units import System

FORMAT: Final = "curvelab-pump-test/1"

TIRED_BELOW: Final = 0.95
"""Factor on head under which a pump is called tired. [-] Our choice: grade 2 of ISO 9906 lets a new one lie 5 % off."""
WORN_BELOW: Final = 0.85
"""Factor on head under which a pump is called worn. [-] Our choice, no source."""

GAUGE_DOUBT_PA: Final = 0.025 * 4e5
"""How far a pressure gauge lies off, nine times in ten: class 2.5 of 4 bar (60 psi). [Pa] Class by EN 837-1, from
memory; that a yard has such a gauge is an estimate."""
VACUUM_DOUBT_PA: Final = 0.025 * 1e5
"""Likewise for a vacuum gauge of 1 bar (30 inHg). [Pa]"""
SPEED_DOUBT: Final = 0.01
"""How far a speed lies off that was measured. [-] Estimate."""
SPEED_UNSTATED_DOUBT: Final = 0.05
"""How far the speed lies off the sheet's where nobody measured it. [-] Estimate: what governors hold."""
VOLUME_DOUBT: Final = 0.03
"""How far a drum's content lies off. [-] Estimate."""
TIME_DOUBT_S: Final = 0.5
"""How far hand and eye start and stop a watch apart. [s] Estimate."""
STILL_SUCTION_M: Final = (0.0, 0.5)
"""What the suction side takes with nothing flowing where no vacuum was read, and its doubt: the drum stands beside the
pump. [m] Estimate."""
FLOWING_SUCTION_M: Final = (1.0, 1.5)
"""Likewise with water flowing through a short hose. [m] Estimate."""
LEAKS_BELOW: Final = 0.9
"""Share of the vacuum that the sheet's priming lift stands for under which air gets in. [-] Our choice, no source."""
HEALTHY_VACUUM_PA: Final = 20 * 3386.389
"""Vacuum that a sound pump holds dry at sea level where its sheet has no priming lift, 20 inHg. [Pa] From memory."""

_WATER_KG_M3: Final = float(density(REFERENCE_TEMPERATURE_K))
_VAPOUR_PA: Final = float(vapour_pressure(REFERENCE_TEMPERATURE_K))


class Verdict(StrEnum):
    """What is said of a pump's head."""

    AS_NEW = "as-new"
    TIRED = "tired"
    WORN = "worn"
    UNCLEAR = "unclear"
    TOO_GOOD = "too-good"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """One test worked out. ``None``: nothing follows from it, and ``reason`` says why."""

    date: str
    kind: str
    flow_m3_s: float | None = None
    head_m: float | None = None
    as_new_head_m: float | None = None
    """What the sheet's curve gives at that flow and speed. [m]"""
    wear: float | None = None
    """Head over that. [-]"""
    doubt: float | None = None
    """How far ``wear`` may lie off, nine times in ten. [-]"""
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suction:
    """What the dry pump holds."""

    vacuum_pa: float
    draws_m: float
    """Height that it draws cold water where it was tested. [m]"""
    should_draw_m: float
    """By the sheet, or by what sound pumps hold. [m]"""
    by_sheet: bool
    tight: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpTest:
    """The answer of ``wear_of``."""

    pump: str
    date: str | None
    """Of the latest test used."""
    verdict: Verdict
    wear: float | None
    """Factor on head for ``pump.wear`` of a setup; ``None`` where nothing is known. [-]"""
    doubt: float | None
    """How far it may lie off, nine times in ten. [-] More readings of one gauge don't make it less."""
    agree: bool
    """The readings agree within their doubts."""
    suction: Suction | None
    readings: tuple[Worked, ...]
    sentence: str
    advice: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, **asdict(self)}


def wear_of(pump: Pump, readings: Sequence[ReturnTest] | None = None, *, system: System = System.US) -> PumpTest:
    """How worn a pump is.

    Parameters
    ----------
    pump : Pump
        With the curve that it had when new.
    readings : sequence of ReturnTest, optional
        What was read, all of one visit; the pump's own tests of their latest day where left out, with the latest
        vacuum.
    system : System
        Units of the sentences.

    Returns
    -------
    PumpTest
        A shut-off test gives p/(ρg) and the suction's share against the curve's first point; a drum and a watch give a
        flow, and the gauges the head there against the curve's. Speeds by the affinity laws.
    """
    tests = latest_visit(pump.test) if readings is None else tuple(readings)
    worked = tuple(_worked(pump, test) for test in tests)
    wear, doubt, agree = _together(worked)
    suction = next(
        (_suction(pump, test) for test in sorted(tests, key=_day, reverse=True) if test.kind == "vacuum"), None
    )
    verdict = _verdict(wear, doubt)
    sheet = "its estimated curve" if pump.estimate else "its sheet"
    head_said = sentence_of(verdict, wear, doubt, agree=agree, sheet=sheet)
    return PumpTest(
        pump=pump.id,
        date=max((test.date.isoformat() for test in tests), default=None),
        verdict=verdict,
        wear=wear,
        doubt=doubt,
        agree=agree,
        suction=suction,
        readings=worked,
        sentence=" ".join(filter(None, (head_said, drawn(suction, system)))),
        advice=advice_of(verdict, tight=suction is None or suction.tight),
    )


def in_quote(setup: Setup, found: PumpTest) -> Setup:
    """The setup with the wear that was found, to three figures; the same setup where nothing is known.

    Raises
    ------
    InputError
        If the factor is none that a setup takes.
    """
    return setup if found.wear is None else setup.with_("pump.wear", f"{found.wear:.3g}")


def _day(test: ReturnTest) -> str:
    return test.date.isoformat()


def latest_visit(tests: Iterable[ReturnTest]) -> tuple[ReturnTest, ...]:
    """The tests of the latest day, and the vacuums of the latest day that one was read on."""
    kept = tuple(tests)
    days = {
        of_vacuum: max((t.date for t in kept if (t.kind == "vacuum") is of_vacuum), default=None)
        for of_vacuum in (True, False)
    }
    return tuple(test for test in kept if test.date == days[test.kind == "vacuum"])


def _worked(pump: Pump, test: ReturnTest) -> Worked:
    of = Worked(date=test.date.isoformat(), kind=test.kind)
    reason = _useless(pump, test)
    if reason:
        return _because(of, reason)
    read = _Read.of(pump, test)
    flow, head, as_new = read.flow_m3_s, read.head_m(pump), read.as_new_m(pump)
    if as_new is None:
        return _because(of, "the flow lies outside the tested curve at that speed")
    wear = head / as_new
    moved = (other.wear(pump) for other in read.moved(test))
    doubt = hypot(*(wear - other for other in moved if other is not None), wear * read.band(pump))
    return Worked(date=of.date, kind=of.kind, flow_m3_s=flow, head_m=head, as_new_head_m=as_new, wear=wear, doubt=doubt)


def _because(of: Worked, reason: str) -> Worked:
    return Worked(date=of.date, kind=of.kind, reason=reason)


def _useless(pump: Pump, test: ReturnTest) -> str:
    """Why nothing follows from a test for the head; empty where something does."""
    if test.kind == "vacuum":
        return "a vacuum tells of the seals, not of the head"
    if pump.kind == "diaphragm":
        return "a diaphragm pump isn't judged by its head"
    if test.pressure is None:
        return "no pressure was read at the outlet"
    if test.kind == "shut-off" and pump.head.flow_m3_s[0] > 0.0:
        return "the curve has no point at zero flow"
    if test.time is not None and test.time.si <= 2.0 * TIME_DOUBT_S:
        return "the drum filled too fast for a watch: take a larger one"
    ratio = 1.0 if test.speed is None else test.speed.si / pump.speed.si
    if not SPEED_RATIO[0] <= ratio <= SPEED_RATIO[1]:
        return "the speed is too far from the curve's"
    return ""


@dataclass(frozen=True, slots=True)
class _Read:
    """A test's readings in SI."""

    pressure_pa: float
    suction_m: float
    """What the suction side took, as head. [m]"""
    ratio: float
    flow_m3_s: float

    @classmethod
    def of(cls, pump: Pump, test: ReturnTest) -> _Read:
        pressure = 0.0 if test.pressure is None else test.pressure.si
        flow = test.volume.si / test.time.si if test.kind == "drum" and test.volume and test.time else 0.0
        guess = (FLOWING_SUCTION_M if flow else STILL_SUCTION_M)[0]
        suction = guess if test.vacuum is None else float(head_of(test.vacuum.si, density_kg_m3=_WATER_KG_M3))
        return cls(pressure, suction, 1.0 if test.speed is None else test.speed.si / pump.speed.si, flow)

    def moved(self, test: ReturnTest) -> tuple[_Read, ...]:
        """The readings, each in turn as far off as it may be."""
        vacuum = float(head_of(VACUUM_DOUBT_PA, density_kg_m3=_WATER_KG_M3))
        guessed = (FLOWING_SUCTION_M if self.flow_m3_s else STILL_SUCTION_M)[1]
        suction = vacuum if test.vacuum is not None else guessed
        speed = SPEED_DOUBT if test.speed is not None else SPEED_UNSTATED_DOUBT
        seconds = test.time.si if test.time is not None else 1.0
        flow = self.flow_m3_s * hypot(VOLUME_DOUBT, TIME_DOUBT_S / seconds)
        return (
            _Read(self.pressure_pa - GAUGE_DOUBT_PA, self.suction_m, self.ratio, self.flow_m3_s),
            _Read(self.pressure_pa, self.suction_m + suction, self.ratio, self.flow_m3_s),
            _Read(self.pressure_pa, self.suction_m, self.ratio * (1.0 + speed), self.flow_m3_s),
            _Read(self.pressure_pa, self.suction_m, self.ratio, self.flow_m3_s - flow),
        )

    def head_m(self, pump: Pump) -> float:
        """Total head: gauges, and the velocity heads where both ports are known."""
        ports = (pump.inlet, pump.outlet)
        bores = [port.si for port in ports if port is not None]
        speeds = [self.flow_m3_s / (np.pi / 4.0 * bore**2) for bore in bores] if len(bores) == 2 else [0.0, 0.0]
        return float(
            head_from_gauges(
                inlet_pa=-pressure_of(self.suction_m, density_kg_m3=_WATER_KG_M3),
                outlet_pa=self.pressure_pa,
                density_kg_m3=_WATER_KG_M3,
                height_between_m=0.0,
                inlet_velocity_m_s=speeds[0],
                outlet_velocity_m_s=speeds[1],
            )
        )

    def as_new_m(self, pump: Pump) -> float | None:
        """Head of the sheet's curve at that flow and speed; ``None`` outside its tested flows."""
        flows = pump.head.flow_m3_s
        tested = self.flow_m3_s / self.ratio
        if not flows[0] * (1.0 - 1e-9) <= tested <= flows[-1] * (1.0 + 1e-9):
            return None
        table = CurveTable.of([(flows, pump.head.values_si)])
        head = float(table(np.zeros(1, np.int64), np.array([[tested]]))[0, 0]) * self.ratio**2
        return head if head > 0.0 else None

    def band(self, pump: Pump) -> float:
        """How far an estimated curve may lie off there, as a share of its head; 0 for a tested one."""
        points, tested = pump.head, self.flow_m3_s / self.ratio
        if not points.low:
            return 0.0
        low, head, high = (
            float(np.interp(tested, points.flow_m3_s, edge)) for edge in (points.low_m, points.values_si, points.high_m)
        )
        return 0.5 * (high - low) / head

    def wear(self, pump: Pump) -> float | None:
        """Head over that of the sheet."""
        as_new = self.as_new_m(pump)
        return None if as_new is None else self.head_m(pump) / as_new


def _together(readings: Sequence[Worked]) -> tuple[float | None, float | None, bool]:
    """The factor of all readings, each as heavy as it is sure; its doubt; and whether they agree."""
    known = [(r.wear, r.doubt) for r in readings if r.wear is not None and r.doubt is not None]
    if not known:
        return None, None, True
    values, doubts = (np.array(column) for column in zip(*known, strict=True))
    weights = doubts**-2.0
    mean = float(np.sum(weights * values) / np.sum(weights))
    least, away = float(doubts.min()), np.abs(values - mean)
    agree = bool((away <= np.hypot(doubts, least)).all())
    return mean, least if agree else max(least, float(away.max())), agree


def _verdict(wear: float | None, doubt: float | None) -> Verdict:
    if wear is None or doubt is None:
        return Verdict.UNKNOWN
    if wear >= TIRED_BELOW:
        return Verdict.TOO_GOOD if wear - doubt > 2.0 - TIRED_BELOW else Verdict.AS_NEW
    if wear + doubt >= 1.0:
        return Verdict.UNCLEAR
    return Verdict.WORN if wear < WORN_BELOW else Verdict.TIRED


def _suction(pump: Pump, test: ReturnTest) -> Suction:
    vacuum = test.vacuum.si if test.vacuum is not None else 0.0
    air = float(pressure_at(test.altitude.si)) if test.altitude is not None else AIR_SEA_LEVEL_PA
    share = (air - _VAPOUR_PA) / (AIR_SEA_LEVEL_PA - _VAPOUR_PA)
    healthy = float(head_of(HEALTHY_VACUUM_PA, density_kg_m3=_WATER_KG_M3))
    should = (healthy if pump.priming_lift is None else pump.priming_lift.si) * share
    draws = float(head_of(vacuum, density_kg_m3=_WATER_KG_M3))
    doubt = float(head_of(VACUUM_DOUBT_PA, density_kg_m3=_WATER_KG_M3))
    return Suction(
        vacuum_pa=vacuum,
        draws_m=draws,
        should_draw_m=should,
        by_sheet=pump.priming_lift is not None,
        tight=draws + doubt >= LEAKS_BELOW * should,
    )
