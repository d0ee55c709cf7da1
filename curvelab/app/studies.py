"""The studies below the page, and the buttons of what would help: asked when a change has settled, off the event loop.

Every request has a number; an answer that a newer request has overtaken is dropped. Models are touched only on the
document's own thread, once a request.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar, Final

import panel as pn
import param
from bokeh.models import Column
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import escape
from panel.custom import JSComponent
from panel.io import hold

from curvelab.app.state import AppState, Shown
from curvelab.app.wire import STATIC
from curvelab.figures.longer import LongerPicture
from curvelab.layout.sizes import Width
from curvelab.model.catalogue import Catalogue
from curvelab.report.bores import BoresSaid, bores_said
from curvelab.report.cures import TITLE, CureWords, Help, help_words, hose_words
from curvelab.report.longer import LongerSaid, longer_said
from curvelab.studies.bores import bores
from curvelab.studies.change import Value
from curvelab.studies.longer import Longer, longer
from curvelab.studies.mend import mend

QUIET_S: Final = 0.15
"""Without a change for so long a setup has settled. [s]"""
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("studies.html").module
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Studied:
    """Everything that the studies say of one setup."""

    shown: Shown
    found: Longer
    longer: LongerSaid
    bores: BoresSaid
    help: Help
    hose: CureWords | None


def study(shown: Shown, catalogue: Catalogue) -> Studied:
    """Ask all studies of a setup; pure, so that any thread may do it."""
    found, cures = longer(shown.setup, catalogue), mend(shown.setup, catalogue)
    return Studied(
        shown=shown,
        found=found,
        longer=longer_said(found),
        bores=bores_said(bores(shown.setup, catalogue)),
        help=help_words(cures, shown.figures),
        hose=hose_words(cures, shown.figures, shown.setup, catalogue),
    )


class StudyWire(JSComponent):
    """The studies' words on their way to the browser; it sends nothing back."""

    studied = param.Dict(default={"seq": 0, "flows": True}, doc="Number of the change that the words belong to.")
    longer_brief = param.String(default="", doc="Words by place; HTML, escaped where it was made.")
    longer_finding = param.String(default="")
    longer_title = param.String(default="")
    longer_table = param.String(default="")
    bores_brief = param.String(default="")
    bores_finding = param.String(default="")
    bores_table = param.String(default="")
    cures = param.String(default="")
    hose = param.String(default="")

    PLACES: ClassVar[tuple[str, ...]] = (
        *("longer_brief", "longer_finding", "longer_title", "longer_table", "bores_brief", "bores_finding"),
        *("bores_table", "cures", "hose"),
    )

    _esm = (STATIC / "studies.js").read_text(encoding="utf-8")


class Studies:
    """The studies of one visitor's page."""

    def __init__(self, state: AppState) -> None:
        self._state = state
        self._document = pn.state.curdoc
        self._newest = 0
        self._task: asyncio.Task[None] | None = None
        self._cures: dict[str, Mapping[str, Value]] = {}
        self.wire = StudyWire()
        self.place = Column(sizing_mode="stretch_width")
        self._now = study(state.shown, state.catalogue)
        self._make_picture()
        self._tell(self._now, 0)

    def lay_out(self) -> None:
        """The picture anew for another layout of the page."""
        self._make_picture()
        self._tell(self._now, self.wire.studied["seq"])

    def due(self, seq: int) -> None:
        """The change with this number was answered: ask again once it has been quiet, unless nothing is different."""
        self._newest += 1
        if self._state.shown is self._now.shown:
            self.wire.studied = {**self.wire.studied, "seq": seq}
        elif self._state.settled:
            self._task = asyncio.get_running_loop().create_task(self._ask(self._newest, seq))

    def cure(self, key: object) -> Mapping[str, Value] | None:
        """The fields that a button sets; ``None`` where it is of a setup that has changed since."""
        return self._cures.get(str(key)) if self._state.shown is self._now.shown else None

    async def _ask(self, number: int, seq: int) -> None:
        await asyncio.sleep(QUIET_S)
        if number != self._newest:
            return
        try:
            studied = await asyncio.to_thread(study, self._state.shown, self._state.catalogue)
        except Exception:  # noqa: BLE001 - whatever it was, the page goes on and says so
            mark = secrets.token_hex(3)
            _log.exception("the studies failed, id %s", mark)
            self._document.add_next_tick_callback(partial(self._fail, number, mark))
            return
        self._document.add_next_tick_callback(partial(self._show, number, studied, seq))

    def _show(self, number: int, studied: Studied, seq: int) -> None:
        if number == self._newest:
            with hold():
                self._now = studied
                self._draw()
                self._tell(studied, seq)

    def _fail(self, number: int, mark: str) -> None:
        """Say so in place of the findings; what else stands there stays dimmed."""
        if number == self._newest:
            said = str(escape(f"Something went wrong with the studies (id {mark}). The rest of the page holds."))
            self.wire.param.update(longer_finding=said, bores_finding=said)

    def _make_picture(self) -> None:
        self.picture = LongerPicture(self._state.width)
        self._draw()
        self.place.children = [self.picture.root]

    def _draw(self) -> None:
        words = self._now.longer.picture
        if words is not None:
            self.picture.update(self._now.found, words)

    def _tell(self, studied: Studied, seq: int) -> None:
        buttons = [*studied.help.buttons, *([studied.hose] if studied.hose is not None else [])]
        keys = [f"{seq}.{place}" for place in range(len(buttons))]
        self._cures = {key: button.changes for key, button in zip(keys, buttons, strict=True)}
        picture = studied.longer.picture
        filled = {
            "longer_brief": studied.longer.brief,
            "longer_finding": _words.finding(studied.longer),
            "longer_title": picture.title[self._state.width is Width.NARROW] if picture is not None else "",
            "longer_table": _words.lengths(studied.longer),
            "bores_brief": studied.bores.brief,
            "bores_finding": _words.finding(studied.bores),
            "bores_table": _words.bores(studied.bores),
            "cures": _words.cures(TITLE, studied.help, keys),
            "hose": _words.hose(studied.hose, keys[-1] if keys else ""),
        }
        self.wire.param.update(
            studied={"seq": seq, "flows": studied.found.flows},
            **{name: str(escape(html)).strip() for name, html in filled.items()},
        )
