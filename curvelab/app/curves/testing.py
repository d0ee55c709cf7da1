"""A pump's test: what the readings say while they are typed, kept with the pump, carried into the next quote."""

from __future__ import annotations

from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from curvelab.app.curves.asking import Asked
from curvelab.app.curves.fleet import LINKED, Fleet, drawn, use_of
from curvelab.errors import Fault, InputError
from curvelab.model.catalogue import yard_folder
from curvelab.model.kept import keep_tests
from curvelab.model.testform import Read, moved_texts, readings_from, typed_texts
from curvelab.report.pump_tests import reading_line
from curvelab.report.test_form import beside_readings, reading_groups, reading_units
from curvelab.studies.pumptest import wear_of
from curvelab.units import System

_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("pumptest.html").module


def readings_html(fleet: Fleet, *, yard: bool) -> str:
    """The empty form."""
    pumps = [(key, pump.label) for key, pump in fleet.pumps.items()]
    return str(_words.form(groups=reading_groups(fleet.system), pumps=pumps, now=fleet.now, yard=yard))


class ReadingsAsked(Asked):
    """What a pump's readings say."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``key`` of the pump, ``typed`` texts, ``query`` of the setup, ``width`` of the picture."""
        fleet, read, system = _read(self, asked)
        key = str(asked.get("key", ""))
        pump = fleet.pump(key)
        found = wear_of(pump, read.tests, system=system)
        said = {path: [words.tone, words.text] for path, words in beside_readings(read.faults).items()}
        answer: dict[str, Any] = {"said": said, "units": reading_units(system), "any": bool(read.tests)}
        answer["picture"] = drawn(pump, system, asked.get("width"), tests=read.tests, found=found)
        if read.tests:
            use, no_link = use_of(fleet, key, found.wear) if found.wear is not None else ("", "")
            answer |= {
                "html": str(_words.found(found, [reading_line(one, system) for one in found.readings])),
                "use": use,
                "no_link": no_link,
                "keep": not read.faults and key != LINKED,
            }
        return answer


class ReadingUnitsAsked(Asked):
    """A test's form in other units."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``typed`` texts, ``before`` and ``units``."""
        before, after = (
            System(name) if name in set(System) else System.US for name in (asked.get("before"), asked.get("units"))
        )
        return {"typed": moved_texts(typed_texts(asked.get("typed")), before, after), "units": reading_units(after)}


class KeepAsked(Asked):
    """A test kept with its pump, in the yard's folder."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """As for ``ReadingsAsked``."""
        folder = yard_folder()
        _, read, _ = _read(self, asked)
        if folder is None:
            raise InputError(Fault("", "", "no folder of the yard's own is named", "start with --yard DIR"))
        if read.faults or not read.tests:
            raise InputError(read.faults or Fault("", "", "nothing is read yet", "fill in what the gauges showed"))
        path, _ = keep_tests(folder, str(asked.get("key", "")), read.tests)
        count = len(read.tests)
        what = "One reading is" if count == 1 else f"{count} readings are"
        return {"text": f"{what} kept with the pump, in {path.parent.name}/{path.name}."}


def _read(handler: Asked, asked: Any) -> tuple[Fleet, Read, System]:
    fleet = Fleet.of(str(asked.get("query", "")), handler.catalogue())
    units = asked.get("units")
    system = System(units) if units in set(System) else fleet.system
    return fleet, readings_from(typed_texts(asked.get("typed")), system), system
