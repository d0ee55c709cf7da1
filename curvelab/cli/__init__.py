"""The command ``curvelab``.

Exit codes: 0 answered; 1 the answer is no-lift or no-prime (printed all the same); 2 bad input, one line a fault.
Whatever a command needs it imports when it runs, so that ``--help`` comes at once.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final, NoReturn

import click

from curvelab import __version__
from curvelab.cli.begin import begin
from curvelab.cli.printing import complain, json_option, print_json
from curvelab.cli.slow import SLOW
from curvelab.cli.studies import STUDIES
from curvelab.cli.tracing import trace
from curvelab.cli.yard import COMMANDS, yard_option
from curvelab.errors import CurvelabError, Fault, InputError

ANSWERED: Final = 0
NOTHING_FLOWS: Final = 1
BAD_INPUT: Final = 2
INTERRUPTED: Final = 130  # as a shell counts it: 128 and the signal's number
NOBODY_READS: Final = 141


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="curvelab %(version)s")
@yard_option
@click.pass_context
def commands(context: click.Context) -> None:
    """What a portable pump will do on a site: flow, head, suction, and why."""
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@commands.command()
@click.argument("file", type=Path)
@json_option
@yard_option
def solve(file: Path, *, as_json: bool) -> int:
    """Answer FILE, a setup: what flows, what limits it, what to watch."""
    from curvelab.model.files import load_setup
    from curvelab.studies.result import State
    from curvelab.studies.solve import solve as answer

    setup = load_setup(file)
    try:
        result = answer(setup)
    except InputError as error:
        raise error.at(where=str(file)) from None
    if as_json:
        print_json(result.to_dict())
    else:
        from curvelab.report.table import table_of

        click.echo(table_of(setup, result))
    return NOTHING_FLOWS if result.state in (State.NO_LIFT, State.NO_PRIME) else ANSWERED


@commands.command()
@click.option("--port", type=click.IntRange(0, 65535), default=5006, show_default=True, help="0: any free one.")
@click.option("--address", default="127.0.0.1", show_default=True, help="Where to listen.")
@click.option("--show/--no-show", default=True, show_default=True, help="Open the page in a browser.")
@yard_option
def serve(port: int, address: str, *, show: bool) -> int:
    """Open the page: a setup with its curves, the yard's pumps, and with --yard a folder to save them into."""
    from curvelab.app.server import serve as start

    start(port=port, address=address, show=show)
    return ANSWERED


for _study in (begin, *STUDIES, *SLOW):
    yard_option(_study)
for _command in (begin, *STUDIES, *SLOW, *COMMANDS, trace):
    commands.add_command(_command)


def main(args: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit code."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a terminal without ½ or ’ still gets its table
    try:
        code = answer(sys.argv[1:] if args is None else args)
        sys.stdout.flush()
    except OSError as error:  # of writing: the commands say themselves what they can't read
        code = _stopped(error)
    sys.exit(code)


def answer(args: Sequence[str]) -> int:
    """Run the command line; its exit code. Faults go to stderr, one a line, without a traceback."""
    try:
        with commands.make_context("curvelab", list(args)) as context:
            return commands.invoke(context) or ANSWERED
    except click.exceptions.Exit as done:  # --help and --version
        return done.exit_code
    except (click.Abort, KeyboardInterrupt):
        return INTERRUPTED
    except click.ClickException as error:
        got = " ".join(error.format_message().split()).rstrip(".")
        complain(Fault("curvelab", "", got, f'try "{_command_of(error)} --help"').line())
    except CurvelabError as error:
        complain(str(error))
    return BAD_INPUT


def _stopped(error: OSError) -> int:
    """Nothing more can be written: one line, none where nobody reads on, and none from the interpreter at its end."""
    unread = isinstance(error, BrokenPipeError)
    if not unread:
        complain(Fault("curvelab", "", (error.strerror or str(error)).lower(), "").line())
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        os.dup2(nowhere, stream.fileno())
    return NOBODY_READS if unread else BAD_INPUT


def _command_of(error: click.ClickException) -> str:
    context = error.ctx if isinstance(error, click.UsageError) else None
    return context.command_path if context else "curvelab"
