"""One rounded set of figures for each result: setup column, ledger, sentences and differences take theirs from here.

Parts of a ledger are shown to a tenth: lift and rise as their sliders show them, the others so that all add up to the
total shown (what rounding leaves over goes to the greatest of the others, then by largest remainder). The suction
budget takes the ledger's figures for lift and suction. A difference is one between printed figures.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from curvelab.studies.result import Result, State
from curvelab.units import DisplayUnit, Quantity, System, display_unit, plain

STEP = 0.1
"""Parts of a ledger are shown in steps of this. [display unit]"""
_AS_SLIDERS = ("lift", "rise")


@dataclass(frozen=True, slots=True)
class Figure:
    """A number as printed. ``unit`` follows it wherever it stands alone."""

    number: float
    unit: str

    @property
    def text(self) -> str:
        """Without unit: ``4.2``."""
        return plain(self.number)

    def __str__(self) -> str:
        return f"{self.text} {self.unit}"

    def minus(self, other: Figure) -> Figure:
        """Difference of the printed figures."""
        return Figure(round(self.number - other.number, 6), self.unit)

    def plus(self, other: Figure) -> Figure:
        """Sum of the printed figures."""
        return Figure(round(self.number + other.number, 6), self.unit)

    @property
    def size(self) -> Figure:
        """Without its sign."""
        return Figure(abs(self.number), self.unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounded:
    """Figures of one result in one unit system."""

    result: Result
    system: System
    flow_unit: DisplayUnit
    """Unit of every flow of this result, chosen by the delivered flow (m³/h from 1 000 L/min)."""
    ledger: Mapping[str, Figure]
    """Part by item, in the order of the result's ledger."""
    total: Figure
    """What the parts of the ledger add up to: the head given, or asked at rest."""
    budget: Mapping[str, Figure]
    """Part of the suction budget by item. Not primed: what the pump needs and what is to spare are one, ``left``."""
    air: Figure
    """What the parts of the budget add up to: the air's push."""
    flow: Figure | None
    crossing: Figure | None
    limit: Figure | None
    """Flow at which the suction gives out."""

    def head(self, si: float) -> Figure:
        """Any other head, rounded. [m] in"""
        return head_figure(si, self.system)

    def flow_of(self, si: float) -> Figure:
        """Any other flow in this result's unit, rounded. [m³/s] in"""
        return _figure(si, self.flow_unit)

    @property
    def npsha(self) -> Figure | None:
        """What is left of the air's push at the pump: the budget's parts below the hose, so that all add up."""
        if self.result.npsha_m is None:
            return None
        rest = [figure for item, figure in self.budget.items() if item in ("needs", "spare", "left")]
        return Figure(round(sum(figure.number for figure in rest), 6), self.air.unit)

    @property
    def shutoff(self) -> Figure | None:
        """Greatest head of the pump's curve."""
        return None if self.result.shutoff_head_m is None else self.head(self.result.shutoff_head_m)

    @property
    def start(self) -> Figure:
        """Head asked before the first drop. That of the ledger, where the hardest point is the highest."""
        same = math.isclose(self.result.start_head_m, self.result.static_head_m, rel_tol=1e-9, abs_tol=1e-9)
        return self.static if same else self.head(self.result.start_head_m)

    @property
    def static(self) -> Figure:
        """The system curve at no flow: lift and rise as printed wherever these are all of it."""
        heights = [part.head_m for part in self.result.ledger if part.item in _AS_SLIDERS]
        if math.isclose(sum(heights), self.result.static_head_m, rel_tol=1e-9, abs_tol=1e-6):
            return _sum([self.ledger[item] for item in _AS_SLIDERS if item in self.ledger], self.total.unit)
        return self.head(self.result.static_head_m)

    @property
    def reach(self) -> Figure | None:
        """How high the dry pump draws water here."""
        return None if self.result.priming_lift_m is None else self.head(self.result.priming_lift_m)

    @property
    def lift(self) -> Figure:
        """Water surface up to the pump, as its slider shows it."""
        return self.budget["lift"]

    def lost(self, pump_head_m: float) -> Figure:
        """Head that the starved pump loses: its curve's head less the ledger's total."""
        return self.head(pump_head_m).minus(self.total)


