"""TOML from a file that nobody vouches for: bounded in size and nesting before it is parsed, every refusal in words.

The standard parser is Python and recursive: a megabyte of open brackets would exhaust the stack, a key of a hundred
thousand dots would take minutes. So brackets and dots are counted first, in one pass that knows strings and comments.
"""

from __future__ import annotations

import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any, Final

from curvelab.errors import Fault, InputError, echo

GREATEST_SIZE: Final = 1_000_000
"""Most bytes of a file. [-]"""

DEEPEST: Final = 10
"""Most brackets within brackets, and most dots in a key; a pump within a setup needs four. [-]"""

_MARK: Final = re.compile(r"""["'#\[\]{}=,.\n]""")
_LINE: Final = re.compile(r"\(at line (\d+), column \d+\)$")
_UNQUOTED: Final = re.compile(r"""=\s*[+\-−]?[0-9][0-9./½¼¾ ]*\s*[^\W\d_"'\]},#]""")


def read_table(path: Path, *, where: str = "") -> dict[str, Any]:
    """The table that a TOML file holds.

    Parameters
    ----------
    path : Path
        The file.
    where : str
        Its name in messages; ``path`` as given where left out.

    Raises
    ------
    InputError
        If it can't be read, is no ordinary file, is over 1 MB, isn't UTF-8, is nested too deep, or isn't TOML.
    """
    where = where or str(path)
    return parse_table(read_text(path, where=where), where=where)


def read_text(path: Path, *, where: str = "") -> str:
    """The text of a file that nobody vouches for; refusals as ``read_table``, but for what isn't TOML."""
    where = where or str(path)
    return _text(read_bytes(path, where), where)


def parse_table(text: str, *, where: str = "") -> dict[str, Any]:
    """The table that TOML text holds; refusals as ``read_table``."""
    deep = _too_deep(text)
    if deep:
        raise _error(where, f"line {deep}", "nested too deep", f"no format here goes deeper than {DEEPEST}")
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # a syntax error is a ValueError; so is a number of too many digits
        raise _syntax(text, str(error), where) from None


def inside(folder: Path, name: str) -> Path:
    """The path of a file named relative to ``folder`` that lies in it or below, links followed.

    Raises
    ------
    InputError
        If the name leads elsewhere.
    """
    right = "name a file beside the setup or in a folder below it"
    parts = re.split(r"[/\\]", name)
    if not name or "\0" in name or name[0] in "/\\~" or ".." in parts or re.match(r"[A-Za-z]:", name):
        raise _error("", "file", f'"{echo(name)}" leaves the folder', right)
    home = folder.resolve()
    try:
        path = (home / name).resolve()
    except (OSError, RuntimeError) as error:  # a link that leads back to itself
        raise _error("", "file", f'"{echo(name)}": {_reason(error)}', right) from None
    if not path.is_relative_to(home):
        raise _error("", "file", f'"{echo(name)}" leads out of the folder', right)
    return path


def read_bytes(path: Path, where: str) -> bytes:
    """All of an ordinary file of at most 1 MB; ``InputError`` under ``where`` for anything else."""
    try:
        # not blocking, so that a pipe without a writer is looked at instead of waited for
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except (OSError, ValueError) as error:
        raise _error(where, "", _reason(error), "name a TOML file that can be read") from None
    try:
        mode = os.fstat(handle).st_mode
        if stat.S_ISDIR(mode):
            raise _error(where, "", "is a folder", "name a TOML file in it")
        if not stat.S_ISREG(mode):
            raise _error(where, "", "is no ordinary file", "name a TOML file")
        with os.fdopen(handle, "rb", closefd=False) as file:
            data = file.read(GREATEST_SIZE + 1)
    finally:
        os.close(handle)
    if len(data) > GREATEST_SIZE:
        raise _error(where, "", "is over 1 MB", "a file here is a few kB; is this the right one?")
    return data


def _reason(error: Exception) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, IsADirectoryError):
        return "is a folder"
    if isinstance(error, PermissionError):
        return "may not be read"
    return (getattr(error, "strerror", None) or str(error)).lower()


def _text(data: bytes, where: str) -> str:
    right = "save it as UTF-8 text without a byte order mark"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _error(where, "", "is UTF-16", right)
    if data.startswith(b"\xef\xbb\xbf"):
        raise _error(where, "", "starts with a byte order mark", right)
    if b"\0" in data:
        raise _error(where, "", "is binary, or text in another encoding", right)
    try:
        return data.decode()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _error(where, f"line {line}", f"byte 0x{data[error.start]:02x} is not UTF-8", right) from None


def _too_deep(text: str) -> int:
    """Line of the first place nested deeper than ``DEEPEST``; 0 where there is none.

    In step with the parser up to its first syntax error, and the parser goes no further than that.
    """
    place = depth = dots = 0
    while found := _MARK.search(text, place):
        place = found.end()
        match found[0]:
            case "#":
                place = _end(text, "\n", place) - 1
            case '"' | "'" as quote:
                place = after_string(text, quote, found.start())
            case "[" | "{":
                depth, dots = depth + 1, 0
            case "]" | "}":
                depth, dots = max(depth - 1, 0), 0
            case ".":
                dots += 1
            case _:
                dots = 0
        if depth > DEEPEST or dots > DEEPEST:
            return text.count("\n", 0, place) + 1
    return 0


def after_string(text: str, quote: str, start: int) -> int:
    """Where the string that opens at ``start`` ends, the end of the text where it never does."""
    mark = quote * 3 if text.startswith(quote * 3, start) else quote
    opened = place = start + len(mark)
    while (end := text.find(mark, place)) >= 0:
        slash = end
        while quote == '"' and slash > opened and text[slash - 1] == "\\":
            slash -= 1
        if (end - slash) % 2 == 0:
            end += len(mark)
            spare = 2 if len(mark) == 3 else 0  # up to two quotes may stand before the closing three
            while spare and text.startswith(quote, end):
                end, spare = end + 1, spare - 1
            return end
        place = end + 1
    return len(text)


def _end(text: str, mark: str, start: int) -> int:
    found = text.find(mark, start)
    return len(text) + 1 if found < 0 else found + 1


def _syntax(text: str, message: str, where: str) -> InputError:
    """The parser's complaint with the line that it is about."""
    found = _LINE.search(message)
    if found is None:
        number = "a whole number of too many digits" if "digits" in message else message
        return _error(where, "", number, "mend it, or leave it out")
    number = int(found[1])
    line = text.split("\n", number)[number - 1].strip() if number <= text.count("\n") + 1 else ""
    says = message[: found.start()].strip()
    right = 'text with a unit stands in quotes: "12 ft"' if _UNQUOTED.search(line) else "mend this line"
    return _error(where, f"line {number}", f"{says}: {echo(line)}" if line else says, right)


def _error(where: str, field: str, got: str, right: str) -> InputError:
    return InputError(Fault(where, field, got, right))
