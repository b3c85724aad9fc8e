"""An overlay in time with a recording: which card is shown when, and how it is laid over a picture.

A card comes when nobody speaks any more and goes before somebody speaks again; it fades in and out, once for
each demonstration. Between two demonstrations of one exercise that follow each other closely it stays.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from fretwright.film.canvas import Canvas, Layout, Plane, Rect
from fretwright.film.layout import Screen
from fretwright.film.painter import Painter
from fretwright.film.scene import Scene
from fretwright.film.stage import CORNER, card_cover
from fretwright.score.playing import Playing

LEAD_S: Final = 1.0
"""How long before its first note a card comes, where it is quiet by then."""
TRAIL_S: Final = 0.6
"""How long after the end of its last note it goes."""
FADE_S: Final = 0.2
"""How long it takes to come and to go."""
_STAYS_S: Final = 0.8
"""A card does not go for less than this."""

Weights = npt.NDArray[np.uint16]
"""How far each pixel of a card covers what is under it, in 256ths."""


@dataclass(frozen=True, slots=True)
class Showing:
    """One card with its time on the screen."""

    scene: Scene
    """Its clock is that of the recording."""
    from_s: float
    until_s: float
    comes_at_once: bool = False
    """Without a fade: another card stood there until now, or the viewer wants no movement."""
    goes_at_once: bool = False

    def opacity(self, time_s: float) -> float:
        """How far the card covers what is under it, 0 to 1."""
        if not self.from_s <= time_s < self.until_s:
            return 0.0
        fade_s = min(FADE_S, (self.until_s - self.from_s) / 2)
        coming = 1.0 if self.comes_at_once else (time_s - self.from_s) / fade_s
        going = 1.0 if self.goes_at_once else (self.until_s - time_s) / fade_s
        return min(1.0, coming, going)


def showings(played: Sequence[tuple[Scene, Playing]]) -> tuple[Showing, ...]:
    """When each scene's card is shown, in order of time; no two are shown at once."""
    shown: list[Showing] = []
    for scene, playing in played:
        calm = scene.reduced_motion
        from_s = max(playing.clear_from_s, playing.starts_s - LEAD_S, 0.0)
        until_s = min(max(playing.clear_until_s, playing.ends_s), scene.clock.music_ends_s + TRAIL_S)
        shown.append(Showing(scene, from_s, max(until_s, from_s), calm, calm))
    for place, (one, other) in enumerate(pairwise(shown)):
        same = one.scene.words.title == other.scene.words.title
        quiet = played[place + 1][1].clear_from_s <= one.until_s
        if other.from_s < one.until_s or (same and quiet and other.from_s - one.until_s < _STAYS_S):
            shown[place] = replace(shown[place], until_s=other.from_s, goes_at_once=True)
            shown[place + 1] = replace(other, comes_at_once=True)
    return tuple(shown)


class Overlay:
    """Lays the cards of a recording over its pictures, one picture after the other."""

    def __init__(self, cards: Sequence[Showing], width: int, height: int, layout: Layout) -> None:
        """``layout`` is ``yuv420p`` to lay cards over pictures, ``rgba`` to leave them on nothing."""
        self._cards = cards
        self._layout = layout
        self._canvas = Canvas(width, height, layout)
        self._place = 0
        self._painter: Painter | None = None

    def over(self, planes: Sequence[Plane], time_s: float) -> Canvas:
        """A picture of the recording with the card of that moment; the canvas is the overlay's own."""
        for own, theirs in zip(self._canvas.planes, planes, strict=True):
            own[:] = theirs
        shown = self._shown(time_s)
        if shown is not None:
            card, opacity, painted = shown
            _lay(self._canvas.planes, painted.planes, card.scene, opacity)
        return self._canvas

    def alone(self, time_s: float) -> Canvas:
        """The card of that moment on nothing."""
        shown = self._shown(time_s)
        if shown is None:
            self._canvas.planes[3][:] = 0
            return self._canvas
        _, opacity, painted = shown
        if opacity >= 1.0:
            return painted
        for own, theirs in zip(self._canvas.planes, painted.planes, strict=True):
            own[:] = theirs
        alpha = self._canvas.planes[3]
        alpha[:] = np.rint(alpha * np.float32(opacity)).astype(np.uint8)
        return self._canvas

    def _shown(self, time_s: float) -> tuple[Showing, float, Canvas] | None:
        """The card of a moment, how far it covers, and its picture; moments come in order."""
        while self._place < len(self._cards) and self._cards[self._place].until_s <= time_s:
            self._place += 1
            self._painter = None
        if self._place == len(self._cards):
            return None
        card = self._cards[self._place]
        opacity = card.opacity(time_s)
        if opacity <= 0.0:
            return None
        if self._painter is None:
            self._painter = Painter(card.scene, self._layout)
        return card, opacity, self._painter.paint(time_s)


def _lay(under: Sequence[Plane], card: Sequence[Plane], scene: Scene, opacity: float) -> None:
    """Mix a card into a picture; where it covers all, it is copied."""
    screen = scene.screen
    rect = screen.card
    if rect is None:
        return
    for plane, own, step in zip(under, card, (1, 2, 2), strict=True):
        part, piece = _part(plane, rect, step), _part(own, rect, step)
        weights = _weights(screen, step)
        edge = -(-round(CORNER * screen.unit) // step)
        if opacity >= 1.0:
            part[edge:-edge] = piece[edge:-edge]
            bands = [slice(0, edge), slice(len(part) - edge, len(part))]
        else:
            bands = [slice(0, len(part))]
        for band in bands:
            weight = (weights[band] * np.float32(opacity)).astype(np.uint16)
            mixed = part[band] * (256 - weight) + piece[band] * weight + 128
            part[band] = (mixed >> 8).astype(np.uint8)


@lru_cache(maxsize=4)
def _weights(screen: Screen, step: int) -> Weights:
    """How far the card covers each pixel of its rectangle, on planes of whole or half the size."""
    cover = card_cover(screen).astype(np.float32) * np.float32(256 / 255)
    height, width = cover.shape
    mean = cover.reshape(height // step, step, width // step, step).mean(axis=(1, 3))
    weights: Weights = np.rint(mean).astype(np.uint16)
    return weights


def _part(plane: Plane, rect: Rect, step: int) -> Plane:
    return plane[rect.y // step : rect.bottom // step, rect.x // step : rect.right // step]
