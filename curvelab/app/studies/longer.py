"""The tab "Longer hose"."""

from __future__ import annotations

from curvelab.app.state import Shown
from curvelab.app.studies.tab import Tab, Told, placed, words
from curvelab.figures.longer import LongerPicture
from curvelab.model.catalogue import Catalogue
from curvelab.report.chalk_pictures import kept_points
from curvelab.report.longer import NAME, longer_said
from curvelab.studies.longer import longer


def _ask(shown: Shown, catalogue: Catalogue) -> Told:
    found = longer(shown.setup, catalogue)
    said, html = longer_said(found), words("studies.html")
    picture = said.picture
    return Told(
        words=placed(brief=said.brief, finding=html.finding(said), table=html.lengths(said)),
        titles=(picture.title[0], picture.title[-1]) if picture is not None else ("", ""),
        drawn=(found, picture) if picture is not None else None,
    )


LONGER = Tab(key="longer", title=NAME, ask=_ask, picture=LongerPicture, kept=kept_points)
