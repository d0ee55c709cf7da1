"""The four questions: answers as they were typed become a setup on the page, or what is wrong with each is said."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from curvelab.app.state import AppState, show
from curvelab.errors import Fault, InputError, StudyError
from curvelab.model.setup import Setup
from curvelab.report.begin import begun_words
from curvelab.studies.begin import From, Wish, begin
from curvelab.studies.say import capital
from curvelab.units import Quantity, System, display_unit, parse

SOURCES: Final = (
    (From.POND, "pond or lake"),
    (From.RIVER, "river or ditch"),
    (From.TANK, "tank or pool"),
    (From.CELLAR, "flooded cellar"),
    (From.FLOOD, "flooded ground"),
    (From.WELL, "well or pit"),
)
"""Where from, in the order and the words of the form."""
_QUANTITIES: Final = {
    "lift": Quantity.LENGTH,
    "rise": Quantity.LENGTH,
    "distance": Quantity.LENGTH,
    "flow": Quantity.FLOW,
    "volume": Quantity.VOLUME,
    "time": Quantity.TIME,
}
_MUCH: Final = {"flow": ("flow",), "volume": ("volume", "time"), "most": ()}
"""Which boxes count, by what is chosen for how much."""
_HOURS: Final = "h"
_BARE: Final = re.compile(r"[+\-−]?(\d{1,3}(,\d{3})+|\d+)?(\.\d+)?")
_LONGEST: Final = 60


_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)


def form() -> str:
    """The dialog, as HTML."""
    return _environment.get_template("begin.html").render(sources=SOURCES)


class Questions:
    """One visitor's answers."""

    def __init__(self, state: AppState) -> None:
        self._state = state
        self._count = 0
        self._wrong: dict[str, str] = {}
        self._said: tuple[str, ...] = ()

    @property
    def told(self) -> dict[str, Any]:
        """How often answers came, what is wrong with the last ones by box, and the unit behind each box."""
        symbols = {name: _symbol(quantity, self._state.system) for name, quantity in _QUANTITIES.items()}
        return {"count": self._count, "wrong": self._wrong, "symbols": symbols}

    def answer(self, answers: Any) -> None:
        """Put the setup that the answers ask for on the page, with what was taken as notices; or keep what is wrong."""
        self._count += 1
        self._wrong = self._answered(answers)

    def _answered(self, answers: Any) -> dict[str, str]:
        state = self._state
        if not isinstance(answers, Mapping):
            return {"source": "no answers came; press the button again"}
        try:
            begun = begin(_wish(answers, state.setup), state.catalogue)
        except InputError as error:
            return {_box(fault.field): _said(fault) for fault in error.faults}
        except StudyError as error:
            return {"source": f"{error}."}
        state.put(show(begun.setup, state.catalogue), state.chalks)
        self.done()
        self._said = begun_words(begun, state.catalogue)
        state.notices = [*state.notices, *self._said]
        return {}

    def done(self) -> None:
        """What was taken is no longer what is shown: its words go."""
        self._state.notices = [line for line in self._state.notices if line not in self._said]
        self._said = ()


def _wish(answers: Mapping[str, Any], setup: Setup) -> Wish:
    """The answers in SI; height and temperature of the place are those that the page has.

    Raises
    ------
    InputError
        With every box that cannot be read.
    """
    system = setup.units
    much = str(answers.get("much", "most"))
    faults: list[Fault] = []
    found: dict[str, float] = {}
    for name in ("lift", "rise", "distance", *_MUCH.get(much, ())):
        try:
            found[name] = _number(str(answers.get(name, "")), name, system)
        except InputError as error:
            faults += error.at(field=name).faults
    sources = {str(source): source for source, _ in SOURCES}
    if str(answers.get("source")) not in sources:
        faults.append(Fault("", "source", "nothing chosen", "choose where the water is"))
    if faults:
        raise InputError(faults)
    return Wish(
        source=sources[str(answers["source"])],
        lift_m=found["lift"],
        rise_m=found["rise"],
        distance_m=found["distance"],
        flow_m3_s=found.get("flow", 0.0),
        volume_m3=found.get("volume", 0.0),
        time_s=found.get("time", 0.0),
        altitude_m=setup.site.altitude.si,
        temperature_k=setup.site.temperature.si,
        units=system,
    )


def _number(text: str, name: str, system: System) -> float:
    """What was typed [SI]: a number in the unit shown, or one with a unit of its own; amounts are over 0."""
    text, quantity = text.strip()[:_LONGEST], _QUANTITIES[name]
    if not text:
        raise InputError(Fault("", "", "", f"write a number, in {_symbol(quantity, system)}"))
    bare = _BARE.fullmatch(text) and any(letter.isdigit() for letter in text)
    if bare and quantity is Quantity.TIME:
        si = parse(f"{text} {_HOURS}", quantity)
    elif bare:
        si = display_unit(quantity, system).to_si(float(text.replace(",", "").replace("−", "-")))
    else:
        si = parse(text, quantity)
    if name not in ("lift", "rise") and si <= 0.0:
        raise InputError(Fault("", "", text, "write a number over 0"))
    return si


def _symbol(quantity: Quantity, system: System) -> str:
    return _HOURS if quantity is Quantity.TIME else display_unit(quantity, system).symbol


def _box(field: str) -> str:
    """The box that a fault of the setup belongs to."""
    last = field.rpartition(".")[2]
    return last if last in _QUANTITIES else "distance" if "leg" in field else "source"


def _said(fault: Fault) -> str:
    return capital("; ".join(part for part in (fault.got, fault.right) if part))
