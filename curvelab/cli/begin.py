"""The command ``begin``: four answers become a setup."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from curvelab.cli.printing import json_option, print_json
from curvelab.errors import Fault, InputError

if TYPE_CHECKING:  # so that help loads no numbers
    from curvelab.studies.begin import Wish

SOURCES: Final = ("pond", "river", "tank", "cellar", "flood", "well")
_NOTHING_FLOWS: Final = 1


@click.command()
@click.option("--from", "source", type=click.Choice(SOURCES), required=True, help="Where the water is.")
@click.option("--lift", required=True, metavar="HEIGHT", help='Water up to the pump, such as "8 ft".')
@click.option("--rise", required=True, metavar="HEIGHT", help="Pump up to the end of the hose.")
@click.option("--far", required=True, metavar="LENGTH", help="From the pump to the end, along the ground.")
@click.option("--flow", metavar="FLOW", help='What is asked, such as "40 gpm"; left out: as much as it gives.')
@click.option("--volume", metavar="VOLUME", help="In place of a flow, with --time.")
@click.option("--time", metavar="TIME", help="With --volume.")
@click.option("--altitude", default="0 m", show_default=True, metavar="HEIGHT", help="Of the place above the sea.")
@click.option("--temperature", default="15 degC", show_default=True, metavar="TEMPERATURE", help="Of the water.")
@click.option("--units", type=click.Choice(("us", "metric", "imperial")), default="us", show_default=True)
@click.option("--out", type=Path, metavar="FILE", help="Write the setup there; an older file is not written over.")
@json_option
def begin(source: str, out: Path | None, *, as_json: bool, **answers: str | None) -> int:
    """Which pump and hose for this? Four answers become a setup, with what was taken for the rest."""
    from curvelab.model.catalogue import default_catalogue
    from curvelab.report.begin import begun_words
    from curvelab.studies.begin import begin as study

    catalogue = default_catalogue()
    begun = study(_wish(source, answers), catalogue)
    if out is not None:
        _write(out, begun.setup.to_toml())
    if as_json:
        print_json(begun.to_dict())
    else:
        click.echo("\n".join(begun_words(begun, catalogue)))
    return 0 if begun.result.flow_m3_s else _NOTHING_FLOWS


def _wish(source: str, answers: Mapping[str, str | None]) -> Wish:
    """The answers in SI."""
    from curvelab.studies.begin import From, Wish
    from curvelab.units import Quantity, System, parse

    quantities = {name: Quantity[name.upper()] for name in ("flow", "volume", "time", "temperature")}
    found: dict[str, float] = {}
    for name, text in answers.items():
        if text is not None and name != "units":
            try:
                found[name] = parse(text, quantities.get(name, Quantity.LENGTH))
            except InputError as error:
                raise error.at(where="begin", field=name) from None
    if ("volume" in found) != ("time" in found):
        raise InputError(Fault("begin", "volume", "--volume and --time belong together", "write both"))
    return Wish(
        source=From(source),
        lift_m=found["lift"],
        rise_m=found["rise"],
        distance_m=found["far"],
        flow_m3_s=found.get("flow", 0.0),
        volume_m3=found.get("volume", 0.0),
        time_s=found.get("time", 0.0),
        altitude_m=found["altitude"],
        temperature_k=found["temperature"],
        units=System(answers["units"] or "us"),
    )


def _write(path: Path, text: str) -> None:
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise InputError(Fault(str(path), "", "is there already", "choose another name")) from None
    except OSError as error:
        raise InputError(Fault(str(path), "", (error.strerror or str(error)).lower(), "choose another place")) from None
