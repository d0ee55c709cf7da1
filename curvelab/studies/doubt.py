"""How sure is it? The answer over many draws of what nobody knows exactly, and which of it to measure first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import DomainError
from curvelab.hydraulics import kernel
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.columns import STATES
from curvelab.studies.doubt_draws import Doubts, doubts_of, draws_of

FORMAT: Final = "curvelab-doubt/1"
METHOD: Final = (
    "share of the variance of the flow that each doubt explains alone, its first-order index, from the same samples "
    "(correlation ratio over classes of equal count with a straight line in each), scaled to add up to 1"
)
"""How the blame is found."""

Floats = NDArray[np.float64]

SAMPLES: Final = 20_000
_FEWEST, _MOST = 100, 200_000
_AGAIN: Final = 4_000
"""Draws that are solved again with one doubt out of the way. [-]"""
_CLASSES: Final = 40
_BARS: Final = 36
"""Classes of the flows that are drawn. [-]"""
_RAREST: Final = 0.002
"""Share of the samples at either end that the outermost classes take in. [-]"""
_ALIKE: Final = 0.01
"""Flows that lie so close together are drawn that far apart. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """The value below which one, five and nine of ten samples lie: a flow [m³/s], a head [m]."""

    low: float
    middle: float
    high: float

    @classmethod
    def of(cls, values: Floats) -> Spread:
        """Of samples."""
        low, middle, high = np.quantile(values, (0.1, 0.5, 0.9)).tolist()
        return cls(low=low, middle=middle, high=high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blame:
    """A doubt's share in the spread of the flow."""

    doubt: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A doubt that was let vary."""

    doubt: str
    stated: bool
    """By the setup; else by the catalogue, or by the pump's grade."""
    within: str
    """Nine times in ten, in words and in the setup's units."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Histogram:
    """How the flows of the samples lie: what delivers nothing apart, the rarest at either end in the outer classes."""

    edges_m3_s: tuple[float, ...]
    """Of classes of equal width; empty where no sample delivers anything."""
    share: Mapping[str, tuple[float, ...]]
    """Share of all samples by state and class; with ``none_share`` adds up to 1."""
    none_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """The doubt to shrink first, and what is left of the spread once it is known exactly."""

    doubt: str
    flow_m3_s: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """The answer of ``doubt``. A sample that delivers nothing, or of which nobody can tell, counts as no flow."""

    samples: int
    seed: int
    flow_m3_s: Spread
    head_m: Spread | None
    """The pump's head, of the samples that deliver something; ``None`` where none does."""
    histogram: Histogram
    goal_share: float | None
    """Share of the samples that reach the goal's flow; ``None`` without a goal."""
    state_share: Mapping[str, float]
    """Share of the samples in each state that occurs, greatest first."""
    blame: tuple[Blame, ...] | None
    """Greatest first; ``None`` where nothing varies. Adds up to 1."""
    measure: Measure | None
    taken: tuple[Taken, ...]
    """All that was let vary, in the order of the water."""
    method: str
    sentences: tuple[str, ...]
    """The shares of the states where there is more than one, the band, then what a careful person adds."""

    @property
    def sentence(self) -> str:
        """All of them."""
        return " ".join(self.sentences)

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        out = asdict(self)
        del out["sentences"]
        return {"format": FORMAT, **out, "sentence": self.sentence, "state_share": dict(self.state_share)}


def doubt(setup: Setup, *, samples: int = SAMPLES, seed: int = 1, catalogue: Catalogue | None = None) -> Doubt:
    """The spread of the answer, seeded and all samples in one call of the kernel.

    Parameters
    ----------
    setup : Setup
        In doubt are bore, roughness and fittings by the catalogue's spreads, the pump's head by the tolerance of its
        grade after ISO 9906 (3B where none is stated), and nothing on heights and lengths. ``[doubt]`` states widths
        "nine times in ten within", each in the place of its own kind.
    samples : int
        From 100 to 200 000.
    seed : int
        0 or more. The same seed gives the same answer.
    catalogue : Catalogue, optional
        As ``solve``.

    Returns
    -------
    Doubt

    Raises
    ------
    InputError
        As ``solve``.
    DomainError
        If samples or seed lie outside their ranges.

    References
    ----------
    .. [1] T. L. Kelley, "An unbiased correlation ratio measure," Proc. Natl. Acad. Sci. 21 (9), 1935: the correction.
       From memory. That the correlation ratio is Sobol's first-order index: E. Plischke, E. Borgonovo, C. L. Smith,
       "Global sensitivity measures from given data," Eur. J. Oper. Res. 226 (3), 2013. From memory.
    """
    from curvelab.studies import doubt_words

    if not (_FEWEST <= samples <= _MOST and seed >= 0):
        raise DomainError(
            f"a doubt takes from {_FEWEST} to {_MOST} samples and a seed of 0 or more (got {samples}, {seed})"
        )
    known = catalogue or default_catalogue()
    plan = plan_of([setup], known)
    doubts = doubts_of(setup, plan, known)
    draws = draws_of(samples, seed)
    solution = kernel.solve(doubts.rows(plan, draws) if doubts.names else plan)
    flow = delivered(solution)
    blame = _blame(flow, doubts, draws)
    found = Doubt(
        samples=samples,
        seed=seed,
        flow_m3_s=Spread.of(flow),
        head_m=_heads(flow, solution),
        histogram=_histogram(flow, solution),
        goal_share=None
        if plan.goal_flow_m3_s[0] == 0.0
        else float((flow >= plan.goal_flow_m3_s[0] * (1 - 1e-9)).mean()),
        state_share=_states(solution),
        blame=blame,
        measure=None if blame is None else _measure(plan, doubts, draws, blame[0].doubt),
        taken=tuple(
            Taken(doubt=name, stated=name in doubts.stated, within=doubt_words.within(name, setup, doubts))
            for name in doubts.names
        ),
        method=METHOD,
        sentences=(),
    )
    return replace(found, sentences=doubt_words.parts(found, setup, doubts))


def delivered(solution: Solution) -> Floats:
    """Delivered flow, 0 where nothing comes or nobody can tell. [m³/s]"""
    return np.nan_to_num(solution.flow_m3_s)


def shares_of(flow: Floats, inputs: Mapping[str, Floats]) -> dict[str, float]:
    """First-order share of the variance of ``flow`` that each input explains; shapes (n,). [-] 0 to 1, not scaled.

    The samples are cut into classes of equal count along an input and a straight line is fitted in each; what those
    lines leave is not explained by that input alone. Two numbers a class are paid for in the degrees of freedom.
    """
    count = flow.size
    classes = min(_CLASSES, max(2, count // 50))
    usable = count - count % classes
    total = float(np.var(flow))
    found: dict[str, float] = {}
    for name, values in inputs.items():
        order = np.argsort(values, kind="stable")[:usable]
        x, y = (column[order].reshape(classes, -1) for column in (values, flow))
        x, y = x - x.mean(axis=1, keepdims=True), y - y.mean(axis=1, keepdims=True)
        square = (x * x).sum(axis=1)
        slope = (x * y).sum(axis=1) / np.where(square > 0.0, square, 1.0)
        left = float(((y - slope[:, None] * x) ** 2).sum()) / (usable - 2 * classes)
        unexplained = left / (total * count / (count - 1)) if total > 0.0 else 1.0
        found[name] = min(max(1.0 - unexplained, 0.0), 1.0)
    return found


def _blame(flow: Floats, doubts: Doubts, draws: Mapping[str, Floats]) -> tuple[Blame, ...] | None:
    if not doubts.names or float(np.ptp(flow)) == 0.0:
        return None
    shares = shares_of(flow, {name: draws[name] for name in doubts.names})
    total = sum(shares.values())
    if total == 0.0:
        return None
    ranked = sorted(shares.items(), key=lambda item: -item[1])
    return tuple(Blame(doubt=name, share=share / total) for name, share in ranked)


def _measure(plan: Plan, doubts: Doubts, draws: Mapping[str, Floats], first: str) -> Measure:
    some = {name: z[:_AGAIN] * (name != first) for name, z in draws.items()}
    left = Spread.of(delivered(kernel.solve(doubts.rows(plan, some))))
    return Measure(doubt=first, flow_m3_s=left)


def _heads(flow: Floats, solution: Solution) -> Spread | None:
    heads = solution.head_m[(flow > 0.0) & np.isfinite(solution.head_m)]
    return Spread.of(heads) if heads.size else None


def _histogram(flow: Floats, solution: Solution) -> Histogram:
    flows = flow > 0.0
    none = float(1.0 - flows.mean())
    if not flows.any():
        return Histogram(edges_m3_s=(), share={}, none_share=1.0)
    rarest = np.quantile(flow[flows], (_RAREST, 1.0 - _RAREST))
    low, high = float(rarest[0]), float(rarest[1])
    if high - low < _ALIKE * high:
        low, high = (1.0 - _ALIKE) * low, (1.0 + _ALIKE) * high
    edges: Floats = np.linspace(low, high, _BARS + 1)
    found: dict[str, tuple[float, ...]] = {}
    for outcome in Outcome:
        rows = flows & (solution.outcome == outcome)
        if rows.any():
            counts: Floats = np.histogram(np.clip(flow[rows], low, high), edges)[0]
            found[str(STATES[outcome])] = tuple((counts / flow.size).tolist())
    return Histogram(edges_m3_s=tuple(edges.tolist()), share=found, none_share=none)


def _states(solution: Solution) -> dict[str, float]:
    counts = np.bincount(solution.outcome, minlength=len(Outcome))
    shares = {str(STATES[outcome]): float(counts[outcome] / counts.sum()) for outcome in Outcome if counts[outcome]}
    return dict(sorted(shares.items(), key=lambda item: -item[1]))
