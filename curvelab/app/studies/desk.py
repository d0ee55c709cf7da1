"""Who asks the studies of one visitor's page, when, and in which order.

Every request has a number; an answer that a newer request has overtaken is dropped, and what it had still to ask is
not asked. The quick ones go together; the slow ones follow one by one when those are shown, the open tab's first.
Models are touched only on the document's own thread, once a request.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import Final

import panel as pn
from bokeh.models import Column
from markupsafe import escape

from curvelab.app.chalks import all_seen, seen
from curvelab.app.state import AppState, Shown, show
from curvelab.app.studies.cures import KEY, Cures, cures
from curvelab.app.studies.doubt import DOUBT
from curvelab.app.studies.lane import beside, done, turn
from curvelab.app.studies.tab import PLACES, Picture, Tab, Told, placed
from curvelab.app.studies.tabs import TABS
from curvelab.app.studies.wire import StudyWire, parameter
from curvelab.app.together import together
from curvelab.figures.band import Band
from curvelab.layout.sizes import Width
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.studies.change import Value

QUIET_S: Final = 0.15
"""Without a change for so long a setup has settled. [s]"""
_SHOWN_S: Final = 10.0
"""After so long an answer that could not be shown, its page being gone, is given up. [s]"""
_BLANK: Final = dict.fromkeys(PLACES, "")
_log = logging.getLogger(__name__)

Answer = Told | Cures | str
"""What was found; text: the id under which the log has what went wrong."""


def ask(key: str, shown: Shown, catalogue: Catalogue) -> Answer:
    """Ask one study; whatever goes wrong there, the others go on."""
    try:
        return cures(shown, catalogue) if key == KEY else _BY_KEY[key].ask(shown, catalogue)
    except Exception:  # noqa: BLE001 - whatever it was, the page goes on and says so
        return noted(key)


def noted(key: str) -> str:
    """The id under which the log has what just went wrong with a study."""
    mark = secrets.token_hex(3)
    _log.exception("the study %s failed, id %s", key, mark)
    return mark


def _waiting(tab: Tab) -> Told:
    return Told(words=placed(brief=tab.brief, finding="Being worked out…", title="", table=""))


def _ask_all(keys: Sequence[str], shown: Shown, catalogue: Catalogue) -> dict[str, Answer]:
    return {key: ask(key, shown, catalogue) for key in keys}


def _ask_beside(keys: Sequence[str], shown: Shown, catalogue: Catalogue) -> dict[str, Answer]:
    """The same, in the process beside if there is one. What is shown can't travel, and is soon worked out there."""
    if not beside():
        return _ask_all(keys, shown, catalogue)
    return done(_ask_there, (keys, shown.setup), catalogue)


def _ask_there(asked: tuple[Sequence[str], Setup], catalogue: Catalogue) -> dict[str, Answer]:
    keys, setup = asked
    return _ask_all(keys, show(setup, catalogue), catalogue)


_BY_KEY: Final = {tab.key: tab for tab in TABS}


