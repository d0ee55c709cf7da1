"""Which of these? Several setups solved together, and what the others differ by from the first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.studies.result import Result, State
from curvelab.studies.say import LONGEST, flow_text, more_or_less
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System

FORMAT: Final = "curvelab-comparison/1"
_LONGEST_NAME: Final = 48
"""Most characters of a title within the sentence. [-]"""


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
    return Comparison(results=results, differences=differences, sentence=_sentence(setups, results))


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


def _sentence(setups: Sequence[Setup], results: Sequence[Result]) -> str:
    units, first = setups[0].units, results[0].flow_m3_s
    parts = [f"{_name(setups[0], 0)}: {_flow(results[0], units)}."]
    for at, result in enumerate(results[1:], start=1):
        text = f"{_name(setups[at], at)}: {_flow(result, units)}"
        if first and result.flow_m3_s:
            text += f", {more_or_less(result.flow_m3_s, first, Quantity.FLOW, units)}"
        parts.append(f"{text}.")
    text = " ".join(parts)
    if len(text) <= LONGEST:
        return text
    most = max(range(len(results)), key=lambda at: results[at].flow_m3_s or 0.0)
    return f"Of {len(results)} setups the most: {_name(setups[most], most)}, {_flow(results[most], units)}."


def _name(setup: Setup, at: int) -> str:
    title = setup.title or f"Setup {at + 1}"
    return title if len(title) <= _LONGEST_NAME else f"{title[: _LONGEST_NAME - 1].rstrip()}…"


def _flow(result: Result, units: System) -> str:
    if result.flow_m3_s is None:
        return "nobody can tell"
    about = {State.CAVITATING: "about ", State.OFF_CURVE: "at least "}.get(result.state, "")
    return f"{about if result.flow_m3_s else ''}{flow_text(result.flow_m3_s, units)}"
