"""Files written whole or not at all, one writer at a time, what they replace kept."""

from __future__ import annotations

import contextlib
import os
import sys
import tempfile
import time
from collections.abc import Generator
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from curvelab.errors import Fault, InputError
from curvelab.model.shelf import EARLIER

WAIT_S: Final = 10.0
"""How long a writer waits for another to finish. [s]"""
STALE_S: Final = 3600.0
"""Age past which an unfinished file is a dead writer's. [s]"""

_PART: Final = ".curvelab.part"
"""Ours alone: what other programs leave unfinished in a folder is none of our business."""
_PAUSE_S: Final = 0.02
_MODE: Final = 0o644


def write_whole(path: Path, text: str | bytes) -> None:
    """Write a file to a new name, put it on the disk, then rename: after a crash the old one stands there or the new.

    A link in its place is replaced, not followed. Raises ``OSError``.
    """
    with contextlib.suppress(OSError):
        _sweep(path.parent)
    mode = path.stat().st_mode & 0o777 if path.is_file() and not path.is_symlink() else _MODE
    handle, name = tempfile.mkstemp(prefix=f".{path.stem[:40]}-", suffix=_PART, dir=path.parent)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode() if isinstance(text, str) else text)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(mode)
        part.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink()
        raise
    _sync(path.parent)


def keep_earlier(path: Path, text: str) -> Path:
    """Keep what a file held, beside it in ``earlier/`` under the time of day. Raises ``OSError``."""
    folder = path.parent / EARLIER
    folder.mkdir(exist_ok=True)
    kept = folder / f"{path.stem}.{datetime.now(UTC):%Y%m%dT%H%M%S.%fZ}{path.suffix}"
    write_whole(kept, text)
    return kept


def moved(path: Path, target: Path) -> None:
    """Move a file within a folder's disk: at no moment is it in neither place. Raises ``OSError``."""
    path.replace(target)
    _sync(target.parent)
    _sync(path.parent)


def earlier_of(path: Path) -> list[Path]:
    """What was kept of a file, the newest first."""
    start, end = f"{path.stem}.", path.suffix
    folder = path.parent / EARLIER
    names = os.listdir(folder) if folder.is_dir() else ()  # noqa: PTH208 - a pattern would read marks in a name
    return [folder / name for name in sorted(names, reverse=True) if name.startswith(start) and name.endswith(end)]


@contextlib.contextmanager
def alone(folder: Path) -> Generator[None]:
    """One writer at a time in a folder, on this machine; a lock goes with its process, however that ends.

    Raises
    ------
    InputError
        If another writes for longer than ``WAIT_S``, or the folder can't be written.
    """
    with contextlib.ExitStack() as stack:
        try:
            folder.mkdir(parents=True, exist_ok=True)
            # neither waiting for a pipe's reader nor following a link out of the folder
            flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOFOLLOW", 0)
            handle = os.open(folder / ".lock", flags, _MODE)
            stack.callback(os.close, handle)
            _wait_for(handle, folder)
        except OSError as error:
            raise unwritable(folder, error) from None
        yield


def unwritable(path: Path, error: OSError) -> InputError:
    """The error of a place that can't be written, in words."""
    reason = (error.strerror or "can't be written").lower()
    return InputError(Fault(str(path), "", reason, "name a folder that can be written"))


if sys.platform == "win32":  # from memory: nobody has run this yet
    import msvcrt

    def _lock(handle: int) -> None:
        os.lseek(handle, 0, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

    def _sync(folder: Path) -> None:
        """A folder can't be opened there; its entries are the file system's own business."""

else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _sync(folder: Path) -> None:
        """Put a folder's entries on the disk, so that a rename outlives the power."""
        with contextlib.suppress(OSError):  # some file systems refuse, and the file itself is safe
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


def _wait_for(handle: int, folder: Path) -> None:
    until = time.monotonic() + WAIT_S
    while True:
        try:
            _lock(handle)
        except (BlockingIOError, PermissionError):
            if time.monotonic() > until:
                got = "is being written by somebody else"
                raise InputError(Fault(str(folder), "", got, "try again in a moment")) from None
            time.sleep(_PAUSE_S)
        else:
            return


def _sweep(folder: Path) -> None:
    """Take away what writers left that died: unfinished files of an hour ago and more."""
    for part in folder.glob(f".*{_PART}"):
        with contextlib.suppress(OSError):
            if time.time() - part.lstat().st_mtime > STALE_S:
                part.unlink()
