"""The page of one visitor: state, wire, pictures and the template that holds them."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

import panel as pn
from bokeh.document import Document
from bokeh.models import Column
from panel.io.resources import LOCAL_DIST

from curvelab.app import chalks, link, setup_column
from curvelab.app.ahead import Ahead
from curvelab.app.beginning import Questions, form
from curvelab.app.edits import Edit, read_edit
from curvelab.app.holds import HANDLED, Holds
from curvelab.app.keeper import Keeper
from curvelab.app.plain import mishap, page_of
from curvelab.app.pointing import parts_of, said_html, seen_of
from curvelab.app.slots import logo, shapes, slots
from curvelab.app.state import AppState, Shown
from curvelab.app.studies import Studies
from curvelab.app.studies.cures import KEY
from curvelab.app.studies.tabs import TABS, study_rows
from curvelab.app.telling import Told, telling
from curvelab.app.theme import custom_properties
from curvelab.app.together import together
from curvelab.app.wire import Wire
from curvelab.figures.band import Band
from curvelab.figures.bench import Bench
from curvelab.figures.run import RunDrawing
from curvelab.layout.ghosts import Chalked
from curvelab.layout.sizes import Width, width_of
from curvelab.model.catalogue import Catalogue
from curvelab.model.link import decode
from curvelab.report import presets
from curvelab.report.answers import stations
from curvelab.report.chalk_pictures import with_chalk
from curvelab.report.chalked import CHALK, FIRST, HINT, TIP
from curvelab.report.pictures import bench_words, run_words
from curvelab.report.words import FOOTER, said

ASSETS: Final = "assets"
"""Route of the page's own files."""
MOST_EDITS: Final = 50
"""Most edits in one message. [-]"""
_SYSTEMS: Final = (("us", "US"), ("metric", "metric"), ("imperial", "imperial"))
_TEMPLATE: Final = (Path(__file__).parent / "templates" / "page.html").read_text(encoding="utf-8")
_log = logging.getLogger(__name__)


