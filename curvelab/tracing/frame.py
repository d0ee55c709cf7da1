"""The frame of a picture: what its axes are, where known points of them lie, and which curves to follow."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any, Final, Literal, cast

from pydantic import Field

from curvelab.errors import Fault, InputError, UnknownNameError, echo
from curvelab.model.amount import Amount, Leaf, Number, Text, shown, wrong
from curvelab.model.files import expect
from curvelab.model.kinds import TEMPERATURE
from curvelab.model.points import UnitOf
from curvelab.model.reading import read_table
from curvelab.model.section import Section
from curvelab.tracing.measure import USUAL_WATER, HeadUnit, Measure, is_pressure
from curvelab.units import Quantity

FORMAT: Final = "curvelab-frame/1"
MOST_MARKS: Final = 200
"""Most marks of a frame. [-]"""
MOST_CURVES: Final = 50
"""Most curves of a frame. [-]"""

CurveQuantity = Literal["head", "npshr", "efficiency", "power"]
Axis = Literal["head", "efficiency", "power"]
ScaleKind = Literal["linear", "log"]
AXIS_OF: Final[dict[CurveQuantity, Axis]] = {
    "head": "head",
    "npshr": "head",
    "efficiency": "efficiency",
    "power": "power",
}
"""The axis that a curve of each quantity is read on."""
QUANTITY_OF: Final[dict[Axis, Quantity]] = {
    "head": Quantity.HEAD,
    "efficiency": Quantity.SHARE,
    "power": Quantity.POWER,
}


class Place(Leaf):
    """A place in the picture: x right and y down from its outer top left corner. [px]"""

    FARTHEST: Final = 1e5

    def __init__(self) -> None:
        super().__init__("a place in the picture such as [112.0, 640.5]")

    def read(self, value: object) -> tuple[float, float]:
        """A pair of finite numbers."""
        pair: list[object] = list(cast("list[object]", value)) if isinstance(value, (list, tuple)) else []
        if len(pair) != 2:
            raise self.wrong(shown(cast("object", value)))
        for number in pair:
            if isinstance(number, bool) or not isinstance(number, (int, float)):
                raise self.wrong(shown(number))
            if not (math.isfinite(number) and abs(number) <= self.FARTHEST):
                raise wrong(f"{echo(number)} is out of range", "write pixels, at most 100 000")
        x, y = cast("list[float]", pair)
        return float(x), float(y)


_NUMBER = Number(-1e9, 1e9)
Reading = Annotated[float | None, _NUMBER]
"""A number printed on an axis, in the axis' unit."""
Pixel = Annotated[tuple[float, float], Place()]
Name = Annotated[str, Text("the name of the curve, in quotes", longest=80)]
Colour = Annotated[str | None, Text('a colour such as "#b4541a"', pattern=r"#[0-9a-fA-F]{6}")]


class Mark(Section):
    """A place in the picture whose numbers on the axes are known."""

    pixel: Pixel
    flow: Annotated[float, _NUMBER]
    head: Reading = None
    efficiency: Reading = None
    power: Reading = None

    def rules(self) -> Iterator[Fault]:
        """It is known on one axis of values at least."""
        if all(getattr(self, axis) is None for axis in QUANTITY_OF):
            yield Fault("", "head", "is missing", "write head, efficiency or power, as the axis says")


class FramedCurve(Section):
    """A curve to follow: from a pixel on it, or by its colour, or both."""

    name: Name = ""
    seed: Annotated[tuple[float, float] | None, Place()] = None
    colour: Colour = None
    quantity: CurveQuantity = "head"

    def rules(self) -> Iterator[Fault]:
        """Something to find it by."""
        if self.seed is None and self.colour is None:
            yield Fault("", "seed", "is missing", "write a pixel on the curve, or its colour")

    @property
    def label(self) -> str:
        """Its name; the quantity where it has none."""
        return self.name or self.quantity

    @property
    def rgb(self) -> tuple[int, int, int] | None:
        """Red, green and blue of its colour, 0 to 255."""
        if self.colour is None:
            return None
        red, green, blue = bytes.fromhex(self.colour[1:])
        return red, green, blue


