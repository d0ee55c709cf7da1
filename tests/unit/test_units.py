"""Units: factors against their definitions, a grammar that evaluates nothing, text that reads back as it was."""

import math
import subprocess
import sys
import time
from fractions import Fraction

import numpy as np
import pytest
import scipy.constants as reference
from hypothesis import given
from hypothesis import strategies as st

from curvelab.errors import DomainError, UnitError
from curvelab.units import (
    Quantity,
    System,
    display_unit,
    from_display,
    from_unit,
    gallon_word,
    parse,
    show,
    to_display,
    write,
)

Q = Quantity
US, METRIC, IMPERIAL = System.US, System.METRIC, System.IMPERIAL

# Exact definitions: yard and pound agreement of 1959; US gallon 231 in³; imperial gallon 4.546 09 L; g 9.806 65 m/s².
_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_POUND = Fraction("0.45359237")
_POUND_FORCE = _POUND * Fraction("9.80665")
_GALLON = 231 * _INCH**3
_IMP_GALLON = Fraction("0.00454609")
_MERCURY = Fraction("13595.1") * Fraction("9.80665")


@pytest.mark.parametrize(
    ("text", "quantity", "exact"),
    [
        ("1 ft", Q.LENGTH, _FOOT),
        ("1 in", Q.BORE, _INCH),
        ("1 yd", Q.LENGTH, Fraction("0.9144")),
        ("1 mi", Q.LENGTH, Fraction("1609.344")),
        ("1 gal", Q.VOLUME, _GALLON),
        ("1 US gal", Q.VOLUME, _GALLON),
        ("1 imp gal", Q.VOLUME, _IMP_GALLON),
        ("1 gpm", Q.FLOW, _GALLON / 60),
        ("1 imp gpm", Q.FLOW, _IMP_GALLON / 60),
        ("1 imp gal/min", Q.FLOW, _IMP_GALLON / 60),
        ("1 gal/h", Q.FLOW, _GALLON / 3600),
        ("1 cfs", Q.FLOW, _FOOT**3),
        ("1 acre-ft", Q.VOLUME, 43560 * _FOOT**3),
        ("1 acre", Q.AREA, 43560 * _FOOT**2),
        ("1 psi", Q.PRESSURE, _POUND_FORCE / _INCH**2),
        ("1 inHg", Q.VACUUM, _MERCURY * _INCH),
        ("1 hp", Q.POWER, 550 * _FOOT * _POUND_FORCE),
        ("1 lb/ft", Q.LINE_MASS, _POUND / _FOOT),
        ("1 lb/ft³", Q.DENSITY, _POUND / _FOOT**3),
        ("1 lb/gal", Q.DENSITY, _POUND / _GALLON),
        ("1 L/kWh", Q.SPECIFIC_FUEL, Fraction(1, 1000) / 3_600_000),
        ("1 rpm", Q.ROTATION, Fraction(1, 60)),
        ("1 ft/day", Q.LEVEL_RATE, _FOOT / 86400),
        ("1 mm²/s", Q.VISCOSITY, Fraction(1, 10**6)),
        ("1 cSt", Q.VISCOSITY, Fraction(1, 10**6)),
        ("1 %", Q.SHARE, Fraction(1, 100)),
        ("32 degF", Q.TEMPERATURE, Fraction("273.15")),
        ("212 °F", Q.TEMPERATURE, Fraction("373.15")),
        ("-40 degC", Q.TEMPERATURE, Fraction("233.15")),
        ("-40 degF", Q.TEMPERATURE, Fraction("233.15")),
    ],
)
def test_factors_follow_their_definitions(text: str, quantity: Quantity, exact: Fraction) -> None:
    assert parse(text, quantity) == pytest.approx(float(exact), rel=1e-15)


@pytest.mark.parametrize(
    ("text", "quantity", "independent"),
    [
        ("1 gal", Q.VOLUME, reference.gallon_US),
        ("1 imp gal", Q.VOLUME, reference.gallon_imp),
        ("1 psi", Q.PRESSURE, reference.psi),
        ("1 mmHg", Q.PRESSURE, reference.torr),
        ("1 hp", Q.POWER, reference.hp),
        ("1 lb", Q.MASS, reference.pound),
        ("1 acre", Q.AREA, reference.acre),
    ],
)
def test_factors_agree_with_another_library(text: str, quantity: Quantity, independent: float) -> None:
    # 2e-7: a torr (101 325/760 Pa) and a conventional mmHg differ by 1.4e-7.
    assert parse(text, quantity) == pytest.approx(independent, rel=2e-7)


