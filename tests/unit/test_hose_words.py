"""What the two studies and the cure buttons say: one set of figures, no praise of what can't be fed, few words."""

import re
from dataclasses import replace
from itertools import product

import pytest

from curvelab.model.catalogue import default_catalogue
from curvelab.report.bores import BoresSaid, bores_said
from curvelab.report.cures import help_words, hose_words
from curvelab.report.longer import LongerSaid, longer_said
from curvelab.report.money import money
from curvelab.report.rounded import rounded
from curvelab.report.words import chip, flow_words
from curvelab.studies.bores import bores
from curvelab.studies.longer import longer
from curvelab.studies.mend import mend
from curvelab.studies.result import State
from curvelab.studies.solve import solve
from curvelab.units import System

CATALOGUE = default_catalogue()
JOBS = sorted(CATALOGUE.setups)
SYSTEMS = tuple(System)
EACH = list(product(JOBS, SYSTEMS))
LONGEST_FINDING, LONGEST_BRIEF = 160, 28
NO_FLOW = ("ridge-tank", "mill-pond-september")


def setup(job: str, system: System = System.US):
    return CATALOGUE.setups[job].with_("units", str(system))


def said_of_length(job: str, system: System = System.US) -> LongerSaid:
    return longer_said(longer(setup(job, system)))


def said_of_bores(job: str, system: System = System.US) -> BoresSaid:
    return bores_said(bores(setup(job, system)))


def number(text: str) -> float:
    return float(re.sub(r"[^\d.−]", "", text).replace("−", "-"))


# --- longer hose


def test_finding_is_the_one_of_the_drawing():
    assert (
        said_of_length("mill-pond").finding
        == "Twice the hose costs 38 gal/min in 3 in. Half the bore over the same 300 ft costs far more: 147."
    )


def test_saying_about_ten_feet_gives_its_flows():
    saying = said_of_length("mill-pond").saying
    assert saying is not None
    assert saying.text == (
        "“Ten feet of hose is a foot of lift” is true at one flow only: 199 gal/min in 3 in hose, 68 in 2 in. "
        "Faster than that, hose costs more than the saying allows: at twice the flow, nearly four times."
    )


def test_saying_is_metric_where_the_page_is():
    saying = said_of_length("mill-pond", System.METRIC).saying
    assert saying is not None
    assert saying.lead == "“Ten metres of hose is a metre of lift”"
    assert "L/min in 76 mm hose" in saying.rest


def test_saying_counts_hoses_side_by_side():
    saying = said_of_length("two-hoses").saying
    assert saying is not None
    assert "136 gal/min in two 2 in hoses" in saying.rest, "twice the 68 of one"


@pytest.mark.parametrize(("job", "system"), EACH)
def test_differences_are_those_of_the_printed_figures(job: str, system: System):
    said = said_of_length(job, system)
    if said.table is None:
        return
    table, now = said.table, next(row for row in said.table.rows if row.now)
    twice = sorted(longer(setup(job, system)).marks_m).index(2.0 * longer(setup(job, system)).now_m)
    found = re.match(r"Twice the hose costs ([\d.,]+)", said.finding)
    if found:
        assert number(found[1]) == pytest.approx(number(now.cells[table.now].text) - number(now.cells[twice].text))
    if said.picture is not None and said.picture.twice:
        drop = number(said.picture.twice[-1])
        assert drop == pytest.approx(number(now.cells[twice].text) - number(now.cells[table.now].text))


@pytest.mark.parametrize(("job", "system"), EACH)
def test_present_cell_is_the_flow_in_large_figures(job: str, system: System):
    said = said_of_length(job, system)
    if said.table is None:
        return
    now = next(row for row in said.table.rows if row.now)
    result = solve(setup(job, system))
    assert number(now.cells[said.table.now].text) == number(flow_words(rounded(result, system)).number)


