"""Every state teaches: each button of what would help, pressed, gives the flow, the state and the change promised."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

import pytest

from curvelab.app.edits import Edit
from curvelab.app.page import Page
from curvelab.app.state import AppState, Shown, show
from curvelab.app.studies.cures import Cures, cures
from curvelab.errors import InputError
from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import encode
from curvelab.model.planning import pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.report.bores import how_it_runs
from curvelab.report.second import second_said
from curvelab.report.words import chip, suction
from curvelab.studies.kit import kit_of
from curvelab.studies.second import second
from curvelab.units import Quantity, System, parse
from curvelab.units import show as shown_as
from tests.unit.study_cases import NAMES, SYSTEMS, changed, demo
from tests.unit.test_app import send

CATALOGUE = default_catalogue()
PROMISED = {
    "runs well": "Runs well",
    "little to spare": "Runs, with little to spare",
    "starved": "Starved at the suction",
    "still starved": "Starved at the suction",
    "perhaps starved": "Runs, perhaps starved",
    "suction not known": "Runs, suction not known",
    "held back in the line": "Runs, held back in the line",
    "past the tested curve": "Past the tested curve",
}
"""What a button says a change leads to, and the word of the state that must then stand beside the flow."""
TROUBLES = set(PROMISED.values()) - {"Runs well", "Runs, held back in the line"} | {
    "Can’t lift it that high",
    "Won’t prime",
}
DANGERS = {
    *("over-rated", "casing-over-rated", "vacuum-over-rated", "short-of-power"),
    *("crosses-again", "pushed-back", "liquid-refused", "solids-too-big"),
}
"""Warnings that no button may bring."""


def _lifted(feet: float) -> dict[str, Any]:
    return {"suction.lift": f"{feet} ft", "suction.leg.0.length": f"{feet + 8} ft"}


def _short(feet: float, rise: float) -> dict[str, Any]:
    wide = {"discharge.leg.0.size": "4 in", "discharge.leg.0.length": f"{feet} ft"}
    return {"discharge.waypoint": [], "discharge.rise": f"{rise} ft", **wide}


DRIVES: dict[str, list[dict[str, Any]]] = {
    "more lift": [_lifted(feet) for feet in (9, 12, 15, 18, 20, 22, 25)],
    "more rise": [{"discharge.rise": f"{feet} ft"} for feet in (70, 110, 240)],
    "thinner air": [{"site.altitude": f"{feet} ft"} for feet in (4500, 9000)],
    "warmer water": [{"site.temperature": f"{degrees} degF"} for degrees in (110, 140)],
    "short and wide": [_short(100, 5), _short(30, 0)],
    "downhill": [_short(200, -20), _short(200, -90)],
    "clogged": [{"suction.leg.0.k": str(k)} for k in (10, 100)],
}
"""Ways into trouble, each a little further at every step."""


def driven(name: str) -> Iterator[Setup]:
    """A setup of the demo as it stands, then a step further on each way into trouble."""
    setup = demo(name, str(SYSTEMS[NAMES.index(name) % len(SYSTEMS)]))
    yield setup
    for steps in DRIVES.values():
        for step in steps:
            try:
                yield changed(setup, step)
            except InputError:  # hose that can't lie like that, or isn't made in that size
                continue


@cache
def troubled(name: str) -> dict[str, tuple[Shown, Cures]]:
    """The first of these setups in each state, by its word, the hose's rating included, with what would help."""
    found: dict[str, Shown] = {}
    for setup in driven(name):
        try:
            shown = show(setup, CATALOGUE)
        except InputError:
            continue
        word = chip(shown.result).text
        if word != "Runs well":
            found.setdefault(word, shown)
    return {word: (shown, cures(shown, CATALOGUE)) for word, shown in found.items()}


def press(shown: Shown, changes: Mapping[str, Any]) -> Shown:
    """What stands on the page after a button is pressed, by the page's own way."""
    state = AppState(CATALOGUE, shown.setup)
    state.apply([Edit("fields", value=changes)], held=False)
    assert not state.faults
    after: Any = state.shown
    assert after.setup != shown.setup
    return after


def flow_said(after: Shown, before: Shown) -> str:
    assert after.figures.flow is not None
    same = after.figures.flow_unit.symbol == before.figures.flow_unit.symbol
    return after.figures.flow.text if same else str(after.figures.flow)


