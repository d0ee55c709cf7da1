"""The page's colours as CSS: the same constants that the pictures are drawn with."""

from __future__ import annotations

from curvelab.figures import theme

_NAMES = (
    *("FONT", "SHEET", "PAPER", "INK", "INK_2", "PIPE", "PUMP", "SUCT", "SUCT_TEXT", "ALERT", "CHALK", "HAIRLINE"),
    *("WATER_LINE", "LIFT", "RISE", "LEAVING", "EARTH"),
)


def custom_properties() -> str:
    """``:root`` with one custom property a constant: ``--ink-2``."""
    lines = (f"--{name.lower().replace('_', '-')}: {getattr(theme, name)};" for name in _NAMES)
    return f":root {{ {' '.join(lines)} }}"
