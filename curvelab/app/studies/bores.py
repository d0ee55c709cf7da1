"""The tab "Which hose size"."""

from __future__ import annotations

from curvelab.app.state import Shown
from curvelab.app.studies.tab import Tab, Told, placed, words
from curvelab.model.catalogue import Catalogue
from curvelab.report.bores import NAME, bores_said
from curvelab.studies.bores import bores


def _ask(shown: Shown, catalogue: Catalogue) -> Told:
    said, html = bores_said(bores(shown.setup, catalogue)), words("studies.html")
    return Told(words=placed(brief=said.brief, finding=html.finding(said), table=html.bores(said)))


BORES = Tab(key="bores", title=NAME, ask=_ask)
