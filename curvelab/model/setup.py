"""The Setup: everything that a user describes, frozen and checked, in the user's words and in SI."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, ClassVar, Literal, Self, cast

from pydantic import Field, ValidationInfo, model_validator

from curvelab.errors import Fault
from curvelab.model.amount import Amount, wrong
from curvelab.model.hoseline import Discharge, Suction
from curvelab.model.kinds import ABREAST, ID, LINE, ROTATION, THROTTLE, WEAR, Length, MaybeWords, Words
from curvelab.model.pump import Pump, read_pump
from curvelab.model.section import Section, folder_of
from curvelab.model.site import Goal, Job, Outlet, Site
from curvelab.model.water import Doubt, Receiver, Source
from curvelab.model.written import to_toml
from curvelab.units import System

FORMAT = "curvelab-setup/1"


class PumpChoice(Section):
    """Which pump, and how it turns. Named by ``id``, or by ``file`` beside the setup, or its ``record`` written out."""

    id: Annotated[str | None, ID] = None
    """In the catalogue."""
    file: MaybeWords = None
    """A pump file in the setup's folder or below."""
    record: Pump | None = None
    """The pump itself: read from ``file``, or written out in place, as a link carries it."""
    throttle: Annotated[float, THROTTLE] = 1.0
    """Share of the speed that the curve was taken at."""
    speed: Annotated[Amount | None, ROTATION] = None
    """Speed of the engine, in place of ``throttle``."""
    wear: Annotated[float, WEAR] = 1.0
    """Factor on head."""

    INSTEAD: ClassVar = {
        "id": ("file", "record"),
        "file": ("id", "record"),
        "record": ("id", "file"),
        "throttle": ("speed",),
        "speed": ("throttle",),
    }

    @model_validator(mode="before")
    @classmethod
    def _file_read(cls, data: object, info: ValidationInfo) -> object:
        given: dict[str, object] = dict(cast("Mapping[str, object]", data)) if isinstance(data, Mapping) else {}
        file = given.get("file")
        if not isinstance(file, str):
            return cast("object", data)
        if given.get("record") is not None:
            raise wrong("stands beside a record", "write one of the two", "file")
        return {**given, "record": read_pump(LINE.read(file), folder_of(info.context))}

    def changed(self, path: Sequence[str], value: object, context: object) -> Self:
        """As ``Section.changed``; a new file is read."""
        if list(path) != ["file"] or value is None:
            return super().changed(path, value, context)
        record = read_pump(LINE.read(value), folder_of(context))
        return self.model_copy(update={"id": None, "file": value, "record": record})

    def rules(self) -> Iterator[Fault]:
        """One pump, one way of saying how fast it turns."""
        if self.id is None and self.record is None:
            yield Fault("", "id", "is missing", "write the id of a pump in the catalogue, or file = with a pump file")
        elif self.id is not None and (self.record is not None or self.file):
            yield Fault("", "id", "stands beside a pump file", "write id or file, not both")
        if self.speed is not None and self.throttle != 1.0:
            yield Fault("", "speed", "stands beside throttle", "write throttle or speed, not both")


class MainPump(PumpChoice):
    """The pump at the water, and pumps side by side with it."""

    abreast: Annotated[int, ABREAST] = 1
    """This many equal pumps side by side."""
    beside: Annotated[tuple[PumpChoice, ...], Field(max_length=20, description="write [[pump.beside]] with id")] = ()
    """Unlike pumps side by side with it."""


class Booster(PumpChoice):
    """A pump in the discharge line."""

    distance: Length
    """Along the hose from the pump's outlet."""


class Setup(Section):
    """A whole setup. ``Setup.model_validate(mapping, context={"folder": …})`` or ``load_setup(path)`` make one.

    The folder is where ``pump.file`` may lie; without one a ``file`` is a fault. Two setups are equal when all their SI
    values, names and counts are.
    """

    format: Literal["curvelab-setup/1"] = FORMAT
    title: Words = ""
    units: System = System.US
    """How answers are shown."""
    job: Job = Job()
    site: Site = Site()
    pump: Annotated[MainPump, Field(description="write [pump] with id")]
    booster: Annotated[
        tuple[Booster, ...], Field(max_length=20, description="write [[booster]] with id and distance")
    ] = ()
    suction: Annotated[Suction, Field(description="write [suction] with lift and [[suction.leg]]")]
    discharge: Annotated[Discharge, Field(description="write [discharge] with rise and [[discharge.leg]]")]
    outlet: Outlet = Outlet()
    goal: Goal = Goal()
    source: Source | None = None
    receiver: Receiver | None = None
    doubt: Doubt | None = None

    def to_toml(self) -> str:
        """The setup as a file that a person can read and that reads back equal."""
        return to_toml(self)
