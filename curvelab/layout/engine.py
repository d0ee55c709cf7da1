"""The picture "power and fuel": what each pump asks of its engine against its flow, and what the engine holds here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from curvelab.layout.axes import half_stepped, nice_step
from curvelab.layout.plain import ACROSS_TICK_PX, PLAIN, TICK_PX, Curve, Level, PlainScene, Spot
from curvelab.layout.sizes import Width
from curvelab.layout.words import Forms
from curvelab.studies.engines import Engine, Place
from curvelab.studies.work import Work
from curvelab.units import Quantity, display_unit

_ROOM: Final = 1.08
"""Axes over the greatest value drawn. [-]"""
MOST: Final = 3
"""Kinds of pump that are drawn. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineWords:
    """Words of the picture, in the units of the page; one of each for every pump of the study, in their order."""

    title: Forms
    label: str
    asks: tuple[Forms, ...]
    holds: tuple[Forms, ...]
    spots: tuple[Forms, ...]
    held: Forms
    """At the speed that the pump at the water holds, where its engine is short."""


def engine_scene(found: Work, words: EngineWords, width: Width) -> PlainScene:
    """The picture of a study for a layout of the page: powers and flows of one pump of each kind."""
    system, size = found.setup.units, PLAIN[width]
    most = max((float(curve.flow_m3_s[-1]) for curve in found.curves if curve.flow_m3_s.size), default=0.0)
    flow, power = display_unit(Quantity.FLOW, system, most), display_unit(Quantity.POWER, system)
    drawn = list(_kinds(found))
    curves = [
        Curve(
            flow.from_si(found.curves[at].flow_m3_s),
            power.from_si(found.curves[at].shaft_power_w),
            "pump",
            3.0 if at == 0 else 1.8,
            "solid" if at == 0 else "dashed",
            words.asks[at],
        )
        for at in drawn
        if found.curves[at].flow_m3_s.size
    ]
    slowed = _slowed(found)
    if slowed is not None:
        curves.append(Curve(flow.from_si(slowed[0]), power.from_si(slowed[1]), "other", 1.8, "dashed"))
    levels = [
        Level(power.from_si(each), "engine", "solid" if at == 0 else "dashed", words.holds[at])
        for at in drawn
        if (each := _each(found.power.pumps[at], found.power.pumps[at].available_w)) is not None
    ]
    spots = [
        Spot(flow.from_si(one.flow_m3_s / one.count), power.from_si(asked), one.place is Place.WATER, words.spots[at])
        for at, one in enumerate(found.power.pumps)
        if (asked := _each(one, one.shaft_power_w)) is not None
    ]
    held = found.power.held
    if slowed is not None and held is not None and held.flow_m3_s is not None and held.shaft_power_w is not None:
        count = found.power.pumps[0].count
        x, y = flow.from_si(held.flow_m3_s / count), power.from_si(held.shaft_power_w / count)
        spots.append(Spot(x, y, now=False, name=words.held))
    top = max([float(np.nanmax(curve.y)) for curve in curves] + [level.y for level in levels] + [0.1]) * _ROOM
    end = max([float(np.nanmax(curve.x)) for curve in curves] + [0.1]) * 1.02
    return PlainScene(
        across=half_stepped(end, nice_step(end * ACROSS_TICK_PX[width] / size.width)),
        up=half_stepped(top, nice_step(top * TICK_PX / size.height)),
        units=(flow.symbol, power.symbol),
        curves=tuple(curves),
        levels=tuple(levels),
        spots=tuple(spots),
        label=words.label,
    )


def _kinds(found: Work) -> Iterator[int]:
    """The first of each kind of pump at each speed, as places among the study's pumps."""
    seen: list[tuple[str, float]] = []
    for at, one in enumerate(found.power.pumps):
        curve = found.curves[at]
        kind = (one.id, float(curve.flow_m3_s[-1]) if curve.flow_m3_s.size else 0.0)
        if kind not in seen and len(seen) < MOST:
            seen.append(kind)
            yield at


def _each(one: Engine, watts: float | None) -> float | None:
    return None if watts is None else watts / one.count


def _slowed(found: Work) -> tuple[np.ndarray, np.ndarray] | None:
    """Power against flow at the speed that the engine at the water holds, where it is short."""
    held = found.power.held
    if held is None or held.full or not found.curves[0].flow_m3_s.size or found.setup.pump.beside:
        return None
    asked = found.setup.pump.throttle
    if found.setup.pump.speed is not None and held.speed_per_s > 0.0:
        asked = found.setup.pump.speed.si / held.speed_per_s * held.throttle
    ratio = held.throttle / asked
    return found.curves[0].flow_m3_s * ratio, found.curves[0].shaft_power_w * ratio**3