def about_as_now(after: Shown, before: Shown) -> bool:
    """Whether a pump was starved, and the printed figures differ by less than three in a hundred."""
    was, now = before.figures.flow, after.figures.flow
    assert was is not None
    assert now is not None
    starved = chip(before.result).word == "Starved at the suction"
    return starved and was.unit == now.unit and abs(now.number - was.number) < 0.03 * was.number


def new_dangers(after: Shown, before: Shown) -> set[str]:
    codes = ({warning.code for warning in one.result.warnings} for one in (after, before))
    return (next(codes) - next(codes)) & DANGERS


def keeps_its_promises(shown: Shown, offered: Cures, where: str) -> None:
    """Press every button of a setup, and hold what comes of it to what was said."""
    for button in offered.help.buttons:
        after, says = press(shown, button.changes), f"{where}: {button.change}: {button.leads}"
        flow, _, leads = button.leads.partition(", ")
        assert flow == flow_said(after, shown) or (flow == "about the same" and about_as_now(after, shown)), says
        assert chip(after.result).word == PROMISED[leads], says
        assert not new_dangers(after, shown), says
        assert len(re.sub(r"\D", "", flow.split()[0]).strip("0")) <= 3, says
        assert button.grey == (leads not in ("runs well", "little to spare")), says
        assert does_what_it_says(button.change, shown.setup, after.setup), says
    if offered.hose is not None:
        stronger_hose(shown, offered.hose.change, offered.hose.leads, press(shown, offered.hose.changes))


def stronger_hose(shown: Shown, change: str, leads: str, after: Shown) -> None:
    assert not after.result.over_rated
    rating, name = re.fullmatch(r"Fix: (\S+ (?:psi|bar)) (.+)", change).groups()  # pyright: ignore[reportOptionalMemberAccess] - else no such button
    legs = [leg for leg in after.setup.discharge.leg if leg not in shown.setup.discharge.leg]
    hose = CATALOGUE.hoses[legs[0].hose or ""]
    size = hose.sized(legs[0].size.si if legs[0].size else 0.0)
    assert hose.name is not None
    assert hose.name.startswith(name)
    assert size is not None
    assert size.working_pressure is not None
    assert shown_as(size.working_pressure.si, Quantity.PRESSURE, shown.system) == rating
    more = (kit_of(after.setup, CATALOGUE) - kit_of(shown.setup, CATALOGUE)).cost_day
    assert leads in ("", "same hire") or float(re.sub(r"[^\d.−]", "", leads).replace("−", "-")) == round(more or 0.0)


# --- what the words of a change say, read back from the setup that it makes

Check = Callable[[re.Match[str], Setup, Setup], bool]
AMOUNT = r"−?[\d.,½¼¾]+ (?:ft|m|in|mm)"


def _metres(text: str) -> float:
    fractions = {"½": ".5", "¼": ".25", "¾": ".75"}
    for mark, decimals in fractions.items():
        text = text.replace(mark, decimals)
    return parse(text, Quantity.LENGTH)


def _printed(si: float, text: str, system: System, quantity: Quantity = Quantity.LENGTH) -> bool:
    return shown_as(si, quantity, system) == text


def _lower(said: re.Match[str], before: Setup, after: Setup) -> bool:
    down = before.suction.lift.si - after.suction.lift.si
    up = after.discharge.rise.si - before.discharge.rise.si
    hose = after.suction.leg[0].length.si
    return (
        _printed(down, said[1], before.units)
        and up == pytest.approx(down, abs=2e-3)
        and _printed(hose, said[2], before.units)
    )


def _capped(said: re.Match[str], _before: Setup, after: Setup) -> bool:
    heights = [after.discharge.rise.si, *(point.height.si for point in after.discharge.waypoint)]
    return max(heights) == pytest.approx(_metres(said[1]), abs=0.02)


def _sized(said: re.Match[str], before: Setup, after: Setup) -> bool:
    old, new = (getattr(setup, said[2]).leg for setup in (before, after))
    changes = [leg for leg, was in zip(new, old, strict=True) if leg != was]
    sizes = [leg.size or leg.bore for leg in changes]
    return bool(sizes) and all(size and _printed(size.si, said[1], before.units, Quantity.BORE) for size in sizes)


def _abreast(said: re.Match[str], _before: Setup, after: Setup) -> bool:
    count = ("no", "one", "two", "three", "four", "five", "six").index(said[1].lower())
    return all(leg.abreast == count for leg in getattr(after, said[2]).leg)


def _pumps(said: re.Match[str], before: Setup, after: Setup) -> bool:
    return after.pump.abreast == before.pump.abreast + 1 and pump_of(after.pump, CATALOGUE).label == said[2]


