"""What is shown at one moment: a pure function of time."""

from bisect import bisect_right
from dataclasses import dataclass, replace
from typing import Final

from fretwright.engrave.diagram import Diagram
from fretwright.film.canvas import Rect
from fretwright.film.clock import Beat, Clock, visible_beats
from fretwright.film.held import Held
from fretwright.film.layout import Screen
from fretwright.film.path import Path, Sounding, Spot, path_of, sounding_of
from fretwright.film.strip import Strip, strip_for
from fretwright.score.score import Score

_TURN_AFTER_S: Final = 0.35
"""How long after a line has begun the line before it is exchanged: the eye has left it by then."""
_TURN_SHARE: Final = 0.25
"""At most this share of the line's own time."""
_EXCHANGE_S: Final = 0.4


@dataclass(frozen=True, slots=True)
class Words:
    """What is written beside the music."""

    title: str
    """Of the exercise."""
    lesson: str
    course: str
    tempo: str
    """``66 beats a minute``."""


@dataclass(frozen=True, slots=True)
class Slot:
    """What stands in one place for a line of music."""

    line: int | None
    following: int | None
    """The line that it is just being exchanged for."""
    share: float
    """How far the exchange has come, 0 to 1: the line fades into paper, then the following one out of it."""


@dataclass(frozen=True, slots=True)
class Moment:
    """What is shown at one moment."""

    is_title: bool
    slots: tuple[Slot, ...]
    playing: int
    """Which slot the playhead is in."""
    spot: Spot
    sounding: frozenset[str]
    beat: Beat | None


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything that a film of one exercise shows."""

    screen: Screen
    score: Score
    clock: Clock
    strip: Strip
    slots: tuple[Rect, ...]
    """Where its lines are shown."""
    path: Path
    sounding: Sounding
    beats: tuple[Beat, ...]
    words: Words
    diagram: Diagram | None
    """The fretboard, or the chords that are held."""
    held: Held | None
    """Where the notes of chords are on it."""
    reduced_motion: bool

    @property
    def slot_count(self) -> int:
        """How many lines are in view at once."""
        return len(self.slots)

    @property
    def frame_count(self) -> int:
        """Pictures in the whole film."""
        return int(-(-self.clock.ends_s * self.screen.size.fps // 1))

    def time_of(self, frame: int) -> float:
        """When a picture appears."""
        return frame / self.screen.size.fps

    def at(self, time_s: float) -> Moment:
        """What is shown then."""
        visits = self.path.visits
        place = max(0, bisect_right(visits, time_s + 1e-5, key=lambda visit: visit.start_s) - 1)
        spot = self.path.step_at(time_s) if self.reduced_motion else self.path.at(time_s)
        beat = bisect_right(self.beats, time_s + 1e-5, key=lambda each: each.time_s) - 1
        return Moment(
            time_s < self.clock.sound_starts_s - 1e-5,
            self._slots(place, time_s),
            place % self.slot_count,
            spot,
            self.sounding.at(time_s),
            self.beats[beat] if beat >= 0 and time_s < self.clock.music_ends_s else None,
        )

    def _slots(self, place: int, time_s: float) -> tuple[Slot, ...]:
        """The line being played in one slot; in the other the next, or, just after a change, the last."""
        visits = self.path.visits
        playing = Slot(visits[place].line, None, 0.0)
        if self.slot_count == 1:
            return (playing,)
        before = visits[place - 1].line if place else None
        after = visits[place + 1].line if place + 1 < len(visits) else before
        visit = visits[place]
        turns_s = visit.start_s + min(_TURN_AFTER_S, _TURN_SHARE * (visit.end_s - visit.start_s))
        if before is None or before == after:
            other = Slot(after, None, 0.0)
        elif self.reduced_motion:
            other = Slot(before if time_s < turns_s else after, None, 0.0)
        else:
            share = min(1.0, max(0.0, (time_s - turns_s) / _EXCHANGE_S))
            other = Slot(before, after, share) if share < 1 else Slot(after, None, 0.0)
        return (playing, other) if place % 2 == 0 else (other, playing)


def scene_of(
    score: Score,
    clock: Clock,
    screen: Screen,
    words: Words,
    diagram: Diagram | Held | None = None,
    *,
    reduced_motion: bool = False,
) -> Scene:
    """Set the scene for a fingered score by a clock, with the fretboard or the chords that are held.

    Raises :class:`~fretwright.base.errors.RenderError` where the score cannot be engraved on that screen.
    """
    strip, slots = _set(score, screen)
    beats = visible_beats(clock.beats)
    path, sounding = path_of(strip.plate, clock), sounding_of(clock)
    held = diagram if isinstance(diagram, Held) else None
    drawn = diagram.diagram if isinstance(diagram, Held) else diagram
    return Scene(
        screen, score, clock, strip, slots, path, sounding, beats, words, drawn, held, reduced_motion
    )


def played_again(scene: Scene, clock: Clock, words: Words) -> Scene:
    """The same exercise by another clock; what was engraved for the first time is shared."""
    return replace(
        scene,
        clock=clock,
        path=path_of(scene.strip.plate, clock),
        sounding=sounding_of(clock),
        beats=visible_beats(clock.beats),
        words=words,
    )


def _set(score: Score, screen: Screen) -> tuple[Strip, tuple[Rect, ...]]:
    """Lines for two slots, or, where there is but one, for as much of the room as it can fill."""
    pad = pad_px(screen)
    pair = screen.slots(2)
    strip = strip_for(score, pair[0].width, pair[0].height - 2 * pad, staff=screen.staff)
    if strip.lines > 1:
        return strip, pair
    whole = screen.slots(1)[0]
    larger = strip_for(score, whole.width, whole.height - 2 * pad, staff=screen.staff)
    return (larger, (whole,)) if larger.lines == 1 else (strip, (_middle(whole, pair[0]),))


def _middle(room: Rect, slot: Rect) -> Rect:
    """A slot moved to the middle of a room."""
    x = room.x + (room.width - slot.width) // 4 * 2
    return Rect(x, room.y + (room.height - slot.height) // 4 * 2, slot.width, slot.height)


def pad_px(screen: Screen) -> int:
    """Paper above and below a line, in which only the playhead is seen."""
    return 2 * round(8 * screen.unit)
