"""The tab "How sure", and the line beside the answer's flow."""

from __future__ import annotations

from curvelab.app.state import Shown
from curvelab.app.studies.tab import Tab, Told, placed, words
from curvelab.app.water_rows import doubt_rows
from curvelab.figures.band import Band
from curvelab.figures.doubt import DoubtPicture
from curvelab.model.catalogue import Catalogue
from curvelab.report.doubt import NAME, doubt_said
from curvelab.studies.doubt import Doubt, doubt


def _ask(shown: Shown, catalogue: Catalogue) -> Told:
    found = doubt(shown.setup, catalogue=catalogue)
    said, html = doubt_said(found, shown.setup, shown.result), words("slow.html")
    picture = said.picture
    drawn = None
    if picture is not None:
        drawn = (found, shown.system, shown.result.flow_m3_s, shown.setup.goal.flow_m3_s, picture)
    return Told(
        words=placed(
            brief=said.brief,
            line=said.line,
            finding=html.finding(said),
            table=html.doubts(said.doubts),
            more=html.spread(said),
        ),
        titles=(picture.title[0], picture.title[-1]) if picture is not None else ("", ""),
        drawn=drawn,
        band=_band(found) if drawn is not None else None,
    )


def _band(found: Doubt) -> Band:
    flow, head = found.flow_m3_s, found.head_m
    return Band((flow.low, flow.high), None if head is None else (head.low, head.high))


DOUBT = Tab(key="doubt", title=NAME, ask=_ask, slow=True, picture=DoubtPicture, rows=doubt_rows)
