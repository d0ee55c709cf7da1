"""Colours, type and strokes of the page's pictures, each named once."""

from __future__ import annotations

FONT = "-apple-system, Segoe UI, Roboto, Helvetica Neue, Arial, Liberation Sans, sans-serif"

SHEET = "#ffffff"
PAPER = "#f7f4ed"
INK = "#1b2a41"
INK_2 = "#48566a"
PIPE = "#0f6d7a"
PIPE_TEXT = "#0b5c68"
"""Words in the colour of the discharge, where they stand on tints and earth."""
PUMP = "#96400f"
SUCT = "#7a3f99"
SUCT_TEXT = "#4c2466"
ALERT = "#a3192f"
CHALK = "#545e6e"
OTHER_HOSE = "#848c9a"
HAIRLINE = "#d9d3c5"
GRID = "#e8eaed"
EARTH = "#e6dcc8"
EARTH_LINE = "#8a7858"
WATER = "#cfe5ec"
WATER_LINE = "#2c7894"

LIFT = "#33445c"
RISE = "#b4bdca"
LEAVING = "#a9cdd2"

BAND_LIFT = "#d9dee7"
BAND_RISE = "#e9ecf1"
BAND_SUCTION = "#e4d3ee"
BAND_DISCHARGE = "#d5e9eb"
BAND_LEAVING = "#e6f2f3"
BAND_PRESSURE = "#cfdcdf"

HATCH_GROUND = "#f6f0f9"
MARGIN = "#eee4f3"
PRESSURE_TINT = "#e8f1f3"
ESTIMATE = "#f0dfd2"

DOTTED = [2, 3]
DRY = [1, 4]
DASH_DOT = [9, 3, 2, 3]
PRESSURE_DASH = [8, 4]
CHALK_DASHES: dict[str, list[int]] = {"A": [7, 5], "B": [2, 4], "C": [9, 3, 2, 3]}
"""Dashes of the chalked setups' lines, by their letters."""

SLAB_FILL: dict[str, str] = {
    "lift": LIFT,
    "rise": RISE,
    "suction": SUCT,
    "discharge": PIPE,
    "leaving": LEAVING,
    "pressure": "#3f7984",
    "surplus": BAND_LEAVING,
    "vapour": WATER_LINE,
    "needs": PUMP,
    "spare": SHEET,
    "left": BAND_SUCTION,
    "lost": HATCH_GROUND,
    "short": SHEET,
}
"""Ground of each part of a column."""
CHALK_FILL: dict[str, str] = {
    "lift": "#dcdfe4",
    "rise": "#f2f3f5",
    "suction": "#f0e9f4",
    "discharge": "#d8e8ea",
    "leaving": "#eef5f6",
    "pressure": "#dfe9eb",
    "needs": "#f1e3da",
    "vapour": "#dcebf0",
}
"""Ground of each part of a chalked column, and of the ribbons; white where nothing stands here."""
SLAB_TEXT: dict[str, str] = {
    "lift": SHEET,
    "suction": SHEET,
    "discharge": SHEET,
    "pressure": SHEET,
    "vapour": SHEET,
    "needs": SHEET,
    "lost": SUCT,
    "short": ALERT,
    "left": SUCT_TEXT,
}
"""Figures on them; ink where nothing stands here."""
NAME_COLOUR: dict[str, str] = {"lost": SUCT, "short": ALERT}
"""Names beside a column; ink where nothing stands here."""
FIGURE_COLOUR: dict[str, str] = {"suction": SUCT, "lost": SUCT, "short": ALERT}
"""Figures that stand beside a name."""

TEXT_COLOUR: dict[str, str] = {
    "flow": INK,
    "head": INK,
    "pump": PUMP,
    "pump-note": PUMP,
    "site": PIPE_TEXT,
    "site-note": PIPE_TEXT,
    "band": INK_2,
    "chalk": CHALK,
    "chalk-note": CHALK,
    "gain": INK,
    "broken": SUCT,
    "crossing": INK,
    "margin": SUCT,
    "sentence": INK,
    "short": ALERT,
    "air": INK,
    "air-note": INK_2,
    "npsha": SUCT,
    "npshr": PUMP,
    "spare": INK,
    "limit": SUCT,
    "prime": ALERT,
    "over": ALERT,
    "over-note": ALERT,
    "hardest": INK,
    "pressure": PIPE_TEXT,
    "place": INK,
    "place-note": INK,
    "vacuum": SUCT,
    "vacuum-note": SUCT,
    "lift": LIFT,
    "water": "#1d566b",
    "stands": PIPE_TEXT,
}
"""Colours of the words on bench and run."""