class Studies:
    """The studies of one visitor's page."""

    def __init__(self, state: AppState, banded: Callable[[Band | None, Shown], None]) -> None:
        self._state, self._banded = state, banded
        self._document = pn.state.curdoc
        if self._document is not None:
            self._document.on_session_destroyed(self._end)
        self._newest = 0
        self._task: asyncio.Task[None] | None = None
        self._of: dict[str, Shown] = {}  # the setup that each one last answered for
        self._told: dict[str, Told] = {tab.key: _waiting(tab) for tab in TABS}
        self._asleep = {tab.key for tab in TABS if tab.once_opened}
        self._buttons: dict[str, Mapping[str, Value]] = {}
        self._open = TABS[0].key
        self.wire = StudyWire(self._opened)
        self.places = {tab.key: Column(sizing_mode="stretch_width") for tab in TABS if tab.picture is not None}
        self.pictures: dict[str, Picture] = {}
        """Of the tabs that a browser has opened, the first as well: the others have none that anybody could see."""
        self._take(_ask_all(self._quick(), state.shown, state.catalogue), state.shown, 0)
        for tab in TABS:
            if tab.slow:
                self._tell(tab, 0 if tab.once_opened else -1)

    def lay_out(self) -> None:
        """The pictures anew for another layout of the page."""
        for key in self.pictures:
            self._make_picture(_BY_KEY[key])
        for tab in TABS:
            self._tell(tab, self.wire.studied[tab.key])

    def keep(self) -> None:
        """Another setup is kept to compare, or one is no more: the pictures that show them show it."""
        for key in self.pictures:
            if _BY_KEY[key].kept is not None:
                self._draw(_BY_KEY[key])

    def due(self, seq: int) -> None:
        """The change with this number was answered: ask again once it has been quiet, unless nothing is different."""
        self._newest += 1
        shown = self._state.shown
        same = {key for key, of in self._of.items() if of is shown} | self._asleep
        self.wire.studied = {**self.wire.studied, **dict.fromkeys(same, seq)}
        if self._state.settled and len(same) < len(TABS) + 1:
            self._task = asyncio.get_running_loop().create_task(self._ask(self._newest, seq))

    def cure(self, key: object) -> Mapping[str, Value] | None:
        """The fields that a button sets; ``None`` where it is of a setup that has changed since."""
        shown = self._state.shown
        for of, buttons in ((KEY, self._buttons), *((tab.key, self._told[tab.key].buttons) for tab in TABS)):
            if str(key) in buttons and self._of.get(of) is shown:
                return buttons[str(key)]
        return None

    def words(self, key: str) -> Mapping[str, str]:
        """What a tab says now, by place."""
        return getattr(self.wire, parameter(key))

    # --- asking

    def _opened(self, key: str) -> None:
        if key not in _BY_KEY:
            return
        self._open = key
        try:
            with together():  # a picture and what it shows in one message: in two, the second could be there first
                if key not in self.pictures:
                    self._make_picture(_BY_KEY[key])
                self._draw(_BY_KEY[key])
        except Exception:  # noqa: BLE001 - whatever it was, its words are there and the page goes on
            self._fail(key, noted(key))
        if key in self._asleep:
            seq = self.wire.studied[key]
            self._asleep.discard(key)
            self._newest += 1  # whoever is asking now stops: what it had still to ask is asked along with this
            self._tell(_BY_KEY[key], -1)
            self._task = asyncio.get_running_loop().create_task(self._ask(self._newest, seq))

    def _quick(self) -> list[str]:
        return [KEY, *(tab.key for tab in TABS if not tab.slow)]

    def _batches(self, shown: Shown) -> Iterator[list[str]]:
        """What is still to be asked, the quick ones together; which tab is open is looked at again each time."""
        quick = [key for key in self._quick() if self._of.get(key) is not shown]
        if quick:
            yield quick
        awake = [tab.key for tab in TABS if tab.slow and tab.key not in self._asleep]
        slow = [key for key in awake if self._of.get(key) is not shown]
        while slow:
            key = self._open if self._open in slow else slow[0]
            slow.remove(key)
            yield [key]

    def _end(self, _context: object) -> None:
        """The page is gone: whoever is asking stops."""
        self._newest += 1
        self._document = None
        if self._task is not None:
            self._task.cancel()

    async def _ask(self, number: int, seq: int) -> None:
        await asyncio.sleep(QUIET_S)
        shown = self._state.shown
        for keys in self._batches(shown):
            async with turn(slow=any(_BY_KEY[key].slow for key in keys if key != KEY)):
                if number != self._newest:
                    return
                answers = await self._asked(keys, shown)
            drawn = asyncio.Event()
            if self._document is None:
                return
            self._document.add_next_tick_callback(partial(self._show, number, answers, shown, seq, drawn))
            try:
                await asyncio.wait_for(drawn.wait(), _SHOWN_S)
            except TimeoutError:
                return

    async def _asked(self, keys: Sequence[str], shown: Shown) -> dict[str, Answer]:
        """What the studies answer; where nobody can be asked, each says so."""
        try:
            return await asyncio.to_thread(_ask_beside, keys, shown, self._state.catalogue)
        except Exception:  # noqa: BLE001 - whatever it was, nobody waits for what doesn't come
            return dict.fromkeys(keys, noted(", ".join(keys)))

    def _show(self, number: int, answers: dict[str, Answer], shown: Shown, seq: int, drawn: asyncio.Event) -> None:
        try:
            if number == self._newest:
                with together():
                    self._take(answers, shown, seq)
        finally:
            drawn.set()

    # --- telling

    def _take(self, answers: Mapping[str, Answer], shown: Shown, seq: int) -> None:
        """Keep what was found and tell it; what went wrong says so, and what else stands there stays dimmed."""
        for key, answer in answers.items():
            if isinstance(answer, str):
                self._fail(key, answer)
                continue
            try:
                self._keep(key, answer, shown, seq)
            except Exception:  # noqa: BLE001 - whatever it was, the others are told
                self._fail(key, noted(key))

    def _keep(self, key: str, answer: Told | Cures, shown: Shown, seq: int) -> None:
        self._of[key] = shown
        if isinstance(answer, Cures):
            said, self._buttons = answer.told(seq)
            self._put(key, said, seq)
            return
        self._told[key] = answer
        if key == DOUBT.key:
            self._banded(answer.band, shown)
        self._tell(_BY_KEY[key], seq)

    def _tell(self, tab: Tab, seq: int) -> None:
        told = self._told[tab.key]
        if tab.key == self._open or self._state.width is Width.NARROW:  # there several can stand open
            self._draw(tab)
        title = told.titles[self._state.width is Width.NARROW]
        self._put(tab.key, {**_BLANK, **told.words, **placed(title=title)}, seq)

    def _put(self, key: str, said: Mapping[str, str], seq: int) -> None:
        self.wire.param.update({parameter(key): dict(said), "studied": {**self.wire.studied, key: seq}})

    def _fail(self, key: str, mark: str) -> None:
        said = str(escape(f"Something went wrong here (id {mark}). The rest of the page holds."))
        place = "buttons" if key == KEY else "finding"
        before = {**_BLANK, "buttons": "", "hose": "", **self.words(key)}
        self.wire.param.update({parameter(key): {**before, place: said}})

    # --- drawing

    def _make_picture(self, tab: Tab) -> None:
        if tab.picture is not None:
            self.pictures[tab.key] = picture = tab.picture(self._state.width)
            self.places[tab.key].children = [picture.root]

    def _draw(self, tab: Tab) -> None:
        picture, drawn = self.pictures.get(tab.key), self._told[tab.key].drawn
        shown = False
        if picture is not None and drawn is not None:
            if tab.kept is not None:
                picture.keep(tab.kept(seen(self._state), all_seen(self._state)))
            picture.update(*drawn)
            shown = True
        if self.wire.pictured.get(tab.key) is not shown:
            self.wire.pictured = {**self.wire.pictured, tab.key: shown}
