"""Every pump with every hose against a plain loop; several setups side by side."""

from __future__ import annotations

import itertools
import json
import random
from dataclasses import replace
from types import MappingProxyType

import pytest

from curvelab.errors import InputError
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.setup import Setup
from curvelab.studies.compare import compare, friction_head, margin
from curvelab.studies.find import Finds, Found, find
from curvelab.studies.kit import kit_of
from curvelab.studies.result import Result
from curvelab.studies.solve import solve
from tests.unit.study_cases import GPM, NAMES, SYSTEMS, assert_sentence, demo
from tests.unit.test_studies_choose_mend import dangers, perhaps_starved

FULL = default_catalogue()


def some(pumps: tuple[str, ...], hoses: tuple[str, ...]) -> Catalogue:
    """A small yard, so that a plain loop over it ends."""
    return replace(
        FULL,
        pumps=MappingProxyType({name: FULL.pumps[name] for name in pumps}),
        hoses=MappingProxyType({name: FULL.hoses[name] for name in hoses}),
    )


SMALL = some(("ferrow-3", "sedge-2", "tarn-2h", "linnet-3"), ("suction-smooth", "lay-flat-light", "lay-flat-heavy"))


def variant(setup: Setup, pump: str, suction: tuple[str, str], discharge: tuple[str, str]) -> Setup:
    """One combination, set field by field."""
    setup = setup.with_("pump.id", pump)
    for side, (hose, size) in (("suction", suction), ("discharge", discharge)):
        legs = (setup.suction if side == "suction" else setup.discharge).leg
        for at, leg in enumerate(legs):
            table = {"hose": hose, "size": size, "length": leg.length.text, "abreast": leg.abreast, "k": leg.k}
            setup = setup.with_(f"{side}.leg.{at}", table | {"fittings": dict(leg.fittings)})
    return setup


def hoses_for(catalogue: Catalogue, use: str) -> list[tuple[str, str]]:
    return [(hose.id, size.size.text) for hose in catalogue.hoses.values() if hose.use == use for size in hose.size]


def brute(setup: Setup, catalogue: Catalogue) -> dict[tuple[str, str, str], tuple[Result, Setup]]:
    """All combinations, one solve each."""
    out: dict[tuple[str, str, str], tuple[Result, Setup]] = {}
    sides = (hoses_for(catalogue, "suction"), hoses_for(catalogue, "discharge"))
    for pump, suction, discharge in itertools.product(catalogue.pumps, *sides):
        one = variant(setup, pump, suction, discharge)
        try:
            out[pump, " ".join(suction), " ".join(discharge)] = (solve(one, catalogue), one)
        except InputError:
            continue
    return out


def key(row: Found) -> tuple[str, str, str]:
    return row.pump, row.suction, row.discharge


def runs_well(result: Result) -> bool:
    return str(result.state) == "sound" and not dangers(result) and not perhaps_starved(result)


@pytest.mark.parametrize("name", ["mill-pond", "wash-down"])
@pytest.mark.parametrize("goal", [None, "60 gpm"])
def test_the_best_is_never_beaten_by_a_plain_loop(name: str, goal: str | None):
    setup = demo(name).with_("goal", {"flow": goal} if goal else {}).with_("job.solids", "3/16 in")
    setup = setup.with_("pump.id", "ferrow-3")
    every = brute(setup, SMALL)
    found = find(setup, SMALL)
    rows = {key(row): row for row in found.rows if row.refused is None}
    assert set(rows) == set(every)
    for at, (result, one) in every.items():
        row = rows[at]
        assert row.state == str(result.state)
        assert row.flow_m3_s == pytest.approx(result.flow_m3_s, rel=1e-9)
        assert set(row.dangers) == dangers(result)
        assert row.perhaps_starved == perhaps_starved(result)
        kit = kit_of(one, SMALL)
        assert row.cost == pytest.approx(kit.cost_day)
        assert row.mass_kg == pytest.approx(kit.mass_kg)
    best = found.rows[0]
    wanted = setup.goal.flow_m3_s
    able = {at: (r, one) for at, (r, one) in every.items() if runs_well(r) and (r.flow_m3_s or 0.0) >= wanted}
    if wanted and able:
        costs = {at: kit_of(one, SMALL).cost_day or 0.0 for at, (_, one) in able.items()}
        assert best.cost == pytest.approx(min(costs.values()))
        assert key(best) in able
    else:
        pool = {at: r for at, (r, _) in every.items() if runs_well(r)}
        assert best.flow_m3_s == pytest.approx(max(r.flow_m3_s or 0.0 for r in pool.values()))


