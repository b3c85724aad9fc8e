"""What a diagram shows: the places of a shape or of a score, with what can be written on each.

A shape holds each place once. A score may come back to a place, with another finger even; it is shown
once, with every finger that it takes. An open string that is only ever dead is no open one.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.shapes import Shape
from fretwright.score.note import Finger
from fretwright.score.score import Score
from fretwright.theory.interval import UNISON, Interval
from fretwright.theory.pitch import NoteName, Pitch

_PRETTY: Final = str.maketrans("b#", "♭♯")


@dataclass(frozen=True, slots=True)
class Stop:
    """One place with all that is known of it."""

    place: Place
    fingers: tuple[Finger, ...]
    """Fingers that take it, in order; empty where none is known or none is needed."""
    pitch: Pitch
    degree: Interval
    """Which note of the scale or key it is, as an interval above the tonic within one octave."""
    is_dead: bool = False
    """Whether it is an open string that is touched and never rings."""

    @property
    def is_tonic(self) -> bool:
        """Whether it sounds the note that the scale or key is named after."""
        return self.degree == UNISON and not self.is_dead

    def label(self, kind: str) -> str:
        """What is written on it (``fingers``, ``degrees`` or ``notes``); empty where nothing is known."""
        if self.is_dead:
            return ""
        if kind == "degrees":
            return self.degree.degree.translate(_PRETTY)
        if kind == "notes":
            return self.pitch.name.pretty
        return "/".join(finger.mark for finger in self.fingers)


@dataclass(frozen=True, slots=True)
class Subject:
    """Everything that a diagram shows."""

    neck: Neck
    tonic: NoteName
    name: str
    """What it is, in a teacher's words."""
    stops: tuple[Stop, ...]
    """From the lowest string up, on each from the nut."""


def subject_of(shown: Shape | Score) -> Subject:
    """The places of a shape or of a score.

    Raises :class:`~fretwright.base.errors.RenderError` where there is no place to show.
    """
    subject = _of_shape(shown) if isinstance(shown, Shape) else _of_score(shown)
    if not subject.stops:
        raise RenderError(f'"{subject.name}" has no note to show on a fretboard.')
    return subject


def _of_shape(shape: Shape) -> Subject:
    stops = (
        Stop(
            note.place,
            (Finger(note.finger),) if note.finger and note.place.fret else (),
            note.pitch,
            note.degree,
        )
        for note in shape.notes
    )
    name = shape.name.replace(shape.scale.name, shape.scale.pretty)
    return Subject(shape.neck, shape.scale.tonic, name, _in_order(stops))


def _of_score(score: Score) -> Subject:
    tonic = score.scale.tonic if score.scale else score.key.tonic
    fingers: dict[Place, set[Finger]] = {}
    pitches: dict[Place, Pitch] = {}
    rings = {note.place for note in score.notes if note.fret or not note.techniques.dead}
    for note in score.notes:
        taken = fingers.setdefault(note.place, set())
        if note.finger and note.fret:
            taken.add(note.finger)
        pitches.setdefault(note.place, note.pitch)
    stops = (
        Stop(
            place,
            tuple(sorted(taken)),
            pitches[place],
            tonic.interval_to(pitches[place].name),
            is_dead=place not in rings,
        )
        for place, taken in fingers.items()
    )
    return Subject(score.neck, tonic, score.title, _in_order(stops))


def _in_order(stops: Iterable[Stop]) -> tuple[Stop, ...]:
    return tuple(sorted(stops, key=lambda stop: (-stop.place.string, stop.place.fret)))
