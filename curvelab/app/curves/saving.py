"""Into the yard's folder from the page: pumps saved, earlier versions brought back, lists as spreadsheets out and in.

What another person saved meanwhile is never written over unseen: the answer is then a ``clash`` that shows theirs.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from curvelab.app.curves.asking import Asked, Shown, faults_of
from curvelab.app.curves.forms import draft_of
from curvelab.app.curves.tracing import keep_picture
from curvelab.errors import Fault, InputError, echo
from curvelab.model.catalogue import catalogue_faults, catalogue_mark, demo_catalogue, yard_folder
from curvelab.model.exchange import look_at, out_text, take_in
from curvelab.model.files import setup_from
from curvelab.model.link import decode
from curvelab.model.listsheets import TABLES
from curvelab.model.pairs import pairs_of
from curvelab.model.pump import FORMAT, pump_from
from curvelab.model.reading import parse_table, read_text
from curvelab.model.section import Section
from curvelab.model.setup import FORMAT as SETUP
from curvelab.model.sheet import Sheet, sheet_from
from curvelab.model.shelf import WITHDRAWN
from curvelab.model.withdrawn import put_back, withdraw, withdrawn_in, withdrawn_of
from curvelab.model.written import to_toml
from curvelab.model.yard import OverwrittenError, Stored, place_of, pump_place, save_file
from curvelab.model.yardfiles import bring_back, file_of, files_of, mark_in, version_of
from curvelab.report.differing import differing
from curvelab.report.yard import unread
from curvelab.units import System

MOST_SHEET_BYTES: Final = 1_000_000
"""Largest spreadsheet that is taken. [B]"""
_SHEET: Final = "the sheet"
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("yard.html").module


def named_yard() -> Path:
    """The yard's folder; ``InputError`` where none is named."""
    folder = yard_folder()
    if folder is None:
        raise InputError(Fault("", "", "no folder of the yard's own is named", "start with --yard DIR"))
    return folder


def clash_of(error: OverwrittenError, ours: Section, read: Callable[[str], Section], system: System) -> dict[str, Any]:
    """What stands in the way of a save: theirs beside ours. ``read`` makes a record of a file's text."""
    theirs = error.theirs
    if theirs is None:
        return {"clash": {"mark": None, "text": "Somebody else has taken it away meanwhile.", "rows": []}}
    try:
        rows = [[row.what, row.ours, row.theirs] for row in differing(ours, read(theirs.text), system)]
        text = "Somebody else has saved it meanwhile." if rows else "The same stands there already."
    except InputError as broken:
        rows, text = [], f"What somebody else saved can't be read: {broken.faults[0].got}."
    return {"clash": {"mark": theirs.mark, "text": text, "rows": rows}}


class SaveAsked(Asked):
    """A pump's form, saved into the yard's list."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """As for a draft; ``mark`` of the file that was changed, ``as`` another name to save it under."""
        folder = named_yard()
        form, draft = draft_of(asked)
        if draft.pump is None:
            raise InputError(draft.faults)
        pump, mark = draft.pump, asked.get("mark")
        path = pump_place(folder, pump.id) or place_of(folder, "pump", pump.id)
        try:
            stored = save_file(folder, path, FORMAT, to_toml(pump), mark=mark if isinstance(mark, str) else None)
        except OverwrittenError as error:
            return clash_of(error, pump, lambda text: record_in(text, FORMAT, path.parent), form.system)
        told = keep_picture(folder, form.traced) if form.way == "trace" else ""
        text = f"{pump.label} is in the yard’s list, in {path.parent.name}/{path.name}. {told}".rstrip()
        return {"id": pump.id, "mark": stored.mark, "label": pump.label, "text": text}


class YardAsked(Asked):
    """The yard's folder as it stands now."""

    def answer(self, asked: Any) -> dict[str, Any]:  # noqa: ARG002 - nothing more is asked
        """Its files, their earlier versions, what can't be read."""
        return {"html": yard_html(), "mark": catalogue_mark()}


def yard_html() -> str:
    """The view of the yard's folder."""
    folder = named_yard()
    faults, aside = unread(catalogue_faults(), folder), withdrawn_in(folder)
    return str(_words.yard(files=files_of(folder), faults=faults, lists=list(TABLES), withdrawn=aside))


class StateAsked(Asked):
    """Whether the yard's files are still those that a page was made from."""

    def answer(self, asked: Any) -> dict[str, Any]:  # noqa: ARG002 - nothing more is asked
        """A mark that changes with them, and what can't be read in them."""
        return {"mark": catalogue_mark(), "faults": unread(catalogue_faults(), yard_folder())}


class VersionAsked(Asked):
    """What bringing an earlier version back would change."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``file`` and ``version`` by their keys, ``units`` of the page."""
        file = file_of(named_yard(), str(asked.get("file", "")))
        version = version_of(file, str(asked.get("version", "")))
        mark, then, now = mark_in(file), read_text(version.path), read_text(file.path)
        if file.tag in (FORMAT, SETUP):
            units = asked.get("units")
            system = System(units) if units in set(System) else System.US
            then_record, now_record = (record_in(text, file.tag, file.path.parent) for text in (then, now))
            rows = [[row.what, row.ours, row.theirs] for row in differing(then_record, now_record, system)]
        else:
            rows = _changed_lines(then, now)
        return {"mark": mark, "rows": rows, "label": file.label}


class RestoreAsked(Asked):
    """An earlier version in the place of what stands there now."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``file`` and ``version`` by their keys, and the ``mark`` of what stood there when it was looked at."""
        folder = named_yard()
        file = file_of(folder, str(asked.get("file", "")))
        bring_back(folder, file, version_of(file, str(asked.get("version", ""))), mark=str(asked.get("mark", "")))
        return {"text": f"{file.shown} is as it was; what stood there is kept as an earlier version."}


