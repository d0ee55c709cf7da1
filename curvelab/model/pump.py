"""A pump's record: its tested curves, ports, engine and limits."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import Field

from curvelab.errors import Fault, InputError, echo
from curvelab.model.amount import Amount
from curvelab.model.kinds import (
    ALTITUDE,
    DAY,
    FLOW,
    FUEL,
    LENGTH,
    POWER,
    RATIO,
    ROTATION,
    SPECIFIC_FUEL,
    TIME,
    VOLUME,
    Id,
    MaybeBore,
    MaybeMass,
    MaybePressure,
    MaybeSolids,
    MaybeVacuum,
    MaybeWords,
    YesNo,
)
from curvelab.model.points import EfficiencyPoints, HeadPoints, NpshrPoints, PowerPoints
from curvelab.model.reading import inside, read_table
from curvelab.model.record import Record
from curvelab.model.section import Section
from curvelab.model.suctiontests import SuctionTest, npshr_of_tests

FORMAT: Final = "curvelab-pump/1"

PumpKind = Literal["clear-water", "semi-trash", "trash", "chemical", "high-head", "diaphragm"]
Housing = Literal["aluminium", "cast iron", "polymer", "steel"]


class Engine(Section):
    """What turns the pump."""

    power: Annotated[Amount, POWER]
    """Rated power."""
    continuous: Annotated[float, RATIO] = 0.8
    """Share of the rated power for hours on end; left out: less 20 % (Oklahoma State BAE-1204, not re-read)."""
    fuel: MaybeWords = None
    consumption: Annotated[Amount | None, SPECIFIC_FUEL] = None
    """Fuel for shaft work."""
    tank: Annotated[Amount | None, FUEL] = None
    source: MaybeWords = None
    estimate: YesNo = False


class ReturnTest(Section):
    """A test of this very pump in the yard."""

    date: Annotated[dt.date, DAY]
    kind: Literal["shut-off", "vacuum", "drum"]
    speed: Annotated[Amount | None, ROTATION] = None
    pressure: MaybePressure = None
    vacuum: MaybeVacuum = None
    volume: Annotated[Amount | None, VOLUME] = None
    time: Annotated[Amount | None, TIME] = None
    altitude: Annotated[Amount | None, ALTITUDE] = None
    """Where it was tested; sea level where left out."""
    by: MaybeWords = None

    def rules(self) -> Iterator[Fault]:
        """The readings of its kind."""
        wanted = {"shut-off": ("pressure",), "vacuum": ("vacuum",), "drum": ("volume", "time")}[self.kind]
        for name in wanted:
            if getattr(self, name) is None:
                yield Fault("", name, "is missing", f'a test of kind "{self.kind}" has {" and ".join(wanted)}')


class Pump(Record):
    """A pump as its sheet describes it."""

    format: Literal["curvelab-pump/1"] = FORMAT
    kind: PumpKind
    inlet: MaybeBore = None
    """Nominal bore of the suction port."""
    outlet: MaybeBore = None
    solids: MaybeSolids = None
    """Largest thing that passes."""
    speed: Annotated[Amount, ROTATION]
    """Speed that the curves were taken at."""
    priming_lift: Annotated[Amount | None, LENGTH] = None
    """Greatest, at sea level, of cold water."""
    housing: Housing | None = None
    seal: MaybeWords = None
    casing_pressure: MaybePressure = None
    body_volume: Annotated[Amount | None, VOLUME] = None
    """Water in the body."""
    air_rate: Annotated[Amount | None, FLOW] = None
    """Air taken away while priming, at no vacuum."""
    carries: tuple[Id, ...] = ()
    """Ids of liquids."""
    never: tuple[Id, ...] = ()
    mass: MaybeMass = None
    grade: Literal["1B", "1E", "1U", "2B", "2U", "3B"] | None = None
    """Acceptance grade of the curve after ISO 9906, where stated."""
    engine: Engine | None = None
    head: Annotated[HeadPoints, Field(description="write [head] with flow, head and points")]
    npshr: NpshrPoints | None = None
    efficiency: EfficiencyPoints | None = None
    power: PowerPoints | None = None
    suction_test: Annotated[tuple[SuctionTest, ...], Field(max_length=100)] = ()
    test: Annotated[tuple[ReturnTest, ...], Field(max_length=1000)] = ()

    @property
    def label(self) -> str:
        """Name for people; an estimated curve's says so."""
        return f"{super().label} (estimate)" if self.estimate else super().label

    def rules(self) -> Iterator[Fault]:
        """One way of saying each thing, and suction tests that fall."""
        yield from super().rules()
        for liquid in self.carries:
            if liquid in self.never:
                yield Fault("", "carries", f'"{liquid}" stands in never too', "write it in one of the two")
        if self.efficiency is not None and self.power is not None:
            yield Fault("", "power", "stands beside efficiency", "write one of the two; each gives the other")
        if self.npshr is not None and self.suction_test:
            yield Fault("", "suction_test", "stands beside npshr", "write one of the two")
        yield from self._tests_fall()

    def _tests_fall(self) -> Iterator[Fault]:
        if len(self.suction_test) == 1:
            yield Fault("", "suction_test", "stands alone", "flows at two lifts at least, or none")
        for place, (a, b) in enumerate(pairwise(self.suction_test)):
            if not (a.lift.si - b.lift.si) * (a.flow.si - b.flow.si) < 0.0:
                got = f'"{b.flow.text}" at "{b.lift.text}" after "{a.flow.text}" at "{a.lift.text}"'
                yield Fault("", f"suction_test.{place + 1}.flow", got, "a greater lift lets less through")
                return
        if self.suction_test and not (npshr_of_tests(self.suction_test)[1] > 0.0).all():
            yield Fault(
                "", "suction_test", "leaves the pump no suction head at all", "check lifts, flows and test hose"
            )


def read_pump(name: str, folder: Path | None) -> Pump:
    """The pump in a file that lies in ``folder`` or below.

    Raises
    ------
    InputError
        Without a folder; for a path that leaves it or leads to no file; for what is wrong in the file, under its path.
    """
    if folder is None:
        raise InputError(
            Fault("", "file", "no folder is known to look in", "give the folder of the setup, or the pump's id")
        )
    path, where = inside(folder, name), str(Path(folder, name))
    if not path.is_file():
        right = "name a pump file beside the setup or in a folder below it"
        raise InputError(Fault("", "file", f'"{echo(name)}" is no file that is there', right))
    table = read_table(path, where=where)
    if table.get("format") != FORMAT:
        raise InputError(Fault(where, "format", "is not a pump's", f'a pump file has format = "{FORMAT}"'))
    return pump_from(table, where=where)


def pump_from(table: Mapping[str, Any], *, where: str) -> Pump:
    """The pump that a table describes; faults say ``where``."""
    try:
        return Pump.model_validate(table)
    except InputError as error:
        raise error.at(where=where) from None
