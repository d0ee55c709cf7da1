"""Traced curves in words: from where to where, how far they may be out, and where they weren't sure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.pumpfile import doubt_lines
from curvelab.units import Quantity, from_unit

SURE: Final = "Seen all the way."


def traced_text(curves: Sequence[TracedCurve]) -> str:
    """What ``curvelab trace`` prints without ``--json``: three lines a curve, and one for each doubt."""
    return "\n\n".join(
        "\n".join([f"{curve.name} ({curve.quantity})", *(f"  {line}" for line in traced_lines(curve))])
        for curve in curves
    )


def traced_lines(curve: TracedCurve) -> list[str]:
    """Its reach, how well it fits, and each stretch that isn't sure."""
    flow = curve.flow_m3_s / float(from_unit(1.0, curve.flow_unit, Quantity.FLOW))
    one = float(from_unit(1.0, curve.value_unit, curve.value_quantity))
    value = curve.values_si / one
    reach = (
        f"{flow[0]:.3g} to {flow[-1]:.3g} {curve.flow_unit}, "
        f"{value[0]:.3g} to {value[-1]:.3g} {curve.value_unit}, greatest {np.max(value):.3g}"
    )
    error = curve.error_fraction
    fit = (
        f"seen {curve.rms_px:.2g} px from the line drawn through it (root mean square); "
        f"out by at most {100 * error:.2g} % of the axis, {error * curve.span_si / one:.2g} {curve.value_unit}"
    )
    return [reach, fit, *(list(doubt_lines([curve])) or [SURE])]