class Frame(Section):
    """All of a frame file."""

    format: Literal["curvelab-frame/1"] = FORMAT
    flow: Annotated[str, UnitOf(Quantity.FLOW)]
    """Unit of the numbers on the axis of flow."""
    head: Annotated[str | None, HeadUnit()] = None
    """Of a pressure: the head of water that makes it, at ``temperature``."""
    efficiency: Annotated[str | None, UnitOf(Quantity.SHARE)] = None
    power: Annotated[str | None, UnitOf(Quantity.POWER)] = None
    temperature: Annotated[Amount | None, TEMPERATURE] = None
    """Of the sheet's water; ``measure.USUAL_WATER`` where left out."""
    flow_scale: ScaleKind = "linear"
    head_scale: ScaleKind = "linear"
    mark: Annotated[
        tuple[Mark, ...],
        Field(min_length=2, max_length=MOST_MARKS, description="write from 2 to 200 [[mark]], four for a photo"),
    ]
    curve: Annotated[
        tuple[FramedCurve, ...],
        Field(min_length=1, max_length=MOST_CURVES, description="write from 1 to 50 [[curve]]"),
    ]

    def rules(self) -> Iterator[Fault]:
        """Names differ, and each curve's axis has a unit, marks, and numbers that its scale can show."""
        twice = [name for name, count in Counter(curve.label for curve in self.curve).items() if count > 1]
        for place, curve in enumerate(self.curve):
            axis = AXIS_OF[curve.quantity]
            if curve.label in twice:
                yield Fault("", f"curve.{place}.name", f'"{echo(curve.label)}" stands twice', "give each its own name")
            if getattr(self, axis) is None:
                yield Fault("", axis, "is missing", f'curve "{echo(curve.label)}" is read on it; write its unit')
            if len(self.marks_of(axis)) < 2:
                got = f"{len(self.marks_of(axis))} with a number for {axis}"
                yield Fault("", "mark", got, f'curve "{echo(curve.label)}" needs two, four on a photo')
        if self.temperature is not None and not is_pressure(self.head or ""):
            yield Fault("", "temperature", "tells nothing here", "it belongs to a head axis in psi, bar or kPa")
        for place, mark in enumerate(self.mark):
            for axis, scale in (("flow", self.flow_scale), ("head", self.head_scale)):
                value = getattr(mark, axis)
                if scale == "log" and value is not None and value <= 0.0:
                    yield Fault("", f"mark.{place}.{axis}", f"{value:g}", "a log scale has numbers above 0 only")

    def marks_of(self, axis: Axis) -> tuple[Mark, ...]:
        """The marks that are known on an axis of values."""
        return tuple(mark for mark in self.mark if getattr(mark, axis) is not None)

    def measure(self, axis: Axis) -> Measure:
        """The unit of an axis of values that a curve is read on."""
        unit = cast("str", getattr(self, axis))
        if axis == "head" and is_pressure(unit):
            return Measure.of_pressure(unit, self.temperature or USUAL_WATER)
        return Measure.of(unit, QUANTITY_OF[axis])

    def scale_of(self, axis: Axis) -> ScaleKind:
        """How an axis of values is divided."""
        return self.head_scale if axis == "head" else "linear"

    def named(self, name: str | None) -> FramedCurve:
        """The curve called ``name``; the first one where it is ``None``.

        Raises
        ------
        UnknownNameError
            If no curve is called that.
        """
        if name is None:
            return self.curve[0]
        found = next((curve for curve in self.curve if curve.label == name), None)
        if found is None:
            raise UnknownNameError.among("curve", name, (curve.label for curve in self.curve))
        return found


def load_frame(path: str | Path) -> Frame:
    """The frame in a file.

    Raises
    ------
    InputError
        With every fault found, each under the file's name.
    """
    where = str(path)
    table = read_table(Path(path), where=where)
    expect(table, FORMAT, where)
    return frame_from(table, where=where)


def frame_from(table: Mapping[str, Any], *, where: str = "") -> Frame:
    """The frame that a table describes; faults are under ``where``."""
    try:
        return Frame.model_validate(table)
    except InputError as error:
        raise error.at(where=where) from None