@pytest.mark.parametrize(
    ("text", "quantity", "printed"),
    [
        ("1 inHg", Q.PRESSURE, "3386.389"),
        ("1 hp", Q.POWER, "745.69987"),
        ("1 PS", Q.POWER, "735.49875"),
        ("1 psi", Q.PRESSURE, "6894.757"),
        ("1000 gal", Q.VOLUME, "3.785412"),
    ],
)
def test_factors_round_to_the_printed_values(text: str, quantity: Quantity, printed: str) -> None:
    """Values as NIST SP 811 (2008), appendix B.8, prints them (quoted from memory)."""
    decimals = len(printed.split(".")[1])
    assert f"{parse(text, quantity):.{decimals}f}" == printed


@pytest.mark.parametrize(
    ("text", "quantity", "si"),
    [
        ("2½ in", Q.BORE, 0.0635),
        ("2 ½ in", Q.BORE, 0.0635),
        ("½ in", Q.BORE, 0.0127),
        ("1 1/2 in", Q.BORE, 0.0381),
        ("5/8 in", Q.BORE, 0.015875),
        ("−3 m", Q.LENGTH, -3.0),
        ("-3 m", Q.LENGTH, -3.0),
        ("+3 m", Q.LENGTH, 3.0),
        (" 3m ", Q.LENGTH, 3.0),
        (".5 m", Q.LENGTH, 0.5),
        ("1.004e-6 m²/s", Q.VISCOSITY, 1.004e-6),
        ("940 hPa", Q.PRESSURE, 94000.0),
        ("50 L/min", Q.FLOW, 0.05 / 60),
        ("3.6 m³/h", Q.FLOW, 0.001),
        ("2 h", Q.TIME, 7200.0),
        ("3%", Q.SHARE, 0.03),
    ],
)
def test_grammar_reads(text: str, quantity: Quantity, si: float) -> None:
    assert parse(text, quantity) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("given_", "found"),
    [
        (12, "12 has no unit"),
        (1.5, "1.5 has no unit"),
        ("12", "12 has no unit"),
        pytest.param(10**10_000, "a huge whole number has no unit", id="huge"),
        pytest.param("9" * 10_000 + " ft", "too long", id="long"),
        (True, "true or false"),
        (None, "nothing"),
        ([12, "ft"], "a list"),
        ({"ft": 12}, "a table"),
        ("", "is empty"),
        ("   ", "is empty"),
        ("ft", "no number with a unit"),
        ("9**9**9 ft", "a sum to work out"),
        ("2**3 ft", "a sum to work out"),
        ("(2) ft", "a sum to work out"),
        ("2+3 ft", "a sum to work out"),
        ("1-1/2 in", "a sum to work out"),
        ("1e999 ft", "far too large"),
        ("1e13 ft", "far too large"),
        ("nan ft", "not a finite number"),
        ("inf ft", "not a finite number"),
        ("-Infinity ft", "not a finite number"),
        ("1_000 ft", "no number with a unit"),
        ("\uff11\uff12 ft", "no number with a unit"),
        ("٣ ft", "no number with a unit"),
        ("1,200 ft", "has a comma"),
        ("1,5 m", "has a comma"),
        ("10 000 ft", "gap within its number"),
        ("1/0 in", "divides by nothing"),
        ("12 ft 6 in", "more than one number"),
        ("12\n ft", "no number with a unit"),
        ("12 ft\n", "no number with a unit"),
        ("12 \x1b[31mft", "\\x1b[31mft"),
        ("0x10 ft", "no unit known here"),
        ("12 feet", 'did you mean "ft"?'),
        ("12 FT", 'did you mean "ft"?'),
        ("12 psi", "psi is a pressure; a length is meant"),
        ("12 gpm", "gpm is a flow; a length is meant"),
    ],
)
def test_anything_else_is_refused_at_once_with_what_to_write(given_: object, found: str) -> None:
    began = time.process_time()
    with pytest.raises(UnitError) as caught:
        parse(given_, Q.LENGTH)
    assert time.process_time() - began < 0.1
    message = str(caught.value)
    assert found in message
    assert message.isprintable()
    assert 'such as "12 ft" or "3.7 m"' in message or given_ == "1/0 in"


def _finite_or_printable(text: str, quantity: Quantity) -> bool:
    try:
        return math.isfinite(parse(text, quantity))
    except UnitError as error:
        return str(error).isprintable()


