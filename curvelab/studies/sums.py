"""Why? The calculation written out: formula, numbers, units and source, so that a pocket calculator gives the same.

Everything between the first lines, which turn the setup into SI, and the last, which turn the answer back, is in SI.
A line's ``numbers`` is plain arithmetic: + − × / ^, parentheses, sqrt and log10. Each line starts from printed
figures of its own, six of them, so that no rounding is carried along.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from curvelab.model.catalogue import Catalogue
from curvelab.model.liquid import WATER
from curvelab.model.setup import Setup
from curvelab.studies import sumpump
from curvelab.studies.result import State
from curvelab.studies.say import flow_text
from curvelab.studies.solve import Solved, solved
from curvelab.studies.sumhose import side
from curvelab.studies.sumline import ATMOSPHERE, OWN, Line, figure, given, line, n, told, weight
from curvelab.units import Quantity, show

FORMAT: Final = "curvelab-sums/1"

__all__ = ("FORMAT", "Line", "Sums", "figure", "sums")

_EARTH_M: Final = 6356766.0
"""Radius that turns heights into geopotential ones. [m] US Standard Atmosphere 1976; from memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """The whole calculation at the delivered flow."""

    parts: tuple[tuple[str, tuple[Line, ...]], ...]
    """Name and lines of each part, from the air to the answer; none is empty."""
    sentence: str

    @property
    def lines(self) -> tuple[Line, ...]:
        """All of them."""
        return tuple(line for _, lines in self.parts for line in lines)

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, "lines": [asdict(one) for one in self.lines], "sentence": self.sentence}


def sums(setup: Setup, catalogue: Catalogue | None = None) -> Sums:
    """The calculation from the setup to the answer, line by line.

    Raises
    ------
    InputError
        As ``solve``.
    """
    one = solved(setup, catalogue)
    flow = float(np.nan_to_num(one.solution.flow_m3_s[0]))
    parts = (
        ("Air and water", tuple(_liquid(one, flow))),
        ("Suction hose", tuple(side(one, "suction", flow))),
        ("Discharge hose", tuple(side(one, "discharge", flow))),
        ("What the site asks, what the pump gives", tuple(sumpump.heads(one, flow))),
        ("What is left of the air’s push", tuple(sumpump.suction(one, flow))),
        ("Gauges", tuple(sumpump.gauges(one, flow))),
        ("The answer, in your units", tuple(_answer(one))),
    )
    return Sums(parts=tuple((name, lines) for name, lines in parts if lines), sentence=_sentence(one))


def _sentence(one: Solved) -> str:
    flow = one.result.flow_m3_s
    if flow is None:
        return "At rest: nobody has tested this pump at so small a flow."
    if one.result.state in (State.NO_LIFT, State.NO_PRIME) or flow == 0.0:
        return "At rest: no water flows, so there is nothing to lose in the hose."
    return f"Every number at {flow_text(flow, one.setup.units)}, where the answer stands."


def _liquid(one: Solved, flow: float) -> Iterator[Line]:
    plan, setup = one.plan, one.setup
    yield from _air(one)
    water = setup.site.liquid == WATER
    source = "IAPWS SR6-08(2011), SR1-86(1992)" if water else "the liquid's record"
    warm = f" at {show(setup.site.temperature.si, Quantity.TEMPERATURE, setup.units)}" if water else ""
    density = float(plan.density_kg_m3[0])
    vapour = float(plan.vapour_pressure_pa[0])
    viscosity = float(plan.kinematic_viscosity_m2_s[0])
    yield line(f"Density{warm}", "ρ, from the tables", n(density), density, "kg/m³", source)
    yield line(f"Vapour pressure{warm}", "p_v, from the tables", n(vapour), vapour, "Pa", source)
    numbers = f"{n(viscosity * 1e6)} / 1000000"
    yield line(f"Kinematic viscosity{warm}", "ν, from the tables", numbers, viscosity, "m²/s", source)
    air = float(plan.air_pressure_pa[0])
    for title, formula, pressure, head in (
        ("The air's push as height of liquid", "p / (ρ g)", air, one.result.air_head_m),
        ("What vapour takes of it", "p_v / (ρ g)", vapour, one.result.vapour_head_m),
    ):
        yield line(title, formula, f"{n(pressure)} / ({weight(density)})", head, "m", OWN)
    if flow > 0.0:
        found = given("Flow, where the answer stands", "Q", flow, "m³/s", Quantity.FLOW, setup.units)
        yield line(found.title, found.formula, found.numbers, flow, found.unit, "found: the lines below agree at it")


def _air(one: Solved) -> Iterator[Line]:
    site, pressure = one.setup.site, float(one.plan.air_pressure_pa[0])
    if site.barometer is not None:
        yield given("Air pressure, off the barometer", "p", pressure, "Pa", Quantity.PRESSURE, one.setup.units)
        return
    z = site.altitude.si
    height = z * _EARTH_M / (_EARTH_M + z)
    if z != 0.0:
        yield given("Height over the sea", "z", z, "m", Quantity.LENGTH, one.setup.units)
        numbers = f"{n(z)} × {n(_EARTH_M)} / ({n(_EARTH_M)} + {n(z)})"
        yield line("Geopotential height", "h = z r / (r + z), r = 6356766 m", numbers, height, "m", ATMOSPHERE)
    numbers = f"101325 × (1 − 0.0065 × {n(height)} / 288.15) ^ 5.25588"
    formula = "p = 101325 (1 − 0.0065 h / 288.15)^5.25588"
    yield line("Air pressure at this height", formula, numbers, pressure, "Pa", ATMOSPHERE)


def _answer(one: Solved) -> Iterator[Line]:
    """The answer back in the setup's units."""
    r, units = one.result, one.setup.units
    inlet = r.inlet_gauge_pa
    flooded = inlet is not None and inlet > 0.0
    results = (
        ("Flow", Quantity.FLOW, r.flow_m3_s),
        ("Head", Quantity.HEAD, r.head_m),
        ("Pressure at the pump's inlet", Quantity.PRESSURE, inlet if flooded else None),
        ("Vacuum at the pump's inlet", Quantity.VACUUM, None if flooded or inlet is None else -inlet),
        ("Pressure at the pump's outlet", Quantity.PRESSURE, r.pump_outlet_gauge_pa),
        ("Pressure with the end shut", Quantity.PRESSURE, r.shut_end_gauge_pa),
    )
    for title, quantity, si in results:
        if si is not None:
            yield told(title, quantity, si, units)
