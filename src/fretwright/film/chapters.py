"""Chapters: the places of a film that a viewer jumps to."""

from dataclasses import dataclass
from typing import Final

from fretwright.film.scene import Scene

_MOST: Final = 60
"""More would not be read; lines are then taken together."""


@dataclass(frozen=True, slots=True)
class Chapter:
    """One stretch of a film."""

    start_s: float
    end_s: float
    title: str


def chapters(scene: Scene) -> tuple[Chapter, ...]:
    """Title, count-in and every line of music as it comes round, without a gap."""
    clock, visits = scene.clock, scene.path.visits
    marks = [(0.0, scene.words.title)] if clock.sound_starts_s > 0 else []
    if clock.beats and clock.beats[0].time_s < clock.music_starts_s - 1e-6:
        marks.append((clock.sound_starts_s, "Count-in"))
    step = -(-len(visits) // _MOST)
    for place in range(0, len(visits), step):
        group = visits[place : place + step]
        again = ", again" if group[0].time_through > 1 else ""
        marks.append((group[0].start_s, f"{_bars(group[0].bars[0], group[-1].bars[1])}{again}"))
    ends = [start_s for start_s, _ in marks[1:]] + [scene.frame_count / scene.screen.size.fps]
    return tuple(Chapter(start_s, end_s, title) for (start_s, title), end_s in zip(marks, ends, strict=True))


def _bars(first: int, last: int) -> str:
    return f"Bar {first}" if first == last else f"Bars {first} to {last}"
