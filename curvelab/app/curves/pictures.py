"""Pictures that people trace, held in memory while they do: bounded, under keys that nobody can guess."""

from __future__ import annotations

import hashlib
import re
import secrets
import threading
from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any, Final

from curvelab.errors import Fault, InputError, echo
from curvelab.tracing.picture import open_picture

MOST_BYTES: Final = 20_000_000
"""Largest picture that the page takes. [B] A telephone's photo has 3 to 12 million."""
MOST_HELD: Final = 24
"""Most pictures held at once; the one not asked for the longest goes first. [-]"""
MOST_HELD_BYTES: Final = 160_000_000
MOST_NOTES: Final = 60
"""Most traces kept with a picture. [-]"""
ENDINGS: Final = {"PNG": "png", "JPEG": "jpg", "WEBP": "webp", "GIF": "gif", "BMP": "bmp"}
TYPES: Final = {"png": "image/png", "jpg": "image/jpeg", "webp": "image/webp", "gif": "image/gif", "bmp": "image/bmp"}


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A picture, and what was already found in it."""

    data: bytes
    name: str
    """That it has on the machine it came from."""
    stem: str
    """Its name in a yard's folder, without ending: the same picture has the same one, another has another."""
    ending: str
    size: tuple[int, int]
    """Width and height as it is shown. [px]"""
    found: OrderedDict[Hashable, Any] = field(default_factory=OrderedDict)
    """Traces and axes by what was asked."""


class Pictures:
    """The pictures of all visitors."""

    def __init__(self) -> None:
        self._held: OrderedDict[str, Held] = OrderedDict()
        self._lock = threading.Lock()

    def take(self, data: bytes, name: str) -> tuple[str, Held]:
        """Hold a picture; the key under which it is found again.

        Raises
        ------
        InputError
            If it is no picture that can be traced.
        """
        shown = PurePath(name.replace("\\", "/")).name[:80] or "picture"
        opened = open_picture(data, name=shown)
        digest = hashlib.sha256(data).hexdigest()
        plain = re.sub(r"[^a-z0-9]+", "-", PurePath(shown).stem.lower()).strip("-")[:40] or "picture"
        held = Held(data, shown, f"{plain}-{digest[:6]}", ENDINGS[opened.kind], opened.image.size)
        key = secrets.token_urlsafe(18)
        with self._lock:
            self._held[key] = held
            while len(self._held) > MOST_HELD or sum(len(one.data) for one in self._held.values()) > MOST_HELD_BYTES:
                self._held.popitem(last=False)
        return key, held

    def get(self, key: object) -> Held:
        """The picture under a key.

        Raises
        ------
        InputError
            If it isn't held any more.
        """
        with self._lock:
            held = self._held.get(str(key))
            if held is None:
                raise InputError(Fault("", "picture", "is not held here any more", "choose it again"))
            self._held.move_to_end(str(key))
            return held

    def remember(self, held: Held, asked: Hashable, found: Any) -> None:
        """Keep what was found in a picture."""
        with self._lock:
            held.found[asked] = found
            while len(held.found) > MOST_NOTES:
                held.found.popitem(last=False)

    def recall(self, held: Held, asked: Hashable) -> Any:
        """What was found before; ``None`` where nothing was."""
        with self._lock:
            return held.found.get(asked)


PICTURES: Final = Pictures()


def named(value: object) -> str:
    """A file's name as a browser gave it, safe to show."""
    return echo(value, 80) if isinstance(value, str) else ""
