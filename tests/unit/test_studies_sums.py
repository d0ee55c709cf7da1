"""The sums as a pocket calculator works them: every printed line comes to its value, the last lines to the answer."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import pytest

from curvelab.studies.result import Result
from curvelab.studies.solve import solve
from curvelab.studies.sums import Line, Sums, sums
from curvelab.units import Quantity, display_unit
from tests.unit.study_cases import DATA, NAMES, SYSTEMS, demo

every_demo = pytest.mark.parametrize("name", NAMES)
every_system = pytest.mark.parametrize("units", SYSTEMS)


# --- a calculator of our own: + − × / ^ parentheses sqrt log10 and nothing else


class Calculator:
    """Reads what a line prints, one word after another."""

    WORD = re.compile(r"\s*(?:([0-9]+(?:\.[0-9]+)?)|(sqrt|log10)|([+−×/^()]))")

    def __init__(self, text: str) -> None:
        self.words = list(self._split(text))
        self.at = 0

    def _split(self, text: str) -> Iterator[str]:
        place = 0
        while place < len(text.rstrip()):
            found = self.WORD.match(text, place)
            assert found, f"a pocket calculator has no {text[place:]!r}"
            yield found[0].strip()
            place = found.end()

    def value(self) -> float:
        result = self._sum()
        assert self.at == len(self.words), "something is left over"
        return result

    def _peek(self) -> str:
        return self.words[self.at] if self.at < len(self.words) else ""

    def _take(self) -> str:
        self.at += 1
        return self.words[self.at - 1]

    def _sum(self) -> float:
        total = self._product()
        while self._peek() in ("+", "−"):
            total = total + self._product() if self._take() == "+" else total - self._product()
        return total

    def _product(self) -> float:
        total = self._power()
        while self._peek() in ("×", "/"):
            total = total * self._power() if self._take() == "×" else total / self._power()
        return total

    def _power(self) -> float:
        base = self._atom()
        if self._peek() == "^":
            self._take()
            return base ** self._atom()
        return base

    def _atom(self) -> float:
        word = self._take()
        if word == "−":
            return -self._power()
        if word in ("sqrt", "log10"):
            assert self._take() == "("
            inner = self._sum()
            assert self._take() == ")"
            return math.sqrt(inner) if word == "sqrt" else math.log10(inner)
        if word == "(":
            inner = self._sum()
            assert self._take() == ")"
            return inner
        return float(word)


def size_of(text: str) -> float:
    """The largest number printed: what is left of a difference can't be more exact than what it is taken of."""
    return max((float(number) for number in re.findall(r"[0-9]+(?:\.[0-9]+)?", text)), default=0.0)


def agrees(line: Line) -> bool:
    got = Calculator(line.numbers).value()
    return math.isclose(
        got, line.value, rel_tol=5e-4, abs_tol=5e-6 * size_of(line.numbers) if "−" in line.numbers else 0
    )


def test_the_calculator_itself():
    assert Calculator("2 + 3 × 4").value() == 14.0
    assert Calculator("2 × 3 ^ 2 / 4").value() == 4.5
    assert Calculator("1 / (2 × log10(0.001 + sqrt(0.0001) / 10)) ^ 2").value() == pytest.approx(0.0343, rel=1e-2)
    assert Calculator("(−2) + 5 − 1").value() == 2.0
    with pytest.raises(AssertionError):
        Calculator("2e5 + 1").value()


# --- lines


@every_demo
@every_system
def test_every_line_comes_to_its_value(name: str, units: str):
    for line in sums(demo(name, units)).lines:
        assert agrees(line), (
            f"{line.title}: {line.numbers} is {Calculator(line.numbers).value():.6g}, not {line.value:.6g}"
        )


@every_demo
def test_every_line_says_what_it_is_and_where_it_comes_from(name: str):
    found = sums(demo(name)).lines
    for line in found:
        assert line.title[0] == line.title[0].upper() or line.title.startswith(("suction", "discharge"))
        assert len(line.source) > 3
        assert len(line.formula) >= 1
        assert math.isfinite(line.value)
    titles = [line.title for line in found]
    assert len(set(titles)) == len(titles), "two lines have one name"


@every_demo
@every_system
def test_the_last_lines_are_the_answer_in_the_setups_units(name: str, units: str):
    setup = demo(name, units)
    found, result = sums(setup), solve(setup)
    assert result.inlet_gauge_pa is not None
    expected = {
        "Flow": (Quantity.FLOW, result.flow_m3_s),
        "Head": (Quantity.HEAD, result.head_m),
        "Pressure at the pump's outlet": (Quantity.PRESSURE, result.pump_outlet_gauge_pa),
        "Pressure with the end shut": (Quantity.PRESSURE, result.shut_end_gauge_pa),
    }
    if result.inlet_gauge_pa > 0.0:
        expected["Pressure at the pump's inlet"] = (Quantity.PRESSURE, result.inlet_gauge_pa)
    else:
        expected["Vacuum at the pump's inlet"] = (Quantity.VACUUM, -result.inlet_gauge_pa)
    told = {line.title: line for line in found.lines[-len(expected) :] if line.source == "exact factor"}
    for title, (quantity, si) in expected.items():
        if si is None:
            assert title not in told
            continue
        unit = display_unit(quantity, setup.units, si)
        assert told[title].unit == unit.symbol
        assert told[title].value == pytest.approx(unit.from_si(si), rel=1e-12, abs=1e-12)


