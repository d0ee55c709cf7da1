"""How far at most, how small at least? One field pushed until something gives way."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics.rules import Refusals, refusals
from curvelab.hydraulics.solution import Outcome
from curvelab.model.amount import Count
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.fields import Field, field_of, range_of, value_at
from curvelab.model.fields import Limit as End
from curvelab.model.hoseline import Leg
from curvelab.model.setup import Setup
from curvelab.studies.batch import Batch
from curvelab.studies.change import STANDARD_SIZES, size_text
from curvelab.studies.kit import in_lengths, stock_lengths
from curvelab.studies.result import Result
from curvelab.studies.say import at_least, at_most, capital, flow_text, three_figures
from curvelab.studies.solve import solve
from curvelab.studies.vary import planned, said, written
from curvelab.units import Quantity, parse

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
    "fittings": "its fittings don't come in the size",
}
"""What gives way, as a clause."""

_STILL: Final = {"flow": "the flow stays under {flow}"}
"""The clause where it fails at every value."""

_BY_OUTCOME: Final = {
    Outcome.NO_LIFT: "lift",
    Outcome.NO_PRIME: "prime",
    Outcome.CAVITATING: "suction",
    Outcome.THIN: "suction",
    Outcome.OFF_CURVE: "curve",
}
_REACH: Final = ("suction.lift", "discharge.rise", "discharge.waypoint")
"""Fields at fault where a hose does not reach."""


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
    """The rounded answer that can be handed over, solved and found good; empty where there is none."""
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


class _Tried(NamedTuple):
    """Values of the field, solved. A value that no file may hold, or that no rule lets stand, has no row that met."""

    values: Floats
    met: Bools
    good: Bools
    """Values that a file may hold."""
    batch: Batch
    """Those values, rows in their order."""
    refused: Refusals


class _Search(NamedTuple):
    setup: Setup
    field: Field
    places: tuple[int, ...]
    flow_m3_s: float
    """Least flow."""
    new_danger: bool
    """Hose over its rating would be news."""
    catalogue: Catalogue

    @property
    def path(self) -> str:
        return self.field.at(*self.places)

    @property
    def leg(self) -> Leg:
        return value_at(self.setup, self.path.rpartition(".")[0])

    def tried(self, values: Floats) -> _Tried:
        """Which values are sound, give the flow and bring no danger that the setup hasn't already."""
        plan, good = planned(self.setup, self.field, self.places, values.tolist(), self.catalogue)
        met = np.zeros(values.size, dtype=np.bool_)
        batch = Batch.of(plan)
        enough = batch.column("flow_m3_s") >= self.flow_m3_s
        met[good] = batch.sound & enough & ~(batch.over_rated & self.new_danger)
        return _Tried(values, met, good, batch, refusals(plan))

    def does(self, value: float) -> bool:
        """Whether this one value does."""
        return bool(self.tried(np.array([value])).met[0])

    def missed(self, tried: _Tried, at: int) -> str | None:
        """What fails at a value; ``None`` where it lies outside what the field can be."""
        if not tried.good[at]:
            return "fittings" if self.field.path.endswith(".size") else None
        row = int(tried.good[:at].sum())
        if tried.batch.refused[row]:
            return "hose" if any(why.field.startswith(_REACH) for why in tried.refused.of(row)) else None
        outcome = Outcome(int(tried.batch.outcome[row]))
        if outcome != Outcome.SOUND:
            return _BY_OUTCOME[outcome]
        return "pressure" if self.new_danger and tried.batch.over_rated[row] else "flow"