@pytest.mark.parametrize(("job", "system"), EACH)
def test_words_are_short_and_figures_whole_sentences(job: str, system: System):
    longer_one, bores_one = said_of_length(job, system), said_of_bores(job, system)
    for said in (longer_one, bores_one):
        assert len(said.finding) <= LONGEST_FINDING, said.finding
        assert said.finding.endswith(".")
        assert 0 < len(said.brief) <= LONGEST_BRIEF, said.brief
        for text in (said.finding, said.under, said.brief):
            assert not re.search(r"\d{4}|\d\.\d\d\d|nan|None|  ", text), text


@pytest.mark.parametrize("system", SYSTEMS)
def test_kind_of_gallon_is_said_in_every_head(system: System):
    word = {System.US: "US gal/min", System.IMPERIAL: "imperial gal/min", System.METRIC: "L/min"}[system]
    longer_one, bores_one = said_of_length("mill-pond", system), said_of_bores("mill-pond", system)
    assert longer_one.table is not None
    assert bores_one.table is not None
    assert longer_one.picture is not None
    assert word in longer_one.table.caption
    assert all(word in title for title in longer_one.picture.title)
    assert bores_one.table.heads[0].endswith(word)


def test_what_the_suction_holds_is_marked_and_explained():
    said = said_of_length("mill-pond-august")
    assert said.table is not None
    assert said.brief == "no change: suction rules"
    assert said.finding.startswith("Twice the hose costs nothing in 3 in: the suction holds the flow at about 118")
    assert {cell.kind for row in said.table.rows[2:] for cell in row.cells[:3]} == {"held"}
    assert said.table.notes[0][0] == "held"


def test_guess_past_the_curve_and_untested_are_marked_and_explained():
    for job, kind in (("cellar", "perhaps"), ("overflowing-pond", "least"), ("seepage-pit", "unknown")):
        table = said_of_length(job).table
        assert table is not None
        assert kind in {cell.kind for row in table.rows for cell in row.cells}
        assert kind in {note for note, _ in table.notes}


def test_longer_hose_is_never_said_to_give_more():
    """Behind a hump that governs, hose costs nothing; fittings spread over it must not look like a gain."""
    assert said_of_length("over-the-levee", System.METRIC).brief == "no change for 30 m more"


@pytest.mark.parametrize(
    ("job", "word"), [("ridge-tank", "Bigger hose won’t help"), ("mill-pond-september", "draw the water up")]
)
def test_without_flow_there_is_one_sentence(job: str, word: str):
    said = said_of_length(job)
    assert word in said.finding
    assert (said.table, said.saying, said.picture, said.under) == (None, None, None, "")
    assert said.brief == "no flow at any length"


# --- which bore


def test_bore_finding_is_the_one_of_the_drawing():
    said = said_of_bores("mill-pond")
    assert said.finding == "3 in is the largest hose this suction can feed. 2½ in saves $9 a day and loses 52 gal/min."
    assert said.brief == "4 in: suction gives out"


def test_bore_table_is_the_one_of_the_drawing():
    """As drawn; the drawing's own program counted other couplings, so that the last figure may differ by one."""
    table = said_of_bores("mill-pond").table
    assert table is not None
    drawn = [
        ("1½ in", 39, 48, 7.1, 1.8, 45, 270, "$18"),
        ("2 in", 81, 45, 8.3, 3.7, 69, 480, "$24"),
        ("2½ in", 134, 41, 8.8, 6.1, 93, 730, "$30"),
        ("3 in", 186, 33, 8.5, 8.5, 126, 1040, "$39"),
        ("4 in", 230, 15, 5.9, 10.4, 186, 1820, "$60"),
    ]
    for row, (size, flow, share, speed, suction, empty, full, hire) in zip(table.rows, drawn, strict=True):
        assert row.size == size
        assert number(row.flow.text) == pytest.approx(flow, abs=1)
        assert number(row.lost.text) == pytest.approx(share, abs=1)
        assert number(row.speed) == pytest.approx(speed, abs=0.15)
        assert number(row.suction_speed) == pytest.approx(suction, abs=0.15)
        assert number(row.empty) == empty
        assert number(row.full) == pytest.approx(full, rel=0.02)
        assert row.hire == hire
    assert [row.how for row in table.rows] == ["runs well"] * 4 + ["starved"]
    assert [row.fast for row in table.rows] == [False, False, True, True, True]
    assert table.note == (
        "Over 6 ft/s in the suction hose is fast: a clogging strainer tells sooner and any leak draws air. "
        "A 4 in suction hose brings 8.5 ft/s down to 4.9."
    )