@every_demo
def test_a_chain_of_printed_figures_reaches_the_answer(name: str):
    """Nothing stands in a line that an earlier one, the setup, the sheet or a table does not give."""
    found = sums(demo(name)).lines
    known = {"0", "1", "2", "3.7", "2.51", "3.14159265", "4", "64", "1000", "1000000", "0.5", "9.80665", "101325"}
    known |= {"0.0065", "288.15", "5.25588", "6356766", "2339.32"}
    first_hand = (
        "the setup",
        "the pump's sheet",
        "exact factor",
        "found",
        "own join",
        "US Standard",
        "IAPWS",
        "the liquid",
    )
    for line in found:
        numbers = re.findall(r"(?<![a-z])[0-9]+(?:\.[0-9]+)?", line.numbers)
        if not line.source.startswith((*first_hand, "the fittings", "smooth bore", "2 m in reserve", "q ∝")):
            strays = [number for number in numbers if number not in known and not near_any(number, known)]
            if "its own f on the right" in line.formula:
                strays = [number for number in strays if not near_any(number, {f"{line.value:.6g}"})]
            assert not strays, f"{line.title}: {strays} come from nowhere"
        known |= {*numbers, f"{line.value:.6g}", f"{abs(line.value):.6g}", f"{line.value * 1e6:.6g}"}


def near_any(number: str, known: set[str]) -> bool:
    return any(math.isclose(float(number), abs(float(other)), rel_tol=2e-5) for other in known)


# --- by hand


def line_named(found: Sums, title: str) -> Line:
    return next(line for line in found.lines if line.title == title)


def test_mill_pond_by_hand():
    """186.4 gal/min in 3 in hose: 2.58 m/s; f by Colebrook at 0.1 mm and 162 600 is 0.0224; 300 ft lose 8.3 m."""
    found = sums(demo("mill-pond"))
    assert line_named(found, "suction hose: bore").value == pytest.approx(0.0762)
    speed = 186.407 * 3.785411784e-3 / 60.0 / (math.pi / 4.0 * 0.0762**2)
    assert line_named(found, "suction hose: speed").value == pytest.approx(speed, rel=1e-4)
    friction = line_named(found, "discharge hose: friction factor").value
    assert friction == pytest.approx(0.0199, abs=1e-4)
    loss = (friction * 91.44 / 0.0762 + 0.6) * speed**2 / (2 * 9.80665)
    assert line_named(found, "discharge hose: loss").value == pytest.approx(loss, rel=1e-4)
    gauge = 999.407 * 9.80665 * (3.6576 + 1.2863 + speed**2 / (2 * 9.80665))
    assert line_named(found, "At the inlet, below the air").value == pytest.approx(gauge, rel=1e-4)


@every_demo
def test_the_heads_agree_where_the_answer_stands(name: str):
    """At the crossing the pump gives what the site asks; elsewhere a line of its own says what lies between."""
    found, result = sums(demo(name)), solve(demo(name))
    if not result.flow_m3_s:
        assert not any(line.title == "Head that the pump gives" for line in found.lines)
        return
    asked, given = line_named(found, "Head that the site asks"), line_named(found, "Head that the pump gives")
    between = [line for line in found.lines if line.formula == "given − asked"]
    assert given.value - asked.value == pytest.approx(sum(line.value for line in between), abs=1e-6)
    assert bool(between) == (str(result.state) in ("cavitating", "off-curve"))


MENDED = {
    "two pumps side by side": ("mill-pond", {"pump.abreast": "2"}),
    "unlike pumps": ("mill-pond", {"pump.beside.0": {"id": "linnet-3"}}),
    "a pump in the line": ("mill-pond", {"booster.0": {"id": "ferrow-3", "distance": "150 ft"}}),
    "slow and worn": ("mill-pond", {"pump.throttle": "0.8", "pump.wear": "0.9"}),
    "a valve at the outlet": ("mill-pond", {"discharge.valve_k": "8"}),
    "sprinklers": ("young-trees", {"outlet.count": "6"}),
    "a trickle": ("swimming-pool", {"pump.throttle": "0.4", "discharge.rise": "4 ft"}),
    "a hump in the second leg": ("wash-down", {"discharge.waypoint.0": {"distance": "220 ft", "height": "30 ft"}}),
    "off its first tested point": ("seepage-pit", {"discharge.rise": "20 ft"}),
    "a barometer": ("mill-pond", {"site.barometer": "940 hPa"}),
    "starved at rest": ("high-camp", {"suction.lift": "19 ft", "site.temperature": "100 degF"}),
}


@pytest.mark.parametrize("case", MENDED)
def test_lines_of_rarer_setups(case: str):
    name, fields = MENDED[case]
    setup = demo(name)
    for path, value in fields.items():
        setup = setup.with_(path, value)
    found, result = sums(setup), solve(setup)
    for line in found.lines:
        assert agrees(line), (
            f"{line.title}: {line.numbers} is {Calculator(line.numbers).value():.6g}, not {line.value:.6g}"
        )
    assert ledger_lines(found) == pytest.approx(expected_head(result), rel=1e-9, abs=1e-9)


def ledger_lines(found: Sums) -> float:
    return line_named(found, "Head that the site asks").value


def expected_head(result: Result) -> float:
    """What the ledger adds up to without what a pump gives beyond."""
    return sum(part.head_m for part in result.ledger if part.item != "surplus")


def test_modules_of_the_sums_are_short():
    for path in (DATA.parent / "curvelab" / "studies").glob("sum*.py"):
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 400