@pytest.mark.parametrize("name", NAMES)
def test_rows_of_the_whole_yard_are_single_solves(name: str):
    setup = demo(name)
    found = find(setup)
    for row in random.Random(name).sample([row for row in found.rows if row.refused is None], 12):  # noqa: S311
        hoses = [tuple(text.split(" ", 1)) for text in (row.suction, row.discharge)]
        result = solve(variant(setup, row.pump, hoses[0], hoses[1]))  # type: ignore[arg-type]
        assert row.state == str(result.state)
        assert (row.flow_m3_s is None) == (result.flow_m3_s is None)
        assert row.flow_m3_s is None or row.flow_m3_s == pytest.approx(result.flow_m3_s, rel=1e-9)
        spare = margin(result)
        assert (row.margin_m is None) == (spare is None)
        assert row.margin_m is None or row.margin_m == pytest.approx(spare, abs=1e-9)


def classes(found: Finds) -> list[int]:
    """What a row is worth: does it, runs well, runs in trouble, nothing, refused."""
    out: list[int] = []
    for row in found.rows:
        well = row.state == "sound" and not row.dangers and not row.perhaps_starved
        enough = (row.flow_m3_s or 0.0) >= found.wanted_m3_s
        trouble = 2 if (row.flow_m3_s or 0.0) > 0.0 else 3
        out.append(4 if row.refused is not None else (0 if enough else 1) if well else trouble)
    return out


@pytest.mark.parametrize("name", NAMES)
def test_ranked_by_what_it_is_worth_then_money_or_flow(name: str):
    found = find(demo(name))
    order = classes(found)
    assert order == sorted(order)
    first = [row for row, worth in zip(found.rows, order, strict=True) if worth == 0]
    if found.wanted_m3_s > 0.0:
        assert [row.cost for row in first] == sorted(row.cost or 0.0 for row in first)
    else:
        assert [row.flow_m3_s for row in first] == sorted((row.flow_m3_s or 0.0 for row in first), reverse=True)


def test_thousands_of_combinations():
    assert len(find(demo("mill-pond")).rows) > 3000


def test_a_pump_is_refused_with_its_reason():
    reasons = {row.pump: row.refused for row in find(demo("campground-tank")).rows if row.refused}
    assert reasons["linnet-2"] == "passes 0.31 in, not ½ in"
    liquid = {row.pump: row.refused for row in find(demo("fertiliser")).rows if row.refused}
    assert liquid["ferrow-2"] == "must not carry urea-ammonium-nitrate"
    water = {row.pump: row.refused for row in find(demo("cellar")).rows if row.refused}
    assert water["linnet-2"] == "not known to carry flood-water"
    for row in find(demo("campground-tank")).rows:
        if row.refused:
            assert (row.state, row.flow_m3_s, row.margin_m) == (None, None, None)
        assert row.pump not in reasons or row.refused


def test_a_volume_in_a_time_is_a_flow():
    setup = demo("cellar").with_("goal", {"volume": "6000 gal", "time": "2 h"})
    found = find(setup)
    assert found.wanted_m3_s == pytest.approx(50 * GPM)
    assert (found.rows[0].flow_m3_s or 0.0) >= 50 * GPM


