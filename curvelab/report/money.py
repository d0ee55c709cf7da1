"""Money as a counter says it: whole, with its sign or its three letters."""

from __future__ import annotations

from typing import Final

_SIGNS: Final = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}
"""Signs that stand before an amount, by currency."""


def money(amount: float, currency: str) -> str:
    """``$39``; with its letters where the currency has no sign that everybody knows."""
    whole = f"{round(abs(amount)):,}"
    sign = _SIGNS.get(currency)
    text = f"{sign}{whole}" if sign else f"{currency} {whole}".strip()
    return f"−{text}" if amount <= -0.5 else text