def limit(
    setup: Setup, field: str, *, flow: float | str | None = None, catalogue: Catalogue | None = None
) -> LimitFound:
    """The greatest (or least) value of a field at which the setup is sound and gives at least a flow.

    Parameters
    ----------
    setup : Setup
        What else holds.
    field : str
        Path of the field, such as ``discharge.leg.0.length``. Its slider's range is searched; the bore of a hose from
        the catalogue is sought among its sizes.
    flow : float or str, optional
        Least flow, SI or text ("100 gpm"); the setup's goal where left out, else any.

    Raises
    ------
    InputError
        If there is no such field, the setup hasn't it, or no limit of it can be sought.
    """
    known = catalogue or default_catalogue()
    one, places = _asked(setup, field)
    least = parse(flow, Quantity.FLOW) if isinstance(flow, str) else flow
    least = setup.goal.flow_m3_s if least is None else least
    search = _Search(setup, one, places, least, not solve(setup, known).over_rated, known)
    tried = whole = search.tried(_candidates(search))
    if not whole.met.any():
        tried = None if _stepped(one) else _between(search, whole)
    if tried is None:
        return _none(search, whole)
    last = int(np.flatnonzero(tried.met)[-1])
    beyond = last + 1 if last + 1 < tried.values.size else None
    because = search.missed(tried, beyond) if beyond is not None else None
    if because is None:
        return _found(search, None, None, _whole_range(search, float(tried.values[last])))
    if not _stepped(one):
        last, because, tried = _narrowed(search, tried, last)
    return _ended(search, float(tried.values[last]), because)


def _asked(setup: Setup, field: str) -> tuple[Field, tuple[int, ...]]:
    """The field to search: for the bore of a catalogue's hose its size."""
    one, places = field_of(field)
    if one.limit is End.NONE:
        raise InputError(
            Fault("", field, "has no greatest or least", "name a length, a height, a bore or the throttle")
        )
    leg = value_at(setup, field.rpartition(".")[0])
    if isinstance(leg, Leg):
        if one.path.endswith(".bore") and leg.hose is not None:
            return field_of(field.removesuffix("bore") + "size")
        if one.path.endswith(".size") and leg.hose is None:
            raise InputError(Fault("", field, "is a catalogue hose's", "ask for bore instead"))
    return one, places


def _stepped(field: Field) -> bool:
    """Whether there is nothing between two of its values."""
    return field.path.endswith(".size") or isinstance(field.leaf, Count)


def _candidates(search: _Search) -> Floats:
    """Values of the field's range from the kindest on; the sizes on offer where the field is a hose's size."""
    field, setup = search.field, search.setup
    if field.path.endswith(".size") and value_at(setup, search.path) is not None:
        values = np.array(
            [size.size.si for size in search.catalogue.hoses[search.leg.hose or ""].size], dtype=np.float64
        )
    else:
        shown = range_of(field, setup.units, field.si(setup, *search.places))
        low, high = shown.si(shown.low), shown.si(shown.high)
        count = round(high - low) + 1 if _stepped(field) else _FIRST
        values = np.linspace(low, high, count)
    return values if field.limit is End.GREATEST else values[::-1]


def _between(search: _Search, tried: _Tried, rounds: int = _ROUNDS) -> _Tried | None:
    """A stretch that does, hidden between two values that fail for different reasons; the last one, if there is any.

    Too much water for the suction at the one, too little for the wish at the next.
    """
    if rounds == 0:
        return None
    reasons = [search.missed(tried, at) for at in range(tried.values.size)]
    turns = [at for at, pair in enumerate(pairwise(reasons)) if len({*pair} - {None, "hose", "fittings"}) == 2]
    for at in reversed(turns):
        inner = search.tried(np.linspace(float(tried.values[at]), float(tried.values[at + 1]), _NEXT))
        if inner.met.any():
            return inner
        deeper = _between(search, inner, rounds - 1)
        if deeper is not None:
            return deeper
    return None


def _narrowed(search: _Search, tried: _Tried, last: int) -> tuple[int, str, _Tried]:
    """Place of the last value that does among ever closer ones, and what gives way at the next."""
    because = "flow"
    for _ in range(_ROUNDS):
        low, high = float(tried.values[last]), float(tried.values[last + 1])
        tried = search.tried(np.linspace(low, high, _NEXT))
        last = min(int(np.flatnonzero(tried.met)[-1]), _NEXT - 2) if tried.met.any() else 0
        because = search.missed(tried, last + 1) or because
    return last, because, tried


