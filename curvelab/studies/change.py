"""Changes that somebody at the counter could make to a setup: the neighbours that choose and mend look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from curvelab.errors import InputError
from curvelab.model.catalogue import Catalogue
from curvelab.model.hose import Hose
from curvelab.model.hoseline import Leg
from curvelab.model.planning import faults_of_setup, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.kit import stock_lengths
from curvelab.units import Quantity, System, parse, show, write

STANDARD_SIZES: Final = ("1 in", "1¼ in", "1½ in", "2 in", "2½ in", "3 in", "4 in", "6 in")
"""Nominal sizes offered for a hose written out."""

_IN_WORDS: Final = ("no", "one", "two", "three", "four", "five", "six")
_COMPARABLE: Final = 0.5
"""Share of the present pump's greatest flow that one with more head must have to stand in for it."""

_NEARER_M: Final = {System.METRIC: 1.0, System.US: 3 * 0.3048, System.IMPERIAL: 3 * 0.3048}
"""How far the pump is moved towards the water: a step that a person can judge. [m]"""


Value = str | dict[str, str] | None
"""What a field is set to: text as a file would hold it, a whole table, ``None`` for the default."""


@dataclass(frozen=True, slots=True)
class Change:
    """One change: what to call it, and the fields it sets."""

    label: str
    fields: tuple[tuple[str, Value], ...]

    def apply(self, setup: Setup) -> Setup:
        """The setup with the change made.

        Raises
        ------
        InputError
            If the changed setup is wrong.
        """
        for path, value in self.fields:
            setup = setup.with_(path, value)
        return setup


def applied(setup: Setup, changes: Sequence[Change], catalogue: Catalogue) -> list[tuple[Change, Setup]]:
    """The changes that the setup can take and the catalogue can serve, each with what it makes of it."""
    out: list[tuple[Change, Setup]] = []
    for change in changes:
        try:
            variant = change.apply(setup)
        except InputError:
            continue
        if next(faults_of_setup(variant, catalogue), None) is None:
            out.append((change, variant))
    return out


def neighbours(setup: Setup, catalogue: Catalogue) -> list[Change]:
    """Every single change worth a look, whatever it does.

    Hose sizes, a second hose, a shorter suction, another pump, the pump nearer the water, a clean strainer, full
    throttle.
    """
    return [
        *_sizes(setup, catalogue, "suction"),
        *_sizes(setup, catalogue, "discharge"),
        *_second_hose(setup, "suction"),
        *_second_hose(setup, "discharge"),
        *_shorter_suction(setup, catalogue),
        *_next_pumps(setup, catalogue),
        *nearer(setup, _NEARER_M[setup.units]),
        *_clean(setup),
        *_full_throttle(setup, catalogue),
    ]


def groups(legs: Sequence[Leg]) -> list[list[int]]:
    """Places of legs of the same hose and size, which change together."""
    found: dict[object, list[int]] = {}
    for at, leg in enumerate(legs):
        key = (leg.hose, leg.size.si if leg.size else None, leg.bore.si if leg.bore else None)
        found.setdefault(key, []).append(at)
    return list(found.values())


def in_words(count: int) -> str:
    """A small number as a word."""
    return _IN_WORDS[count] if count < len(_IN_WORDS) else str(count)


def size_text(size_m: float, system: System) -> str:
    """A nominal size as people say it."""
    return show(size_m, Quantity.BORE, system)


def _legs(setup: Setup, side: str) -> tuple[Leg, ...]:
    return (setup.suction if side == "suction" else setup.discharge).leg


def _which(legs: Sequence[Leg], group: Sequence[int]) -> str:
    """Names the legs meant where there are others."""
    if len(group) == len(legs):
        return ""
    return f" for leg {' and '.join(str(at + 1) for at in group)}"


def _sizes(setup: Setup, catalogue: Catalogue, side: str) -> Iterator[Change]:
    legs = _legs(setup, side)
    for group in groups(legs):
        leg = legs[group[0]]
        present, sizes, field = _present_size(leg, catalogue)
        larger = [s for s in sizes if parse(s, Quantity.BORE) > present * 1.001][:1]
        smaller = [s for s in sizes if parse(s, Quantity.BORE) < present * 0.999][-1:]
        for size in (*larger, *smaller):
            label = f"{size_text(parse(size, Quantity.BORE), setup.units)} {side} hose{_which(legs, group)}"
            yield Change(label, tuple((f"{side}.leg.{at}.{field}", size) for at in group))


def _present_size(leg: Leg, catalogue: Catalogue) -> tuple[float, list[str], str]:
    """Size now [m], sizes on offer in rising order, and the field that sets one."""
    if leg.hose is not None and leg.size is not None:
        return leg.size.si, [size.size.text for size in catalogue.hoses[leg.hose].size], "size"
    return (leg.bore.si if leg.bore else 0.0), list(STANDARD_SIZES), "bore"


def _second_hose(setup: Setup, side: str) -> Iterator[Change]:
    """One more hose beside those that lie there."""
    legs = _legs(setup, side)
    if len({leg.abreast for leg in legs}) > 1:
        return
    count = legs[0].abreast + 1
    number = in_words(count)
    sizes = {leg.size or leg.bore for leg in legs}
    size = next(iter(sizes))
    alike = f" {size_text(size.si, setup.units)}" if size is not None and len(sizes) == 1 else ""
    fields = tuple((f"{side}.leg.{at}.abreast", str(count)) for at in range(len(legs)))
    yield Change(f"{number}{alike} {side} hoses", fields)