class WithdrawAsked(Asked):
    """A pump of the yard's own, taken out of its list."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``key`` of the pump, ``query`` of the present setup, which keeps its pump."""
        folder, key = named_yard(), str(asked.get("key", ""))
        setup = decode(str(asked.get("query", "")), self.catalogue()).setup
        if key in {one.id for one in (setup.pump, *setup.pump.beside, *setup.booster)}:
            raise InputError(Fault("", "", "It stands in the present setup", "put another pump there first"))
        pump = self.catalogue().pumps.get(key)
        path = withdraw(folder, key)
        label = pump.label if pump is not None else key
        demo = " The demo’s stands in its place again." if key in demo_catalogue().pumps else ""
        return {"text": f"{label} is withdrawn; its file is kept as {WITHDRAWN}/{path.name}.{demo}"}


class PutBackAsked(Asked):
    """A withdrawn pump, put back into the list."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``file`` by its key."""
        folder = named_yard()
        one = withdrawn_of(folder, str(asked.get("file", "")))
        path = put_back(folder, one)
        return {"text": f"{one.label} is back in the list, in {path.parent.name}/{path.name}."}


class TextAsked(Asked):
    """A file of the folder as text, for somebody who would rather write it by hand."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``file`` by its key."""
        file = file_of(named_yard(), str(asked.get("file", "")))
        stored = Stored.of(read_text(file.path))
        return {"text": stored.text, "mark": stored.mark, "label": file.label, "shown": file.shown}


class WriteAsked(Asked):
    """A file's text as somebody has changed it: checked beside the yard's other files, then written whole."""

    MOST_BYTES = 2 * MOST_SHEET_BYTES

    def answer(self, asked: Any) -> dict[str, Any]:
        """``file`` by its key, ``text``, and the ``mark`` of what was read."""
        folder = named_yard()
        file, text = file_of(folder, str(asked.get("file", ""))), str(asked.get("text", ""))
        try:
            save_file(folder, file.path, file.tag, text, mark=str(asked.get("mark", "")))
        except OverwrittenError as error:
            theirs = error.theirs
            rows = _changed_lines(text, theirs.text if theirs is not None else "", ("only in yours", "only in theirs"))
            said = "Somebody else has saved it meanwhile." if theirs is not None else "Somebody else has taken it away."
            return {"clash": {"mark": theirs.mark if theirs is not None else None, "text": said, "rows": rows}}
        return {"text": f"{file.shown} is saved; the version before is kept."}


class SheetPage(Shown):
    """A list of the yard as a spreadsheet."""

    def get(self) -> None:
        """``kind`` hoses or prices; with ``commas`` decimal commas."""
        kind = self.get_query_argument("kind", "")
        try:
            text = out_text(named_yard(), kind, commas=self.get_query_argument("commas", "") == "yes")
        except InputError as error:
            self.set_status(422)
            self.finish({"faults": faults_of(error.faults)})
            return
        self.set_header("Content-Type", "text/csv; charset=utf-8")
        self.set_header("Content-Disposition", f'attachment; filename="{kind}.csv"')
        self.finish(text)


class SheetAsked(Asked):
    """A spreadsheet for a list of the yard: first what it would change, then, when told so, into the list."""

    MOST_BYTES = MOST_SHEET_BYTES
    KIND = "text/csv"

    def question(self) -> Sheet:
        """The sheet."""
        return sheet_from(bytes(self._body), where=_SHEET)

    def answer(self, asked: Sheet) -> dict[str, Any]:
        """With ``save=yes`` in the address it is taken; with ``over=yes`` also where the list has changed."""
        folder = named_yard()
        if self.get_query_argument("save", "") == "yes":
            taken = take_in(folder, asked, where=_SHEET, over=self.get_query_argument("over", "") == "yes")
            return {"text": f"The yard’s {taken.kind} are as the sheet has them; the list before is kept."}
        seen = look_at(folder, asked, where=_SHEET)
        rows = [[key, f"new: {_brief(seen.after[key])}", ""] for key in seen.taken.new]
        for key in seen.taken.changed:
            found = differing(seen.after[key], seen.before[key], System.US)
            rows += [[f"{key}: {row.what}", row.ours, row.theirs] for row in found]
        rows += [[key, "gone", _brief(seen.before[key])] for key in seen.taken.gone]
        return {"kind": seen.taken.kind, "rows": rows[:200], "more": max(0, len(rows) - 200), "same": seen.taken.same,
                "stale": seen.stale}  # fmt: skip


def _brief(record: Section) -> str:
    """A record's fields in a line."""
    told = [f"{key} {text}" for key, text in pairs_of(record).items() if key not in ("id", "item", "source")]
    return echo(", ".join(told), 100)


def record_in(text: str, tag: str, folder: Path) -> Section:
    """The pump or setup in the text of a file of that format, which lies in ``folder``."""
    table = parse_table(text)
    return pump_from(table, where="") if tag == FORMAT else setup_from(table, folder, "")


def _changed_lines(
    ours: str, theirs: str, sides: tuple[str, str] = ("only in that version", "only in the list now")
) -> list[list[str]]:
    """Lines that only one of two texts has."""
    mine, other = ours.splitlines(), theirs.splitlines()
    gone = [[sides[0], line.strip(), ""] for line in mine if line not in other and line.strip()]
    come = [[sides[1], "", line.strip()] for line in other if line not in mine and line.strip()]
    return [*gone, *come][:80]
