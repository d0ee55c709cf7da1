"""The tab "More than one pump"."""

from __future__ import annotations

from functools import partial
from typing import Final

from curvelab.app.state import Shown
from curvelab.app.studies.tab import Tab, Told, placed, words
from curvelab.figures.plain import PlainPicture
from curvelab.layout.second import second_scene
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.report.alone import WITHOUT, FedSaid, fed_said, siphon_said
from curvelab.report.second import NAME, second_said
from curvelab.report.words import Said
from curvelab.studies.feeds import feeds
from curvelab.studies.second import second
from curvelab.studies.siphon import siphon

KEY: Final = "pumps"


def _ask(shown: Shown, catalogue: Catalogue) -> Told:
    setup = shown.setup
    found = second(setup, catalogue)
    said = second_said(found)
    without = siphon_said(siphon(setup, catalogue))
    html, studies = words("pumps.html"), words("studies.html")
    picture = said.picture
    table = html.ways(said, KEY, Said(WITHOUT, without) if without else None, _fed(setup, catalogue))
    return Told(
        words=placed(brief=said.brief, finding=studies.finding(said), table=table),
        titles=(picture.title[0], picture.title[-1]) if picture is not None else ("", ""),
        drawn=(found, picture) if picture is not None else None,
        buttons={f"{KEY}.{way}": fields for way, fields in said.buttons.items()},
    )


def _fed(setup: Setup, catalogue: Catalogue) -> FedSaid | None:
    if setup.outlet.kind not in ("nozzle", "sprinklers"):
        return None
    return fed_said(feeds(setup, catalogue=catalogue), setup.outlet.count or 1, setup.units)


PUMPS = Tab(key=KEY, title=NAME, ask=_ask, slow=True, picture=partial(PlainPicture, KEY, second_scene))
