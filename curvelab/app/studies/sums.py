"""The tab "The sums": the whole calculation, written out."""

from __future__ import annotations

from curvelab.app.state import Shown
from curvelab.app.studies.tab import Tab, Told, placed, words
from curvelab.model.catalogue import Catalogue
from curvelab.report.sums import BRIEF, NAME, sums_said
from curvelab.studies.sums import sums


def _ask(shown: Shown, catalogue: Catalogue) -> Told:
    said, html = sums_said(sums(shown.setup, catalogue)), words("sums.html")
    return Told(words=placed(brief=BRIEF, finding=html.finding(said), table=html.lines(said)))


SUMS = Tab(key="sums", title=NAME, ask=_ask, slow=True, once_opened=True, brief=BRIEF)
