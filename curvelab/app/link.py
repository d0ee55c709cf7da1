"""The setup in the address: read once when a page opens, carried along with every answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from urllib.parse import urlencode

from curvelab.errors import InputError
from curvelab.model.catalogue import Catalogue
from curvelab.model.chalk import Chalk
from curvelab.model.link import encode
from curvelab.model.setup import Setup


def query_from(arguments: Mapping[str, Sequence[bytes]]) -> str:
    """The query that a request carried, put together again from its arguments; empty where there were none."""
    pairs = [(name, value.decode("utf-8", "replace")) for name, values in arguments.items() for value in values]
    return f"?{urlencode(pairs)}" if pairs else ""


def query_of(
    setup: Setup, catalogue: Catalogue, chalks: Sequence[Chalk] = (), name: str = ""
) -> tuple[str | None, str]:
    """The query that reopens a setup, and what to say where it would be too long: without its chalks, or none."""
    try:
        return encode(setup, chalks, catalogue, name=name), ""
    except InputError as error:
        fault = error.faults[0]
    if not chalks:
        return None, f"No link for this setup: {fault.got}; {fault.right}."
    query, refusal = query_of(setup, catalogue)
    return query, refusal or f"What is kept to compare is not in the link: {fault.got}."
