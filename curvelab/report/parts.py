"""The parts of the pictures explained, by key; those of the run are here, the bench's in ``parts_bench``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np

from curvelab.layout.grips import POINT, hose_m, place_of
from curvelab.report.answers import over_rated
from curvelab.report.held import point_name
from curvelab.report.parts_bench import BENCH
from curvelab.report.pointed import Formula, PartSaid, Seen, made
from curvelab.report.words import delivers, hardest_point
from curvelab.units import Quantity

_GAUGES: Final = "Gauges"


def part_said(key: str, seen: Seen) -> PartSaid | None:
    """What is said of a part; ``None`` where the pictures have no such part."""
    place = place_of(key)
    if place is not None:
        return _point(seen, place) if place < len(seen.setup.discharge.waypoint) else None
    return _PARTS[key](seen) if key in _PARTS else None


def bench_list(seen: Seen) -> Iterator[tuple[str, str]]:
    """Key and title of every part of the bench, in the order the water meets them."""
    result = seen.figures.result
    keys = ["flow"] if delivers(result) else []
    keys += [*(part.item for part in result.ledger), "lost", "short", "air"]
    keys += [part.item for part in result.suction_budget if part.item not in ("lift", "suction")]
    keys += ["left", "limit", "curve", "asks"]
    yield from _titled(seen, keys)


def run_list(seen: Seen) -> Iterator[tuple[str, str]]:
    """The same of the run."""
    points = [f"{POINT}{place}" for place in range(len(seen.setup.discharge.waypoint))]
    yield from _titled(
        seen, ["lift", "suction", "vacuum", "gauge", "line", "discharge", *points, "over", "outlet", "hardest"]
    )


def _titled(seen: Seen, keys: list[str]) -> Iterator[tuple[str, str]]:
    for key in dict.fromkeys(keys):
        said = part_said(key, seen)
        if said is not None:
            yield key, said.title


# --- the run


def _vacuum(seen: Seen) -> PartSaid | None:
    gauge = seen.figures.result.inlet_gauge_pa
    if gauge is None:
        return None
    quantity = Quantity.PRESSURE if gauge > 0 else Quantity.VACUUM
    name = "Pressure" if gauge > 0 else "Vacuum"
    sentence = "What a gauge in the pump’s inlet shows: the lift, what hose and strainer take, and the water’s speed."
    return made(
        f"{name} at the inlet {seen.shown(abs(gauge), quantity)}",
        sentence,
        seen.lines(_GAUGES, "At the inlet"),
    )


def _gauge(seen: Seen) -> PartSaid | None:
    gauge = seen.figures.result.pump_outlet_gauge_pa
    if gauge is None:
        return None
    title = f"Pressure at the pump {seen.shown(gauge, Quantity.PRESSURE)}"
    sentence = "What a gauge in the pump’s outlet shows while it runs. From here on the hose uses it up."
    return made(title, sentence, seen.lines(_GAUGES, "At the outlet")[:1])


def _line(seen: Seen) -> PartSaid | None:
    if not delivers(seen.figures.result):
        return None
    sentence = "The dashed line stands as high over the hose as the pressure there could lift the water."
    formula = Formula("height over the hose = p / (ρ g)", "", "")
    return PartSaid("Pressure along the hose", sentence, (formula,), source="definition")


def _over(seen: Seen) -> PartSaid | None:
    said = over_rated(seen.figures.result, seen.figures.system)
    if not said:
        return None
    formula = Formula("ρ g (greatest head at full speed + water over the pump − height)", "", "")
    sentence = f"{said} That is at full throttle, and the lift up to the pump isn’t counted."
    return PartSaid(
        "Hose over its rating", sentence, (formula,), source="a bound: no flow, no wear; ratings from the hose’s file"
    )


def _point(seen: Seen, place: int) -> PartSaid:
    point = seen.setup.discharge.waypoint[place]
    along = f"{seen.shown(point.distance.si, Quantity.LENGTH)} along the hose"
    sentence = f"{_over_pump(seen, point.height.si)}, {along}."
    gauge = float(np.interp(point.distance.si, seen.run.distance_m, seen.run.gauge_pa))
    if delivers(seen.figures.result) and np.isfinite(gauge):
        quantity, word = (Quantity.PRESSURE, "Pressure") if gauge >= 0 else (Quantity.VACUUM, "Vacuum")
        sentence += f" {word} there while it runs: {seen.shown(abs(gauge), quantity)}."
    name = point_name(seen.setup, place)
    return PartSaid(f"{name[:1].upper()}{name[1:]}", sentence, source="the setup; pressure by the sums")


def _outlet(seen: Seen) -> PartSaid:
    receiver = seen.setup.receiver
    name = f": {receiver.name}" if receiver is not None and receiver.name else ""
    hose = seen.shown(hose_m(seen.setup), Quantity.LENGTH)
    sentence = f"{_over_pump(seen, seen.setup.discharge.rise.si)}, at the end of {hose} of hose."
    return PartSaid(f"Outlet{name}", sentence, source="the setup")


def _over_pump(seen: Seen, height_m: float) -> str:
    return f"{seen.shown(abs(height_m), Quantity.LENGTH)} {'over' if height_m >= 0 else 'under'} the pump"


def _hardest(seen: Seen) -> PartSaid:
    point = hardest_point(seen.figures.result, seen.setup)
    sentence = "Of all points on the way this one asks most of the pump. The ledger counts as far as here."
    return PartSaid(f"Hardest point: {point}", sentence, source="every point of the route, at this flow")


_PARTS: Final[dict[str, Callable[[Seen], PartSaid | None]]] = {
    **BENCH,
    "vacuum": _vacuum,
    "gauge": _gauge,
    "line": _line,
    "over": _over,
    "outlet": _outlet,
    "hardest": _hardest,
}
