"""The studies as text: what their commands print without ``--json``. The sentence comes first, then the table."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from curvelab.model.fields import field_of
from curvelab.model.setup import Setup
from curvelab.report.words import LOCAL_CODES
from curvelab.studies.choose import Choices
from curvelab.studies.compare import Comparison
from curvelab.studies.curves import Curves
from curvelab.studies.find import Finds
from curvelab.studies.limit import LimitFound
from curvelab.studies.mend import Mend
from curvelab.studies.run import Run
from curvelab.studies.sums import Sums, figure
from curvelab.studies.vary import Variation
from curvelab.units import Quantity, System, display_unit, gallon_word, show

NOTHING: Final = "–"
MOST_ROWS: Final = 20
"""Rows of a ranking that are printed; ``--json`` has all."""

_LEFT: Final = "<"


def columns(heads: Sequence[str], rows: Iterable[Sequence[str]], align: str = "") -> str:
    """A plain table: two spaces between columns, those marked ``<`` in ``align`` to the left, the rest to the right."""
    lines = [list(heads), *(list(row) for row in rows)]
    widths = [max(len(line[at]) for line in lines) for at in range(len(heads))]
    sides = [align[at : at + 1] or ">" for at in range(len(heads))]

    def printed(line: Sequence[str]) -> str:
        cells = (cell.ljust(w) if s == _LEFT else cell.rjust(w) for cell, w, s in zip(line, widths, sides, strict=True))
        return "  ".join(cells).rstrip()

    return "\n".join(printed(line) for line in lines)


def _flow_head(system: System) -> str:
    kind = gallon_word(system)
    unit = display_unit(Quantity.FLOW, system).symbol
    return f"{kind} {unit}" if kind else unit


def _number(value: float | None, quantity: Quantity, system: System) -> str:
    if value is None:
        return NOTHING
    unit = display_unit(quantity, system)
    return show(value, quantity, system, unit=display_unit(quantity, system, value) != unit)


def _money(value: float | None) -> str:
    return NOTHING if value is None else f"{value:+.0f}".replace("-", "−") if value else "0"


def comparison_text(found: Comparison, setups: Sequence[Setup]) -> str:
    """Setups side by side, a row each."""
    system = setups[0].units
    rows = [
        (
            setup.title or f"setup {at + 1}",
            str(result.state),
            _number(result.flow_m3_s, Quantity.FLOW, system),
            _number(result.head_m, Quantity.HEAD, system),
        )
        for at, (setup, result) in enumerate(zip(setups, found.results, strict=True))
    ]
    heads = ("setup", "state", _flow_head(system), f"head {display_unit(Quantity.HEAD, system).symbol}")
    return f"{found.sentence}\n\n{columns(heads, rows, '<<')}"


def variation_text(found: Variation, setup: Setup) -> str:
    """Flow against the field, a column for each curve."""
    system = setup.units
    field, _ = field_of(found.field)
    curves = found.curves or (found,)
    heads = (
        field.label,
        *((curve.label or _flow_head(system)) for curve in curves),
        "state" if not found.curves else "",
    )

    def value_text(value: float | str) -> str:
        return str(value) if isinstance(value, str) or field.quantity is None else show(value, field.quantity, system)

    rows: list[tuple[str, ...]] = []
    for at, value in enumerate(found.values):
        flows = tuple(_number(_known(curve.columns.flow_m3_s[at]), Quantity.FLOW, system) for curve in curves)
        rows.append((value_text(value), *flows, "" if found.curves else str(found.columns.state[at])))
    return f"{found.sentence}\n\n{columns(heads, rows)}"


def _known(value: float) -> float | None:
    return None if math.isnan(value) else float(value)


def limit_text(found: LimitFound) -> str:
    """The sentence says it all."""
    return found.sentence


def choices_text(found: Choices, setup: Setup) -> str:
    """Changes with what each gains, costs and weighs."""
    system = setup.units
    rows = [
        (
            row.change,
            row.state + (", hose rated too low" if row.over_rated else ""),
            _number(row.flow_m3_s, Quantity.FLOW, system),
            _signed(row.gain_m3_s, Quantity.FLOW, system),
            _money(row.cost),
            _signed(row.mass_kg, Quantity.MASS, system),
        )
        for row in found.rows
    ]
    heads = ("change", "state", _flow_head(system), "gain", "hire a day", display_unit(Quantity.MASS, system).symbol)
    return f"{found.sentence}\n\n{columns(heads, rows, '<<')}"


def mend_text(found: Mend, setup: Setup) -> str:
    """What would help, with where it leads."""
    rows = [
        (row.change, row.state, _number(row.flow_m3_s, Quantity.FLOW, setup.units), _money(row.cost))
        for row in found.rows
    ]
    heads = ("what would help", "state", _flow_head(setup.units), "hire a day")
    table = f"\n\n{columns(heads, rows, '<<')}" if rows else ""
    return f"{found.sentence}{table}\n\n{LOCAL_CODES}"


def finds_text(found: Finds, setup: Setup) -> str:
    """The best combinations, then the pumps refused."""
    system = setup.units
    able = [row for row in found.rows if row.refused is None][:MOST_ROWS]
    rows = [
        (
            row.pump,
            row.suction,
            row.discharge,
            (row.state or "") + (", hose rated too low" if row.over_rated else ""),
            _number(row.flow_m3_s, Quantity.FLOW, system),
            NOTHING if row.cost is None else f"{row.cost:.0f}",
            _number(row.mass_kg, Quantity.MASS, system),
        )
        for row in able
    ]
    mass = display_unit(Quantity.MASS, system).symbol
    heads = ("pump", "suction", "discharge", "state", _flow_head(system), "hire a day", mass)
    refused = [f"  {row.pump}: {row.refused}" for row in found.rows if row.refused is not None]
    tail = "\n\nRefused\n" + "\n".join(refused) if refused else ""
    return f"{found.sentence}\n\n{columns(heads, rows, '<<<<')}{tail}"


def sums_text(found: Sums) -> str:
    """The calculation, three lines of text a line."""
    blocks = [
        f"{line.title}: {line.formula}\n  {line.numbers} = {figure(line.value)} {line.unit}".rstrip()
        + f"\n  {line.source}"
        for line in found.lines
    ]
    return f"{found.sentence}\n\n" + "\n".join(blocks)


def curves_text(found: Curves, setup: Setup) -> str:
    """Heads against flow, every tenth of the columns at most."""
    system = setup.units
    step = max(1, len(found.flow_m3_s) // MOST_ROWS)
    names = {"system": found.system_head_m, "pump": found.pump_head_m, "NPSHA": found.npsha_m, "NPSHR": found.npshr_m}
    rows = [
        (
            _number(float(found.flow_m3_s[at]), Quantity.FLOW, system),
            *(_number(_known(column[at]), Quantity.HEAD, system) for column in names.values()),
        )
        for at in range(0, len(found.flow_m3_s), step)
    ]
    unit = display_unit(Quantity.HEAD, system).symbol
    return columns((_flow_head(system), *(f"{name} {unit}" for name in names)), rows)


def run_text(found: Run, setup: Setup) -> str:
    """Corners of the route, from the pump outwards."""
    system = setup.units
    rows = [
        (
            show(float(found.distance_m[at]), Quantity.LENGTH, system),
            show(float(found.height_m[at]), Quantity.LENGTH, system),
            _number(_known(found.gauge_pa[at]), Quantity.PRESSURE, system),
            _number(_known(found.dead_head_pa[at]), Quantity.PRESSURE, system),
            _number(_known(found.rating_pa[at]), Quantity.PRESSURE, system),
        )
        for at in range(len(found.distance_m))
    ]
    unit = display_unit(Quantity.PRESSURE, system).symbol
    heads = ("along the hose", "above the pump", f"running {unit}", f"could see {unit}", f"rated {unit}")
    return columns(heads, rows)


def _signed(value: float | None, quantity: Quantity, system: System) -> str:
    if value is None:
        return NOTHING
    text = _number(abs(value), quantity, system)
    return text if text == "0" else f"{'+' if value >= 0.0 else '−'}{text}"
