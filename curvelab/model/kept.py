"""Tests of a pump kept with it: put into its file as text, so that nothing else there changes, remarks included."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from curvelab.errors import Fault, InputError, UnknownNameError
from curvelab.model.catalogue import demo_catalogue, demo_folder
from curvelab.model.pump import FORMAT, ReturnTest, pump_from
from curvelab.model.reading import parse_table, read_text
from curvelab.model.written import to_toml
from curvelab.model.yard import Stored, amend, place_of, pump_place

_HEADER: Final = "[[test]]"


def with_tests(text: str, tests: Sequence[ReturnTest], *, where: str = "") -> str:
    """A pump file's text with tests put at its end, whatever else stands in it.

    Raises
    ------
    InputError
        If the text is no pump's, or its tests are written so that none can be added at the end.
    """
    end = "\r\n" if "\r\n" in text else "\n"
    before = pump_from(parse_table(text, where=where), where=where)
    added = "".join(f"\n{_HEADER}\n{to_toml(test)}" for test in tests).replace("\n", end)
    new = text + ("" if text.endswith("\n") else end) + added
    wanted = before.model_copy(update={"test": (*before.test, *tests)})
    try:
        good = pump_from(parse_table(new, where=where), where=where) == wanted
    except InputError:
        good = False
    if not good:
        raise InputError(Fault(where, "test", "can't be added to", f"write each test of the file as {_HEADER}"))
    return new


def keep_tests(folder: str | Path, pump_id: str, tests: Sequence[ReturnTest]) -> tuple[Path, Stored]:
    """Put tests into the yard's file of a pump, and say which; a pump of the demonstration is copied there first.

    Somebody else's edit is never lost: the tests go to the end of whatever stands there now.

    Raises
    ------
    UnknownNameError
        If neither the yard nor the demonstration has the pump.
    InputError
        If the file has faults or can't be written. Nothing is written.
    """
    path = pump_place(folder, pump_id)
    if path is None:
        if pump_id not in demo_catalogue().pumps:
            raise UnknownNameError.among("pump", pump_id, demo_catalogue().pumps)
        path = place_of(folder, "pump", pump_id)
    source = pump_place(demo_folder(), pump_id)

    def added(now: Stored | None) -> str:
        text = now.text if now is not None else read_text(source) if source is not None else ""
        return with_tests(text, tests, where=str(path))

    return path, amend(folder, path, FORMAT, added)
