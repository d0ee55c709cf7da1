"""The tabs of the studies, in the order of the page. This is the one place that lists them."""

from __future__ import annotations

from typing import Any, Final

from curvelab.app.studies.bores import BORES
from curvelab.app.studies.doubt import DOUBT
from curvelab.app.studies.longer import LONGER
from curvelab.app.studies.power import POWER
from curvelab.app.studies.pumps import PUMPS
from curvelab.app.studies.sums import SUMS
from curvelab.app.studies.tab import Tab
from curvelab.app.studies.times import CLOCK
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup

TABS: Final[tuple[Tab, ...]] = (LONGER, BORES, CLOCK, DOUBT, PUMPS, POWER, SUMS)
"""A tab more is a line here and a module beside this one: page, wire and template go through this list."""


def study_rows(setup: Setup, catalogue: Catalogue) -> dict[str, list[dict[str, Any]]]:
    """Structure of the tabs' own controls, by tab: groups of rows as the setup column has them."""
    return {tab.key: tab.rows(setup, catalogue) for tab in TABS if tab.rows is not None}
