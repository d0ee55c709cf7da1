"""The words on the pictures: for every setup of the demo, in three systems of units, figures that add up."""

import pytest

from curvelab.layout.lines import Units
from curvelab.layout.slabs import budget_slabs, ledger_slabs
from curvelab.layout.words import BenchWords, RunWords
from curvelab.model.catalogue import default_catalogue
from curvelab.model.setup import Setup
from curvelab.report.pictures import bench_words, run_words
from curvelab.report.rounded import rounded
from curvelab.studies.result import State
from curvelab.studies.solve import Solved, solved
from curvelab.units import Quantity, System, display_unit

CATALOGUE = default_catalogue()
JOBS = sorted(CATALOGUE.setups)
AT_REST = (State.NO_LIFT, State.NO_PRIME)


def words_of(setup: Setup, system: System = System.US) -> tuple[Solved, BenchWords, RunWords]:
    answer = solved(setup, CATALOGUE)
    figures = rounded(answer.result, system)
    bench = bench_words(figures, setup, answer.curves(), "Ferrow 3")
    return answer, bench, run_words(figures, setup, answer.run)


def number(text: str) -> float:
    return float(text.split(" ", 1)[0].replace("−", "-").replace(",", ""))


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("job", JOBS)
def test_parts_of_the_ledger_add_up_to_the_total_over_it(job: str, system: System):
    _, bench, _ = words_of(CATALOGUE.setups[job], system)
    parts = sum(number(part.figure) for part in bench.ledger.parts)
    assert parts == pytest.approx(number(bench.ledger.total), abs=1e-6)


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("job", JOBS)
def test_every_word_is_there(job: str, system: System):
    answer, bench, run = words_of(CATALOGUE.setups[job], system)
    for stack in (bench.ledger, bench.budget):
        assert stack.label.endswith(".")
        assert all(part.figure and part.name and all(part.name) for part in stack.parts)
    for label in (bench.chart_label, bench.strip_label, run.label):
        assert label.endswith(".")
        assert "None" not in label
    assert len(run.waypoints) == len(answer.setup.discharge.waypoint)
    assert all(point.name[0] for point in (*run.waypoints, run.outlet))
    flows = answer.result.state not in AT_REST and bool(answer.result.flow_m3_s)
    assert bool(bench.pill) == flows
    assert all(len(form) <= 160 for forms in (bench.flow, bench.head, bench.limit, bench.prime) for form in forms)


def test_starved_pump_names_what_it_loses():
    _, bench, _ = words_of(CATALOGUE.setups["mill-pond-august"])
    assert bench.flow[0].startswith("about ")
    assert bench.broken
    assert bench.ledger.parts[-1].item == "lost"


def test_column_of_a_pump_that_cannot_lift_ends_at_its_reach():
    answer, bench, run = words_of(CATALOGUE.setups["ridge-tank"])
    assert answer.result.shutoff_head_m == pytest.approx(98 * 0.3048)
    assert [(part.item, part.figure) for part in bench.ledger.parts] == [
        ("lift", "12"),
        ("rise", "86"),
        ("short", "26"),
    ]
    assert bench.short == ("26 ft short",)
    assert run.stands[0] == "water stands here: 98 ft"
    assert bench.flow == ()


def test_column_is_cut_within_the_pressure_where_the_pump_reaches_so_far():
    """98 ft of reach less 12 ft of lift and 38 ft of rise leave 48 ft of the 30 psi, 69.3 ft, that the outlet asks."""
    setup = CATALOGUE.setups["mill-pond"].with_("outlet", {"kind": "pressure", "pressure": "30 psi"})
    _, bench, _ = words_of(setup)
    cut = {part.item: part.figure for part in bench.ledger.parts}
    assert list(cut) == ["lift", "rise", "pressure", "short"]
    assert (cut["lift"], cut["rise"], cut["pressure"]) == ("12", "38", "48")


def test_the_pull_of_a_full_line_is_not_counted_while_it_fills():
    """Over a crest of 110 ft in pipe, 6 ft of lift: the first water is asked 116 ft, whatever falls behind it later."""
    crest = {"distance": "250 ft", "height": "110 ft", "name": "crest"}
    setup = CATALOGUE.setups["siphon"].with_("discharge.leg.0.length", "600 ft")
    setup = setup.with_("discharge.rise", "10 ft").with_("discharge.waypoint", [crest])
    found, bench, _ = words_of(setup)
    assert found.result.state is State.NO_LIFT
    assert found.result.crossing_flow_m3_s is not None
    figures = {part.item: part.figure for part in bench.ledger.parts}
    assert figures == {"lift": "6", "rise": "96", "short": "14"}
    assert any("of the 110 ft rise to the crest" in part.name for part in bench.ledger.parts)
    reach = found.result.shutoff_head_m or 0.0
    units = Units(flow=display_unit(Quantity.FLOW, System.US), head=display_unit(Quantity.HEAD, System.US))
    slabs = ledger_slabs(found.result, found.curves(), units)
    assert [slab.item for slab in slabs] == ["lift", "rise", "short"]
    assert slabs[-1].bottom == pytest.approx(reach / 0.3048)
    assert slabs[-1].top == pytest.approx(116.0)
    assert not any(slab.helps for slab in slabs)


def test_unprimed_pump_says_how_far_it_draws_and_what_it_would_give():
    _, bench, run = words_of(CATALOGUE.setups["mill-pond-september"])
    assert bench.prime[0].startswith("this pump draws water up ")
    assert bench.flow[0].startswith("once primed: ")
    assert bench.pill == ""
    assert "short" in [part.item for part in bench.budget.parts]
    assert run.vacuum_note == "vacuum, and no more"
    assert run.pressure == ()


def test_hose_in_danger_has_its_two_lines():
    _, _, run = words_of(CATALOGUE.setups["mill-pond"])
    assert run.over_rated[0].endswith("psi")
    assert run.over_rated_note[0].startswith("if the end is shut; it is rated ")


def test_outlet_without_a_name_is_named_once():
    setup = CATALOGUE.setups["mill-pond"].with_("receiver", None)
    _, _, run = words_of(setup)
    assert run.outlet.name[0] == "outlet +38 ft"
    assert run.outlet.note == ""


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("lift", [16, 17, 19])
def test_each_block_of_a_budget_that_cannot_prime_is_as_high_as_its_number(lift: int, units: str):
    """17 ft of lift of which 14.9 ft can be drawn is a block of 14.9 and one of 2.1, and the words say so."""
    setup = CATALOGUE.setups["mill-pond-september"].with_("suction.lift", f"{lift} ft").with_("units", units)
    system = setup.units
    one, bench, _ = words_of(setup, system)
    result = one.result
    figures = rounded(result, system)
    scale = 0.3048 if units == "us" else 1.0
    assert result.state is State.NO_PRIME
    assert result.priming_lift_m is not None
    shown = {part.item: float(part.figure.split()[0]) for part in bench.budget.parts}
    assert shown["lift"] == pytest.approx(result.priming_lift_m / scale, abs=0.051)
    assert shown["lift"] + shown["short"] == pytest.approx(lift * 0.3048 / scale, abs=0.051)
    axes = Units(flow=display_unit(Quantity.FLOW, system), head=display_unit(Quantity.HEAD, system))
    drawn = {slab.item: abs(slab.top - slab.bottom) for slab in budget_slabs(result, axes)}
    for item in ("lift", "short"):
        assert drawn[item] == pytest.approx(shown[item], abs=0.11), item
    (named,) = [part.name for part in bench.budget.parts if part.item == "lift"]
    assert str(figures.lift) in named[0]