def _in_line(said: re.Match[str], before: Setup, after: Setup) -> bool:
    [booster] = after.booster
    stated = CATALOGUE.pumps[booster.id or ""].label == said[1]
    return stated and _printed(booster.distance.si, said[2], before.units) and _rated(said[3], after)


def _rated(text: str | None, after: Setup) -> bool:
    if text is None:
        return True
    ratings = [
        size.working_pressure.si
        for leg in after.discharge.leg
        if leg.size and (size := CATALOGUE.hoses[leg.hose or ""].sized(leg.size.si)) and size.working_pressure
    ]
    return _printed(min(ratings), text, after.units, Quantity.PRESSURE)


def _fleet(said: re.Match[str], _before: Setup, after: Setup) -> bool:
    return pump_of(after.pump, CATALOGUE).label == said[1] and _rated(said[2], after)


SAID: dict[str, Check] = {
    rf"Pump ({AMOUNT}) lower, suction cut to ({AMOUNT})": _lower,
    r"Throttle eased to (\d+) %": lambda said, _, after: after.pump.throttle == pytest.approx(int(said[1]) / 100),
    r"Full throttle": lambda _said, _, after: after.pump.throttle == 1.0,
    rf"(?:Outlet|Hump|Outlet and hump) at most ({AMOUNT}) up": _capped,
    rf"({AMOUNT}) (suction|discharge) hose(?: for leg [\d and]+)?": _sized,
    rf"(\w+)(?: {AMOUNT})? (suction|discharge) hoses": _abreast,
    r"(\w+) (.+) side by side": _pumps,
    rf"Second (.+) in the line at ({AMOUNT})(?: with (\S+ (?:psi|bar)) (?:hose|pipe))?": _in_line,
    r"Foot valve as strainer, hose filled": lambda _said, _, after: (
        after.suction.leg[0].fittings.keys() & VALVES != set()
    ),
    r"Clean strainer": lambda _said, _, after: after.suction.leg[0].k == 0.0,
    r"(.+?)(?: with (\S+ (?:psi|bar)) (?:hose|pipe))?": _fleet,
}
VALVES = {fitting.id for fitting in CATALOGUE.fittings.values() if fitting.holds_prime}


def does_what_it_says(change: str, before: Setup, after: Setup) -> bool:
    """Whether the changed setup is the one that the button's words describe."""
    for pattern, check in SAID.items():
        said = re.fullmatch(pattern, change)
        if said is not None:
            length = re.fullmatch(rf"({AMOUNT}) suction hose", change)  # a length looks like a size
            if length and _printed(after.suction.leg[0].length.si, length[1], before.units):
                return True
            return check(said, before, after)
    return False


# --- the demo, driven into trouble


@pytest.mark.parametrize("name", NAMES)
def test_every_button_keeps_its_promise(name: str):
    for word, (shown, offered) in troubled(name).items():
        keeps_its_promises(shown, offered, f"{name}, {word}")
        led = [button.leads.partition(", ")[2] for button in offered.help.buttons]
        assert "still starved" not in led or not {"runs well", "little to spare"} & set(led), f"{name}, {word}"
        if chip(shown.result).word in ("Starved at the suction", "Won’t prime", "Can’t lift it that high"):
            assert offered.help.buttons or offered.help.sentence, f"{name}, {word}: says nothing"


def test_the_demo_has_been_in_every_trouble_and_most_have_a_way_out():
    words: dict[str, list[bool]] = {}
    for name in NAMES:
        for shown, offered in troubled(name).values():
            words.setdefault(chip(shown.result).word, []).append(bool(offered.help.buttons))
    assert words.keys() >= TROUBLES
    for word in TROUBLES:
        assert any(words[word]), f"{word}: nothing was ever offered"


@pytest.mark.parametrize("name", NAMES)
def test_what_is_wrong_is_said_with_a_figure_or_says_that_nobody_knows(name: str):
    for word, (shown, _) in troubled(name).items():
        said = suction(shown.figures, shown.setup)
        assert re.search(r"\d", said.text) or "Nobody" in said.text, f"{word}: {said.text}"


