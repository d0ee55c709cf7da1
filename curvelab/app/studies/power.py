"""The tab "Power and fuel"."""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from curvelab.app.rows import slider
from curvelab.app.state import Shown
from curvelab.app.studies.tab import Tab, Told, placed, words
from curvelab.figures.plain import PlainPicture
from curvelab.layout.engine import engine_scene
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.report.work import NAME, work_said
from curvelab.studies.work import work

KEY: Final = "power"


def _ask(shown: Shown, catalogue: Catalogue) -> Told:
    found = work(shown.setup, catalogue)
    said, html = work_said(found), words("pumps.html")
    picture = said.picture
    return Told(
        words=placed(
            brief=said.brief,
            finding=words("studies.html").finding(said),
            table=html.loads(said),
            more=html.engines(said),
        ),
        titles=(picture.title[0], picture.title[-1]) if picture is not None else ("", ""),
        drawn=(found, picture) if picture is not None else None,
    )


def _rows(setup: Setup, _catalogue: Catalogue) -> list[dict[str, Any]]:
    return [{"name": "The air at the engine", "rows": [slider(setup, "site.air_temperature", "Air temperature")]}]


POWER = Tab(key=KEY, title=NAME, ask=_ask, slow=True, picture=partial(PlainPicture, KEY, engine_scene), rows=_rows)