def _shorter_suction(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    leg = setup.suction.leg[0]
    shorter = [length for length in stock_lengths(leg, catalogue) if length < leg.length.si * 0.999]
    if shorter:
        text = write(shorter[-1], Quantity.LENGTH, setup.units)
        label = f"{show(shorter[-1], Quantity.LENGTH, setup.units)} suction hose"
        yield Change(label, (("suction.leg.0.length", text),))


def _next_pumps(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """The pumps of the fleet next up and next down by their greatest flow, and next up by their greatest head."""
    now = pump_of(setup.pump, catalogue)
    fleet = [pump for pump in catalogue.pumps.values() if pump.id != now.id and may_carry(pump, setup)]
    flow, head = _greatest_flow(now), _greatest_head(now)
    larger = sorted((p for p in fleet if _greatest_flow(p) > flow), key=_greatest_flow)[:1]
    smaller = sorted((p for p in fleet if _greatest_flow(p) <= flow), key=_greatest_flow)[-1:]
    comparable = [p for p in fleet if _greatest_flow(p) >= _COMPARABLE * flow]
    stronger = sorted((p for p in comparable if _greatest_head(p) > head), key=_greatest_head)[:1]
    found = {pump.id: pump for pump in (*larger, *stronger, *smaller)}
    for pump in found.values():
        yield pump_change(pump, setup, catalogue)


def pump_change(pump: Pump, setup: Setup, catalogue: Catalogue) -> Change:
    """Another pump at the throttle of the present one. Wear was that one's own."""
    fields: list[tuple[str, Value]] = [("pump.id", pump.id)]
    if setup.pump.speed is not None:
        fields.append(("pump.throttle", f"{min(throttle_of(setup, catalogue), 1.0):g}"))
    if setup.pump.wear != 1.0:
        fields.append(("pump.wear", None))
    return Change(pump.label, tuple(fields))


def throttle_of(setup: Setup, catalogue: Catalogue) -> float:
    """Speed over that of the pump's curve, however it is stated."""
    if setup.pump.speed is None:
        return setup.pump.throttle
    return setup.pump.speed.si / pump_of(setup.pump, catalogue).speed.si


def may_carry(pump: Pump, setup: Setup) -> bool:
    """Whether nothing speaks against this pump for the setup's liquid and what swims in it."""
    return refusal(pump, setup) is None


def refusal(pump: Pump, setup: Setup) -> str | None:
    """Why a pump may not do this job, or ``None``: the liquid, or the solids in it."""
    liquid, solids = setup.site.liquid, setup.job.solids
    if liquid in pump.never:
        return f"must not carry {liquid}"
    if pump.carries and liquid not in pump.carries:
        return f"not known to carry {liquid}"
    if solids is not None and pump.solids is not None and solids.si > pump.solids.si * (1.0 + 1e-9):
        passes, wanted = (show(size.si, Quantity.BORE, setup.units) for size in (pump.solids, solids))
        return f"passes {passes}, not {wanted}"
    return None


def _greatest_flow(pump: Pump) -> float:
    return float(pump.head.flow_m3_s[-1])


def _greatest_head(pump: Pump) -> float:
    return float(pump.head.values_si.max())


def nearer(setup: Setup, by_m: float) -> Iterator[Change]:
    """The pump lower and nearer the water: less lift, less suction hose, and as much more rise past it."""
    units = setup.units
    legs = setup.suction.leg
    length = legs[0].length.si - by_m
    if setup.suction.lift.si - by_m < 0.0 or length <= 0.0:
        return

    def moved(value: float) -> str:
        return write(value, Quantity.LENGTH, units)

    fields: list[tuple[str, Value]] = [
        ("suction.lift", moved(setup.suction.lift.si - by_m)),
        ("suction.leg.0.length", moved(length)),
        ("discharge.rise", moved(setup.discharge.rise.si + by_m)),
    ]
    for at, point in enumerate(setup.discharge.waypoint):
        fields.append((f"discharge.waypoint.{at}.height", moved(point.height.si + by_m)))
    lower = show(by_m, Quantity.LENGTH, units)
    cut = show(length, Quantity.LENGTH, units)
    yield Change(f"pump {lower} lower, suction cut to {cut}", tuple(fields))


def _clean(setup: Setup) -> Iterator[Change]:
    """A further loss on the suction end is a clogged strainer."""
    if setup.suction.leg[0].k > 0.0:
        yield Change("clean strainer", (("suction.leg.0.k", "0"),))


def _full_throttle(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    if throttle_of(setup, catalogue) < 1.0 - 1e-9:
        yield Change("full throttle", (("pump.throttle", "1"),))


def next_rating(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """Hose of the same use and size that is rated for more: for the legs of one make and size, and for all legs."""
    legs = setup.discharge.leg
    alike = groups(legs)
    whole = [list(range(len(legs)))] if len(alike) > 1 else []
    for group in (*alike, *whole):
        named = [leg for at, leg in enumerate(legs) if at in group and leg.hose is not None and leg.size is not None]
        if len(named) < len(group):
            continue
        present = min(_rating(catalogue.hoses[leg.hose or ""], leg) for leg in named)
        rigid = {catalogue.hoses[leg.hose or ""].rigid for leg in named}
        better = [
            (rating, hose.id)
            for hose in catalogue.hoses.values()
            if hose.use != "suction" and rigid == {hose.rigid}
            if (rating := min(_rating(hose, leg) for leg in named)) > present
        ]
        for rating, hose_id in sorted(better):
            name = catalogue.hoses[hose_id].name or hose_id
            what = "pipe" if True in rigid else "hose"
            label = f"{show(rating, Quantity.PRESSURE, setup.units)} {what} ({name}){_which(legs, group)}"
            yield Change(label, tuple((f"discharge.leg.{at}.hose", hose_id) for at in group))


def _rating(hose: Hose, leg: Leg) -> float:
    size = hose.sized(leg.size.si) if leg.size is not None else None
    return size.working_pressure.si if size is not None and size.working_pressure is not None else 0.0