@pytest.mark.parametrize("name", NAMES)
def test_use_this_in_the_table_of_more_pumps_gives_what_its_row_says(name: str):
    shown = next((shown for shown, _ in troubled(name).values()), None) or show(demo(name), CATALOGUE)
    said = second_said(second(shown.setup, CATALOGUE))
    for row in said.rows:
        if not row.button:
            continue
        after = press(shown, said.buttons[row.button])
        assert row.how == how_it_runs(after.result.state, after.result), f"{name}: {row.name}"
        assert PROMISED.get(row.how, chip(after.result).word) == chip(after.result).word, f"{name}: {row.name}"
        flow = row.flow.text.removeprefix("about ").removeprefix("at least ")
        printed = shown_as(after.result.flow_m3_s or 0.0, Quantity.FLOW, shown.system, unit=False)
        assert after.figures.flow is not None
        assert flow in ("none", printed, after.figures.flow.text, str(after.figures.flow)), f"{name}: {row.name}"


# --- states that no setup of the demo comes into


def _flat(rise: float) -> dict[str, Any]:
    return {"discharge.waypoint": [], "discharge.rise": f"{rise} ft"}


def _record(points: list[list[float]], **more: Any) -> dict[str, Any]:
    """A pump made up for a test."""
    head = {"flow": "gpm", "head": "ft", "points": points}
    sheet = {"id": "alder", "source": "made up for this test", "speed": "3600 rpm", "inlet": "3 in", "kind": "trash"}
    return {"record": Pump.model_validate({"format": "curvelab-pump/1", **sheet, **more, "head": head})}


def _estimate() -> dict[str, Any]:
    sheet = BoxSheet.model_validate({"greatest_head": "98 ft", "greatest_flow": "420 gpm"})
    return {"record": pump_from_box({"id": "brook-3", "name": "Brook 3", "speed": "3600 rpm", "inlet": "3 in"}, sheet)}


_WIDE = {"suction.leg.0.size": "6 in", "discharge.leg.0.size": "6 in"}
_CREST = {"distance": "250 ft", "height": "110 ft", "name": "crest"}
RARE: dict[str, tuple[str, dict[str, Any]]] = {
    "an estimate that is perhaps starved": ("mill-pond", {"pump": _estimate(), **_lifted(18)}),
    "an estimate that can't lift it": ("mill-pond", {"pump": _estimate(), **_flat(95)}),
    "less than anybody has tested": (
        "mill-pond",
        {"pump": _record([[120, 70], [200, 55], [300, 20]]), **_flat(50)},
    ),
    "curves that meet again": (
        "mill-pond",
        {"pump": _record([[0, 90], [80, 60], [160, 74], [300, 5]], inlet="6 in"), **_WIDE, **_flat(54)},
    ),
    "a full line would run": (
        "siphon",
        {"discharge.leg.0.length": "600 ft", "discharge.rise": "10 ft", "discharge.waypoint": [_CREST]},
    ),
    "starved before the first drop": ("mill-pond-foot-valve", {**_lifted(26), "site.temperature": "130 degF"}),
    "a pump that nobody's guess can feed": ("seepage-pit", _lifted(20)),
}


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("case", RARE)
def test_rare_states_keep_their_promises_too(case: str, units: str):
    name, changes = RARE[case]
    shown = show(changed(demo(name, units), changes), CATALOGUE)
    assert chip(shown.result).text != "Runs well", suction(shown.figures, shown.setup).text
    keeps_its_promises(shown, cures(shown, CATALOGUE), f"{case}, {units}")


def test_an_estimate_that_is_perhaps_starved_has_a_way_to_be_sure():
    name, changes = RARE["an estimate that is perhaps starved"]
    shown = show(changed(demo(name), changes), CATALOGUE)
    assert chip(shown.result).word == "Runs, perhaps starved"
    offered = cures(shown, CATALOGUE).help.buttons
    assert offered
    assert all(button.leads.endswith(", runs well") for button in offered)


# --- the button itself


@pytest.mark.parametrize("name", ["mill-pond-august", "ridge-tank", "overflowing-pond", "seepage-pit"])
def test_pressed_on_the_page_the_first_button_does_what_it_says(name: str):
    """By the message that the browser sends: the key that stands in the button, and no fields of its own."""
    made = Page(CATALOGUE, encode(demo(name), catalogue=CATALOGUE))
    html = made.studies.words("cures")["buttons"]
    key, leads = re.search(r'data-cure="([^"]+)".*?<b>([^<]+)</b>', html, re.DOTALL).groups()  # pyright: ignore[reportOptionalMemberAccess] - else no button
    before: Any = made.state.shown
    send(made, {"do": "cure", "value": key}, seq=1)
    after: Any = made.state.shown
    flow, _, word = leads.partition(", ")
    assert flow_said(after, before) == flow
    assert chip(after.result).word == PROMISED[word]
    send(made, {"do": "cure", "value": key}, seq=2)
    assert made.state.shown is after, "a button of a setup that has changed since does nothing"
