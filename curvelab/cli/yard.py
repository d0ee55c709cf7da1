"""Commands about a yard's own folder and what it keeps: files, lists, pumps and their tests."""

from __future__ import annotations

import os
from collections.abc import Generator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from curvelab.cli.printing import complain, json_option, print_json
from curvelab.errors import Fault, InputError, echo

if TYPE_CHECKING:  # so that help and complaints load no numbers
    from curvelab.model.exchange import Taken
    from curvelab.model.pump import Pump, ReturnTest

YARD: Final = "CURVELAB_YARD"
"""As ``model.catalogue`` has it, which would load pydantic."""
BAD_INPUT: Final = 2
_FRAME: Final = "curvelab-frame/1"


def _name_yard(context: click.Context, _: click.Parameter, folder: Path | None) -> None:
    if folder is not None:
        context.with_resource(_named(folder))


@contextmanager
def _named(folder: Path) -> Generator[None]:
    before = os.environ.get(YARD)
    os.environ[YARD] = str(folder)
    try:
        yield
    finally:
        if before is None:
            del os.environ[YARD]
        else:
            os.environ[YARD] = before


yard_option = click.option(
    "--yard",
    type=Path,
    metavar="DIR",
    expose_value=False,
    is_eager=True,
    callback=_name_yard,
    help=f"A yard's own folder, seen beside the demo's; else the one that {YARD} names.",
)
"""Of the group and of every command that asks the catalogue."""


@click.command()
@click.argument("folder", type=Path, metavar="DIR")
@click.option("--out", nargs=2, metavar="hoses|prices SHEET", help="Write that list to a CSV file.")
@click.option("--commas", is_flag=True, help="With --out: semicolons between cells, decimal commas.")
@click.option("--in", "sheet", type=Path, metavar="SHEET", help="Take hoses or prices from a CSV file: the whole list.")
@click.option("--over", is_flag=True, help="With --in: also where the list has changed since the sheet was written.")
@json_option
def yard(folder: Path, out: tuple[str, str] | None, sheet: Path | None, **flags: bool) -> int:
    """Make a yard's own folder at DIR, or say what one holds; its lists as spreadsheets, out and in.

    What a list held before it was taken from a sheet is kept in DIR/earlier.
    """
    if out is not None and sheet is not None:
        raise InputError(Fault("curvelab yard", "--in", "stands beside --out", "one after the other"))
    if out is not None or sheet is not None:
        _exists(folder)
    if out is not None:
        from curvelab.model.exchange import write_out

        rows = write_out(folder, *out, commas=flags["commas"])
        answer: dict[str, Any] = {"list": out[0], "sheet": out[1], "rows": rows}
        text = f"{echo(out[1], 240)}: {rows} rows of {out[0]}"
    elif sheet is not None:
        from curvelab.model.exchange import read_in

        taken = read_in(folder, sheet, over=flags["over"])
        answer = {"list": taken.kind, "file": str(taken.path), "new": list(taken.new), "changed": list(taken.changed)}
        answer |= {"gone": list(taken.gone), "same": taken.same}
        text = _taken_text(taken)
    else:
        answer, text = _made(folder)
    if flags["as_json"]:
        print_json({"format": "curvelab-yard/1", "folder": str(folder), **answer})
    else:
        click.echo(text)
    return 0


def _exists(folder: Path) -> None:
    if not folder.is_dir():
        raise InputError(Fault(str(folder), "", "is no folder", f"curvelab yard {echo(folder)} makes it"))


def _made(folder: Path) -> tuple[dict[str, Any], str]:
    from curvelab.model.shelf import Shelf
    from curvelab.model.yard import make_yard

    made = [str(path) for path in make_yard(folder)]
    shelf = Shelf()
    shelf.add(folder)
    holds = {kind.__name__.lower(): len(records) for kind, records in shelf.records.items()}
    lines = [f"made {echo(path, 240)}" for path in made]
    count = ", ".join(f"{number} {kind}{'s' if number > 1 else ''}" for kind, number in sorted(holds.items()))
    lines.append(f"{echo(folder, 240)} holds {count or 'nothing yet'}")
    if shelf.told:
        lines.append(f"{len(shelf.told)} faults: curvelab check {echo(folder, 240)} names them")
    return {"made": made, "holds": holds, "faults": len(shelf.told)}, "\n".join(lines)


