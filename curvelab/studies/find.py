"""Which pump with which hose? Every pump of the fleet on every suction and discharge size, solved and ranked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import InputError
from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import faults_of_setup, plan_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.batch import Batch
from curvelab.studies.change import pump_change, refusal, size_text
from curvelab.studies.columns import STATES
from curvelab.studies.kit import Kit, leg_kit, pump_kit
from curvelab.studies.say import flow_text
from curvelab.units import Quantity, parse

FORMAT: Final = "curvelab-find/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One pump with one size of hose on either side, as ``hose size`` text."""

    pump: str
    suction: str
    discharge: str
    state: str | None
    """``None`` where the pump is refused and nothing was solved."""
    flow_m3_s: float | None
    margin_m: float | None
    """NPSHA less NPSHR."""
    cost: float | None
    """Hire for a day, in the price list's currency."""
    mass_kg: float | None
    """Without water and fuel."""
    dangers: tuple[str, ...]
    """What could burst, fold flat or slow down, as codes of warnings: see ``batch.DANGERS``."""
    perhaps_starved: bool
    """The pump states no suction need, and at a guess this flow is more than it lets through."""
    refused: str | None
    """Why the pump may not do this job."""

    @property
    def over_rated(self) -> bool:
        """Hose could see more than its rating with the end shut."""
        return "over-rated" in self.dangers


@dataclass(frozen=True, slots=True, kw_only=True)
class Finds:
    """Rows with the best first.

    Those that run well, without a danger or a guess, and give what is wanted, cheapest first (by flow without prices
    or goal); then what runs well and gives less; then what runs in trouble; then what doesn't run; refused pumps last.
    """

    wanted_m3_s: float
    rows: tuple[Found, ...]
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {
            "format": FORMAT,
            "wanted_m3_s": self.wanted_m3_s,
            "rows": [asdict(row) for row in self.rows],
            "sentence": self.sentence,
        }


class _Option(NamedTuple):
    """A hose in a size for one side."""

    hose: str
    size: str
    setup: Setup
    kit: Kit

    @property
    def text(self) -> str:
        return f"{self.hose} {self.size}"


