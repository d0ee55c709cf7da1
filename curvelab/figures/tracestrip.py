"""The strip under a traced picture: how far off the curve the line was seen, and where it isn't sure."""

from __future__ import annotations

from html import escape
from typing import Final

import numpy as np

from curvelab.figures import theme
from curvelab.layout.axes import nice_step
from curvelab.tracing.curve import TracedCurve
from curvelab.units import Quantity, from_unit

HEIGHT: Final = 84.0
LEFT, RIGHT, TOP, BOTTOM = 44.0, 8.0, 6.0, 22.0
"""Margins. [px]"""
LEAST_PX: Final = 0.5
"""Least miss that the strip is scaled to. [px]"""
NARROWEST: Final = 240.0
WIDEST: Final = 1400.0


def strip(curve: TracedCurve, label: str, *, width: float, flow_unit: str) -> str:
    """As SVG, ``width`` wide [px]; ``label`` says it in a sentence."""
    width = float(np.clip(width, NARROWEST, WIDEST))
    flow = curve.flow_m3_s / float(from_unit(1.0, curve.flow_unit, Quantity.FLOW))
    most = nice_step(max(float(np.abs(curve.miss_px).max()), LEAST_PX))
    left, right, top, bottom = LEFT, width - RIGHT, TOP, HEIGHT - BOTTOM
    middle = 0.5 * (top + bottom)

    def x(at: float) -> float:
        return left + (at - flow[0]) / max(float(np.ptp(flow)), 1e-12) * (right - left)

    one = float(from_unit(1.0, curve.flow_unit, Quantity.FLOW))
    drawn: list[str] = []
    for doubt in curve.doubts:
        low, high = (float(np.clip(x(end / one), left, right)) for end in (doubt.from_flow_m3_s, doubt.to_flow_m3_s))
        drawn.append(
            f'<rect x="{low:.1f}" y="{top}" width="{max(high - low, 2.0):.1f}" height="{bottom - top}" '
            f'fill="{theme.ESTIMATE}"/>'
        )
    drawn.append(f'<path d="M{left} {middle}H{right}M{left} {top}V{bottom}" stroke="{theme.INK}" fill="none"/>')
    step = max(1, flow.size // int(2 * width))
    y = middle - curve.miss_px[::step] / most * 0.5 * (bottom - top)
    path = " ".join(f"{x(float(q)):.1f} {v:.1f}" for q, v in zip(flow[::step], y, strict=True))
    drawn.append(f'<polyline points="{path}" fill="none" stroke="{theme.PIPE}" stroke-width="1.4"/>')
    for place, text in ((top + 9.0, f"{most:g} px"), (middle + 4.0, "0"), (bottom, f"−{most:g}")):
        drawn.append(_text(left - 5.0, place, text, "end"))
    drawn.append(_text(left, HEIGHT - 6.0, f"{flow[0]:.3g}", "start"))
    drawn.append(_text(right, HEIGHT - 6.0, f"{flow[-1]:.3g} {flow_unit}", "end"))
    size = f'viewBox="0 0 {width:g} {HEIGHT:g}" width="{width:g}" height="{HEIGHT:g}"'
    name = f'role="img" aria-label="{escape(label)}" font-family="{escape(theme.FONT)}" font-size="12"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {name}>{"".join(drawn)}</svg>'


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}" fill="{theme.INK_2}">{escape(text)}</text>'