def _taken_text(taken: Taken) -> str:
    parts = [
        f"{len(keys)} {word} ({', '.join(echo(key) for key in keys[:5])}{', …' if len(keys) > 5 else ''})"
        for word, keys in (("new", taken.new), ("changed", taken.changed), ("gone", taken.gone))
        if keys
    ]
    return f"{echo(taken.path, 240)}: {', '.join([*parts, f'{taken.same} as before'])}"


@click.command()
@click.argument("paths", type=Path, nargs=-1, required=True, metavar="FILE|FOLDER...")
@json_option
@yard_option
def check(paths: tuple[Path, ...], *, as_json: bool) -> int:
    """Read data files of any kind, and those in folders, and say what is wrong with them."""
    from curvelab.model.checking import check as study
    from curvelab.tracing.frame import frame_from

    found = study(paths, {_FRAME: lambda table, where: frame_from(table, where=where)})
    faults = [wrong for file in found for wrong in file.wrong]
    for wrong in faults:
        complain(wrong.text())
    good = [echo(str(file.path), 240) for file in found if not file.wrong]
    if as_json:
        safe = [
            {name: echo(value, 240) if isinstance(value, str) else value for name, value in wrong.to_dict().items()}
            for wrong in faults
        ]
        print_json({"format": "curvelab-check/1", "good": good, "faults": safe})
    elif good:
        click.echo(f"{len(good)} of {len(found)} good" if len(found) > 1 else f"{good[0]}: good")
    return 0 if len(good) == len(found) else BAD_INPUT


@click.command()
@click.argument("pump", metavar="PUMP")
@click.option("--shut", metavar="PRESSURE", help='With the end shut, such as "38 psi".')
@click.option("--dry", metavar="VACUUM", help='Held dry for half a minute with the suction capped, such as "22 inHg".')
@click.option("--drum", multiple=True, metavar="'VOLUME, TIME, PRESSURE[, VACUUM]'", help="Repeat for each setting.")
@click.option("--speed", metavar="SPEED", help='Measured, such as "3450 rpm"; that of the sheet where left out.')
@click.option("--altitude", metavar="HEIGHT", help="Of the yard, for the vacuum; sea level where left out.")
@click.option("--by", metavar="NAME", help="Who tested.")
@click.option("--date", metavar="DATE", help="Such as 2026-05-04; today where left out.")
@click.option("--keep", is_flag=True, help="Put the readings into the pump's file in the yard.")
@json_option
@yard_option
def wear(pump: str, *, keep: bool, as_json: bool, **given: Any) -> int:
    """How worn is PUMP? From the readings given, or from the tests kept in its file."""
    from curvelab.report.pump_tests import pump_test_text
    from curvelab.studies.pumptest import wear_of

    record = _pump(pump)
    tests = _tests(given)
    if keep and not tests:
        raise InputError(Fault("curvelab wear", "--keep", "there are no readings", "give --shut, --dry or --drum"))
    found = wear_of(record, tests or None)
    kept = _keep(record, tests) if keep else ""
    if as_json:
        print_json(found.to_dict())
    else:
        click.echo(pump_test_text(found, record) + kept)
    return 0


def _pump(name: str) -> Pump:
    """A pump by its id, or by its file."""
    from curvelab.errors import UnknownNameError
    from curvelab.model.catalogue import default_catalogue
    from curvelab.model.pump import read_pump

    if name.endswith(".toml"):
        path = Path(name)
        try:
            return read_pump(path.name, path.parent)
        except InputError as error:
            raise error.at(where=name) from None
    pumps = default_catalogue().pumps
    if name not in pumps:
        raise UnknownNameError.among("pump", name, pumps, where="curvelab wear")
    return pumps[name]


_DRUM: Final = ("volume", "time", "pressure", "vacuum")


