"""The slow studies' commands: how long, how sure, power and fuel, siphon, nozzles, loads, a second pump."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from curvelab.cli.printing import json_option
from curvelab.cli.studies import answer_from

_file = click.argument("file", type=Path)


@click.command()
@_file
@json_option
def clock(file: Path, *, as_json: bool) -> int:
    """How long, how low, and when fuel?"""
    from curvelab.report.slow_tables import clocks_text
    from curvelab.studies.times import clocks as study

    return answer_from(file, study, clocks_text, as_json=as_json)


@click.command()
@_file
@click.option(
    "--samples", type=click.IntRange(100, 1_000_000), default=20_000, show_default=True, help="How many draws."
)
@click.option(
    "--seed", type=click.IntRange(0, 2**32 - 1), default=1, show_default=True, help="The same seed draws alike."
)
@json_option
def doubt(file: Path, samples: int, seed: int, *, as_json: bool) -> int:
    """How sure? The flow as a band, and which doubt to shrink first."""
    from curvelab.report.slow_tables import doubt_text
    from curvelab.studies.doubt import doubt as study

    return answer_from(file, lambda setup: study(setup, samples=samples, seed=seed), doubt_text, as_json=as_json)


@click.command()
@_file
@json_option
def power(file: Path, *, as_json: bool) -> int:
    """What the engine has here, fuel an hour, and when a shut pump gets hot."""
    from curvelab.report.slow_tables import power_text
    from curvelab.studies.power import power_of as study

    return answer_from(file, study, power_text, as_json=as_json)


@click.command()
@_file
@json_option
def carry(file: Path, *, as_json: bool) -> int:
    """What it weighs, empty and full, and what two people can carry."""
    from curvelab.report.slow_tables import carry_text
    from curvelab.studies.carry import carry as study

    return answer_from(file, study, carry_text, as_json=as_json)


@click.command()
@_file
@json_option
def siphon(file: Path, *, as_json: bool) -> int:
    """Would the water run by itself?"""
    from curvelab.report.slow_tables import siphon_text
    from curvelab.studies.siphon import siphon as study

    return answer_from(file, study, siphon_text, as_json=as_json)


@click.command()
@_file
@json_option
def feeds(file: Path, *, as_json: bool) -> int:
    """How many nozzles or sprinklers can this pump feed?"""
    from curvelab.report.slow_tables import feeds_text
    from curvelab.studies.feeds import feeds as study

    return answer_from(file, study, feeds_text, as_json=as_json)


@click.command()
@_file
@json_option
def second(file: Path, *, as_json: bool) -> int:
    """What would a second pump give, beside the first or in the line?"""
    from curvelab.report.second import second_text
    from curvelab.studies.second import second as study

    return answer_from(file, study, second_text, as_json=as_json)


SLOW: Final = (clock, doubt, power, carry, siphon, feeds, second)
"""In the order of the questions."""
