"""What a visitor has set, and what came of it. Views read this; none reads a control."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import param

from curvelab.app.edits import Edit, change, moved_along
from curvelab.app.past import Past, in_units
from curvelab.errors import InputError
from curvelab.layout.sizes import Width
from curvelab.model.catalogue import Catalogue
from curvelab.model.chalk import Chalk
from curvelab.model.setup import Setup
from curvelab.report.refusals import refusal
from curvelab.report.rounded import Rounded, rounded
from curvelab.studies.curves import Curves
from curvelab.studies.result import Result
from curvelab.studies.solve import Solved, solved
from curvelab.units import System


@dataclass(frozen=True, slots=True)
class Shown:
    """A setup that could be solved, its solution, and its figures in the units shown."""

    solved: Solved
    figures: Rounded

    @property
    def setup(self) -> Setup:
        """The setup."""
        return self.solved.setup

    @property
    def result(self) -> Result:
        """Its numbers."""
        return self.solved.result

    @property
    def system(self) -> System:
        """The units it is shown in."""
        return self.figures.system

    def curves(self) -> Curves:
        """Its curves, for pictures: beyond the tested curve the site still asks, on to the frame's edge."""
        return self.solved.curves(to_flow_m3_s=1.1 * self.result.end_flow_m3_s)


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """A chalked setup, solved once, with its curves; ``name`` is empty until somebody gives it one."""

    letter: str
    shown: Shown
    curves: Curves
    name: str = ""

    @property
    def chalk(self) -> Chalk:
        """What of it goes into the link."""
        return Chalk(self.letter, self.shown.setup, self.name)


def keep(letter: str, shown: Shown, name: str = "") -> Kept:
    """Chalk a setup that was solved."""
    return Kept(letter, shown, shown.curves(), name)


def show(setup: Setup, catalogue: Catalogue) -> Shown:
    """Solve a setup for the page.

    Raises
    ------
    InputError
        If the setup names what the catalogue lacks, or its hose cannot lie as described.
    """
    answer = solved(setup, catalogue)
    return Shown(answer, rounded(answer.result, setup.units))


class AppState(param.Parameterized):
    """One visitor's page."""

    shown = param.ClassSelector(class_=Shown, allow_None=False, doc="The setup shown, with its solution.")
    width = param.ClassSelector(class_=Width, default=Width.WIDE, doc="How the page is laid out.")
    chalks = param.List(default=[], item_type=Kept, doc="Setups kept beside it, in the order of their letters.")
    wiped = param.List(default=[], item_type=Kept, doc="Those that were wiped, the last one last.")
    said = param.String(default="", doc="What came of the last thing done with them, in words.")
    settled = param.Boolean(default=True, doc="False while a slider is being dragged.")
    faults = param.Dict(default={}, doc="What was refused, in words, by the path of its control.")
    remarks = param.Dict(default={}, doc="What was changed along with an edit, in words, by the path of its control.")
    notices = param.List(default=[], item_type=str, doc="What the visitor should know and may wave away.")

    hidden = param.List(default=[], item_type=str, doc="Cautions waved away, by id, as long as the page is open.")

    def __init__(self, catalogue: Catalogue, setup: Setup, **params: Any) -> None:
        super().__init__(shown=show(setup, catalogue), **params)
        self.catalogue = catalogue
        self.past = Past()
        self._grasped: Setup | None = None
        self.came_from: tuple[str, Setup] | None = None
        """Name and setup of the chalked one that was brought back last: the present one's name while it is as that."""

    @property
    def setup(self) -> Setup:
        """The setup shown."""
        return self.shown.setup

    @property
    def grasped(self) -> Setup:
        """The setup from which a change starts: while something is held, the one in which it was grasped."""
        return self._grasped or self.setup

    @property
    def system(self) -> System:
        """The units shown."""
        return self.shown.system

    def apply(self, edits: Sequence[Edit], *, held: bool) -> None:
        """Make changes, one after another; what is refused stays as it was and says why.

        While a slider is held each change starts from the setup it was grasped in, so that what moved along with it
        (the points of a shortened hose) comes back with it.

        Parameters
        ----------
        held : bool
            A slider is still being dragged.
        """
        shown, faults, remarks = self.shown, {}, {}
        before = self._grasped or self.setup
        if held and self._grasped is None:
            self._grasped = self.setup
        for edit in edits:
            try:
                setup = change(self._grasped or shown.setup, edit, self.catalogue)
                if setup != shown.setup:
                    shown = show(setup, self.catalogue)
                remarks[edit.path] = moved_along(self._grasped or self.setup, setup, edit)
            except InputError as error:
                faults[edit.path] = refusal(error, edit.path, edit.value, shown.setup)
        if not held:
            self._grasped = None
            self.past.passed(before, shown.setup, edits)
        self.param.update(
            shown=shown, chalks=self._in_units(shown), settled=not held, faults=faults, remarks=remarks, said=""
        )

    def put(self, shown: Shown, chalks: Sequence[Kept], *, wiped: Sequence[Kept] | None = None, said: str = "") -> None:
        """Show another setup, or keep others beside it."""
        self._grasped = None
        self.past.passed(self.setup, shown.setup, ())
        self.param.update(
            shown=shown,
            chalks=sorted(chalks, key=lambda kept: kept.letter),
            wiped=list(self.wiped if wiped is None else wiped),
            settled=True,
            faults={},
            remarks={},
            said=said,
        )

    def in_same_units(self, kept: Kept, system: System) -> Kept:
        """A chalked setup in the units shown."""
        if kept.shown.system is system:
            return kept
        return keep(kept.letter, show(in_units(kept.shown.setup, system), self.catalogue), kept.name)

    def _in_units(self, shown: Shown) -> list[Kept]:
        if shown.system is self.system:
            return self.chalks
        return [self.in_same_units(kept, shown.system) for kept in self.chalks]

    def step(self, *, back: bool) -> None:
        """Go a step back, or forth again where one was undone."""
        if self._grasped is not None:
            return
        setup = self.past.undo(self.setup) if back else self.past.redo(self.setup)
        if setup is not None:
            shown = show(setup, self.catalogue)
            self.param.update(shown=shown, settled=True, faults={}, remarks={})

    def wave(self, kinds: Mapping[Any, Mapping[str, Any]]) -> None:
        """Wave notices away, or a caution that may be; or have the cautions back. Messages by what they ask for."""
        if "dismiss" in kinds:
            self.notices = []
        known = self.catalogue.cautions.get(str(kinds.get("hide", {}).get("value")))
        if known is not None and known.dismissible and known.id not in self.hidden:
            self.hidden = [*self.hidden, known.id]
        if "unhide" in kinds:
            self.hidden = []

    def standing(self) -> dict[str, Any]:
        """All that a change may change, to go back to."""
        return {name: getattr(self, name) for name in ("shown", "width", "chalks", "wiped", "hidden")}

    def restore(self, standing: Mapping[str, Any]) -> None:
        """Go back to what stood there before a change that failed half way."""
        self._grasped = None
        self.param.update(**standing, settled=True, faults={}, remarks={}, said="")

    def watch(self, show: Callable[..., None], *names: str) -> None:
        """Call ``show`` once when any of the named things changed."""
        self.param.watch(lambda *_: show(), list(names))
