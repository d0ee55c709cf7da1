"""The studies' commands. Each imports its study when it runs, so that ``--help`` comes at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from curvelab.cli.printing import json_option, print_json
from curvelab.errors import Fault, InputError

if TYPE_CHECKING:  # so that help and complaints load no numbers
    from curvelab.model.setup import Setup

_file = click.argument("file", type=Path)
_field = click.option("--field", required=True, metavar="PATH", help="Such as discharge.leg.0.length.")


def answer_from(file: Path, study: Callable[[Setup], Any], text: Callable[[Any, Setup], str], *, as_json: bool) -> int:
    """Load a setup, ask a study, print; faults name the file."""
    from curvelab.model.files import load_setup

    setup = load_setup(file)
    try:
        found = study(setup)
    except InputError as error:
        raise error.at(where=str(file)) from None
    if as_json:
        print_json(found.to_dict())
    else:
        click.echo(text(found, setup))
    return 0


@click.command()
@click.argument("files", type=Path, nargs=-1, required=True, metavar="FILE...")
@json_option
def compare(files: tuple[Path, ...], *, as_json: bool) -> int:
    """Which of these? Setups side by side, against the first."""
    from curvelab.model.files import load_setup
    from curvelab.report.study_tables import comparison_text
    from curvelab.studies.compare import compare as study
    from curvelab.studies.solve import solve

    setups = [load_setup(file) for file in files]
    for file, setup in zip(files, setups, strict=True):
        try:
            solve(setup)
        except InputError as error:
            raise error.at(where=str(file)) from None
    found = study(setups)
    if as_json:
        print_json(found.to_dict())
    else:
        click.echo(comparison_text(found, setups))
    return 0


@click.command()
@_file
@_field
@click.option("--from", "low", required=True, metavar="VALUE", help='First value, such as "50 ft".')
@click.option("--to", "high", required=True, metavar="VALUE", help="Last value.")
@click.option("--count", type=click.IntRange(2, 20_000), default=40, show_default=True, help="How many values.")
@click.option("--for", "each", metavar='FIELD="A,B"', help="One curve for each value of a second field.")
@json_option
def vary(file: Path, field: str, low: str, high: str, count: int, each: str | None, *, as_json: bool) -> int:
    """What does a longer hose do? One field swept, evenly, ends included."""
    from curvelab.report.study_tables import variation_text
    from curvelab.studies.vary import spread
    from curvelab.studies.vary import vary as study

    values = spread(field, low, high, count)
    return answer_from(file, lambda s: study(s, field, values, for_each=_each(each)), variation_text, as_json=as_json)


def _each(text: str | None) -> Mapping[str, list[str]] | None:
    if text is None:
        return None
    path, equals, values = text.partition("=")
    parts = [part.strip() for part in values.split(",") if part.strip()]
    if not equals or not parts:
        raise InputError(Fault("curvelab vary", "--for", text, 'write FIELD="2 in,3 in"'))
    return {path.strip(): parts}


@click.command()
@_file
@_field
@click.option("--flow", metavar="FLOW", help='Least flow, such as "100 gpm"; the setup\'s goal where left out.')
@json_option
def limit(file: Path, field: str, flow: str | None, *, as_json: bool) -> int:
    """How far at most, how small at least? One field until something gives way."""
    from curvelab.report.study_tables import limit_text
    from curvelab.studies.limit import limit as study

    return answer_from(file, lambda s: study(s, field, flow=flow), lambda found, _: limit_text(found), as_json=as_json)


@click.command()
@_file
@json_option
def choose(file: Path, *, as_json: bool) -> int:
    """Which one change helps most?"""
    from curvelab.report.study_tables import choices_text
    from curvelab.studies.choose import choose as study

    return answer_from(file, study, choices_text, as_json=as_json)


@click.command()
@_file
@json_option
def mend(file: Path, *, as_json: bool) -> int:
    """What puts it right? At most three single changes."""
    from curvelab.report.study_tables import mend_text
    from curvelab.studies.mend import mend as study

    return answer_from(file, study, mend_text, as_json=as_json)


@click.command()
@_file
@json_option
def find(file: Path, *, as_json: bool) -> int:
    """Which pump with which hose? The whole yard, ranked for the setup's goal."""
    from curvelab.report.study_tables import finds_text
    from curvelab.studies.find import find as study

    return answer_from(file, study, finds_text, as_json=as_json)


@click.command()
@_file
@json_option
def sums(file: Path, *, as_json: bool) -> int:
    """Why? The calculation written out, for a pocket calculator."""
    from curvelab.report.study_tables import sums_text
    from curvelab.studies.sums import sums as study

    return answer_from(file, study, lambda found, _: sums_text(found), as_json=as_json)


@click.command()
@_file
@json_option
def relay(file: Path, *, as_json: bool) -> int:
    """Where does the second pump stand?"""
    from curvelab.studies.several import relay as study

    return answer_from(file, study, lambda found, _: found.sentence, as_json=as_json)


@click.command()
@_file
@click.option("--count", type=click.IntRange(2, 20_000), default=200, show_default=True, help="How many flows.")
@json_option
def curves(file: Path, count: int, *, as_json: bool) -> int:
    """The curves against flow, as columns for a picture."""
    from curvelab.report.study_tables import curves_text
    from curvelab.studies.solve import curves as study

    return answer_from(file, lambda setup: study(setup, count), curves_text, as_json=as_json)


@click.command()
@_file
@json_option
def run(file: Path, *, as_json: bool) -> int:
    """The route with its heights, pressures and ratings."""
    from curvelab.report.study_tables import run_text
    from curvelab.studies.solve import run as study

    return answer_from(file, study, run_text, as_json=as_json)


STUDIES: Final = (curves, run, compare, vary, limit, choose, mend, find, sums, relay)
"""In the order of the questions."""
