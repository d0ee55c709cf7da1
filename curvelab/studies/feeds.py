"""How many nozzles or sprinklers can this pump feed, and how hard does a nozzle push?"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from curvelab.errors import Fault, InputError
from curvelab.hydraulics import kernel
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.outlets import nozzle_reaction
from curvelab.hydraulics.plan import OutletKind
from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.columns import STATES
from curvelab.studies.say import push_text
from curvelab.studies.solve import null
from curvelab.units import Quantity, show

FORMAT: Final = "curvelab-feeds/1"

HAND_LINE_PA: Final = 50.0 * 6894.757293168
"""Pressure at which a smooth-bore nozzle in the hand is usually worked, 50 psi. [Pa] Fire service; from memory."""
HARD_TO_HOLD_N: Final = 60.0 * 4.4482216152605
"""Push that one person holds for a while, 60 lb. [N] Estimate, from memory of fire service practice."""
CAUTION: Final = (
    "A nozzle kicks: stand firm, hold it before the water comes, open slowly, never leave it lying open. "
    "Two people over {limit}. This is no fire pump."
)
_MOST: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Fed:
    """So many of them."""

    count: int
    state: str
    flow_m3_s: float | None
    """All together."""
    each_m3_s: float | None
    pressure_pa: float | None
    """At the base of each. [Pa]"""
    reaction_n: float | None
    """Push of one nozzle on who holds it; ``None`` for sprinklers. [N]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feeds:
    """The answer of ``feeds``."""

    kind: str
    """nozzle or sprinklers."""
    asked_pa: float
    """Pressure that each is meant to have. [Pa]"""
    most: int
    """The most that still get it, 0 where not even one does."""
    rows: tuple[Fed, ...]
    """For 1, 2, 3 … of them, past the most and past what the setup has."""
    sentence: str
    caution: str
    """For nozzles; empty for sprinklers."""

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, **asdict(self)}


def feeds(setup: Setup, *, pressure_pa: float = HAND_LINE_PA, catalogue: Catalogue | None = None) -> Feeds:
    """How many of the setup's nozzles or sprinklers still get their pressure.

    Parameters
    ----------
    setup : Setup
        With an outlet of nozzles or sprinklers.
    pressure_pa : float
        What a nozzle shall have at its base; sprinklers say so themselves. [Pa]  Valid: more than 0.
    catalogue : Catalogue, optional
        As ``solve``.

    Raises
    ------
    InputError
        As ``solve``; and for any other outlet.
    """
    known = catalogue or default_catalogue()
    plan = plan_of([setup], known)
    kind, now = setup.outlet.kind, setup.outlet.count or 1
    if plan.outlet_kind[0] not in (OutletKind.NOZZLE, OutletKind.SPRINKLERS):
        right = 'write kind = "nozzle" with its bore, or "sprinklers" with count, flow and pressure'
        raise InputError(Fault("", "outlet.kind", f'an outlet of kind "{kind}" feeds none', right))
    asked = setup.outlet.pressure.si if setup.outlet.pressure is not None else pressure_pa
    counts = np.arange(1, max(now, 10, min(2 * now, _MOST)) + 1)
    one = float(plan.outlet_resistance[0]) * now**2
    s = kernel.solve(plan.repeat(counts.size).with_(outlet_resistance=one / counts.astype(np.float64) ** 2))
    runs = (s.outcome > Outcome.NO_PRIME) & (np.nan_to_num(s.flow_m3_s) > 0.0)
    head = np.where(runs, one * (s.flow_m3_s / counts) ** 2, np.nan)
    pressure = float(plan.density_kg_m3[0]) * G * head
    enough = runs & (np.nan_to_num(pressure) >= asked * (1.0 - 1e-9)) & (s.outcome != Outcome.CAVITATING)
    most = int(counts[enough].max()) if enough.any() else 0
    bore = setup.outlet.bore.si if setup.outlet.bore is not None else None
    rows = tuple(
        Fed(
            count=int(count),
            state=str(STATES[Outcome(int(s.outcome[at]))]),
            flow_m3_s=null(s.flow_m3_s[at]),
            each_m3_s=null(s.flow_m3_s[at] / count),
            pressure_pa=null(pressure[at]),
            reaction_n=None
            if bore is None or not runs[at]
            else float(nozzle_reaction(bore_m=bore, pressure_pa=pressure[at])),
        )
        for at, count in enumerate(counts.tolist())
    )
    shown = rows[: max(now, most + 2, 5)]
    found = Feeds(kind=kind, asked_pa=asked, most=most, rows=shown, sentence="", caution="")
    return _said(found, setup, now)


def _said(found: Feeds, setup: Setup, now: int) -> Feeds:
    from dataclasses import replace

    units = setup.units
    many = f"{found.kind}s" if found.kind == "nozzle" else found.kind
    asked = show(found.asked_pa, Quantity.PRESSURE, units)
    if found.most == 0:
        text = f"This pump can't feed one of these {many} at {asked}."
    elif found.most >= now:
        text = f"At {asked} this pump feeds {found.most} of these {many}; there {'is' if now == 1 else 'are'} {now}."
    else:
        text = f"At {asked} this pump feeds {found.most} of these {many}, not {now}."
    row = found.rows[now - 1]
    if row.pressure_pa is not None and row.each_m3_s is not None:
        has, gives = show(row.pressure_pa, Quantity.PRESSURE, units), show(row.each_m3_s, Quantity.FLOW, units)
        text += f" With {now} each has {has} and gives {gives}."
    if row.reaction_n is None:
        return replace(found, sentence=text)
    push, limit = (push_text(n, setup.units) for n in (row.reaction_n, HARD_TO_HOLD_N))
    return replace(found, sentence=f"{text} It pushes back with {push}.", caution=CAUTION.format(limit=limit))
