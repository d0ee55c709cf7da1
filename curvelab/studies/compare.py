"""Which of these? Several setups solved together, and what the others differ by from the first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.studies.result import Result
from curvelab.studies.solve import solve
from curvelab.units import Quantity, show

FORMAT: Final = "curvelab-comparison/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One setup less the first one; ``None`` where either has no such value."""

    flow_m3_s: float | None
    friction_head_m: float | None
    """What hose and fittings take on both sides. [m]"""
    margin_m: float | None
    """NPSHA less NPSHR. [m]"""
    power_w: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Results in the order given, and a difference for each after the first."""

    results: tuple[Result, ...]
    differences: tuple[Difference, ...]
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {
            "format": FORMAT,
            "results": [result.to_dict() for result in self.results],
            "differences": [asdict(difference) for difference in self.differences],
            "sentence": self.sentence,
        }


def compare(setups: Sequence[Setup], catalogue: Catalogue | None = None) -> Comparison:
    """Solve setups side by side; the first is the one the others are measured against.

    Raises
    ------
    ValueError
        If no setup is given.
    InputError
        As ``solve``.
    """
    if not setups:
        raise ValueError("compare needs at least one setup")
    results = tuple(solve(setup, catalogue) for setup in setups)
    differences = tuple(_difference(result, results[0]) for result in results[1:])
    return Comparison(results=results, differences=differences, sentence=_sentence(setups, results, differences))


def friction_head(result: Result) -> float | None:
    """What hose and fittings take on both sides at the delivered flow; ``None`` without a flow. [m]"""
    if result.flow_m3_s is None:
        return None
    return sum(part.head_m for part in result.ledger if part.item in ("suction", "discharge"))


def margin(result: Result) -> float | None:
    """NPSHA less NPSHR; ``None`` where either is not known. [m]"""
    return _less(result.npsha_m, result.npshr_m)


def _difference(one: Result, first: Result) -> Difference:
    return Difference(
        flow_m3_s=_less(one.flow_m3_s, first.flow_m3_s),
        friction_head_m=_less(friction_head(one), friction_head(first)),
        margin_m=_less(margin(one), margin(first)),
        power_w=_less(one.shaft_power_w, first.shaft_power_w),
    )


def _less(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None else a - b


def _sentence(setups: Sequence[Setup], results: Sequence[Result], differences: Sequence[Difference]) -> str:
    units = setups[0].units
    parts = [f"{_name(setups[0], 0)}: {_flow(results[0], setups[0])}."]
    for at, (result, difference) in enumerate(zip(results[1:], differences, strict=True), start=1):
        text = f"{_name(setups[at], at)}: {_flow(result, setups[0])}"
        gain = difference.flow_m3_s
        if gain is not None:
            text += f", {show(abs(gain), Quantity.FLOW, units)} {'more' if gain >= 0.0 else 'less'}"
        parts.append(text + ".")
    return " ".join(parts)


def _name(setup: Setup, at: int) -> str:
    return setup.title or f"Setup {at + 1}"


def _flow(result: Result, first: Setup) -> str:
    return "nobody can tell" if result.flow_m3_s is None else show(result.flow_m3_s, Quantity.FLOW, first.units)
