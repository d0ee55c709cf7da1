"""NPSH required from a sheet that gives flows at several suction lifts instead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault
from curvelab.hydraulics.constants import AIR_SEA_LEVEL_PA, REFERENCE_TEMPERATURE_K, G
from curvelab.hydraulics.friction import gradient
from curvelab.hydraulics.water import density, kinematic_viscosity, vapour_pressure
from curvelab.model.amount import Amount
from curvelab.model.kinds import BORE, HEIGHT, LENGTH, SOME_FLOW
from curvelab.model.section import Section

TEST_ROUGHNESS_M: Final = 0.05e-3
"""Roughness assumed of the test hose, smooth inside. [m] Estimate: 0.02 to 0.1 mm is remembered of such hose."""


class SuctionTest(Section):
    """The flow at which the curve drops away at one suction lift, as some sheets give it."""

    lift: Annotated[Amount, HEIGHT]
    flow: Annotated[Amount, SOME_FLOW]
    hose_bore: Annotated[Amount | None, BORE] = None
    hose_length: Annotated[Amount | None, LENGTH] = None

    def rules(self) -> Iterator[Fault]:
        """A test hose has a bore and a length."""
        if (self.hose_bore is None) != (self.hose_length is None):
            missing = "hose_length" if self.hose_length is None else "hose_bore"
            yield Fault("", missing, "is missing", "a test hose has both a bore and a length")


def npshr_of_tests(tests: Sequence[SuctionTest]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Flow [m³/s] and NPSH required [m], by rising flow, that tests at several lifts imply; shape (tests,).

    Where the curve drops away the pump has all that the suction leaves it, so NPSHR(Q) = NPSHA(that lift, Q): the air
    at sea level less the vapour of water at 20 °C, less the lift, less the loss in the test hose of the stated bore and
    length. The hose is taken as smooth (0.05 mm) and without strainer or bends: losses left out make the NPSHR found
    greater, so that what is said of a suction is on the careful side. Without a stated hose its loss is nothing.
    """
    ordered = sorted(tests, key=lambda test: test.flow.si)
    flow = np.array([test.flow.si for test in ordered])
    lift = np.array([test.lift.si for test in ordered])
    bore = np.array([test.hose_bore.si if test.hose_bore is not None else 1.0 for test in ordered])
    length = np.array([test.hose_length.si if test.hose_length is not None else 0.0 for test in ordered])
    slope = gradient(
        flow / (np.pi / 4.0 * bore**2),
        bore_m=bore,
        roughness_m=TEST_ROUGHNESS_M,
        kinematic_viscosity_m2_s=kinematic_viscosity(REFERENCE_TEMPERATURE_K),
    )
    weight = density(REFERENCE_TEMPERATURE_K) * G
    air = (AIR_SEA_LEVEL_PA - vapour_pressure(REFERENCE_TEMPERATURE_K)) / weight
    return flow, air - lift - slope * length
