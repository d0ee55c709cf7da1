"""The Curves page as HTML: made anew for every visit, from the link's setup and the yard's files."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from curvelab.app.curves.asking import Shown
from curvelab.app.slots import logo
from curvelab.app.theme import custom_properties
from curvelab.model.catalogue import Catalogue
from curvelab.model.link import decode
from curvelab.report.words import FOOTER
from curvelab.units import System

SYSTEMS: Final = (("us", "US"), ("metric", "metric"), ("imperial", "imperial"))
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)


class CurvesPage(Shown):
    """The page itself."""

    def initialize(self, catalogue: Callable[[], Catalogue]) -> None:
        """``catalogue`` gives what the yard has now."""
        self._catalogue = catalogue

    def get(self) -> None:
        """Answer with the page."""
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(curves_page(self.request.query, self._catalogue()))


def curves_page(query: str, catalogue: Catalogue) -> str:
    """The page for a link's query."""
    opened = decode(query, catalogue)
    return _environment.get_template("curves.html").render(shell(query, opened.setup.units))


def shell(query: str, system: System) -> dict[str, Any]:
    """What the page has around its views."""
    return {
        "tokens": Markup(custom_properties()),  # noqa: S704 - our own constants
        "logo": Markup(logo()),  # noqa: S704 - our own drawing
        "query": query,
        "systems": SYSTEMS,
        "system": str(system),
        "footer": FOOTER,
    }