@pytest.mark.parametrize("job", JOBS)
def test_hose_under_its_rating_never_goes_out_under_a_plain_tick(job: str):
    found = bores(setup(job))
    said = bores_said(found)
    if said.table is not None:
        assert [bool(row.under_rated) for row in said.table.rows] == [row.over_rated for row in found.rows]


@pytest.mark.parametrize(("job", "system"), EACH)
def test_no_praise_of_what_the_suction_cant_feed(job: str, system: System):
    found = bores(setup(job, system))
    said, now = bores_said(found), found.now
    if not found.flows or now + 1 == len(found.rows):
        return
    larger = found.rows[now + 1]
    if larger.state is State.CAVITATING or larger.perhaps_starved:
        assert " more" not in said.finding
        assert "+" not in said.brief
    if larger.over_rated and not found.rows[now].over_rated and larger.comes:
        assert "rated too low" in said.brief + said.finding or "more" not in said.finding


def test_starved_setup_is_told_the_largest_hose_that_is_fed():
    said = said_of_bores("mill-pond-august")
    assert said.finding.startswith("2 in is the largest hose this suction can feed: 73 gal/min.")
    assert "starved at about 118 gal/min" in said.finding
    assert said.brief == "2 in: 73, runs well"


@pytest.mark.parametrize("job", NO_FLOW)
def test_no_bore_helps_where_nothing_flows(job: str):
    said = said_of_bores(job)
    assert said.finding.startswith("No bore helps:")
    assert said.table is None


def test_estimates_and_invented_prices_say_so():
    assert "Weights are estimates, prices invented" in said_of_bores("mill-pond").under


def test_money_keeps_the_currencys_sign():
    assert [money(39, "USD"), money(1039.4, "EUR"), money(-9, "GBP")] == ["$39", "€1,039", "−£9"]
    assert money(12, "CHF") == "CHF 12"


# --- cures


def test_cures_say_where_they_lead_and_what_is_still_starved_only_where_nothing_puts_it_right():
    one, found = setup("mill-pond-august"), mend(setup("mill-pond-august"))
    words = help_words(found, rounded(solve(one), System.US))
    assert {cure.state for cure in found.rows} == {"sound", "cavitating"}
    assert [button.leads.partition(", ")[2] for button in words.buttons] == ["runs well", "runs well"]
    starved = replace(found, rows=tuple(cure for cure in found.rows if cure.state == "cavitating"))
    (left,) = help_words(starved, rounded(solve(one), System.US)).buttons
    assert left.leads.endswith(", still starved")
    assert left.grey
    assert all(button.change[0].isupper() or button.change[0].isdigit() for button in words.buttons)


@pytest.mark.parametrize("job", JOBS)
def test_cure_figures_are_those_of_a_solve(job: str):
    one = setup(job)
    result = solve(one)
    for button in help_words(mend(one), rounded(result, System.US)).buttons:
        changed = one
        for path, text in button.changes.items():
            changed = changed.with_(path, text)
        after = solve(changed)
        now, then = (flow_words(rounded(found, System.US)).number for found in (result, after))
        hardly = abs(float(then) - float(now)) < 0.03 * float(now) and result.state == "cavitating"
        assert button.leads.startswith("about the same" if hardly else then)
        assert ("runs well" in button.leads) == (chip(after).word == "Runs well")
        assert not button.leads.endswith(", ")


def test_setup_that_runs_well_needs_no_help_but_its_hose_may():
    one = setup("mill-pond")
    found, figures = mend(one), rounded(solve(one), System.US)
    assert help_words(found, figures).buttons == ()
    hose = hose_words(found, figures, one, CATALOGUE)
    assert hose is not None
    assert (hose.change, hose.leads) == ("Fix: 75 psi lay-flat", "+$6 a day")
    august = setup("mill-pond-august")
    assert hose_words(mend(august), rounded(solve(august), System.US), august, CATALOGUE) is None
