"""What a trace gives: a curve as it was seen, with its error and its doubts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from curvelab.tracing.axes import Axes
from curvelab.tracing.frame import CurveQuantity
from curvelab.tracing.map import Floats


@dataclass(frozen=True, slots=True)
class Doubt:
    """A stretch of a traced curve that isn't sure."""

    from_flow_m3_s: float
    to_flow_m3_s: float
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class TracedCurve:
    """A curve as it was seen: no value lies where it was not, a gap is empty and told as a doubt."""

    name: str
    quantity: CurveQuantity
    flow_m3_s: Floats
    """Rising, shape (n,). [m³/s]"""
    values_si: Floats
    """Head and NPSHR in metres, efficiency as a share of 1, power in watts, shape (n,)."""
    pixels: Floats
    """Where that is in the picture, shape (n, 2). [px]"""
    rms_px: float
    """Root mean square distance of the places where the line was seen from the curve. [px]"""
    error_fraction: float
    """Greatest error of a value at a flow, of the span of the axis read; clicks that miss included. [-]

    Of a log axis, the greater of the share of its length and that of its span. It cannot cover a wrong turn; where one
    may have been taken, ``doubts`` says so.
    """
    mark_px: Floats
    """How far each mark lies from where the others put it, shape (marks,). [px]"""
    axes: Axes
    """The axes that it was read on."""
    miss_px: Floats
    """How far off the curve the line was seen, towards greater values positive, shape (n,). [px]

    0 next to flow 0 where a ruled line hides it.
    """
    doubts: tuple[Doubt, ...] = field(default_factory=tuple)

    @property
    def span_si(self) -> float:
        """Span of the axis read, from the least to the greatest mark, SI."""
        return self.axes.span_si

    @property
    def flow_unit(self) -> str:
        """Unit that the axis of flow is printed in."""
        return self.axes.flow_unit

    @property
    def value_unit(self) -> str:
        """Unit that the axis of values is printed in."""
        return self.axes.value_unit

    @property
    def head_m(self) -> Floats:
        """Values of a curve of head or NPSHR. [m]"""
        return self._own("head_m", "head", "npshr")

    @property
    def npshr_m(self) -> Floats:
        """Values of a curve of NPSHR. [m]"""
        return self._own("npshr_m", "npshr")

    @property
    def efficiency(self) -> Floats:
        """Values of a curve of efficiency. [-]"""
        return self._own("efficiency", "efficiency")

    @property
    def power_w(self) -> Floats:
        """Values of a curve of power. [W]"""
        return self._own("power_w", "power")

    def _own(self, name: str, *quantities: CurveQuantity) -> Floats:
        if self.quantity not in quantities:
            raise AttributeError(f'a curve of {self.quantity} has no {name}; its values are in "values_si"')
        return self.values_si

    def to_dict(self) -> dict[str, Any]:
        """Plain numbers for JSON, SI, units in the names."""
        values = {"head": "head_m", "npshr": "npshr_m", "efficiency": "efficiency", "power": "power_w"}[self.quantity]
        return {
            "format": "curvelab-traced/1",
            "name": self.name,
            "quantity": self.quantity,
            "flow_m3_s": self.flow_m3_s.tolist(),
            values: self.values_si.tolist(),
            "pixel": self.pixels.round(2).tolist(),
            "miss_px": self.miss_px.round(3).tolist(),
            "rms_px": self.rms_px,
            "error_fraction": self.error_fraction,
            "mark_px": self.mark_px.tolist(),
            "doubts": [
                {"from_flow_m3_s": d.from_flow_m3_s, "to_flow_m3_s": d.to_flow_m3_s, "why": d.why} for d in self.doubts
            ],
        }