@given(st.text(max_size=80))
def test_no_text_gets_past_the_grammar_as_anything_but_a_finite_number(text: str) -> None:
    for quantity in (Q.LENGTH, Q.FLOW, Q.TEMPERATURE):
        assert _finite_or_printable(text, quantity)


@pytest.mark.parametrize("quantity", list(Q))
def test_every_quantity_says_what_to_write_and_reads_that(quantity: Quantity) -> None:
    with pytest.raises(UnitError) as caught:
        parse("12", quantity)
    examples = caught.value.faults[0].right.split('"')[1::2]
    assert examples
    for example in examples:
        assert parse(example, quantity) > 0


_RANGES = {  # generous ranges of what people can meet, SI
    Q.FLOW: (0, 2),
    Q.VOLUME: (0, 1e7),
    Q.LENGTH: (-500, 1e4),
    Q.BORE: (0, 2),
    Q.ROUGHNESS: (0, 0.01),
    Q.HEAD: (-500, 1e3),
    Q.PRESSURE: (-1e5, 1e7),
    Q.VACUUM: (0, 1e5),
    Q.SPEED: (0, 100),
    Q.TEMPERATURE: (250, 400),
    Q.MASS: (0, 1e5),
    Q.POWER: (0, 1e6),
    Q.FUEL: (0, 10),
    Q.TIME: (0, 1e8),
    Q.ROTATION: (0, 500),
    Q.VISCOSITY: (1e-8, 1e-2),
    Q.DENSITY: (500, 2000),
    Q.SHARE: (0, 10),
    Q.LEVEL_RATE: (0, 1),
    Q.AREA: (0, 1e8),
    Q.SPECIFIC_FUEL: (0, 1e-8),
    Q.LINE_MASS: (0, 100),
}


@given(st.sampled_from(list(Q)), st.sampled_from(list(System)), st.floats(0, 1))
def test_written_text_reads_back_as_the_same_value(quantity: Quantity, system: System, share: float) -> None:
    low, high = _RANGES[quantity]
    si = low + share * (high - low)
    text = write(si, quantity, system)
    assert parse(text, quantity) == pytest.approx(si, rel=1e-9, abs=1e-300)
    assert parse(write(parse(text, quantity), quantity, system), quantity) == pytest.approx(si, rel=1e-9, abs=1e-300)


@given(st.sampled_from(list(Q)), st.sampled_from(list(System)), st.floats(0, 1))
def test_display_there_and_back(quantity: Quantity, system: System, share: float) -> None:
    low, high = _RANGES[quantity]
    si = low + share * (high - low)
    assert from_display(to_display(si, quantity, system), quantity, system) == pytest.approx(si, rel=1e-12, abs=1e-12)


@given(st.floats(0.1, 1e5))
def test_gallons_are_never_confused(number: float) -> None:
    us, imperial = parse(f"{number:.6f} gal", Q.VOLUME), parse(f"{number:.6f} imp gal", Q.VOLUME)
    assert imperial / us == pytest.approx(float(_IMP_GALLON / _GALLON), rel=1e-12)
    for quantity in (Q.VOLUME, Q.FUEL):
        assert "imp" in write(us, quantity, IMPERIAL)
        assert "imp" not in write(us, quantity, US)
    assert write(us / 60, Q.FLOW, IMPERIAL).endswith(" imp gpm")
    assert write(us / 60, Q.FLOW, US).endswith(" gpm")
    assert (gallon_word(US), gallon_word(METRIC), gallon_word(IMPERIAL)) == ("US", "", "imperial")


