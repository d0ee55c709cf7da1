"""What every command prints with: JSON on one stream, faults on the other."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from typing import IO, Any

import click

json_option = click.option("--json", "as_json", is_flag=True, help="Print one object: SI, units in the names.")
"""The flag of every command that answers."""


def print_json(value: Mapping[str, Any]) -> None:
    """One object. Characters that the stream can't carry are written as JSON's own escapes."""
    text = json.dumps(value, ensure_ascii=not _is_utf8(sys.stdout), allow_nan=False, indent=2)
    click.echo(text)


def complain(text: str) -> None:
    """A line for the other stream."""
    click.echo(text, err=True)


def _is_utf8(stream: IO[str]) -> bool:
    return (getattr(stream, "encoding", "") or "").lower().replace("-", "") == "utf8"
