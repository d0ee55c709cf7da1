"""The command ``begin``: from the shell to a setup that solves as it said."""

import json
from pathlib import Path

import pytest

import curvelab
from curvelab.cli import answer
from curvelab.cli.begin import SOURCES
from curvelab.studies.begin import From

GOOD = ["begin", "--from", "pond", "--lift", "8 ft", "--rise", "10 ft", "--far", "200 ft", "--flow", "40 gpm"]


def test_the_command_knows_every_source():
    assert tuple(str(source) for source in From) == SOURCES


def test_it_says_what_fits_and_writes_the_setup_that_does(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    file = tmp_path / "new.toml"
    assert answer([*GOOD, "--out", str(file)]) == 0
    words = capsys.readouterr().out
    assert "gal/min and runs well; 40 gal/min is asked." in words
    assert "We took:" in words
    assert answer([*GOOD, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["format"] == "curvelab-begin/1"
    flow = curvelab.solve(curvelab.load_setup(file)).flow_m3_s
    assert flow == pytest.approx(told["flow_m3_s"])
    assert answer([*GOOD, "--out", str(file)]) == 2, "an older file stays"


def test_too_deep_is_an_answer_with_exit_code_1(capsys: pytest.CaptureFixture[str]):
    assert answer([*GOOD, "--lift", "60 ft"]) == 1
    assert "No pump here runs well there." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        (["--lift", "8"], "lift: 8 has no unit"),
        (["--volume", "9 m3"], "belong together"),
        (["--flow", "9 ft"], "flow"),
        (["--far", "99 km"], "distance"),
        (["--from", "tap"], "tap"),
    ],
)
def test_what_is_wrong_is_one_line(extra: list[str], said: str, capsys: pytest.CaptureFixture[str]):
    assert answer([*GOOD, *extra]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert said in printed.err
    assert printed.err.count("\n") == 1
