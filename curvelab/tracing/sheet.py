"""A picture laid flat: the chart as it would lie square-on, in contrast with its paper instead of in colours.

Places on the sheet are in its own pixels, x along the flow and y against the values, about as fine as the picture. In
these, ruled lines lie level or upright, and a curve is seen at the same width all along.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image
from scipy import ndimage

from curvelab.tracing.map import Floats, PaperMap, through

Array32 = NDArray[np.float32]

FINEST: Final = 1500.0
"""Pixels of the longer axis from which a picture is shrunk, by a whole number. [px]"""
MOST: Final = 5e6
"""Most pixels of a sheet. [px]"""
BEYOND: Final = (1.0, 0.6, 0.3, 0.1)
"""How far a sheet reaches beyond the marks, the first that fits, in spans of the axis. [-]"""
EDGE_PX: Final = 12.0
"""Margin kept beyond the place where flow or value is 0. [px]"""
BLOCK: Final = 8
"""Side of the squares whose median stands for the paper. [px]"""
PAPER_REACH: Final = 7
"""Such squares, in each direction, whose median is taken again. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """The flat chart."""

    contrast: Array32
    """How much darker than its paper each pixel is, red, green and blue, over the paper: shape (height, width, 3)."""
    tone: Array32
    """Mean of the three, shape (height, width)."""
    seen: NDArray[np.bool_]
    """Where the sheet shows the picture, shape (height, width)."""
    to_picture: Floats
    """Homogeneous matrix from sheet to picture, shape (3, 3)."""
    from_paper: Floats
    """Homogeneous matrix from paper to sheet, shape (3, 3); diagonal but for the shift."""
    paper_colour: Array32
    """Colour of the paper, 0 to 255, shape (height / 8, width / 8, 3)."""
    noise: float
    """Standard deviation of the contrast of blank paper. [-]"""

    def of_picture(self, pixel: ArrayLike) -> Floats:
        """Places on the sheet of pixels of the picture, both shape (n, 2)."""
        return through(np.linalg.inv(self.to_picture), pixel)

    def in_picture(self, place: ArrayLike) -> Floats:
        """Pixels of the picture of places on the sheet, both shape (n, 2)."""
        return through(self.to_picture, place)

    def of_paper(self, paper: ArrayLike) -> Floats:
        """Places on the sheet of places on the paper, both shape (n, 2)."""
        return through(self.from_paper, paper)

    def in_paper(self, place: ArrayLike) -> Floats:
        """Places on the paper of places on the sheet, both shape (n, 2)."""
        return through(np.linalg.inv(self.from_paper), place)

    @property
    def span_px(self) -> tuple[float, float]:
        """Length of the axis of flow and of the axis of values between the marks. [px]"""
        return float(self.from_paper[0, 0]), float(-self.from_paper[1, 1])

    def paper_at(self, place: Floats) -> Array32:
        """Colour of the paper about a place, 0 to 255, shape (3,)."""
        rows, columns = self.paper_colour.shape[:2]
        x, y = (place / BLOCK).astype(int)
        return self.paper_colour[min(max(y, 0), rows - 1), min(max(x, 0), columns - 1)]


