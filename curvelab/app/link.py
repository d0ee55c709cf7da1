"""The setup in the address: read once when a page opens, carried along with every answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from urllib.parse import urlencode

from curvelab.errors import InputError
from curvelab.model.catalogue import Catalogue
from curvelab.model.link import encode
from curvelab.model.setup import Setup


def query_from(arguments: Mapping[str, Sequence[bytes]]) -> str:
    """The query that a request carried, put together again from its arguments; empty where there were none."""
    pairs = [(name, value.decode("utf-8", "replace")) for name, values in arguments.items() for value in values]
    return f"?{urlencode(pairs)}" if pairs else ""


def query_of(setup: Setup, catalogue: Catalogue) -> tuple[str | None, str]:
    """The query that reopens a setup, and what to say where there is none because it would be too long."""
    try:
        return encode(setup, catalogue=catalogue), ""
    except InputError as error:
        fault = error.faults[0]
        return None, f"No link for this setup: {fault.got}; {fault.right}."
