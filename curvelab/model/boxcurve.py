"""A pump's record from less than a curve: two figures off the box and whatever was measured, as an estimate."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Final

import numpy as np
from pydantic import Field

from curvelab.errors import Fault, InputError
from curvelab.hydraulics.constants import REFERENCE_TEMPERATURE_K
from curvelab.hydraulics.fitted import CENTRIFUGAL, DIAPHRAGM, Box, FittedCurve, fitted_curve
from curvelab.hydraulics.gauges import head_of
from curvelab.hydraulics.water import density
from curvelab.model.amount import Amount, Kind
from curvelab.model.kinds import FLOW, HEAD, SOME_FLOW, MaybePressure, MaybeVacuum
from curvelab.model.pump import FORMAT, Pump, PumpKind
from curvelab.model.section import Section
from curvelab.units import Quantity, System, display_unit

_SOME_HEAD: Final = Kind(Quantity.HEAD, 0.0, 1e4, "a head of more than 0, at most 10 km", above=True)
_GIVEN_BY_BOX: Final = ("head", "source", "estimate")
_DIGITS: Final = 4


class Measured(Section):
    """A point measured at the speed that the curve is for: its head, or what gauges at the pump's ports showed."""

    flow: Annotated[Amount, FLOW]
    head: Annotated[Amount | None, HEAD] = None
    pressure: MaybePressure = None
    """At the outlet."""
    vacuum: MaybeVacuum = None
    """At the inlet; none where left out."""

    def rules(self) -> Iterator[Fault]:
        """A head, or the pressure that it follows from."""
        if (self.head is None) == (self.pressure is None):
            got = "is missing" if self.head is None else "stands beside pressure"
            yield Fault("", "head", got, "write head, or pressure with the vacuum at the inlet")
        if self.head is not None and self.vacuum is not None:
            yield Fault("", "vacuum", "stands beside head", "a vacuum goes with a pressure")

    @property
    def head_m(self) -> float:
        """Total head, gauges at one height on ports of one bore in water at 20 °C. [m]"""
        if self.head is not None:
            return self.head.si
        gauges = sum(gauge.si for gauge in (self.pressure, self.vacuum) if gauge is not None)
        return float(head_of(gauges, density_kg_m3=density(REFERENCE_TEMPERATURE_K)))


class BoxSheet(Section):
    """What stands on a box, and what somebody measured."""

    greatest_head: Annotated[Amount, _SOME_HEAD]
    greatest_flow: Annotated[Amount, SOME_FLOW]
    kind: PumpKind = "trash"
    measured: Annotated[tuple[Measured, ...], Field(max_length=100)] = ()

    @property
    def curve(self) -> FittedCurve:
        """The estimated curve with its band. [m³/s], [m]"""
        return fitted_curve(
            Box(
                greatest_head_m=self.greatest_head.si,
                greatest_flow_m3_s=self.greatest_flow.si,
                exponent=DIAPHRAGM if self.kind == "diaphragm" else CENTRIFUGAL,
            ),
            [point.flow.si for point in self.measured],
            [point.head_m for point in self.measured],
        )

    @property
    def source(self) -> str:
        """What the curve is from, for its record."""
        count = len(self.measured)
        points = {0: "nothing measured", 1: "1 measured point"}.get(count, f"{count} measured points")
        return f"estimate from the box ({self.greatest_head}, {self.greatest_flow}) and {points}"

    def contradictions(self, system: System) -> tuple[str, ...]:
        """A sentence for each measured point that the box can't mean, whatever is doubtful about both."""
        away = self.curve.against_box.tolist()
        return tuple(
            f"{point.flow.show(system)} at {Amount.of_si(point.head_m, Quantity.HEAD).show(system)} of head is "
            f"{'more' if far > 0.0 else 'less'} than the box can mean: "
            f"check gauge, drum and speed{'' if far > 0.0 else ', and whether the pump is worn'}."
            for point, far in zip(self.measured, away, strict=True)
            if abs(far) > 1.0
        )


def pump_from_box(table: Mapping[str, Any], box: BoxSheet, *, system: System = System.US) -> Pump:
    """A pump whose curve is estimated from its box.

    Parameters
    ----------
    table : mapping
        The rest of the pump's file: ``id``, ``name``, ``speed``, ports and so on.
    box : BoxSheet
        Its kind is the pump's.
    system : System
        Units that the points of the file stand in.

    Returns
    -------
    Pump
        With ``estimate = true``, a source that says what it is an estimate from, and ``low`` and ``high`` beside the
        points: the band that holds the true curve nine times in ten. ``to_toml`` writes it.

    Raises
    ------
    InputError
        With every fault of the table.
    """
    given = [name for name in _GIVEN_BY_BOX if name in table]
    if given:
        raise InputError(Fault("", name, "is given by the box", "leave it out") for name in given)
    rest = {"format": FORMAT, "kind": box.kind, **table}
    return Pump.model_validate({**rest, "estimate": True, "source": box.source, "head": _head(box.curve, system)})


def _head(curve: FittedCurve, system: System) -> dict[str, Any]:
    """The table of points, to four figures: enough for an estimate, and no more than a person wants to read."""
    flow = display_unit(Quantity.FLOW, system)
    head = display_unit(Quantity.HEAD, system)
    flows = [_rounded(number) for number in np.asarray(flow.from_si(curve.flow_m3_s)).tolist()]
    heads, low, high = (
        [_rounded(number) for number in np.asarray(head.from_si(edge)).tolist()]
        for edge in (curve.head_m, curve.low_m, curve.high_m)
    )
    points = [list(pair) for pair in zip(flows, heads, strict=True)]
    return {"flow": flow.written, "head": head.written, "points": points, "low": low, "high": high}


def _rounded(number: float) -> float:
    return float(f"{number:.{_DIGITS}g}")
