"""What moves and changes: the playhead, the marks of what sounds, the visual count.

Each is a figure of one colour whose form says what it means.
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import Final

import numpy as np

from fretwright.engrave.outlines import Face
from fretwright.film.canvas import Sprite, sprite
from fretwright.film.clock import Beat
from fretwright.film.raster import INK, RUBRIC, Mask, columns, rasterise, rounded, text
from fretwright.film.scene import Moment, Scene, pad_px
from fretwright.film.stage import neck_place
from fretwright.score.note import Note

_HEAD_WIDTH: Final = 3.0
"""Of the playhead's line, in units."""
_POINTER: Final = 9.0
"""Half the width of the pointer on top of it, in units."""
_STRENGTH: Final = np.float32(0.85)
"""The playhead lets the ink under it be read."""


def playhead(scene: Scene, moment: Moment) -> Sprite:
    """A thin upright line through the line of music, with a pointer on top."""
    slot = scene.slots[moment.playing]
    unit = scene.screen.unit
    widths = np.full(slot.height, max(1, round(_HEAD_WIDTH * unit)))
    pointer = round(1.4 * _POINTER * unit)
    slope = np.linspace(2 * _POINTER * unit, 0.0, pointer).round().astype(int)
    widths[:pointer] = np.maximum(widths[:pointer], slope)
    mask, left = columns(slot.x + scene.strip.x_px(moment.spot.x_mm), widths)
    return sprite(mask * _STRENGTH, left, slot.y, RUBRIC)


def note_marks(scene: Scene, moment: Moment) -> Iterator[Sprite]:
    """A frame around every sounding note of the line that is being played."""
    slot = scene.slots[moment.playing]
    space, pad = scene.strip.space_px, pad_px(scene.screen)
    for note_id in sorted(moment.sounding):
        for box in scene.strip.plate.boxes[note_id]:
            if box.system == moment.spot.line:
                left, top, right, bottom = scene.strip.box_px(box)
                reach = 0.38 * space
                around = (
                    slot.x + left - reach,
                    slot.y + pad + top - reach,
                    slot.x + right + reach,
                    slot.y + pad + bottom + reach,
                )
                mask, x, y = rounded(around, 0.5 * space, 0.24 * space)
                yield sprite(mask, x, y, RUBRIC)


def neck_marks(scene: Scene, moment: Moment) -> Iterator[Sprite]:
    """A ring around the place of every sounding note on the fretboard, or on the chord that is held."""
    if scene.diagram is None or scene.screen.neck is None:
        return
    lies = neck_place(scene.screen, scene.screen.neck, scene.diagram)
    for note in _notes(scene, moment):
        box = scene.held.box_of(note) if scene.held else scene.diagram.boxes.get(note.place)
        if box is None:
            continue
        reach = 0.9 * lies.px_per_mm
        around = (
            lies.x + box.left * lies.px_per_mm - reach,
            lies.y + box.top * lies.px_per_mm - reach,
            lies.x + box.right * lies.px_per_mm + reach,
            lies.y + box.bottom * lies.px_per_mm + reach,
        )
        mask, x, y = rounded(around, around[2] - around[0], 0.75 * lies.px_per_mm)
        yield sprite(mask, x, y, RUBRIC)


def _notes(scene: Scene, moment: Moment) -> list[Note]:
    return [note for note in scene.score.notes if note.id in moment.sounding]


def count_marks(scene: Scene, beat: Beat) -> Iterator[Sprite]:
    """The number of the beat, and a figure for each of its bar: its own filled, the first one square."""
    right, middle = scene.screen.count_at
    size = scene.screen.count_size
    radius = 0.2 * size
    step = min(0.8 * size, 330 * scene.screen.unit / beat.of)
    for number in range(1, beat.of + 1):
        x = right - radius - (beat.of - number) * step
        current = number == beat.number
        reach = radius if current else 0.75 * radius
        box = (x - reach, middle - reach, x + reach, middle + reach)
        corner = 0.15 * reach if number == 1 else reach
        mask, left, top = rounded(box, corner, 0.0 if current else 0.09 * size)
        yield sprite(mask, left, top, INK)
    figure = _figure(str(beat.number), round(size))
    left = round(right - 2 * radius - (beat.of - 1) * step - 0.5 * size - figure.shape[1])
    yield sprite(figure, left, round(middle - figure.shape[0] / 2), INK)


@lru_cache(maxsize=64)
def _figure(words: str, size: int) -> Mask:
    """A number as a mask, its own height centred."""
    width, height = 2 * size * len(words) // 2, 2 * (size // 2)
    drawn = rasterise(
        text(words, Face.SANS_SEMIBOLD, size, width / 2, 0.86 * height, INK, 0.5),
        (0, 0, width, height),
        width,
        height,
    )
    return (drawn[..., 3] / 255).astype(np.float32)
