"""Everything that changes at once goes to the browser at once, from its first word on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import panel as pn
from panel.io import hold


@contextmanager
def together() -> Iterator[None]:
    """Collect what changes on the page and send it as one message.

    Panel's own way drops changes of models until the page has said that it is loaded, since the whole document goes out
    then; but the browser has pulled it by that time, and tells how wide its pictures are before: columns that were
    dropped then never match those that follow.
    """
    document = pn.state.curdoc
    if document is None or pn.state.loaded or document.callbacks.hold_value:
        with hold():
            yield
        return
    document.hold("combine")
    try:
        yield
    finally:
        document.unhold()