def _none(search: _Search, tried: _Tried) -> LimitFound:
    """Nothing does: what fails at the kindest value that the hose reaches with."""
    reasons = [search.missed(tried, at) for at in range(tried.values.size)]
    stands = [at for at, why in enumerate(reasons) if why not in (None, "hose", "fittings")]
    nearly = [at for at in stands if reasons[at] == "pressure"]  # all but the rating is kept
    at = next(iter(nearly or stands or [at for at, why in enumerate(reasons) if why is not None]), 0)
    because = reasons[at] or "hose"
    kindest = said(search.field, float(tried.values[at]), search.setup)
    clause = _clause(search, because, still=True)
    name = f"number of {search.field.label}" if isinstance(search.field.leaf, Count) else search.field.label
    return _found(search, None, because, f"No {name} does it: even at {kindest} {clause}.")


def _whole_range(search: _Search, last: float) -> str:
    way = "up to" if search.field.limit is End.GREATEST else "down to"
    return f"Nothing gives way in the range: {search.field.label} {way} {said(search.field, last, search.setup)}."


def _ended(search: _Search, value: float, because: str) -> LimitFound:
    field, stock = search.field, _stock(search, value)
    shown = _towards_safety(search, value)
    word, beyond = ("at most", "beyond") if field.limit is End.GREATEST else ("at least", "below")
    tail = f" From the rack: {stock}." if stock and stock != shown else ""
    sentence = f"{capital(field.label)} {word} {shown}: {beyond} that {_clause(search, because)}.{tail}"
    return _found(search, value, because, sentence, stock)


def _found(search: _Search, value: float | None, because: str | None, sentence: str, stock: str = "") -> LimitFound:
    result = None
    if value is not None:
        variant = search.setup.with_(search.path, written(search.field, value, search.setup))
        result = solve(variant, search.catalogue)
    return LimitFound(
        field=search.path,
        value=value,
        kind=str(search.field.limit),
        because=because,
        result=result,
        stock=stock,
        sentence=sentence,
    )


def _clause(search: _Search, because: str, *, still: bool = False) -> str:
    flow = flow_text(search.flow_m3_s, search.setup.units)
    text = _STILL.get(because, BECAUSE[because]) if still else BECAUSE[because]
    return text.format(flow=flow)


def _towards_safety(search: _Search, value: float) -> str:
    """The value as it is printed, never beyond itself."""
    field, units = search.field, search.setup.units
    quantity = field.quantity or (Quantity.SHARE if "%" in field.page else None)
    if _stepped(field):
        return said(field, value, search.setup)
    greatest = field.limit is End.GREATEST
    if quantity is None:
        return three_figures(value, -1.0 if greatest else 1.0)
    return at_most(value, quantity, units) if greatest else at_least(value, quantity, units)


def _stock(search: _Search, value: float) -> str:
    """What the yard hands over for a value, if it does as well."""
    field, setup = search.field, search.setup
    if field.path.endswith(".leg.*.length"):
        length, text = in_lengths(value, stock_lengths(search.leg, search.catalogue), setup.units)
        return text if text and search.does(length) else ""
    if field.path.endswith(".bore"):
        up = [size for s in STANDARD_SIZES if (size := parse(s, Quantity.BORE)) >= value * (1.0 - 1e-6)]
        return size_text(up[0], setup.units) if up and search.does(up[0]) else ""
    if field.path.endswith(".throttle"):
        percent = np.ceil(value * 100.0 - 1e-6)
        return f"{percent:.0f} %" if search.does(float(percent) / 100.0) else ""
    return size_text(value, setup.units) if field.path.endswith(".size") else ""
