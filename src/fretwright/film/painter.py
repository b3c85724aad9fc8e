"""From moments to pictures: only what changed since the last picture is painted."""

from typing import Final

import numpy as np

from fretwright.film.canvas import Canvas, Layout, Rect, Sprite, Tile
from fretwright.film.marks import count_marks, neck_marks, note_marks, playhead
from fretwright.film.raster import PAPER, rgb
from fretwright.film.scene import Moment, Scene, Slot, pad_px
from fretwright.film.stage import stage_picture, title_picture

_KEPT_LINES: Final = 6


class Painter:
    """Paints the pictures of a scene, one after the other or in any order."""

    def __init__(self, scene: Scene, layout: Layout) -> None:
        """Draw all that stands still."""
        self._scene = scene
        size = scene.screen.size
        self._whole = Rect(0, 0, size.width, size.height)
        self._slots = scene.slots
        self._ground = Canvas(size.width, size.height, layout)
        self._shown = Canvas(size.width, size.height, layout)
        self._stage = self._ground.tile(stage_picture(scene))
        self._title: Tile | None = None
        self._standing: tuple[Slot, ...] | str | None = None
        self._laid: list[Rect] = []
        self._marks_key: object = None
        self._marks: list[Sprite] = []
        self._lines: dict[int | None, Tile] = {}

    def paint(self, time_s: float) -> Canvas:
        """The picture of a moment; the canvas is the painter's own and changes with the next call."""
        moment = self._scene.at(time_s)
        changed = self._set_ground(moment)
        sprites = [] if moment.is_title else [*self._marks_of(moment), playhead(self._scene, moment)]
        self._shown.copy_from(self._ground, [*changed, *self._laid])
        for each in sprites:
            self._shown.lay(each)
        self._laid = [each.rect for each in sprites]
        return self._shown

    def _set_ground(self, moment: Moment) -> list[Rect]:
        """Bring what stands still up to date; returns where it changed."""
        if moment.is_title:
            if self._standing == "title":
                return []
            if self._title is None:
                scene = self._scene
                self._title = self._ground.tile(title_picture(scene.screen, scene.words))
            self._ground.put(self._title, self._whole)
            self._standing = "title"
            return [self._whole]
        before = self._standing
        if not isinstance(before, tuple):
            self._ground.put(self._stage, self._whole)
        changed = [] if isinstance(before, tuple) else [self._whole]
        for place, slot in enumerate(moment.slots):
            if not isinstance(before, tuple) or before[place] != slot:
                self._ground.put(self._tile_of(slot), self._slots[place])
                changed.append(self._slots[place])
        self._standing = moment.slots
        return changed

    def _tile_of(self, slot: Slot) -> Tile:
        if slot.following is None:
            return self._line(slot.line)
        # Through bare paper: two lines seen through each other would be read as one.
        if slot.share < 0.5:
            return self._line(slot.line).mixed(self._line(None), 2 * slot.share)
        return self._line(None).mixed(self._line(slot.following), 2 * slot.share - 1)

    def _line(self, line: int | None) -> Tile:
        """A line's picture, drawn when it is first needed; the ones used last are kept."""
        # not by a cache of the standard library: it would hold its painter until a collection of cycles
        tile = self._lines.pop(line, None) or self._draw_line(line)
        if len(self._lines) >= _KEPT_LINES:
            del self._lines[next(iter(self._lines))]
        self._lines[line] = tile
        return tile

    def _draw_line(self, line: int | None) -> Tile:
        """A line of music in its slot, with the paper above and below it."""
        rect = self._slots[0]
        pixels = np.empty((rect.height, rect.width, 4), np.uint8)
        pixels[..., :3] = rgb(PAPER)
        pixels[..., 3] = 255
        if line is not None:
            pad = pad_px(self._scene.screen)
            pixels[pad : rect.height - pad] = self._scene.strip.picture(line)
        return self._ground.tile(pixels)

    def _marks_of(self, moment: Moment) -> list[Sprite]:
        """The figures that stand still between two changes of what sounds or is counted."""
        key = (moment.sounding, moment.playing, moment.spot.line, moment.beat)
        if key != self._marks_key:
            counted = count_marks(self._scene, moment.beat) if moment.beat else ()
            self._marks = [*note_marks(self._scene, moment), *neck_marks(self._scene, moment), *counted]
            self._marks_key = key
        return self._marks
