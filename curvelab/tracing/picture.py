"""A picture from anywhere, taken with care: kind, size and pixels are known before anything is decoded."""

from __future__ import annotations

import io
import os
import stat
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from PIL import Image, ImageOps, UnidentifiedImageError

from curvelab.errors import Fault, InputError

KINDS: Final = ("PNG", "JPEG", "WEBP", "GIF", "BMP")
"""Kinds of picture that are read; no other decoder is ever asked."""
MOST_BYTES: Final = 40_000_000
"""Most bytes of a picture's file. [-]"""
MOST_PIXELS: Final = 50_000_000
"""Most pixels of a picture; a telephone takes 12 to 50 million. [-]"""
LEAST_SIDE: Final = 32
"""Least pixels of either side. [-]"""

_HEIF_BRANDS: Final = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis")

Source = str | Path | bytes | Image.Image


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture in red, green and blue, upright as it is shown, and its name in messages."""

    image: Image.Image
    name: str
    kind: str = ""
    """One of ``KINDS``; empty where it came already opened."""


def open_picture(source: Source, *, name: str = "") -> Picture:
    """The picture in a file, in a file's bytes, or already opened.

    A turn that a camera noted is carried out; what is see-through is laid on white.

    Parameters
    ----------
    source : path, bytes or PIL image
        The picture. Valid: PNG, JPEG, WebP, GIF or BMP, still, to 50 million pixels and 40 MB.
    name : str
        Its name in messages; the file's name where left out.

    Raises
    ------
    InputError
        If it is none of these, too large or too small, animated, cut short or damaged.
    """
    if isinstance(source, Image.Image):
        name = name or str(getattr(source, "filename", "") or "picture")
        _check(source, name)
        return Picture(_upright(source, name), name)
    if isinstance(source, bytes):
        name, data = name or "picture", source
    else:
        name = name or str(source)
        data = _bytes(Path(source), name)
    if len(data) > MOST_BYTES:
        raise _fault(name, "is over 40 MB", "save it smaller; 12 million pixels are plenty")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of Pillow, about pixels (counted below) and odd metadata
            image = Image.open(io.BytesIO(data), formats=KINDS)
    except UnidentifiedImageError:
        if _is_heif(data):
            got = "is a phone's own kind of picture (HEIC), which can't be read here"
            raise _fault(name, got, "save it as JPEG, or set the phone's camera to take JPEG") from None
        raise _fault(name, "is no picture that can be read", "save it as PNG or JPEG") from None
    except Image.DecompressionBombError:
        raise _too_many(name) from None
    except (OSError, ValueError, SyntaxError, EOFError, OverflowError) as error:
        raise _damaged(name, error) from None
    with image:
        _check(image, name)
        kind = (
            image.format if image.format in KINDS else "JPEG"
        )  # a JPEG with another picture behind it is no other kind
        return Picture(_upright(image, name), name, kind or "")


def _is_heif(data: bytes) -> bool:
    """Kinds of ISO/IEC 23008-12 (HEIF, HEIC) and of AVIF, by their first box; brands from memory."""
    return data[4:8] == b"ftyp" and any(data[at : at + 4] in _HEIF_BRANDS for at in range(8, 40, 4))


def _bytes(path: Path, name: str) -> bytes:
    try:
        # not blocking, so that a pipe without a writer is looked at instead of waited for
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        raise _fault(name, "there is no such file", "name a picture") from None
    except (OSError, ValueError) as error:
        raise _fault(name, (getattr(error, "strerror", None) or str(error)).lower(), "name a picture") from None
    try:
        mode = os.fstat(handle).st_mode
        if not stat.S_ISREG(mode):
            raise _fault(name, "is a folder" if stat.S_ISDIR(mode) else "is no ordinary file", "name a picture")
        with os.fdopen(handle, "rb", closefd=False) as file:
            return file.read(MOST_BYTES + 1)
    finally:
        os.close(handle)


def _check(image: Image.Image, name: str) -> None:
    wide, high = image.size
    if wide * high > MOST_PIXELS:
        raise _too_many(name)
    if min(wide, high) < LEAST_SIDE:
        raise _fault(name, f"is {wide} by {high} pixels", f"each side needs {LEAST_SIDE} at least")
    # telephones put a second picture for depth or brightness behind the first, which is the one that is shown
    if getattr(image, "n_frames", 1) > 1 and image.format != "MPO":
        raise _fault(name, "is animated, or has several pages", "save the one picture that shows the curve")


def _upright(image: Image.Image, name: str) -> Image.Image:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of Pillow, about odd metadata
            image.load()
            turned = ImageOps.exif_transpose(image)
            if turned.mode.startswith(("I", "F")):  # 16 bits a pixel: Pillow would cut it off at 255
                turned = turned.convert("F").point(lambda value: value / 257.0).convert("L")
            if turned.has_transparency_data:
                layer = turned.convert("RGBA")
                turned = Image.alpha_composite(Image.new("RGBA", layer.size, "white"), layer)
            return turned.convert("RGB")
    except (OSError, ValueError, SyntaxError, EOFError, OverflowError, MemoryError) as error:
        raise _damaged(name, error) from None


def _too_many(name: str) -> InputError:
    return _fault(name, "has over 50 million pixels", "save it smaller; 12 million are plenty")


def _damaged(name: str, error: Exception) -> InputError:
    return _fault(name, f"is damaged or cut short ({str(error).lower() or type(error).__name__})", "save it again")


def _fault(name: str, got: str, right: str) -> InputError:
    return InputError(Fault(name, "", got, right))
