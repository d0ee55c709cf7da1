"""What is said when somebody points at a part of a picture: a sentence, formulas with their numbers, and a source."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.report.rounded import Figure, Rounded
from curvelab.report.table import item_name
from curvelab.studies.run import Run
from curvelab.studies.sumline import Line, figure
from curvelab.studies.sums import sums
from curvelab.units import Quantity, show


@dataclass(frozen=True, slots=True)
class Formula:
    """One line of the calculation: ``h = v² / (2 g)``, its numbers in SI and what they come to."""

    formula: str
    numbers: str
    value: str


@dataclass(frozen=True, slots=True)
class PartSaid:
    """What a part is. ``title`` has its name and its figure, ``given`` what stands in the formulas, in shown units."""

    title: str
    sentence: str
    formulas: tuple[Formula, ...] = ()
    given: tuple[tuple[str, str], ...] = ()
    source: str = ""


@dataclass(frozen=True)
class Seen:
    """A solved setup to which somebody points."""

    figures: Rounded
    setup: Setup
    run: Run
    pump: str
    """The pump's name."""
    catalogue: Catalogue = field(repr=False)

    @cached_property
    def sums(self) -> dict[str, tuple[Line, ...]]:
        """Lines of the calculation by their part."""
        return dict(sums(self.setup, self.catalogue).parts)

    def lines(self, part: str, *titles: str) -> list[Line]:
        """Lines of a part whose titles begin so, in the order asked for; every line where no title is given."""
        found = next((lines for name, lines in self.sums.items() if name.startswith(part)), ())
        return [line for title in titles for line in found if line.title.startswith(title)] if titles else list(found)

    def figure(self, item: str) -> Figure | None:
        """Figure of a part of ledger or budget."""
        return self.figures.ledger.get(item, self.figures.budget.get(item))

    def title(self, item: str, number: Figure) -> str:
        """Name and figure of a part: ``Discharge hose 27.3 ft``."""
        return f"{item_name(item, self.figures.result, self.setup)} {number}"

    def shown(self, si: float, quantity: Quantity) -> str:
        """An amount in the units shown."""
        return show(si, quantity, self.figures.system)


def made(title: str, sentence: str, lines: list[Line], given: tuple[tuple[str, str], ...] = ()) -> PartSaid:
    """Words of a part with the lines of the calculation that come to it."""
    sources = dict.fromkeys(line.source for line in lines)
    return PartSaid(title, sentence, tuple(map(_formula, lines)), given, "; ".join(sources))


def _formula(line: Line) -> Formula:
    value = figure(line.value)
    numbers = "" if line.numbers == value else line.numbers
    return Formula(line.formula, numbers, f"{value} {line.unit}".strip())