def find(setup: Setup, catalogue: Catalogue | None = None) -> Finds:
    """Every pump of the fleet × suction hose and size × discharge hose and size, on this setup's site and lengths.

    The wanted flow is ``goal.flow``, or ``goal.volume`` in ``goal.time``. Legs keep their lengths and fittings; all
    legs of a side get the same hose. A pump that must not carry the liquid, or would not pass the solids, is refused
    with the reason.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    plan_of([setup], known, checked=False)
    fleet = list(known.pumps.values())
    reasons = [refusal(pump, setup) for pump in fleet]
    able = [pump for pump, reason in zip(fleet, reasons, strict=True) if reason is None]
    suctions, discharges = _options(setup, known, "suction"), _options(setup, known, "discharge")
    rows = _solved(setup, able, suctions, discharges, known)
    rows.sort(key=lambda row: _rank(row, setup.goal.flow_m3_s))
    rows += [
        _refused(pump, reason, setup, known) for pump, reason in zip(fleet, reasons, strict=True) if reason is not None
    ]
    return Finds(wanted_m3_s=setup.goal.flow_m3_s, rows=tuple(rows), sentence=_sentence(setup, rows, known))


def _options(setup: Setup, catalogue: Catalogue, side: str) -> list[_Option]:
    legs = (setup.suction if side == "suction" else setup.discharge).leg
    options: list[_Option] = []
    for hose in catalogue.hoses.values():
        if hose.use != side and hose.id not in {leg.hose for leg in legs}:
            continue  # pipe for either side is offered only where it lies already
        for size in hose.size:
            variant = setup
            try:
                for at, leg in enumerate(legs):
                    kept = leg.model_dump(include={"abreast", "k"}) | {"length": leg.length.text}
                    fittings = dict(leg.fittings)
                    table = {**kept, "fittings": fittings, "hose": hose.id, "size": size.size.text}
                    variant = variant.with_(f"{side}.leg.{at}", table)
            except InputError:
                continue
            if next(faults_of_setup(variant, catalogue), None) is not None:
                continue
            changed = (variant.suction if side == "suction" else variant.discharge).leg
            kit = Kit(0.0, 0.0)
            for leg in changed:
                kit = kit.plus(leg_kit(leg, catalogue))
            options.append(_Option(hose.id, size.size.text, variant, kit))
    return options


def _solved(
    setup: Setup, fleet: Sequence[Pump], suctions: Sequence[_Option], discharges: Sequence[_Option], known: Catalogue
) -> list[Found]:
    """All combinations: pumps, suctions and discharges are planned once each and put together as rows."""
    turned = [pump_change(pump, setup, known).apply(setup) for pump in fleet]
    if not turned or not suctions or not discharges:
        return []
    setups = [*turned, *(o.setup for o in suctions), *(o.setup for o in discharges)]
    plan = plan_of(setups, known, checked=False)
    places = np.indices((len(turned), len(suctions), len(discharges)), dtype=np.int64).reshape(3, -1)
    p, s, d = places
    first_s, first_d = len(turned), len(turned) + len(suctions)
    combined = plan.take(p).with_(suction=plan.suction.take(first_s + s), discharge=plan.discharge.take(first_d + d))
    batch = Batch.of(combined)
    pump_kits = [pump_kit(one, known) for one in turned]
    flow, outcome, starved, dangers = batch.column("flow_m3_s"), batch.outcome, batch.perhaps_starved, batch.dangers
    margin = batch.column("npsha_m") - batch.column("npshr_m")
    rows: list[Found] = []
    for at in np.flatnonzero(outcome >= 0).tolist():
        i, j, k = (int(place) for place in places[:, at])
        kit = pump_kits[i].plus(suctions[j].kit).plus(discharges[k].kit)
        rows.append(
            Found(
                pump=fleet[i].id,
                suction=suctions[j].text,
                discharge=discharges[k].text,
                state=str(STATES[Outcome(int(outcome[at]))]),
                flow_m3_s=_or_none(flow, at),
                margin_m=_or_none(margin, at),
                cost=kit.cost_day,
                mass_kg=kit.mass_kg,
                dangers=dangers[at],
                perhaps_starved=bool(starved[at]),
                refused=None,
            )
        )
    return rows


def _or_none(values: NDArray[np.float64], at: int) -> float | None:
    value = float(values[at])
    return None if math.isnan(value) else value


def _rank(row: Found, wanted: float) -> tuple[float, ...]:
    """Small is good: right and enough; cheap where that is met, else much water."""
    flow = row.flow_m3_s or 0.0
    well = row.state == "sound" and not row.dangers and not row.perhaps_starved
    enough = wanted > 0.0 and flow >= wanted
    runs = 0.0 if well and (enough or wanted == 0.0) else 1.0 if well else 2.0 if flow > 0.0 else 3.0
    money = row.cost if row.cost is not None else float("inf")
    if runs == 0.0 and enough:
        return (runs, money, row.mass_kg or 0.0, -flow)
    return (runs, -flow, money, row.mass_kg or 0.0)


def _refused(pump: Pump, reason: str, setup: Setup, catalogue: Catalogue) -> Found:
    alone = pump_kit(setup.with_("pump.id", pump.id), catalogue)
    return Found(
        pump=pump.id,
        suction="",
        discharge="",
        state=None,
        flow_m3_s=None,
        margin_m=None,
        cost=alone.cost_day,
        mass_kg=alone.mass_kg,
        dangers=(),
        perhaps_starved=False,
        refused=reason,
    )


def _sentence(setup: Setup, rows: Sequence[Found], catalogue: Catalogue) -> str:
    wanted, units = setup.goal.flow_m3_s, setup.units
    best = rows[0] if rows else None
    if best is None or best.flow_m3_s is None or _rank(best, wanted)[0] > 1.0:
        return "Nothing in this yard runs well on this site."
    pump = catalogue.pumps[best.pump].label
    hoses = " and ".join(_hose_name(text, setup, catalogue) for text in (best.suction, best.discharge))
    kit = f"{pump} with {hoses}: {flow_text(best.flow_m3_s, units)}"
    if wanted > 0.0 and best.flow_m3_s < wanted:
        return f"Nothing gives {flow_text(wanted, units)} and runs well. The most is {kit}."
    if wanted == 0.0:
        return f"The most: {kit}."
    return f"{'Cheapest that does it' if best.cost is not None else 'This does it'}: {kit}."


def _hose_name(text: str, setup: Setup, catalogue: Catalogue) -> str:
    """A hose with its size, in the setup's units: ``3 in lay-flat (light)``."""
    hose, _, size = text.partition(" ")
    name, _, make = (catalogue.hoses[hose].name or hose).partition(", ")
    return f"{size_text(parse(size, Quantity.BORE), setup.units)} {name}" + (f" ({make})" if make else "")