def test_a_pump_that_the_yard_has_not_is_an_error():
    with pytest.raises(InputError, match="ferrow-4"):
        find(demo("lower-pond"), SMALL)


def test_nothing_that_does_it_names_the_most():
    found = find(demo("mill-pond").with_("goal.flow", "2000 gpm"))
    assert found.sentence.startswith("Nothing gives 2,000 gal/min and runs well. The most is ")


def test_pipe_is_offered_only_where_it_lies():
    assert not any("pipe" in row.discharge for row in find(demo("mill-pond")).rows)
    assert any("pipe-aluminium" in row.discharge for row in find(demo("siphon")).rows)


@pytest.mark.parametrize(
    ("name", "units"), [*((name, "us") for name in NAMES), *((n, u) for n in NAMES[::5] for u in SYSTEMS)]
)
def test_find_sentence_and_json(name: str, units: str):
    found = find(demo(name, units))
    assert_sentence(found.sentence)
    printed = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert printed["format"] == "curvelab-find/1"
    needed = {"pump", "suction", "discharge", "state", "flow_m3_s", "margin_m", "cost", "mass_kg", "refused"}
    assert all(needed <= set(row) for row in printed["rows"])


# --- compare


def test_differences_are_the_others_less_the_first():
    setups = [demo("mill-pond-2in"), demo("mill-pond"), demo("two-hoses")]
    found = compare(setups)
    singles = [solve(setup) for setup in setups]
    assert found.results == tuple(singles)
    assert len(found.differences) == 2
    for one, difference in zip(singles[1:], found.differences, strict=True):
        first = singles[0]
        assert difference.flow_m3_s == pytest.approx((one.flow_m3_s or 0.0) - (first.flow_m3_s or 0.0))
        losses = [sum(p.head_m for p in r.ledger if p.item in ("suction", "discharge")) for r in (one, first)]
        assert difference.friction_head_m == pytest.approx(losses[0] - losses[1])
        spare = [(r.npsha_m or 0.0) - (r.npshr_m or 0.0) for r in (one, first)]
        assert difference.margin_m == pytest.approx(spare[0] - spare[1])
        assert difference.power_w == pytest.approx((one.shaft_power_w or 0.0) - (first.shaft_power_w or 0.0))


def test_a_difference_without_a_number_on_either_side_is_null():
    found = compare([demo("mill-pond"), demo("cellar"), demo("mill-pond-september")])
    assert found.differences[0].margin_m is None  # the cellar's pump states no suction need
    assert found.differences[1].power_w is None
    assert friction_head(found.results[2]) == 0.0


def test_said_between_printed_figures():
    """186 and 81 gal/min are 105 apart."""
    found = compare([demo("mill-pond-2in"), demo("mill-pond")])
    assert found.sentence.endswith("Mill pond to orchard tank: 186 gal/min, 105 gal/min more.")


def test_starved_and_off_curve_flows_say_so():
    found = compare([demo("mill-pond-august"), demo("overflowing-pond")])
    assert "about 118 gal/min" in found.sentence
    assert "at least 560 gal/min" in found.sentence


@pytest.mark.parametrize("units", SYSTEMS)
def test_compare_sentence_and_json(units: str):
    for first, second in itertools.pairwise(NAMES):
        found = compare([demo(first, units), demo(second, units)])
        assert_sentence(found.sentence.replace("7600 ft", "far"))  # a title's own words
        printed = json.loads(json.dumps(found.to_dict(), allow_nan=False))
        assert printed["format"] == "curvelab-comparison/1"
        assert set(printed["differences"][0]) == {"flow_m3_s", "friction_head_m", "margin_m", "power_w"}
    assert_sentence(compare([demo(name, units) for name in NAMES]).sentence)
    long = demo("mill-pond", units).with_("title", "Q" * 200)
    assert_sentence(compare([long, long]).sentence)


def test_nothing_to_compare():
    with pytest.raises(ValueError, match="at least one"):
        compare([])
