"""How far at most, how small at least? One field pushed until something gives way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.fields import Field, field_of, range_of
from curvelab.model.fields import Limit as End
from curvelab.model.setup import Setup
from curvelab.studies.batch import Batch
from curvelab.studies.change import STANDARD_SIZES, size_text
from curvelab.studies.kit import in_lengths, stock_lengths
from curvelab.studies.result import Result
from curvelab.studies.solve import solve
from curvelab.studies.vary import planned
from curvelab.units import Quantity, parse, show, write

FORMAT: Final = "curvelab-limit/1"

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_FIRST, _NEXT, _ROUNDS = 129, 33, 3
"""Values tried first and in each narrowing: the answer stands to a three-millionth of the range."""

BECAUSE: Final = {
    "flow": "the flow falls under {flow}",
    "suction": "the suction has less than its margin to spare",
    "prime": "the pump can't draw the water that high",
    "lift": "the pump can't push the water that high",
    "curve": "the pump runs past its tested curve",
    "pressure": "hose could see more than its rating if the end is shut",
    "hose": "the hose can't reach",
}
"""What gives way, as a clause."""

_BY_OUTCOME: Final = {
    Outcome.NO_LIFT: "lift",
    Outcome.NO_PRIME: "prime",
    Outcome.CAVITATING: "suction",
    Outcome.THIN: "suction",
    Outcome.OFF_CURVE: "curve",
    -1: "hose",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitFound:
    """The last value that still does. ``None``: see ``sentence``."""

    field: str
    value: float | None
    """SI."""
    kind: str
    """greatest or least."""
    because: str | None
    """What gives way just beyond, or what still fails at the kindest value: a key of ``BECAUSE``."""
    result: Result | None
    """The solve there."""
    stock: str
    """The rounded answer that can be handed over; empty where the field is nothing from a rack."""
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {
            "format": FORMAT,
            "field": self.field,
            "value": self.value,
            "kind": self.kind,
            "because": self.because,
            "result": self.result.to_dict() if self.result else None,
            "stock": self.stock,
            "sentence": self.sentence,
        }


class _Wanted(NamedTuple):
    """The condition: sound, at least this flow, and no danger that the setup hasn't already."""

    flow_m3_s: float
    new_danger: bool

    def met(self, batch: Batch) -> Bools:
        enough = batch.column("flow_m3_s") >= self.flow_m3_s
        return batch.sound & enough & ~(batch.over_rated & self.new_danger)

    def missed(self, batch: Batch, row: int) -> str:
        outcome = int(batch.outcome[row])
        if outcome == -1:
            return "hose"
        if outcome != Outcome.SOUND:
            return _BY_OUTCOME[Outcome(outcome)]
        return "pressure" if self.new_danger and batch.over_rated[row] else "flow"


class _Search(NamedTuple):
    setup: Setup
    field: Field
    places: tuple[int, ...]
    wanted: _Wanted
    catalogue: Catalogue

    def tried(self, values: Floats) -> tuple[Bools, Batch, Bools]:
        """Which values do, the batch of those that a file would be allowed, and which those are."""
        plan, good = planned(self.setup, self.field, self.places, values.tolist(), self.catalogue)
        met = np.zeros(values.size, dtype=np.bool_)
        batch = Batch.of(plan)
        met[good] = self.wanted.met(batch)
        return met, batch, good

    def missed(self, batch: Batch, good: Bools, at: int) -> str:
        return self.wanted.missed(batch, int(good[:at].sum())) if good[at] else "hose"