@pytest.mark.parametrize(
    ("text", "quantity", "system", "shown"),
    [
        ("186.4 gpm", Q.FLOW, US, "186 gal/min"),
        ("12.34 gpm", Q.FLOW, US, "12.3 gal/min"),
        ("1234 gpm", Q.FLOW, US, "1,230 gal/min"),
        ("705.4 L/min", Q.FLOW, METRIC, "705 L/min"),
        ("1000 L/min", Q.FLOW, METRIC, "60 m³/h"),
        ("999 L/min", Q.FLOW, METRIC, "999 L/min"),
        ("11184 gal", Q.VOLUME, US, "11,200 gal"),
        ("5000 gal", Q.VOLUME, METRIC, "18.9 m³"),
        ("200 L", Q.VOLUME, METRIC, "200 L"),
        ("42.3 m³", Q.VOLUME, METRIC, "42 m³"),
        ("82.64 ft", Q.HEAD, US, "82.6 ft"),
        ("38 ft", Q.HEAD, US, "38 ft"),
        ("103.6 ft", Q.HEAD, US, "104 ft"),
        ("2100 ft", Q.LENGTH, US, "2,100 ft"),
        ("-24 ft", Q.LENGTH, US, "−24 ft"),
        ("0 ft", Q.LENGTH, US, "0 ft"),
        ("-0.01 ft", Q.LENGTH, US, "0 ft"),
        ("28.4 psi", Q.PRESSURE, US, "28 psi"),
        ("5.66 psi", Q.PRESSURE, US, "5.7 psi"),
        ("1.947 bar", Q.PRESSURE, METRIC, "1.95 bar"),
        ("39.2 kPa", Q.PRESSURE, METRIC, "39 kPa"),
        ("15.34 inHg", Q.VACUUM, US, "15.3 inHg"),
        ("15.34 inHg", Q.VACUUM, METRIC, "52 kPa"),
        ("2.5 in", Q.BORE, US, "2½ in"),
        ("0.625 in", Q.BORE, US, "⅝ in"),
        ("3.05 in", Q.BORE, US, "3.05 in"),
        ("3 in", Q.BORE, METRIC, "76 mm"),
        ("18 in", Q.BORE, METRIC, "46 cm"),
        ("55 degF", Q.TEMPERATURE, US, "55 °F"),
        ("55 degF", Q.TEMPERATURE, METRIC, "13 °C"),
        ("55 degF", Q.TEMPERATURE, IMPERIAL, "13 °C"),
        ("36 s", Q.TIME, US, "36 s"),
        ("27.2 min", Q.TIME, US, "27 min"),
        ("89 min", Q.TIME, US, "89 min"),
        ("5.34 h", Q.TIME, US, "5 h 20 min"),
        ("4 h", Q.TIME, US, "4 h"),
        ("123.4 h", Q.TIME, US, "123 h"),
        ("88 %", Q.SHARE, US, "88 %"),
        ("3600 rpm", Q.ROTATION, METRIC, "3,600 rpm"),
        ("9 hp", Q.POWER, METRIC, "6.7 kW"),
    ],
)
def test_shown_as_people_read_it(text: str, quantity: Quantity, system: System, shown: str) -> None:
    assert show(parse(text, quantity), quantity, system) == shown


def test_shown_without_its_unit() -> None:
    assert show(parse("186.4 gpm", Q.FLOW), Q.FLOW, US, unit=False) == "186"


@given(st.sampled_from([q for q in Q if q is not Q.TIME]), st.sampled_from(list(System)), st.floats(0, 1))
def test_never_more_than_three_figures(quantity: Quantity, system: System, share: float) -> None:
    low, high = _RANGES[quantity]
    text = show(low + share * (high - low), quantity, system, unit=False)
    figures = text.replace(",", "").replace("−", "").lstrip("0.").replace(".", "")
    marks = sum(figures.count(mark) for mark in "⅛¼⅜½⅝¾⅞")
    assert marks <= 1
    assert len(figures.rstrip("0⅛¼⅜½⅝¾⅞")) <= 3


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_nothing_infinite_is_ever_shown_or_written(value: float) -> None:
    with pytest.raises(DomainError):
        show(value, Q.LENGTH, US)
    with pytest.raises(DomainError):
        write(value, Q.LENGTH, US)


def test_units_over_a_table() -> None:
    feet = from_unit([0, 98.0], "ft", Q.HEAD)
    np.testing.assert_allclose(feet, [0, 98 * 0.3048], rtol=1e-15)
    assert from_unit(40.0, "percent", Q.SHARE) == pytest.approx(0.4)
    assert from_unit(0.4, "fraction", Q.SHARE) == pytest.approx(0.4)
    with pytest.raises(UnitError, match="psi is a pressure"):
        from_unit([1.0], "psi", Q.HEAD)
    with pytest.raises(UnitError, match="nothing is no unit"):
        from_unit([1.0], None, Q.HEAD)  # type: ignore[call-overload]


def test_columns_and_axes_keep_one_unit() -> None:
    unit = display_unit(Q.FLOW, METRIC)
    np.testing.assert_allclose(unit.from_si(np.array([0.0, 1 / 60, 2 / 60])), [0, 1000, 2000])
    assert unit.symbol == "L/min"


def test_import_is_cheap() -> None:
    heavy = ("scipy", "pydantic", "bokeh", "panel", "tomllib")
    code = f"import sys, curvelab.units; print(sorted(sys.modules.keys() & {heavy}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
