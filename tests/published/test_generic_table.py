"""Sixty-three flows of whole systems, computed once by another program: every one comes out to the printed gallon.

Not published: generic curves that belong to no maker, worked out with Darcy, Weisbach and Colebrook before this package
was begun. 8 ft of lift and 12 ft of rise, 20 ft of suction hose as wide as the port (0.3 mm), lay-flat (0.05 mm), a
free end, 68 °F. The table does not state its fittings; one loss of 5 velocity heads on the suction gives all of it.
"""

from __future__ import annotations

import itertools

import pytest

from curvelab.studies.solve import solve
from curvelab.studies.vary import vary
from tests.published.study_checks import generic_setup
from tests.unit.study_cases import FOOT, GPM

LENGTHS_FT = (50, 100, 200, 300, 500, 1000, 2000)
INCH = 0.0254

PUMPS = {  # shut-off head in ft, greatest flow in gal/min, port in in
    "2 in clear": (100, 160, 2),
    "3 in semi-trash": (90, 275, 3),
    "3 in trash": (90, 380, 3),
    "4 in trash": (95, 560, 4),
}
TABLE = [  # pump, hoses, their bore in in, flows in gal/min at the lengths above
    ("2 in clear", 1, 2, (108, 100, 89, 80, 69, 53, 39)),
    ("2 in clear", 1, 3, (118, 116, 114, 111, 107, 97, 84)),
    ("2 in clear", 2, 2, (116, 114, 108, 104, 97, 83, 67)),
    ("3 in semi-trash", 1, 2, (160, 136, 108, 93, 75, 54, 38)),
    ("3 in semi-trash", 1, 3, (206, 198, 184, 173, 156, 128, 100)),
    ("3 in semi-trash", 2, 3, (214, 212, 207, 203, 194, 178, 154)),
    ("3 in trash", 1, 3, (257, 242, 219, 202, 176, 139, 105)),
    ("3 in trash", 1, 4, (273, 269, 261, 253, 240, 214, 180)),
    ("4 in trash", 1, 4, (420, 406, 382, 362, 329, 275, 216)),
]
CELLS = [
    (pump, count, bore, length, flow)
    for pump, count, bore, flows in TABLE
    for length, flow in zip(LENGTHS_FT, flows, strict=True)
]


def setup_of(pump: str, count: int, bore: int, length_ft: float):
    shut_off, greatest, port = PUMPS[pump]
    return generic_setup(shut_off * FOOT, greatest * GPM, port * INCH, bore * INCH, length_ft * FOOT, abreast=count)


@pytest.mark.parametrize(("pump", "count", "bore", "length", "flow"), CELLS)
def test_flow_to_the_printed_gallon(pump: str, count: int, bore: int, length: int, flow: int):
    result = solve(setup_of(pump, count, bore, length))
    assert result.flow_m3_s is not None
    assert round(result.flow_m3_s / GPM) == flow


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]}, {row[1]} × {row[2]} in")
def test_a_row_is_a_sweep(row: tuple[str, int, int, tuple[int, ...]]):
    pump, count, bore, flows = row
    lengths = [length * FOOT for length in LENGTHS_FT]
    swept = vary(setup_of(pump, count, bore, 50), "discharge.leg.0.length", lengths).columns.flow_m3_s / GPM
    assert [round(flow) for flow in swept.tolist()] == list(flows)


def test_the_table_is_whole():
    assert len(CELLS) == 63
    assert all(a >= b for *_, flows in TABLE for a, b in itertools.pairwise(flows))