def flatten(image: Image.Image, paper_map: PaperMap, *, least: tuple[float, float]) -> Sheet:
    """The chart in a picture, laid flat.

    Parameters
    ----------
    image : PIL image
        The picture, RGB.
    paper_map : PaperMap
        From paper to picture.
    least : pair of floats
        Place on the paper, along and up, below which neither flow nor values go; ``-inf`` where there is none.
    """
    corners = paper_map.to_pixel([[0, 0], [1, 0], [1, 1], [0, 1]])
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    shrink = max(1, int(max(sides) // FINEST))
    small = image.reduce(shrink) if shrink > 1 else image
    scale = np.array([max(sides[0], sides[2]), max(sides[1], sides[3])]) / shrink
    low, high = _extent(paper_map, image.size, scale, least)
    size = np.ceil((high - low) * scale).astype(int)
    from_paper = np.array(
        [[scale[0], 0, -low[0] * scale[0]], [0, -scale[1], high[1] * scale[1]], [0, 0, 1.0]], dtype=np.float64
    )
    to_picture = paper_map.matrix @ np.linalg.inv(from_paper)
    to_small = np.diag([1 / shrink, 1 / shrink, 1.0]) @ to_picture
    flat = _warp(small, to_small, (int(size[0]), int(size[1])))
    inside = _warp(Image.new("L", small.size, 255), to_small, (int(size[0]), int(size[1])))
    contrast, paper = _against_paper(flat)
    tone = (contrast[..., 0] + contrast[..., 1] + contrast[..., 2]) / np.float32(3.0)
    return Sheet(contrast, tone, inside > 254, to_picture, from_paper, paper, _noise(tone))


def _extent(
    paper_map: PaperMap, size: tuple[int, int], scale: Floats, least: tuple[float, float]
) -> tuple[Floats, Floats]:
    """Least and greatest place on the paper that a sheet shows: what the picture has, within bounds."""
    wide, high = size
    edge = np.linspace(0.0, 1.0, 9)
    rim = np.concatenate([np.outer(edge, [wide, 0]), np.outer(edge, [0, high])])
    rim = np.concatenate([rim, [wide, high] - rim])
    back = np.linalg.inv(paper_map.matrix)
    middle = paper_map.to_pixel([[0.5, 0.5]])[0]
    depth = (rim @ back[2, :2] + back[2, 2]) / (middle @ back[2, :2] + back[2, 2])
    near = through(back, rim[depth > 0.05])  # what lies towards the horizon is no part of a chart
    floor = np.array(least) - EDGE_PX / scale
    bottom, top = np.zeros(2), np.ones(2)
    for beyond in BEYOND:
        bottom = np.maximum(np.maximum(near.min(axis=0), -beyond), floor) if len(near) else np.zeros(2)
        top = np.minimum(near.max(axis=0), 1.0 + beyond) if len(near) else np.ones(2)
        if np.prod((top - bottom) * scale) <= MOST:
            break
    return bottom, np.maximum(top, bottom + 16.0 / scale)


def _warp(image: Image.Image, matrix: Floats, size: tuple[int, int]) -> NDArray[np.uint8]:
    """An image seen through a homogeneous matrix from the result's pixels to its own."""
    coefficients = (matrix / matrix[2, 2]).ravel()[:8].tolist()
    return np.asarray(image.transform(size, Image.Transform.PERSPECTIVE, coefficients, Image.Resampling.BICUBIC))


def _against_paper(flat: NDArray[np.uint8]) -> tuple[Array32, Array32]:
    """Contrast with the paper, and the paper's colour in squares."""
    high, wide = flat.shape[:2]
    rows, columns = -(-high // BLOCK), -(-wide // BLOCK)
    padded = np.pad(flat, ((0, rows * BLOCK - high), (0, columns * BLOCK - wide), (0, 0)), mode="edge")
    every = padded.reshape(rows, BLOCK, columns, BLOCK, 3)[:, ::2, :, ::2]  # every other pixel is enough
    blocks = every.transpose(0, 2, 4, 1, 3).reshape(rows, columns, 3, -1)
    paper = np.partition(blocks, blocks.shape[-1] // 2, axis=-1)[..., blocks.shape[-1] // 2].astype(np.float32)
    paper = np.stack([ndimage.median_filter(paper[..., c], PAPER_REACH, mode="nearest") for c in range(3)], axis=-1)
    contrast = np.empty(flat.shape, dtype=np.float32)
    for channel in range(3):
        smooth = Image.fromarray(paper[..., channel]).resize((columns * BLOCK, rows * BLOCK), Image.Resampling.BILINEAR)
        under = np.asarray(smooth)[:high, :wide]
        np.subtract(under, flat[..., channel], out=contrast[..., channel])
        contrast[..., channel] /= under + np.float32(8.0)
    return contrast, paper


def _noise(tone: Array32) -> float:
    """Spread of the difference of pixels two apart, which ruled lines and curves, being few, leave alone."""
    step = tone[::3, 2:] - tone[::3, :-2]
    return float(np.median(np.abs(step)) / 0.6745 / np.sqrt(2.0))
