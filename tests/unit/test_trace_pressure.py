"""A sheet whose axis shows pressures: heads of water, in the pump's file too, and everybody is told."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from curvelab.cli import answer
from curvelab.errors import InputError
from curvelab.model.pump import read_pump
from curvelab.report.traced import PRESSURES, UNITS, placed_said
from curvelab.tracing.axes import axes_of
from curvelab.tracing.frame import frame_from, load_frame
from curvelab.tracing.handed import handed
from curvelab.tracing.placed import placed_by_hand, placed_of
from curvelab.tracing.trace import trace
from tests.unit.demo_sheets import PICTURES

SHEET, MARKS = PICTURES / "sedge-2.jpg", PICTURES / "sedge-2.frame.toml"
MARKED = tomllib.loads(MARKS.read_text(encoding="utf-8"))
METRES_A = {"psi": 0.3048 * 2.31, "bar": 10.2, "kPa": 0.102}
"""Handbook values of cold water: 2.31 ft a psi (army manual TM 10-4320-317-13), 10.2 m a bar (from memory)."""


def table_in(unit: str, **more: object) -> dict[str, Any]:
    """The demo's frame with the numbers that its axis of metres would have in a unit of pressure."""
    marks = [{**mark, "head": mark["head"] / METRES_A[unit]} for mark in MARKED["mark"]]
    return {**MARKED, "head": unit, "mark": marks, "curve": MARKED["curve"][:1], **more}


@pytest.mark.parametrize("unit", METRES_A)
def test_a_pressure_is_the_head_of_water_that_the_handbooks_print(unit: str):
    found = frame_from(table_in(unit)).measure("head")
    assert found.one_si == pytest.approx(METRES_A[unit], rel=2e-3)  # printed to three figures
    assert found.written == ("ft" if unit == "psi" else "m")


def test_warm_water_stands_higher_for_the_same_pressure():
    """Density 999.1 kg/m³ at 15 °C, 958.4 at 100 °C: steam tables, from memory."""
    cold, hot = (
        frame_from(table_in("bar", temperature=text)).measure("head").one_si for text in ("15 degC", "99.9 degC")
    )
    assert hot / cold == pytest.approx(999.1 / 958.4, rel=1e-3)


def test_a_sheet_in_psi_gives_the_heads_of_the_same_sheet_in_metres():
    plain = trace(SHEET, frame_from({**MARKED, "curve": MARKED["curve"][:1]}))
    found = trace(SHEET, frame_from(table_in("psi")))
    at = np.interp(plain.flow_m3_s, found.flow_m3_s, found.head_m)
    assert at == pytest.approx(plain.head_m, rel=2e-3)
    placed = placed_of(found)
    assert max(value for _, value in placed.numbers) == pytest.approx(plain.head_m.max() / METRES_A["psi"], rel=5e-3)
    told = handed([placed], picture="sheet.jpg", own=False)
    head = told["tables"]["head"]
    assert head["head"] == "ft"
    assert max(value for _, value in head["points"]) == pytest.approx(plain.head_m.max() / 0.3048, rel=5e-3)
    assert told["source"].endswith("its pressures as heads of water at 20 °C, 2.31 ft a psi")
    assert "as heads of water at 20 °C, 2.31 ft a psi." in placed_said(placed).reach


def test_points_placed_by_hand_go_into_the_file_as_heads_too():
    frame = frame_from(table_in("bar"))
    axes = axes_of(frame, "head")
    placed = placed_by_hand(axes, [(300.0, 200.0), (600.0, 300.0)], [True, True], name="", quantity="head")
    points = handed([placed], picture="a.png", own=True)["tables"]["head"]
    assert points["head"] == "m"
    for (flow, bar), (same, metres) in zip(placed.numbers, points["points"], strict=True):
        assert flow == same
        assert metres == pytest.approx(bar * METRES_A["bar"], rel=3e-3)
        assert abs(metres - bar * axes.measure.one_si) <= 0.5 * 10.2 * 10.0 ** -_decimals(bar)


def _decimals(number: float) -> int:
    return len(str(number).partition(".")[2])


def test_the_command_writes_heads_and_says_what_it_took_the_pressures_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    text = MARKS.read_text(encoding="utf-8").replace('head = "m"', 'head = "kPa"\ntemperature = "60 degF"')
    (tmp_path / "kpa.frame.toml").write_text(text.split("[[curve]]")[0] + "[[curve]]" + text.split("[[curve]]")[1])
    target = tmp_path / "mine.toml"
    code = answer(["trace", str(SHEET), "--frame", str(tmp_path / "kpa.frame.toml"), "-o", str(target)])
    out, _ = capsys.readouterr()
    assert code == 0
    assert "pressures taken as heads of water at 60 °F, 0.102 m a kPa" in out
    pump = read_pump(target.name, target.parent)
    assert pump.head.head == "m"
    assert "its pressures as heads of water at 60 °F" in (pump.source or "")
    assert load_frame(tmp_path / "kpa.frame.toml").head == "kPa"


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"head": "stone"}, "head"), ({"head": "gpm"}, "head"), ({"head": "ft", "temperature": "20 degC"}, "temperature")],
)
def test_other_units_are_refused_and_so_is_a_temperature_that_tells_nothing(changed: dict[str, str], field: str):
    with pytest.raises(InputError) as refused:
        frame_from({**table_in("psi"), **changed})
    assert [fault.field for fault in refused.value.faults] == [field]


def test_every_pressure_that_the_page_offers_has_its_words():
    offered = {unit for unit, _ in UNITS["head"]}
    assert set(PRESSURES) == {"psi", "bar", "kPa"} == offered - {"ft", "m"}
    assert PRESSURES["psi"] == "Taken as heads of water at 20 °C, 2.31 ft a psi."
