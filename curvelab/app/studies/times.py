"""The tab "How long it takes"."""

from __future__ import annotations

from curvelab.app.state import Shown
from curvelab.app.studies.tab import Tab, Told, placed, words
from curvelab.app.water_rows import clock_rows
from curvelab.figures.times import TimesPicture
from curvelab.model.catalogue import Catalogue
from curvelab.report.times import NAME, times_said
from curvelab.studies.times import times


def _ask(shown: Shown, catalogue: Catalogue) -> Told:
    found = times(shown.setup, catalogue)
    said, html = times_said(found, shown.result), words("slow.html")
    picture = said.picture
    return Told(
        words=placed(
            brief=said.brief,
            line=html.does(said.line),
            finding=html.finding(said),
            table=html.tables(said.course),
            more=html.tables(said.others),
        ),
        titles=(picture.title[0], picture.title[-1]) if picture is not None else ("", ""),
        drawn=(found, picture) if picture is not None else None,
    )


CLOCK = Tab(key="clock", title=NAME, ask=_ask, slow=True, picture=TimesPicture, rows=clock_rows)