def limit(
    setup: Setup, field: str, *, flow: float | str | None = None, catalogue: Catalogue | None = None
) -> LimitFound:
    """The greatest (or least) value of a field at which the setup is sound and gives at least a flow.

    Parameters
    ----------
    setup : Setup
        What else holds.
    field : str
        Path of the field, such as ``discharge.leg.0.length``. Its slider's range is searched.
    flow : float or str, optional
        Least flow, SI or text ("100 gpm"); the setup's goal where left out, else any.

    Raises
    ------
    InputError
        If there is no such field, or no limit of it can be sought.
    """
    known = catalogue or default_catalogue()
    one, places = field_of(field)
    if one.limit is End.NONE:
        raise InputError(
            Fault("", field, "has no greatest or least", "name a length, a height, a bore or the throttle")
        )
    least = parse(flow, Quantity.FLOW) if isinstance(flow, str) else flow
    least = setup.goal.flow_m3_s if least is None else least
    wanted = _Wanted(least, new_danger=not solve(setup, known).over_rated)
    search = _Search(setup, one, places, wanted, known)
    values = _candidates(search)
    met, batch, good = search.tried(values)
    if not met.any():
        because = search.missed(batch, good, 0)
        return _found(search, None, because)
    last = int(np.flatnonzero(met)[-1])
    if last == values.size - 1:
        return _found(search, None, None)
    because = search.missed(batch, good, last + 1)
    low, high = float(values[last]), float(values[last + 1])
    if one.path.endswith(".size"):
        return _found(search, low, because)
    for _ in range(_ROUNDS):
        values = np.linspace(low, high, _NEXT)
        met, batch, good = search.tried(values)
        met[0] = True
        last = min(int(np.flatnonzero(met)[-1]), _NEXT - 2)
        because = search.missed(batch, good, last + 1)
        low, high = float(values[last]), float(values[last + 1])
    return _found(search, low, because)


def _candidates(search: _Search) -> Floats:
    """Values of the field's range from the kindest on; the sizes on offer where the field is a hose's size."""
    field, setup = search.field, search.setup
    if field.path.endswith(".size"):
        leg = (setup.suction if field.path.startswith("suction") else setup.discharge).leg[search.places[0]]
        if leg.hose is None:
            raise InputError(Fault("", field.at(*search.places), "is a catalogue hose's", "ask for bore instead"))
        values = np.array([size.size.si for size in search.catalogue.hoses[leg.hose].size])
    else:
        shown = range_of(field, setup.units, field.si(setup, *search.places))
        values = np.linspace(shown.si(shown.low), shown.si(shown.high), _FIRST)
    return values if field.limit is End.GREATEST else values[::-1]


def _found(search: _Search, value: float | None, because: str | None) -> LimitFound:
    field, setup = search.field, search.setup
    path = field.at(*search.places)
    result = None
    if value is not None:
        text = value if field.quantity is None else write(value, field.quantity, setup.units)
        result = solve(setup.with_(path, text), search.catalogue)
    stock = "" if value is None else _stock(search, value)
    return LimitFound(
        field=path,
        value=value,
        kind=str(field.limit),
        because=because,
        result=result,
        stock=stock,
        sentence=_sentence(search, value, because, stock),
    )


def _stock(search: _Search, value: float) -> str:
    field, setup = search.field, search.setup
    if field.path.endswith(".leg.*.length"):
        legs = (setup.suction if field.path.startswith("suction") else setup.discharge).leg
        return in_lengths(value, stock_lengths(legs[search.places[0]], search.catalogue), setup.units)
    if field.path.endswith(".bore"):
        up = [size for s in STANDARD_SIZES if (size := parse(s, Quantity.BORE)) >= value * (1.0 - 1e-6)]
        return size_text(up[0], setup.units) if up else ""
    return size_text(value, setup.units) if field.path.endswith(".size") else ""


def _sentence(search: _Search, value: float | None, because: str | None, stock: str) -> str:
    field, units = search.field, search.setup.units
    name = field.label
    if because is None:
        return f"Nothing gives way in the whole range of the {name}."
    wanted = show(search.wanted.flow_m3_s, Quantity.FLOW, units)
    why = BECAUSE[because].format(flow=wanted)
    if value is None:
        return f"No {name} does: even at the kindest {why}."
    shown = f"{value:.3g}" if field.quantity is None else show(value, field.quantity, units)
    most = "at most" if field.limit is End.GREATEST else "at least"
    tail = f" From the rack: {stock}." if stock and stock != shown else ""
    return f"{name[0].upper()}{name[1:]} {most} {shown}: beyond that {why}.{tail}"
