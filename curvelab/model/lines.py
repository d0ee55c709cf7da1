"""Where in a TOML text a value stands: the parser forgets lines, and a person with an editor wants one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from curvelab.model.reading import after_string

Path = tuple[str, ...]

_BLANK: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_KEY: Final = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_BARE: Final = re.compile(r"[^,\]}#\n]*")


class Lines:
    """Lines of all the values of a TOML text, found in one walk."""

    def __init__(self, text: str) -> None:
        """``text`` is TOML that the parser took; of any other text lines are not known, or guesses."""
        self._found = _Finder(text).lines()

    def of(self, path: Sequence[str]) -> int | None:
        """Line of the value at a path, from 1; that of the table where it would stand if it isn't there.

        Parameters
        ----------
        path : sequence of str
            Keys from the top, places in lists as numbers from 0: ``("hose", "2", "size", "0", "bore")``.
        """
        parts = tuple(path)
        lines = (self._found.get(parts[:length]) for length in range(len(parts), 0, -1))
        return next((line for line in lines if line is not None), None)


class _Finder:
    """One walk over the text, noting the line of every key, list item and table."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.found: dict[Path, int] = {}
        self._line = 1
        self._counted = 0

    def lines(self) -> dict[Path, int]:
        """Line by path."""
        table: Path = ()
        counts: dict[Path, int] = {}
        while self._skip() < len(self.text):
            before = self.place
            if self._take("[["):
                name = self._header(counts)
                counts[name] = counts.get(name, -1) + 1
                table = (*name, str(counts[name]))
                self._note(name, before)
                self._note(table, before)
                self._take("]]")
            elif self._take("["):
                table = self._header(counts)
                self._note(table, before)
                self._take("]")
            else:
                self._pair(table)
            if self.place == before:
                break  # no TOML
        return self.found

    def _header(self, counts: dict[Path, int]) -> Path:
        """The table that a header names: parts that are lists stand for their last item so far."""
        keys = self._keys()
        path: Path = ()
        for at, key in enumerate(keys):
            path = (*path, key)
            if path in counts and at < len(keys) - 1:
                path = (*path, str(counts[path]))
        return path

    def _pair(self, table: Path) -> None:
        start = self.place
        path = (*table, *self._keys())
        for length in range(len(table) + 1, len(path) + 1):
            self._note(path[:length], start)
        self._skip()
        if self._take("="):
            self._value(path)

    def _value(self, path: Path) -> None:
        self._skip()
        char = self.text[self.place : self.place + 1]
        if char in ('"', "'") and char:
            self.place = after_string(self.text, char, self.place)
        elif self._take("["):
            self._list(path)
        elif self._take("{"):
            self._inline(path)
        else:
            bare = _BARE.match(self.text, self.place)
            self.place = bare.end() if bare else self.place

    def _list(self, path: Path) -> None:
        at = 0
        while self._skip() < len(self.text) and not self._take("]"):
            before = self.place
            self._note((*path, str(at)), before)
            self._value((*path, str(at)))
            self._skip()
            self._take(",")
            at += 1
            if self.place == before:
                return

    def _inline(self, path: Path) -> None:
        while self._skip() < len(self.text) and not self._take("}"):
            before = self.place
            self._pair(path)
            self._skip()
            self._take(",")
            if self.place == before:
                return

    def _keys(self) -> Path:
        keys: list[str] = []
        while True:
            self._skip()
            found = _KEY.match(self.text, self.place)
            if found is None:
                return tuple(keys)
            keys.append(found[0][1:-1] if found[0][0] in "\"'" else found[0])
            self.place = found.end()
            self._skip()
            if not self._take("."):
                return tuple(keys)

    def _skip(self) -> int:
        """Past blanks, line ends and remarks; the place then."""
        blank = _BLANK.match(self.text, self.place)
        self.place = blank.end() if blank else self.place
        return self.place

    def _take(self, mark: str) -> bool:
        if not self.text.startswith(mark, self.place):
            return False
        self.place += len(mark)
        return True

    def _note(self, path: Path, place: int) -> None:
        self._line += self.text.count("\n", self._counted, place)
        self._counted = place
        self.found.setdefault(path, self._line)