def _tests(given: dict[str, Any]) -> list[ReturnTest]:
    from datetime import UTC, datetime

    from curvelab.model.pump import ReturnTest

    today = datetime.now(UTC).astimezone().date()
    rest = {name: given[name] for name in ("speed", "altitude", "by") if given[name]}
    tables: list[tuple[str, dict[str, Any]]] = []
    if given["shut"]:
        tables.append(("--shut", {"kind": "shut-off", "pressure": given["shut"]}))
    for text in given["drum"]:
        parts = [part.strip() for part in str(text).split(",")]
        if not 3 <= len(parts) <= 4:
            right = 'write volume, time, pressure and perhaps vacuum: "55 gal, 16 s, 24 psi, 6 inHg"'
            raise InputError(Fault("curvelab wear", "--drum", f'"{echo(text)}"', right))
        tables.append(("--drum", {"kind": "drum", **dict(zip(_DRUM, parts, strict=False))}))
    if given["dry"]:
        tables.append(("--dry", {"kind": "vacuum", "vacuum": given["dry"]}))
    tests: list[ReturnTest] = []
    for option, table in tables:
        try:
            tests.append(ReturnTest.model_validate({"date": given["date"] or today, **rest, **table}))
        except InputError as error:
            faults = (Fault("curvelab wear", f"{option}: {f.field}", f.got, f.right) for f in error.faults)
            raise InputError(faults) from None
    return tests


def _keep(record: Pump, tests: Sequence[ReturnTest]) -> str:
    from curvelab.model.kept import keep_tests

    folder = os.environ.get(YARD, "")
    if not folder:
        raise InputError(Fault("curvelab wear", "--keep", "no yard is named", f"add --yard DIR, or set {YARD}"))
    path, _ = keep_tests(folder, record.id, tests)
    return f"\nKept in {echo(path, 240)}"


@click.command()
@click.argument("pump_id", metavar="ID")
@click.option("--head", required=True, metavar="HEAD", help='Greatest head on the box, such as "98 ft".')
@click.option("--flow", required=True, metavar="FLOW", help='Greatest flow on the box, such as "420 gpm".')
@click.option("--speed", required=True, metavar="SPEED", help='That the box speaks of, such as "3600 rpm".')
@click.option("--kind", default="trash", show_default=True, help="As a pump file has it.")
@click.option("--name", metavar="NAME", help="For people.")
@click.option("--port", metavar="SIZE", help='Of inlet and outlet, such as "3 in".')
@click.option(
    "--point", multiple=True, metavar="'FLOW, HEAD'", help="Measured; repeat for each. A pressure stands too."
)
@click.option("--units", type=click.Choice(["us", "metric", "imperial"]), default="us", show_default=True)
@click.option("-o", "target", type=Path, metavar="FILE", help="Write it there; to the screen where left out.")
def box(pump_id: str, head: str, flow: str, point: tuple[str, ...], **given: Any) -> int:
    """A pump file from two figures on a box, and points measured: an estimate, and it says so."""
    from curvelab.model.boxcurve import BoxSheet, pump_from_box
    from curvelab.model.writing import unwritable, write_whole
    from curvelab.model.written import to_toml
    from curvelab.units import System

    sheet = BoxSheet.model_validate(
        {
            "greatest_head": head,
            "greatest_flow": flow,
            "kind": given["kind"],
            "measured": [_measured(text) for text in point],
        }
    )
    stated = {"id": pump_id, "name": given["name"], "speed": given["speed"], "inlet": given["port"]}
    stated["outlet"] = given["port"]
    system = System(given["units"])
    pump = pump_from_box({name: value for name, value in stated.items() if value}, sheet, system=system)
    for sentence in sheet.contradictions(system):
        complain(sentence)
    if given["target"] is None:
        click.echo(to_toml(pump), nl=False)
        return 0
    if given["target"].exists():
        raise InputError(Fault(str(given["target"]), "", "is there already", "name another file, or move it away"))
    try:
        write_whole(given["target"], to_toml(pump))
    except OSError as error:
        raise unwritable(given["target"], error) from None
    click.echo(f"{echo(given['target'], 240)}: {pump.source}")
    return 0


def _measured(text: str) -> dict[str, str]:
    flow, comma, value = (part.strip() for part in text.partition(","))
    if not comma:
        raise InputError(Fault("curvelab box", "--point", f'"{echo(text)}"', 'write such as "120 gpm, 85 ft"'))
    from curvelab.units import Quantity
    from curvelab.units.factors import UNITS

    pressure = value.split(" ")[-1] in UNITS[Quantity.PRESSURE]
    return {"flow": flow, "pressure" if pressure else "head": value}


COMMANDS: Final = (yard, check, wear, box)
"""In the order of a yard's year."""
