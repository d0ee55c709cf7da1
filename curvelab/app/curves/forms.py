"""A new pump's form: what is said beside its fields, its curve while it is typed, its file and its link."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from curvelab.app.curves.asking import Asked
from curvelab.app.curves.fleet import Fleet, drawn
from curvelab.errors import InputError, UnknownNameError
from curvelab.model.catalogue import Catalogue, demo_folder, yard_folder
from curvelab.model.pump import Pump
from curvelab.model.pumpform import Draft, Form, drafted, id_of, typed_of
from curvelab.model.reading import parse_table
from curvelab.model.written import to_toml
from curvelab.model.yard import Stored, pump_place, read_file
from curvelab.report.fleet import curve_sentence
from curvelab.report.pump_form import beside, box_fields, groups, measured_fields, table_units, units_beside, unsure
from curvelab.units import System

MEASURED_ROWS: Final = 2
"""Rows for measured points that the form starts with. [-]"""
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("pumpform.html").module


def form_html(catalogue: Catalogue, system: System, *, yard: bool) -> str:
    """The empty form."""
    return str(
        _words.form(
            groups=groups(system),
            box=box_fields(system),
            measured=measured_fields(system),
            rows=MEASURED_ROWS,
            liquids=[(liquid.id, liquid.label) for liquid in catalogue.liquids.values()],
            table_units=table_units(system),
            yard=yard,
        )
    )


class DraftAsked(Asked):
    """A form as far as it is filled in."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``form``, ``base`` where a pump is changed, ``query`` of the setup, ``width`` of the picture."""
        catalogue = self.catalogue()
        form, draft = draft_of(asked)
        fleet = Fleet.of(str(asked.get("query", "")), catalogue)
        said = {path: [words.tone, words.text] for path, words in beside(form, draft).items()}
        answer: dict[str, Any] = {"said": said, "id": id_of(form.fields.get("name", "")), "ready": False}
        answer |= {"units": units_beside(form.system), "table_units": table_units(form.tables_system)}
        if draft.sketch is not None:
            answer["picture"] = drawn(draft.sketch, form.system, asked.get("width"), measured=draft.measured)
            answer["sentence"] = curve_sentence(draft.sketch, form.system)
            answer["notes"] = list(unsure(draft))
        if draft.pump is not None:
            answer |= {"ready": True, "toml": to_toml(draft.pump), **_link(fleet, draft.pump)}
            answer["stands"] = _stands(draft.pump, asked, catalogue)
        return answer


class UnitsAsked(Asked):
    """A form in other units: bare numbers become the same amounts."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``form``, and ``units`` wished."""
        units = asked.get("units")
        system = System(units) if units in set(System) else System.US
        moved = Form.read(form if isinstance(form := asked.get("form"), dict) else {}).moved_to(system)
        return {"form": moved, "beside": units_beside(system)}


class EditAsked(Asked):
    """A pump's file as a form."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``key`` of the pump, ``units`` of the page."""
        pump_id = str(asked.get("key", ""))
        pump = self.catalogue().pumps.get(pump_id)
        if pump is None:
            raise UnknownNameError.among("pump", pump_id, self.catalogue().pumps)
        return {
            "fields": typed_of(pump),
            "estimate": pump.estimate,
            "liquids": {**dict.fromkeys(pump.carries, "carries"), **dict.fromkeys(pump.never, "never")},
            "base": pump_id,
            "mark": own.mark if (own := stored_of(pump_id)) else None,
            "label": pump.label,
        }


def draft_of(asked: Mapping[str, Any]) -> tuple[Form, Draft]:
    """The form that was sent, and what comes of it; the pump that is changed is read from its file.

    ``as`` is another name, under which it is another pump and leaves the tests of the first one behind.
    """
    given = asked.get("form")
    form, base, other = Form.read(given if isinstance(given, dict) else {}), asked.get("base"), asked.get("as")
    table = _table_of(str(base)) if base else None
    if isinstance(other, str) and other.strip():
        form = replace(form, fields={**form.fields, "name": other.strip()})
        table = {name: value for name, value in (table or {}).items() if name not in ("id", "test")}
    return form, drafted(form, table)


def stored_of(pump_id: str) -> Stored | None:
    """The yard's own file of a pump; ``None`` where it has none."""
    folder = yard_folder()
    path = pump_place(folder, pump_id) if folder is not None else None
    return read_file(path) if path is not None else None


def _table_of(pump_id: str) -> dict[str, Any] | None:
    """What stands in a pump's file: the yard's, else the demonstration's."""
    own = stored_of(pump_id)
    if own is not None:
        return parse_table(own.text, where=pump_id)
    path = pump_place(demo_folder(), pump_id)
    found = read_file(path) if path is not None else None
    return parse_table(found.text, where=pump_id) if found is not None else None


def _link(fleet: Fleet, pump: Pump) -> dict[str, Any]:
    try:
        return {"use": fleet.query_with_own(pump), "no_link": ""}
    except InputError as error:
        return {"use": "", "no_link": "; ".join(f"{fault.got}; {fault.right}" for fault in error.faults)}


def _stands(pump: Pump, asked: Mapping[str, Any], catalogue: Catalogue) -> str:
    """What a new pump's name would take the place of."""
    if asked.get("base") == pump.id or pump.id not in catalogue.pumps:
        return ""
    if stored_of(pump.id) is not None:
        return f"The yard has a pump {pump.id} already: saving asks first."
    return f"The demonstration has a pump {pump.id}: the yard’s own will stand in its place."
