"""The command ``trace``: a picture and its frame become a pump's file."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from curvelab.cli.printing import json_option, print_json
from curvelab.errors import Fault, InputError, echo

if TYPE_CHECKING:  # so that help and complaints load no numbers
    from curvelab.tracing.curve import TracedCurve


@click.command()
@click.argument("picture", type=Path)
@click.option("--frame", type=Path, required=True, metavar="FRAME", help="What the axes are and where the curves lie.")
@click.option("--curve", metavar="NAME", help="The head curve to take, of several; the frame's first where left out.")
@click.option("-o", "target", metavar="PUMP|FOLDER/", help="Write a pump's file; in a folder one for each head curve.")
@click.option("--id", "pump_id", metavar="ID", help="Of the pump; the file's name where left out.")
@click.option("--name", metavar="NAME", help="For people.")
@click.option("--kind", metavar="KIND", help="As a pump file has it, such as trash.")
@click.option("--speed", metavar="SPEED", help="That the curve was taken at; a curve named after its speed says it.")
@click.option("--over", is_flag=True, help="Also where a file is there already; what it held is kept in earlier/.")
@json_option
def trace(picture: Path, *, frame: Path, curve: str | None, target: str | None, as_json: bool, **given: Any) -> int:
    """Trace the curves in PICTURE, for a pump's file; says where it wasn't sure, and how far out it may be."""
    from curvelab.report.traced import traced_text

    if target is None and any(given.values()):
        raise InputError(Fault("curvelab trace", "-o", "is missing", "name the pump's file to write, or its folder"))
    found = _traced(picture, frame)
    drafts = _drafts(found, curve, target)
    for path in drafts:
        _refuse(path, (picture, frame), over=given["over"])
    lines = [_written(path, curves, picture, frame, given) for path, curves in drafts.items()]
    if as_json:
        answer = {"format": "curvelab-traces/1", "picture": str(picture), "frame": str(frame)}
        print_json({**answer, "curves": [one.to_dict() for one in found], "files": [str(path) for path in drafts]})
    else:
        click.echo("\n\n".join([traced_text(found), *(["\n".join(lines)] if lines else [])]))
    return 0


def _traced(picture: Path, frame: Path) -> tuple[TracedCurve, ...]:
    """Every curve of the frame; what is wrong with it is told under its file, with the line."""
    from curvelab.model.checking import with_lines
    from curvelab.tracing.frame import load_frame
    from curvelab.tracing.picture import open_picture
    from curvelab.tracing.trace import trace_all

    opened = open_picture(picture)
    try:
        return trace_all(opened.image, load_frame(frame))
    except InputError as error:
        raise with_lines(error.at(where=str(frame)), frame) from None


def _drafts(found: Sequence[TracedCurve], curve: str | None, target: str | None) -> dict[Path, tuple[TracedCurve, ...]]:
    """The files to be written, each with its curves."""
    from curvelab.tracing.pumpfile import heads_of, with_its_own

    if target is None and curve is None:
        return {}
    try:
        heads = heads_of(found, curve)
    except InputError as error:
        raise error.at(where="curvelab trace") from None
    if target is None:
        return {}
    if not (target.endswith(("/", os.sep)) or Path(target).is_dir()):
        return {Path(target): with_its_own(heads[0], found)}
    paths = [Path(target) / f"{_slug(head.name)}.toml" for head in heads]
    twice = next((path for path in paths if paths.count(path) > 1), None)
    if twice is not None:
        got = "would be the file of two curves"
        raise InputError(Fault(str(twice), "", got, "give curves names with different letters or digits in the frame"))
    return {path: with_its_own(head, found) for path, head in zip(paths, heads, strict=True)}


def _slug(name: str) -> str:
    """A name as an id: small letters, digits and single hyphens."""
    return "-".join(_WORDS.findall(name.lower())) or "pump"


_WORDS: Final = re.compile(r"[a-z0-9]+")


def _refuse(path: Path, sources: Sequence[Path], *, over: bool) -> None:
    if path.suffix != ".toml":
        raise InputError(Fault(str(path), "", "is no name of a pump's file", "let it end in .toml"))
    if any(path.resolve() == source.resolve() for source in sources):
        raise InputError(Fault(str(path), "", "is what is traced from", "name another file for the pump"))
    if path.exists() and not over:
        raise InputError(Fault(str(path), "", "is there already", "name another file, or add --over"))


def _written(path: Path, curves: Sequence[TracedCurve], picture: Path, frame: Path, given: dict[str, Any]) -> str:
    """Write a pump's file; what was written, in a line."""
    from curvelab.model.reading import read_text
    from curvelab.model.writing import keep_earlier, unwritable, write_whole
    from curvelab.tracing.pumpfile import pump_from_traces, to_pump_file, untold

    stated = {key: given[key] for key in ("name", "kind", "speed") if given[key]}
    table = {"id": given["pump_id"] or _slug(path.stem), **stated}
    pump = pump_from_traces(table, curves, picture=_from(path, picture), frame=_from(path, frame))
    text = to_pump_file(pump, curves)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists():
            keep_earlier(path, read_text(path))
        write_whole(path, text)
    except OSError as error:
        raise unwritable(path, error) from None
    points = ", ".join(f"{len(getattr(pump, one.quantity).points)} points of {one.quantity}" for one in curves)
    return f"{echo(path, 240)}: {pump.label}, {points}\nStill to be written, as far as known: {', '.join(untold(pump))}"


def _from(pump: Path, other: Path) -> str:
    """Another file's name as a pump's file has it: from the yard's folder, else from its own, else the bare name."""
    home = pump.resolve().parent
    for folder in (home.parent if home.name == "pumps" else home, home):
        if other.resolve().is_relative_to(folder):
            return other.resolve().relative_to(folder).as_posix()
    return other.name
