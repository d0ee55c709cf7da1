"""The yard's folder as the setup page sees it: a setup saved under a name, and word of what changes in the lists.

Files are read and written off the event loop; the state is touched on the document's own thread only.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, Final
from weakref import ref

import param

from curvelab.app.state import AppState, show
from curvelab.app.wire import STATIC, Half
from curvelab.errors import Fault, InputError
from curvelab.model.catalogue import Catalogue, catalogue_faults, yard_folder
from curvelab.model.files import setup_from
from curvelab.model.pumpform import id_of
from curvelab.model.reading import parse_table
from curvelab.model.setup import Setup
from curvelab.model.yard import OverwrittenError, save
from curvelab.report import presets
from curvelab.report.differing import differing
from curvelab.report.yard import STALE, news, unread

EVERY_S: Final = 2.0
"""How often a page looks whether the yard's files have changed. [s]"""
LONGEST_NAME: Final = 80
_log = logging.getLogger(__name__)


class Keeper(Half):
    """The button that saves a setup, its dialogue, and the list of setups to start from."""

    offered = param.Boolean(default=False, doc="There is a folder to save into.")
    starts = param.List(default=[], doc="Ready setups: groups of (heading, [(id, words)]).")
    reply = param.Dict(default={}, doc="What came of the last save: seq, text, or a clash.")

    _esm = "\n".join((STATIC / part).read_text(encoding="utf-8") for part in ("choice.js", "keeper.js"))

    def __init__(self, state: AppState, latest: Callable[[], Catalogue], renewed: Callable[[], None]) -> None:
        super().__init__(offered=yard_folder() is not None, starts=starts_of(state.catalogue))
        self._state, self._latest, self._renewed = state, latest, renewed
        self._watching: asyncio.Task[None] | None = None
        self._saving: asyncio.Task[None] | None = None
        self._document: Any = None
        self._seen = state.catalogue
        """The lists that were tried last: where this page's setup can't go on with them it keeps those it has."""

    def start(self, document: Any) -> None:
        """Look at the yard's files from now on, as long as the page is open."""
        self._document = document
        if self.offered:
            self._complain()
            document.on_session_destroyed(self._end)
            self._watching = asyncio.get_running_loop().create_task(_watch(ref(self)))

    def _end(self, _context: Any) -> None:
        self._document = None

    async def look(self) -> bool:
        """Look once whether the yard's files have changed; whether the page is still open."""
        try:
            catalogue = await asyncio.to_thread(self._latest)
        except InputError:
            catalogue = self._seen  # the page goes on with what it has
        if catalogue is not self._seen:
            self._soon(partial(self.renew, catalogue))
        elif bool(catalogue_faults()) is not any(STALE in notice for notice in self._state.notices):
            self._soon(self._complain)
        return self._document is not None

    def _soon(self, act: Callable[[], None]) -> None:
        """Do it on the document's own thread, unless the page is gone."""
        if self._document is not None:
            self._document.add_next_tick_callback(partial(self._do, act))

    def _do(self, act: Callable[[], None]) -> None:
        """Do it; should it fail, the page goes on and shows the id that the log has."""
        try:
            act()
        except Exception:  # noqa: BLE001 - whatever it was, nothing of the setup is touched
            mark = secrets.token_hex(3)
            _log.exception("the yard's folder could not be followed, id %s", mark)
            said = f"Something went wrong with the yard’s folder (id {mark}). The page goes on with what it had."
            self._state.notices = [*self._state.notices, said]
            self._renewed()

    def renew(self, catalogue: Catalogue) -> None:
        """Go on with the lists as they are now; the setup is worked out anew, for its pump may have changed."""
        state, before = self._state, self._state.catalogue
        self._seen = catalogue
        said = news(before, catalogue)
        try:
            shown = show(state.setup, catalogue)
        except InputError as error:
            lacks = f"They lack what this setup uses: {error.faults[0].got}. It goes on with what it had."
            state.notices = [*state.notices, f"{said} {lacks}"]
            shown, catalogue = state.shown, before
        else:
            state.notices = [*state.notices, said] if said else state.notices
        state.catalogue, state.shown = catalogue, shown
        self.starts = starts_of(catalogue)
        self._renewed()

    def _complain(self) -> None:
        """Say what can't be read in the folder, once; take it back when it can be."""
        kept = [notice for notice in self._state.notices if STALE not in notice]
        faults = unread(catalogue_faults(), yard_folder())
        self._state.notices = [*kept, f"{STALE} {faults[0]}"] if faults else kept
        self._renewed()

    def _handle_msg(self, msg: Any) -> None:
        if isinstance(msg, dict) and isinstance(msg.get("name"), str):
            self._saving = asyncio.get_running_loop().create_task(self._save(msg))

    async def _save(self, asked: dict[str, Any]) -> None:
        setup, mark = self._state.setup, asked.get("mark")
        name = asked["name"].strip()[:LONGEST_NAME]
        try:
            reply = await asyncio.to_thread(saved, setup, name, mark if isinstance(mark, str) else None)
        except InputError as error:
            reply = {"refused": "; ".join(f"{fault.got}; {fault.right}" for fault in error.faults)}
        except Exception:  # noqa: BLE001 - whatever it was, the page goes on and says so
            which = secrets.token_hex(3)
            _log.exception("saving a setup failed, id %s", which)
            reply = {"refused": f"Something went wrong (id {which}). Nothing was saved."}
        self._soon(partial(self._tell, {"seq": asked.get("seq"), **reply}))
        await self.look()

    def _tell(self, reply: dict[str, Any]) -> None:
        self.reply = reply


async def _watch(of: ref[Keeper]) -> None:
    """Look again and again for a page; it is held by nobody meanwhile, so that a page that is closed goes."""
    while True:
        await asyncio.sleep(EVERY_S)
        keeper = of()
        if keeper is None or not await keeper.look():
            return
        del keeper


def saved(setup: Setup, name: str, mark: str | None) -> dict[str, Any]:
    """A setup saved under a name into the yard's folder; or what stands in its way, beside it.

    Raises
    ------
    InputError
        If the name is none, no folder is named, or the setup has faults there.
    """
    folder, key = yard_folder(), id_of(name)
    if folder is None:
        raise InputError(Fault("", "", "no folder of the yard's own is named", "start with --yard DIR"))
    if not key:
        raise InputError(Fault("", "", "a name has letters or digits", "write one such as Mill pond in May"))
    named = setup.with_("title", name)
    try:
        save(folder, "setup", key, named.to_toml(), mark=mark)
    except OverwrittenError as error:
        return {"clash": _clash(error, named, folder)}
    return {"text": f"Saved as setups/{key}.toml; it stands among the setups to start from.", "id": key}


def starts_of(catalogue: Catalogue) -> list[tuple[str, list[tuple[str, str]]]]:
    """The ready setups as the browser wants them."""
    return [(group.name, list(group.setups)) for group in presets.groups(catalogue)]


def _clash(error: OverwrittenError, ours: Setup, folder: Path) -> dict[str, Any]:
    theirs = error.theirs
    if theirs is None:
        return {"mark": None, "text": "Somebody else has taken it away meanwhile.", "rows": []}
    try:
        other = setup_from(parse_table(theirs.text), folder / "setups", "")
        rows = [[row.what, row.ours, row.theirs] for row in differing(ours, other, ours.units)]
    except InputError as broken:
        return {"mark": theirs.mark, "text": f"What stands there can't be read: {broken.faults[0].got}.", "rows": []}
    text = "A setup of that name stands there already." if rows else "The same setup stands there already."
    return {"mark": theirs.mark, "text": text, "rows": rows}
