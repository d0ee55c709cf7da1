"""Pictures that nobody vouches for: refused in words before anything is decoded, or taken as they are shown."""

from __future__ import annotations

import io
import os
import struct
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from curvelab.errors import InputError
from curvelab.tracing.picture import MOST_BYTES, open_picture
from curvelab.tracing.trace import trace

HERE = Path(__file__).parent / "pictures"
CLEAN, FRAME = HERE / "example-clean.png", HERE / "example-clean.frame.toml"


def saved(image: Image.Image, kind: str, **how: object) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **how)
    return file.getvalue()


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(wide: int, high: int, rows: bytes = b"") -> bytes:
    """A PNG that says it is so large."""
    header = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def heif(brand: bytes, *others: bytes) -> bytes:
    """The first box of a file of the ISO base format, and nothing else that could be read."""
    body = brand + b"\0\0\0\0" + b"".join(others)
    return struct.pack(">I", 8 + len(body)) + b"ftyp" + body + b"\0\0\0\x10meta" + bytes(64)


def animated() -> bytes:
    frames = [Image.new("RGB", (64, 64), colour) for colour in ("red", "blue")]
    return saved(frames[0], "GIF", save_all=True, append_images=frames[1:])


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "a bomb of 3.6 thousand million pixels": (lambda: png(60_000, 60_000), "over 50 million pixels"),
    "one row too many": (lambda: png(10_000, 5_001), "over 50 million pixels"),
    "no pixels behind the header": (lambda: png(400, 300), "damaged or cut short"),
    "half a PNG": (lambda: CLEAN.read_bytes()[:2000], "damaged or cut short"),
    "half a JPEG": (lambda: saved(Image.new("RGB", (400, 300)), "JPEG")[:700], "damaged or cut short"),
    "nothing": (lambda: b"", "no picture that can be read"),
    "text": (lambda: b"not a picture", "no picture that can be read"),
    "SVG": (lambda: b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture that can be read"),
    "TIFF, which no decoder is asked for": (
        lambda: saved(Image.new("RGB", (64, 64)), "TIFF"),
        "no picture that can be",
    ),
    "a phone's HEIC": (
        lambda: heif(b"heic"),
        "phone's own kind of picture.*save it as JPEG, or set the phone's camera to",
    ),
    "a phone's HEIC that names its kind later": (lambda: heif(b"xxxx", b"mif1", b"heic"), "save it as JPEG"),
    "a film": (lambda: heif(b"isom", b"mp42"), "no picture that can be read"),
    "PDF": (lambda: b"%PDF-1.7\n%\xe2\xe3", "no picture that can be read"),
    "moving": (animated, "animated"),
    "a pixel": (lambda: saved(Image.new("RGB", (1, 1)), "PNG"), "is 1 by 1 pixels"),
    "40 MB": (lambda: bytes(MOST_BYTES + 1), "is over 40 MB"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_it_is_refused_in_words_and_at_once(name: str):
    make, says = HOSTILE[name]
    data = make()
    began = time.process_time()
    with pytest.raises(InputError, match=says) as told:
        trace(data, FRAME)
    assert time.process_time() - began < 2.0
    assert len(str(told.value).splitlines()) == 1


def test_what_is_no_file_is_refused(tmp_path: Path):
    os.mkfifo(tmp_path / "pipe.png")
    for path, says in (
        (tmp_path, "is a folder"),
        (tmp_path / "pipe.png", "no ordinary file"),
        (tmp_path / "x", "no such"),
    ):
        with pytest.raises(InputError, match=says):
            open_picture(path)


def test_a_photo_stands_as_its_camera_noted():
    """Orientation 6: the camera lay on its side; every viewer turns the picture, and people click what they see."""
    image = Image.new("RGB", (80, 40), "white")
    image.putpixel((0, 39), (0, 0, 0))  # left, bottom: becomes left, top when turned clockwise
    exif = Image.Exif()
    exif[274] = 6
    turned = open_picture(saved(image, "PNG", exif=exif)).image
    assert turned.size == (40, 80)
    assert turned.getpixel((0, 0)) == (0, 0, 0)


def test_of_a_telephones_two_pictures_in_one_the_first_is_taken():
    first, second = Image.new("RGB", (64, 48), "white"), Image.new("RGB", (64, 48), "black")
    opened = open_picture(saved(first, "MPO", save_all=True, append_images=[second]))
    assert opened.kind == "JPEG"
    assert opened.image.getpixel((9, 9)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "LA", "CMYK", "I;16", "1"])
def test_any_way_of_storing_colours_shows_the_same(mode: str):
    grey = np.linspace(0, 255, 64).astype(np.uint8)[None, :].repeat(40, axis=0)
    image = Image.fromarray(grey)
    if mode == "I;16":
        image = Image.fromarray(grey.astype(np.uint16) * 257)
    elif mode == "P":
        image = image.convert("RGB").convert("P", palette=Image.Palette.ADAPTIVE)
    else:
        image = (image.convert("RGB") if mode == "CMYK" else image).convert(mode)
    shown = np.asarray(open_picture(image).image.convert("L"), dtype=float)
    if mode == "1":
        assert set(np.unique(shown)) == {0.0, 255.0}
    else:
        assert np.abs(shown - grey).max() <= 2.0


def test_what_is_see_through_lies_on_white():
    image = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    assert open_picture(saved(image, "PNG")).image.getpixel((5, 5)) == (255, 255, 255)
