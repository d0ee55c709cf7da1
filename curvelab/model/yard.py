"""A yard's own folder: made once, written whole, earlier versions kept, nobody's edit overwritten unseen."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Generator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from curvelab.errors import Fault, InputError, echo
from curvelab.model.catalogue import check_file

EARLIER: Final = "earlier"
"""Folder, in each folder of a yard, that keeps what a save replaced."""

_NAME: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LONGEST: Final = 80
_PLACES: Final = {"pump": "pumps", "setup": "setups"}
_STARTER: Final = {
    "hoses.toml": ('format = "curvelab-hoses/1"\n\n# [[hose]] with id, name, use, roughness and [[hose.size]].\n'),
    "fittings.toml": 'format = "curvelab-fittings/1"\n\n# [[fitting]] with id, name, where and k.\n',
    "prices.toml": (
        'format = "curvelab-prices/1"\ncurrency = "USD"\nsource = "the yard\'s price list"\n\n'
        '# [[price]] with item (a pump, hose or fitting), size, per ("each", "length", "ft", "m") and day.\n'
    ),
}


@dataclass(frozen=True, slots=True)
class Stored:
    """A file of a yard as somebody read it: hand ``mark`` back when saving, so that another's edit is noticed."""

    text: str
    mark: str


class OverwrittenError(InputError):
    """Somebody else saved the file meanwhile. ``theirs`` is what stands there now."""

    def __init__(self, fault: Fault, theirs: str) -> None:
        super().__init__(fault)
        self.theirs = theirs


def make_yard(folder: str | Path) -> list[Path]:
    """Make a yard's folder, or fill in what one lacks; nothing that is there is touched. Returns what was made.

    Raises
    ------
    InputError
        If the place is a file, or can't be written.
    """
    root = Path(folder)
    made: list[Path] = []
    try:
        for place in (root, *(root / name for name in (*_PLACES.values(), "pictures"))):
            if not place.is_dir():
                place.mkdir(parents=True)
                made.append(place)
        for name, text in _STARTER.items():
            path = root / name
            if not path.exists():
                _write_whole(path, text)
                made.append(path)
    except OSError as error:
        raise _unwritable(root, error) from None
    return made


def read(folder: str | Path, kind: str, name: str) -> Stored | None:
    """A pump or setup of a yard as text with its mark; ``None`` where there is none of that name."""
    path = place_of(folder, kind, name)
    try:
        text = path.read_bytes().decode()
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(Fault(str(path), "", "can't be read", str(error))) from None
    return Stored(text, mark_of(text))


def save(folder: str | Path, kind: str, name: str, text: str, *, mark: str | None = None) -> Stored:
    """Write a pump or setup whole, its earlier version kept.

    Parameters
    ----------
    folder : path
        The yard.
    kind : str
        ``pump`` or ``setup``.
    name : str
        File name without ending: small letters, digits, hyphens.
    text : str
        The whole file. It must be good: ``check_file`` finds no fault in it.
    mark : str, optional
        The mark of what was read; left out for a new file.

    Returns
    -------
    Stored
        What now stands there.

    Raises
    ------
    OverwrittenError
        If the file has changed since ``mark`` was read, or is there though it should be new. Nothing is written.
    InputError
        If the text has faults, the name is none, or the folder can't be written. Nothing is written.
    """
    path = place_of(folder, kind, name)
    with _alone(path):
        now = read(folder, kind, name)
        if (now.mark if now else None) != mark:
            got = "has been changed by somebody else" if mark else "is there already"
            theirs = now.text if now else ""
            raise OverwrittenError(
                Fault(str(path), "", got, "look at theirs, then save over it or under another name"), theirs
            )
        try:
            _checked(path, text)
            if now is not None:
                _keep(path, now.text)
            _write_whole(path, text)
        except OSError as error:
            raise _unwritable(path, error) from None
    return Stored(text, mark_of(text))


def earlier(folder: str | Path, kind: str, name: str) -> list[Path]:
    """Versions that saves have replaced, the newest first."""
    path = place_of(folder, kind, name)
    return sorted((path.parent / EARLIER).glob(f"{path.stem}.*.toml"), reverse=True)


def place_of(folder: str | Path, kind: str, name: str) -> Path:
    """Where a pump or setup of that name lies."""
    if kind not in _PLACES:
        raise InputError(Fault("", "kind", f'"{echo(kind)}"', f"write one of: {', '.join(_PLACES)}"))
    if len(name) > _LONGEST or _NAME.fullmatch(name) is None:
        raise InputError(
            Fault("", "name", f'"{echo(name)}"', "small letters, digits and single hyphens, such as ferrow-3")
        )
    return Path(folder) / _PLACES[kind] / f"{name}.toml"


def mark_of(text: str) -> str:
    """What tells one version of a file from another."""
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _checked(path: Path, text: str) -> None:
    """Refuse a text with faults, judged as a file in its place."""
    handle, name = tempfile.mkstemp(prefix=".check-", suffix=".part", dir=path.parent)
    draft = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode())
        faults = check_file(draft)
        if faults:
            raise InputError(tuple(Fault(path.name, fault.field, fault.got, fault.right) for fault in faults))
    finally:
        draft.unlink(missing_ok=True)


def _write_whole(path: Path, text: str) -> None:
    """To a new name, on the disk, then renamed: after a crash either the old file stands there or the new one."""
    handle, name = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise


def _keep(path: Path, text: str) -> None:
    folder = path.parent / EARLIER
    folder.mkdir(exist_ok=True)
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S.%fZ")
    _write_whole(folder / f"{path.stem}.{stamp}.toml", text)


@contextlib.contextmanager
def _alone(path: Path) -> Generator[None]:
    """One writer at a time for one file, on this machine; a lock left by a crash frees itself with its process."""
    path.parent.mkdir(parents=True, exist_ok=True)
    lock = path.parent / f".{path.stem}.lock"
    with lock.open("a") as file:
        _lock(file.fileno())
        yield


def _lock(handle: int) -> None:
    try:
        import fcntl
    except ImportError:  # no such lock on this system: the mark still notices another's edit
        return
    fcntl.flock(handle, fcntl.LOCK_EX)


def _unwritable(path: Path, error: OSError) -> InputError:
    return InputError(
        Fault(str(path), "", (error.strerror or "can't be written").lower(), "name a folder that can be written")
    )
