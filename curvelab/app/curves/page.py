"""The Curves page as HTML: made anew for every visit, from the link's setup and the yard's files."""

from __future__ import annotations

import asyncio
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from curvelab.app.curves.asking import Asked, Shown
from curvelab.app.curves.fleet import Fleet, fleet_html, pump_html
from curvelab.app.curves.forms import form_html
from curvelab.app.curves.saving import yard_html
from curvelab.app.curves.testing import readings_html
from curvelab.app.curves.tracing import trace_html
from curvelab.app.plain import Careful
from curvelab.app.slots import logo
from curvelab.app.theme import custom_properties
from curvelab.model.catalogue import Catalogue, catalogue_faults, catalogue_mark, yard_folder
from curvelab.model.link import encode
from curvelab.report.words import FOOTER
from curvelab.report.yard import STALE, unread

SYSTEMS: Final = (("us", "US"), ("metric", "metric"), ("imperial", "imperial"))
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)


class CurvesPage(Shown):
    """The page itself."""

    write_error = Careful.write_error

    async def get(self) -> None:
        """Answer with the page; the yard's files are read off the event loop."""
        html = await asyncio.to_thread(lambda: curves_page(self.request.query, self.catalogue()))
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(html)


def curves_page(query: str, catalogue: Catalogue) -> str:
    """The page for a link's query."""
    fleet = Fleet.of(query, catalogue)
    yard = yard_folder() is not None
    return _environment.get_template(
        "curves.html"
    ).render(
        tokens=Markup(custom_properties()),  # noqa: S704 - our own constants
        logo=Markup(logo()),  # noqa: S704 - our own drawing
        query=query,
        now=fleet.now,
        systems=SYSTEMS,
        system=str(fleet.system),
        fleet=Markup(fleet_html(fleet)),  # noqa: S704 - escaped where it was made
        trace=Markup(trace_html(fleet.system)),  # noqa: S704 - likewise
        form=Markup(form_html(catalogue, fleet.system, yard=yard)),  # noqa: S704 - likewise
        test=Markup(readings_html(fleet, yard=yard)),  # noqa: S704 - likewise
        yard=Markup(yard_html()) if yard else "",  # noqa: S704 - likewise
        mark=catalogue_mark(),
        unread=" ".join([STALE, *faults[:1]]) if (faults := unread(catalogue_faults(), yard_folder())) else "",
        footer=FOOTER,
    )


class FleetAsked(Asked):
    """The fleet again: in other units, or after the yard's files have changed."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``query`` of the setup, ``units`` wished."""
        fleet = Fleet.of(str(asked.get("query", "")), self.catalogue())
        units = asked.get("units")
        query = str(asked.get("query", ""))
        if units is not None and units != fleet.system:
            query = encode(fleet.setup.with_("units", str(units)), fleet.opened.chalks, fleet.catalogue)
            fleet = Fleet.of(query, fleet.catalogue)
        pumps = [(key, pump.label) for key, pump in fleet.pumps.items()]
        return {"html": fleet_html(fleet), "query": query.removeprefix("?"), "now": fleet.now, "pumps": pumps}


class PumpAsked(Asked):
    """One pump large."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """``query`` of the setup, ``key`` of the pump, ``width`` of the picture in px."""
        fleet = Fleet.of(str(asked.get("query", "")), self.catalogue())
        html = pump_html(fleet, str(asked.get("key", "")), asked.get("width"))
        return {"html": html}