class Page:
    """One visitor's page. All that it holds belongs to the session and goes with it."""

    def __init__(
        self,
        catalogue: Catalogue,
        query: str = "",
        *,
        width: Width = Width.WIDE,
        latest: Callable[[], Catalogue] | None = None,
    ) -> None:
        opened = decode(query, catalogue)
        kept, unsolved = chalks.opened(opened.chalks, opened.setup.units, catalogue)
        notices = [*opened.problems, *unsolved]
        self.state = AppState(catalogue, opened.setup, width=width, notices=notices, chalks=kept)
        self.state.came_from = opened.name, self.state.setup
        self._seq = 0
        self.query: str | None = None
        """Query of the link that reopens what is shown; None where it would be too long."""
        self.words: dict[str, str] = {}
        """Words of the page by place, as HTML."""
        self._told: tuple[int, Told] = (0, Told())
        self.questions = Questions(self.state)
        self.wire = Wire(self._receive)
        self._bench_place, self._run_place = Column(sizing_mode="stretch_width"), Column(sizing_mode="stretch_width")
        self._holds = Holds(catalogue)
        self._revision = 0
        self._make_pictures()
        self._band: tuple[Band | None, Shown | None] = (None, None)
        self._draw()
        self.studies = Studies(self.state, self._banded)
        self._tell()
        self.keeper = Keeper(self.state, latest or (lambda: catalogue), self._renewed)
        self.state.watch(self._draw, "shown", "settled", "width", "chalks")
        self.state.watch(self.studies.lay_out, "width")
        self.state.watch(self.studies.keep, "chalks")

    def template(self) -> pn.Template:
        """The page as Panel serves it."""
        studies = {f"study_{key}": place for key, place in self.studies.places.items()}
        page = _Whole(_TEMPLATE, {"bench": self._bench_place, "run": self._run_place, **studies})
        page.add_panel("wire", self.wire)
        page.add_panel("keeper", self.keeper)
        page.add_panel("studies", self.studies.wire)
        state = self.state
        variables = {
            "page_title": f"{state.setup.title or 'A setup'} · curvelab",
            "assets": ASSETS,
            "tokens": custom_properties(),
            "logo": logo(),
            "shapes": shapes(),
            "slots": self.words,
            "tabs": TABS,
            "said": {key: self.studies.words(key) for key in (KEY, *(tab.key for tab in TABS))},
            "jobs": presets.groups(state.catalogue),
            "systems": _SYSTEMS,
            "begin": form(),
            "system": str(state.system),
            "width": str(state.width),
            "footer": FOOTER,
            "chalk_hint": HINT,
            "chalk_this": CHALK,
            "chalk_tip": TIP,
            "chalk_first": FIRST,
        }
        for name, value in variables.items():
            page.add_variable(name, value)
        return page

    @property
    def stations(self) -> list[dict[str, Any]]:
        """Structure of the setup column, as the browser has it."""
        return self._told[1].stations

    # --- from the browser

    def _receive(self, message: Any) -> None:
        """Answer a message with one message, whatever happens."""
        if not isinstance(message, dict) or not isinstance(message.get("edits"), list):
            return
        seq = message.get("seq")
        self._seq = seq if isinstance(seq, int) else self._seq + 1
        edits, held = message["edits"][:MOST_EDITS], message.get("held") is True
        with together():
            self._trying("a change", lambda: self._apply(edits, held=held), lambda: self._tell(message.get("has")))
            self.studies.due(self._seq)

    def _apply(self, messages: list[Any], *, held: bool) -> None:
        state = self.state
        kinds = {message.get("do"): message for message in messages if isinstance(message, dict)}
        if "width" in kinds and isinstance(kinds["width"].get("value"), (int, float)):
            state.width = width_of(kinds["width"]["value"])
        state.wave(kinds)
        edits: list[Edit] = []
        for message in messages:  # in the order of what was done: what is chalked is what stood there then
            what, edit = chalks.read_act(message), self._edit(message)
            if edit is not None:
                edits.append(edit)
            if what is not None:
                if edits:
                    state.apply(edits, held=False)
                chalks.act(state, what)
                edits = []
        if edits or "release" in kinds:
            state.apply(edits, held=held)
        for message in messages:
            if isinstance(message, dict):
                self._start(message)
                self._point(message)

    def _start(self, message: dict[str, Any]) -> None:
        """What puts another setup on the page: a step back or forth, four answers, a job."""
        do = message.get("do")
        if do in ("undo", "redo", "open"):
            self.questions.done()
        if do in ("undo", "redo"):
            self.state.step(back=do == "undo")
        elif do == "begin":
            self.questions.answer(message.get("value"))

    def _point(self, message: dict[str, Any]) -> None:
        """Somebody points at a picture or at one of its parts."""
        if message.get("do") not in ("parts", "point"):
            return
        seen, path = seen_of(self.state.shown, self._pump_name()), message.get("path")
        if message["do"] == "point":
            self.wire.said = {"key": path, "html": said_html(path, seen), "revision": self._revision}
        elif parts := parts_of(path, seen, self.run, self.bench):
            self.wire.parts = {**parts, "revision": self._revision}

    def _edit(self, message: Any) -> Edit | None:
        """An edit, or what a button of what would help stands for."""
        if isinstance(message, dict) and message.get("do") == "cure":
            fields = self.studies.cure(message.get("value"))
            return Edit("fields", value=fields) if fields is not None else None
        if isinstance(message, dict) and message.get("do") in HANDLED:
            return self._holds.edit(message, self.state.grasped)
        return read_edit(message)

    def _measured(self) -> None:
        """The browser has told how wide a picture is."""
        with together():
            self._trying("a picture", self._draw, self._tell)

    def _renewed(self) -> None:
        """The yard's lists have changed, and with them what stands on the page."""
        with together():
            self._trying("the yard’s new lists", self._draw, self._tell)
            self.studies.due(self._seq)

    def tell_that(self, notice: str) -> None:
        """Show a notice besides those that stand there."""
        self.state.notices = [*self.state.notices, notice]
        self._tell()

    def _trying(self, what: str, *acts: Callable[[], None]) -> None:
        """Do it and tell it; should that fail, the page goes on as it was before and shows the id that the log has."""
        before = self.state.standing()
        try:
            for act in acts:
                act()
        except Exception:  # noqa: BLE001 - whatever it was, the page goes on
            mark = secrets.token_hex(3)
            _log.exception("%s failed, id %s", what, mark)
            self._go_back(before, f"Something went wrong with {what} (id {mark}).")

    def _go_back(self, before: dict[str, Any], said: str) -> None:
        """Tell what stood there before; where even that can't be told, the message is answered all the same."""
        try:
            self.state.restore(before)
            self.state.notices = [f"{said} The page goes on as it was before."]
            self._tell()
        except Exception:  # noqa: BLE001 - as above
            _log.exception("nor could the page go on as it was")
            self.wire.trouble = {"seq": self._seq, "said": f"{said} Open the page anew: its link keeps the setup."}

    # --- to the browser

    def _tell(self, has: object = None) -> None:
        """Words, what the controls show, the link, and the number of the message answered: one update.

        A browser that ``has`` what was told last, and says so by its number, is told only what differs.
        """
        state, (number, before) = self.state, self._told
        known = before if has is not None and has == number else Told()
        setup, catalogue = state.setup, state.catalogue
        if state.settled:
            kept = [one.chalk for one in state.chalks]
            self.query, refusal = link.query_of(setup, catalogue, kept, chalks.name_of_present(state))
            if refusal and refusal not in state.notices:
                state.notices = [*state.notices, refusal]
        # Rows stay while a slider is held: were they made anew, it would slip from the hand that drags it.
        structure = setup_column.stations(setup, catalogue) if state.settled else before.stations
        panels = study_rows(setup, catalogue) if state.settled else self.wire.panels
        groups = [*structure, *(group for groups in panels.values() for group in groups)]
        self.words = slots(state, self.run.factor)
        told = Told(
            setup_column.values(setup, groups, catalogue),
            setup_column.costs(stations(state.shown.figures)),
            self.words,
            self.query,
            structure,
            chalks.ghosts(state, structure) if state.settled else before.ghosts,
            chalks.listed(state),
            chalks.offered(state),
        )
        self._told = self._seq, told
        now = {
            "seq": self._seq,
            **telling(known, told),
            "briefs": setup_column.briefs(setup, catalogue) if state.width is Width.NARROW else {},
            "faults": setup_column.by_row(state.faults, groups),
            "remarks": setup_column.by_row(state.remarks, groups),
            "holds": self._holds.places(setup, state.shown.figures),
            "revision": self._revision,
            "said": said(state.shown.figures),
            "undo": state.past.back > 0,
            "redo": state.past.forth > 0,
            "system": str(state.system),
            "width": str(state.width),
        }
        if panels != self.wire.panels:
            self.wire.panels = panels
        kinds = self._holds.kinds(setup)
        if kinds != self.wire.kinds:
            self.wire.kinds = kinds
        self.wire.param.update(
            now=now,
            begun=self.questions.told,
        )

    def _make_pictures(self) -> None:
        """Pictures anew, for other units or another layout of the page."""
        state = self.state
        self.bench = Bench(state.width, state.system, self._measured)
        self.run = RunDrawing(state.width, state.system, self._measured)

    def _draw(self) -> None:
        state, shown = self.state, self.state.shown
        if (self.bench.width, self.bench.system) != (state.width, state.system):
            self._make_pictures()
        curves = shown.curves()
        run = shown.solved.run
        kept = [(one.letter, chalks.seen(state, one), one.curves) for one in state.chalks]
        bench = with_chalk(bench_words(shown.figures, shown.setup, curves, self._pump_name()), chalks.seen(state), kept)
        chalked = [Chalked(letter, then.result, lines) for letter, then, lines in kept]
        self.bench.update(shown.result, curves, bench, chalked, settled=state.settled)
        self._mark()
        self.run.update(shown.result, run, run_words(shown.figures, shown.setup, run), settled=state.settled)
        for place, picture in ((self._bench_place, self.bench), (self._run_place, self.run)):
            if place.children != [picture.root]:
                place.children = [picture.root]
        self._holds.look(self.run, self.bench, settled=state.settled)
        self._revision += 1

    def _banded(self, band: Band | None, shown: Shown) -> None:
        """The doubts have told how sure the operating point is."""
        self._band = band, shown
        self._mark()

    def _mark(self) -> None:
        band, of = self._band
        self.bench.show_band(band, old=of is not self.state.shown)

    def _pump_name(self) -> str:
        choice = self.state.setup.pump
        pump = choice.record or self.state.catalogue.pumps.get(choice.id or "")
        return pump.label if pump is not None else "The pump"


