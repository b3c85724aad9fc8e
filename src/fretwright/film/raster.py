"""From SVG to pixels, once for everything that stands still."""

from typing import Final

import av
import numpy as np
import numpy.typing as npt
import resvg_py

from fretwright.engrave.outlines import Face, text_outline

Pixels = npt.NDArray[np.uint8]
"""Shape (height, width, 4): red, green, blue and alpha, not premultiplied."""
Box = tuple[float, float, float, float]
Mask = npt.NDArray[np.float32]
"""Shape (height, width): how far each pixel is covered, 0 to 1."""

PAPER: Final = "#fffdf8"
INK: Final = "#1f1b16"
SOFT: Final = "#5b5449"
"""7.2 : 1 on paper."""
RULE: Final = "#d9d1c4"
"""Decoration alone."""
RUBRIC: Final = "#9b2a1a"
"""The one accent, 7.6 : 1 on paper."""


def rgb(colour: str) -> tuple[int, int, int]:
    """Red, green and blue, 0 to 255, of ``#rrggbb``."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def rasterise(body: str, view: Box, width: int, height: int, paper: str = "") -> Pixels:
    """Draw SVG elements; ``view`` is left, top, width and height in their own unit.

    Without ``paper`` what nothing covers stays transparent, and has the colour of paper all the same, so
    that no dark fringe appears where colours are averaged later.
    """
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{width}" height="{height}" preserveAspectRatio="none" '
        f'viewBox="{view[0]:.6f} {view[1]:.6f} {view[2]:.6f} {view[3]:.6f}">{body}</svg>'
    )
    drawn = resvg_py.svg_to_bytes(svg_string=svg, background=paper or None, skip_system_fonts=True, dpi=96)
    decoder = av.CodecContext.create("png", "r")
    frame = decoder.decode(av.Packet(bytes(drawn)))[0]
    pixels: Pixels = np.array(frame.to_ndarray(format="rgba"), dtype=np.uint8)
    pixels[pixels[..., 3] == 0, :3] = rgb(PAPER)
    return pixels


def text(
    words: str, face: Face, size: float, x: float, y: float, colour: str = INK, anchor: float = 0.0
) -> str:
    """One line of text as a path; ``anchor`` 0 sets its left end at x, 0.5 its middle, 1 its right end."""
    outline = text_outline(words, face, size)
    left = x - anchor * outline.advance
    return f'<path transform="translate({left:.3f} {y:.3f})" fill="{colour}" d="{outline.path}"/>'


def wrapped(words: str, face: Face, size: float, width: float, most_lines: int) -> list[str]:
    """Words broken into lines no wider than ``width``; what does not fit ends in an ellipsis."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_outline(longer, face, size).advance <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    kept = lines[:most_lines]
    if kept and (len(lines) > most_lines or text_outline(kept[-1], face, size).advance > width):
        while kept[-1] and text_outline(f"{kept[-1]}…", face, size).advance > width:
            kept[-1] = kept[-1][:-1].rstrip()
        kept[-1] += "…"
    return kept


def columns(middle: float, widths: npt.NDArray[np.int_]) -> tuple[Mask, int]:
    """A figure symmetric about an upright axis; each row is a bar of its own width in whole pixels.

    Returns the mask and the pixel at its left edge. Since widths are whole, the centre of gravity of what is
    covered is ``middle`` wherever between two pixels it falls, to the precision of the numbers: the figure
    moves without judder.
    """
    halves = np.asarray(widths, dtype=np.float64)[:, None] / 2
    left = int(np.floor(middle - halves.max()))
    right = int(np.ceil(middle + halves.max()))
    pixels = np.arange(left, right, dtype=np.float64)[None, :]
    cover = np.minimum(middle + halves, pixels + 1) - np.maximum(middle - halves, pixels)
    return np.clip(cover, 0.0, 1.0).astype(np.float32), left


def rounded(box: Box, radius: float, stroke: float) -> tuple[Mask, int, int]:
    """A rounded rectangle (left, top, right, bottom), as an outline or, with ``stroke`` 0, filled.

    Returns the mask and the pixel at its upper left corner.
    """
    left, top, right, bottom = box
    reach = stroke / 2 + 1
    x0, y0 = int(np.floor(left - reach)), int(np.floor(top - reach))
    x = np.arange(x0, int(np.ceil(right + reach)), dtype=np.float64)[None, :] + 0.5
    y = np.arange(y0, int(np.ceil(bottom + reach)), dtype=np.float64)[:, None] + 0.5
    radius = min(radius, (right - left) / 2, (bottom - top) / 2)
    dx = np.abs(x - (left + right) / 2) - ((right - left) / 2 - radius)
    dy = np.abs(y - (top + bottom) / 2) - ((bottom - top) / 2 - radius)
    outside = np.hypot(np.maximum(dx, 0), np.maximum(dy, 0)) + np.minimum(np.maximum(dx, dy), 0) - radius
    distance = np.abs(outside) - stroke / 2 if stroke else outside
    return np.clip(0.5 - distance, 0.0, 1.0).astype(np.float32), x0, y0
