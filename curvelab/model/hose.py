"""A hose's record: what is in all its sizes, and each size."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from curvelab.errors import Fault
from curvelab.hydraulics.constants import REFERENCE_TEMPERATURE_K, Floats
from curvelab.model.amount import Amount
from curvelab.model.kinds import (
    LINE_MASS,
    RATIO,
    ROUGHNESS,
    SPREAD,
    TEMPERATURE,
    Bore,
    Length,
    MaybeBore,
    MaybePressure,
    MaybeShare,
    MaybeVacuum,
    MaybeWords,
    YesNo,
)
from curvelab.model.record import Record
from curvelab.model.section import Section


class HoseSize(Section):
    """One size of a hose."""

    size: Bore
    """Nominal."""
    bore: Bore
    """True inside diameter as made."""
    charged_bore: MaybeBore = None
    """Lay-flat under pressure."""
    bore_spread: MaybeShare = None
    working_pressure: MaybePressure = None
    """At 20 °C."""
    vacuum: MaybeVacuum = None
    """That it stands without collapsing."""
    mass: Annotated[Amount | None, LINE_MASS] = None
    lengths: tuple[Length, ...] = ()
    """In stock."""
    source: MaybeWords = None
    estimate: YesNo = False

    def rules(self) -> Iterator[Fault]:
        """Bores near the nominal size."""
        for name in ("bore", "charged_bore"):
            bore = getattr(self, name)
            if bore is not None and not 0.5 < bore.si / self.size.si < 2.0:
                yield Fault("", name, f'"{bore.text}" is far from the size "{self.size.text}"', "is the unit right?")


class Derate(Section):
    """Share of the working pressure that is left at a temperature."""

    temperature: Annotated[Amount, TEMPERATURE]
    share: Annotated[float, RATIO]


class Hose(Record):
    """A make of hose."""

    use: Literal["suction", "discharge", "both"]
    rigid: YesNo = False
    """Holds its shape; lay-flat does not."""
    roughness: Annotated[Amount, ROUGHNESS]
    roughness_spread: Annotated[float | None, SPREAD] = None
    """A factor, up and down."""
    size: Annotated[
        tuple[HoseSize, ...], Field(min_length=1, max_length=50, description="write [[hose.size]] with size and bore")
    ]
    derate: Annotated[tuple[Derate, ...], Field(max_length=50)] = ()

    def rules(self) -> Iterator[Fault]:
        """Sizes and derates in order."""
        yield from super().rules()
        for place, (low, high) in enumerate(pairwise(self.size)):
            if not high.size.si > low.size.si:
                yield Fault(
                    "", f"size.{place + 1}.size", f'"{high.size.text}" does not rise', "sizes go from small to large"
                )
        for place, (low, high) in enumerate(pairwise(self.derate)):
            if not (high.temperature.si > low.temperature.si and high.share <= low.share):
                yield Fault("", f"derate.{place + 1}", "out of order", "temperatures rise and shares fall")

    def sized(self, size_m: float) -> HoseSize | None:
        """The size of that nominal bore, to a thousandth; ``None`` where there is none."""
        return next((s for s in self.size if abs(s.size.si - size_m) <= 1e-3 * size_m), None)

    def pressure_share(self, temperature_k: Floats) -> Floats:
        """Share of the working pressure left at temperatures [K]: straight between those stated, the last holds on."""
        if not self.derate:
            return np.ones_like(temperature_k)
        kelvin = [step.temperature.si for step in self.derate]
        share = [step.share for step in self.derate]
        if kelvin[0] > REFERENCE_TEMPERATURE_K:  # ratings are stated at 20 °C
            kelvin.insert(0, REFERENCE_TEMPERATURE_K)
            share.insert(0, 1.0)
        return np.interp(temperature_k, kelvin, share)