def rounded(result: Result, system: System) -> Rounded:
    """The figures of ``result`` as shown in ``system``."""
    greatest = result.flow_m3_s or result.crossing_flow_m3_s or 0.0
    flow_unit = display_unit(Quantity.FLOW, system, greatest)
    ledger, total = _ledger(result, system)
    budget, air = _budget(result, ledger, system)

    def flow(si: float | None) -> Figure | None:
        return None if si is None else _figure(si, flow_unit)

    return Rounded(
        result=result,
        system=system,
        flow_unit=flow_unit,
        ledger=ledger,
        total=total,
        budget=budget,
        air=air,
        flow=flow(result.flow_m3_s),
        crossing=flow(result.crossing_flow_m3_s),
        limit=flow(result.cavitation_flow_m3_s),
    )


def head_figure(si: float, system: System) -> Figure:
    """A head or height, rounded. [m] in"""
    return _figure(si, display_unit(Quantity.HEAD, system, si))


def add_up(exact: Sequence[float], total: float) -> list[float]:
    """The numbers in steps of a tenth, adding up to ``total`` (a whole number of steps).

    What ``total`` differs from the sum goes to the greatest number, the rest is settled by largest remainder.
    """
    if not exact:
        return []
    numbers = list(exact)
    greatest = max(range(len(numbers)), key=lambda i: abs(numbers[i]))
    numbers[greatest] += total - sum(numbers)
    steps = [math.floor(number / STEP + 1e-9) for number in numbers]
    missing = round(total / STEP) - sum(steps)
    by_remainder = sorted(range(len(numbers)), key=lambda i: steps[i] - numbers[i] / STEP)
    for index in by_remainder[: max(missing, 0)]:
        steps[index] += 1
    return [round(step * STEP, 6) for step in steps]


def _figure(si: float, unit: DisplayUnit) -> Figure:
    return Figure(unit.round(unit.from_si(si)) + 0.0, unit.symbol)


def _sum(figures: Sequence[Figure], unit: str) -> Figure:
    return Figure(round(sum(figure.number for figure in figures), 6), unit)


def _ledger(result: Result, system: System) -> tuple[dict[str, Figure], Figure]:
    exact = {part.item: part.head_m for part in result.ledger}
    shown = {item: head_figure(head, system) for item, head in exact.items()}
    free = [item for item, head in exact.items() if item not in _AS_SLIDERS and head != 0.0]
    unit = display_unit(Quantity.HEAD, system).symbol
    if not free:
        return shown, _sum(list(shown.values()), unit)
    total = head_figure(sum(exact.values()), system)
    return _fill(exact, shown, free, total, system), total


def _budget(result: Result, ledger: Mapping[str, Figure], system: System) -> tuple[dict[str, Figure], Figure]:
    exact = {part.item: part.head_m for part in result.suction_budget}
    if result.state is State.NO_PRIME and "needs" in exact:  # nothing is to spare where nothing can be drawn
        exact["left"] = exact.pop("needs") + exact.pop("spare")
    shown = {item: ledger.get(item, head_figure(head, system)) for item, head in exact.items()}
    free = [item for item, head in exact.items() if item not in ("lift", "suction") and head != 0.0]
    air = head_figure(result.air_head_m, system)
    return (_fill(exact, shown, free, air, system) if free else shown), air


def _fill(
    exact: Mapping[str, float], shown: Mapping[str, Figure], free: Sequence[str], total: Figure, system: System
) -> dict[str, Figure]:
    unit = display_unit(Quantity.HEAD, system)
    rest = total.number - sum(figure.number for item, figure in shown.items() if item not in free)
    numbers = add_up([unit.from_si(exact[item]) for item in free], round(rest, 6))
    settled = dict(zip(free, numbers, strict=True))
    return {item: Figure(settled[item], unit.symbol) if item in settled else f for item, f in shown.items()}
