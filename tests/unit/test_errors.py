"""Messages: safe to print, one line a fault, and they say what would be right."""

import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.errors import (
    CurvelabError,
    DomainError,
    Fault,
    InputError,
    StudyError,
    UnitError,
    UnknownNameError,
    echo,
    near,
    require,
)

FAULT = Fault("mill-pond.toml", "suction.lift", "12 has no unit", 'write a length such as "12 ft" or "3.7 m"')


def test_line_says_where_what_and_what_would_be_right() -> None:
    expected = 'mill-pond.toml: suction.lift: 12 has no unit; write a length such as "12 ft" or "3.7 m"'
    assert FAULT.line() == expected


def test_line_leaves_out_what_nobody_knows() -> None:
    assert Fault("", "", "12 has no unit", "").line() == "12 has no unit"


@given(st.text(max_size=2000), st.text(max_size=2000), st.text(max_size=2000))
def test_line_is_one_printable_line_of_bounded_length(where: str, field: str, got: str) -> None:
    line = Fault(where, field, got, "write something else").line()
    assert line.isprintable()
    assert len(line) < 4000


def test_echo_survives_numbers_that_python_will_not_print() -> None:
    assert echo(10**10_000) == "a huge whole number"
    assert echo(-(10**10_000)) == "a huge whole number"


def test_echo_escapes_terminal_codes_and_lone_surrogates() -> None:
    assert echo("\x1b[31mred") == "\\x1b[31mred"
    assert echo("\udc80") == "\\udc80"


def test_input_error_keeps_every_fault() -> None:
    other = Fault("mill-pond.toml", "pump.id", "nothing", "name a pump")
    error = InputError([FAULT, other])
    assert error.faults == (FAULT, other)
    assert str(error).splitlines() == [FAULT.line(), other.line()]
    assert pickle.loads(pickle.dumps(error)).faults == error.faults  # noqa: S301 - our own bytes


def test_place_is_filled_in_once() -> None:
    error = UnitError(Fault("", "", "12 has no unit", "")).at("a.toml", "site.altitude")
    assert isinstance(error, UnitError)
    assert error.at("b.toml", "pump.id").faults[0].line() == "a.toml: site.altitude: 12 has no unit"


def test_unknown_name_suggests_the_near_one() -> None:
    error = UnknownNameError.among("pump", "ferow-3", ["ferrow-3", "tarn-2"])
    assert str(error) == 'no pump is called "ferow-3"; did you mean "ferrow-3"?'
    far = UnknownNameError.among("pump", "xyz", ["ferrow-3", "tarn-2"])
    assert str(far) == 'no pump is called "xyz"; there is ferrow-3, tarn-2'


@pytest.mark.parametrize(("word", "found"), [("FT", "ft"), ("lenght", "length"), ("zzz", ""), ("", "")])
def test_near(word: str, found: str) -> None:
    assert near(word, ["ft", "length"]) == found


@pytest.mark.parametrize(
    ("kind", "builtin"),
    [(InputError, ValueError), (UnitError, InputError), (UnknownNameError, KeyError), (DomainError, ValueError)],
)
def test_each_is_also_what_python_programmers_catch(kind: type[Exception], builtin: type[Exception]) -> None:
    assert issubclass(kind, builtin)
    assert issubclass(kind, CurvelabError)
    assert issubclass(StudyError, CurvelabError)


def test_require_names_value_place_limits_and_remedy() -> None:
    with pytest.raises(DomainError) as caught:
        require("reynolds", [5e3, 1200.0], 4000, 1e8, hint="use friction_factor()")
    message = "reynolds must lie between 4000 and 1e+08 (got 1200 at index 1); use friction_factor()"
    assert str(caught.value) == message
    assert (caught.value.value, caught.value.index, caught.value.limits) == (1200.0, 1, (4000, 1e8))


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_require_refuses_what_is_not_finite(value: float) -> None:
    with pytest.raises(DomainError):
        require("flow_m3_s", value, -np.inf, np.inf)
