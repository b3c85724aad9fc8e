"""The picture in memory, in the very layout that the encoder takes.

A canvas is a handful of planes. For H.264 these are luma and two chroma planes of half the size (ITU-R
BT.709, limited range); for a film with alpha they are red, green, blue and alpha. Everything that stands
still is turned into planes once; what moves is laid over them as masks. So a picture costs what changed on
it and no more.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

import av
import numpy as np
import numpy.typing as npt

from fretwright.base.errors import RenderError
from fretwright.film.raster import Mask, Pixels, rgb

Layout = Literal["yuv420p", "rgba"]
Plane = npt.NDArray[np.uint8]

_KR, _KG, _KB = 0.2126, 0.7152, 0.0722
"""Weights of red, green and blue in luma (ITU-R BT.709)."""
_MATRIX: Final = np.array(
    [
        [219 * _KR, 219 * _KG, 219 * _KB],
        [-112 * _KR / (1 - _KB), -112 * _KG / (1 - _KB), 112.0],
        [112.0, -112 * _KG / (1 - _KR), -112 * _KB / (1 - _KR)],
    ]
)
"""From red, green, blue of 0 to 1 to luma and chroma of limited range, offsets left out."""
_OFFSET: Final = np.array([16.0, 128.0, 128.0])


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle on the screen in pixels; all four numbers are even, so that chroma planes can hold it."""

    x: int
    y: int
    width: int
    height: int

    def __post_init__(self) -> None:
        if self.x % 2 or self.y % 2 or self.width % 2 or self.height % 2:
            raise RenderError(f"{self} does not lie on the grid of chroma.")

    @property
    def right(self) -> int:
        """First column beyond it."""
        return self.x + self.width

    @property
    def bottom(self) -> int:
        """First row below it."""
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class Tile:
    """A piece of a picture as planes."""

    planes: tuple[Plane, ...]

    def mixed(self, other: "Tile", share: float) -> "Tile":
        """A tile of which ``share`` is the other one."""
        if share <= 0:
            return self
        if share >= 1:
            return other
        weight = round(256 * share)
        pairs = zip(self.planes, other.planes, strict=True)
        return Tile(tuple(_mixed(own, its, weight) for own, its in pairs))


def _mixed(own: Plane, its: Plane, weight: int) -> Plane:
    """``weight`` 256ths of the other plane, the rest of its own."""
    both = own.astype(np.uint16) * (256 - weight) + its.astype(np.uint16) * weight
    return ((both + 128) >> 8).astype(np.uint8)


@dataclass(frozen=True, slots=True)
class Sprite:
    """A figure of one colour that is laid over the picture."""

    rect: Rect
    mask: Mask
    """Shape (rect.height, rect.width)."""
    half_mask: Mask
    """The same for planes of half the size."""
    colour: str


def sprite(mask: Mask, x: int, y: int, colour: str) -> Sprite:
    """A figure whose mask has its upper left corner at any pixel; it is widened to the grid of chroma."""
    before = ((y % 2, (mask.shape[0] + y % 2) % 2), (x % 2, (mask.shape[1] + x % 2) % 2))
    wide = np.pad(mask, before)
    rect = Rect(x - x % 2, y - y % 2, wide.shape[1], wide.shape[0])
    half = wide.reshape(rect.height // 2, 2, rect.width // 2, 2).mean(axis=(1, 3), dtype=np.float32)
    return Sprite(rect, wide, half, colour)


class Canvas:
    """A picture that can be changed in places."""

    def __init__(self, width: int, height: int, layout: Layout) -> None:
        """An empty picture: black, or transparent."""
        self.layout = layout
        self._steps: tuple[int, ...]
        self.planes: tuple[Plane, ...]
        if layout == "rgba":
            self._packed: Plane = np.zeros((height, width, 4), np.uint8)
            self.planes = tuple(self._packed[..., channel] for channel in range(4))
            self._steps = (1, 1, 1, 1)
        else:
            self._packed = np.zeros((height * 3 // 2, width), np.uint8)
            flat, luma = self._packed.reshape(-1), width * height
            half = (height // 2, width // 2)
            self.planes = (
                flat[:luma].reshape(height, width),
                flat[luma : luma + luma // 4].reshape(half),
                flat[luma + luma // 4 :].reshape(half),
            )
            self._steps = (1, 2, 2)

    def tile(self, pixels: Pixels) -> Tile:
        """Pixels of even width and height as planes of this canvas's layout."""
        if self.layout == "rgba":
            return Tile(tuple(np.ascontiguousarray(pixels[..., channel]) for channel in range(4)))
        values = pixels[..., :3].astype(np.float32) @ (_MATRIX / 255).astype(np.float32).T + _OFFSET.astype(
            np.float32
        )
        height, width = pixels.shape[:2]
        chroma = values[..., 1:].reshape(height // 2, 2, width // 2, 2, 2).mean(axis=(1, 3))
        whole = (values[..., 0], chroma[..., 0], chroma[..., 1])
        return Tile(tuple(np.rint(plane).astype(np.uint8) for plane in whole))

    def put(self, tile: Tile, rect: Rect) -> None:
        """Place a tile of the rectangle's size."""
        for plane, step, piece in zip(self.planes, self._steps, tile.planes, strict=True):
            _part(plane, step, rect)[:] = piece

    def copy_from(self, other: "Canvas", rects: Iterable[Rect]) -> None:
        """Take over what another canvas of the same layout shows there."""
        for rect in rects:
            for plane, theirs, step in zip(self.planes, other.planes, self._steps, strict=True):
                _part(plane, step, rect)[:] = _part(theirs, step, rect)

    def lay(self, figure: Sprite) -> None:
        """Lay a figure over the picture; it must be opaque there."""
        for plane, step, value in zip(self.planes, self._steps, self._values(figure.colour), strict=False):
            part = _part(plane, step, figure.rect)
            mask = figure.mask if step == 1 else figure.half_mask
            part[:] = np.rint(part + (value - part) * mask).astype(np.uint8)

    def frame(self) -> av.VideoFrame:
        """The picture as it is now, for an encoder."""
        return av.VideoFrame.from_ndarray(self._packed, format=self.layout)

    def pixels(self) -> Pixels:
        """A copy as red, green, blue and alpha; only for a canvas of that layout."""
        return self._packed.copy()

    def _values(self, colour: str) -> tuple[float, ...]:
        red_green_blue = np.array(rgb(colour), dtype=np.float64)
        if self.layout == "rgba":
            return tuple(float(value) for value in red_green_blue)
        return tuple(float(value) for value in _MATRIX @ (red_green_blue / 255) + _OFFSET)


def _part(plane: Plane, step: int, rect: Rect) -> Plane:
    return plane[rect.y // step : rect.bottom // step, rect.x // step : rect.right // step]