class _Whole(pn.Template):
    """A template with pictures that go into the document as they are.

    Panel would wrap each, search it for panels, and look through all of its models again and again; the document looks
    through them once.
    """

    def __init__(self, template: str, pictures: Mapping[str, Column]) -> None:
        super().__init__(template)
        self._pictures = pictures

    def server_doc(self, doc: Document | None = None, *rest: Any, **named: Any) -> Document:
        """The document with everything in it."""
        document = doc if doc is not None else pn.state.curdoc
        with document.models.freeze():
            for name, picture in self._pictures.items():
                picture.name = name
                document.add_root(picture)
            return super().server_doc(document, *rest, **named)


def opener(latest: Callable[[], Catalogue]) -> Callable[[], pn.Template]:
    """What Panel calls for every visitor; ``latest`` gives the yard's lists as they are now."""

    def open_page() -> pn.Template:
        document = pn.state.curdoc
        # Bokeh cannot pull a document with binary columns a second time: the page opens its own link anew instead.
        document.config.update(reconnect_session=False, notify_connection_status=False)
        # Until it writes the page, Panel takes its own style sheets to be at a foreign host; a page whose session was
        # lost comes back over its socket alone and would keep that address.
        document.template_variables["dist_url"] = LOCAL_DIST
        query, width, mark = link.query_from(pn.state.session_args), guess_width(pn.state.headers), ""
        for tried in dict.fromkeys((query, "")):  # whatever is wrong with a link, there is a page
            try:
                page = Page(latest(), tried, width=width, latest=latest)
                if mark:
                    page.tell_that(f"Something went wrong with this link (id {mark}). This is the first setup instead.")
                page.keeper.start(document)
                Ahead(document).start()
                return page.template()
            except Exception:  # noqa: BLE001 - whatever it was, the log has it under an id that the visitor sees
                mark = secrets.token_hex(3)
                _log.exception("a page could not be opened, id %s", mark)
        return pn.Template(page_of(*mishap(mark)))

    return open_page


def guess_width(headers: Any) -> Width:
    """The layout to start with, before the browser has said how wide it is."""
    agent = str(headers.get("User-Agent", ""))
    if "Mobi" in agent:
        return Width.NARROW
    return Width.MEDIUM if "iPad" in agent or "Android" in agent else Width.WIDE
