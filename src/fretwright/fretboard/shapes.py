"""Shapes: a scale laid on strings and frets, with the fingers that take it.

A shape holds every scale note between its lowest and its highest exactly once. Where a note could lie on
either of two strings, the layout that leaves the hand most at rest wins; it is found by an exact search
over all ways to deal the notes out to the strings. No table of shapes stands behind it: the five minor
pentatonic boxes, the five major shapes and the seven with three notes per string follow from the rule
(common practice, no source).

Strings are taken in order of their open pitch, so that reentrant tunings work as well.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from fretwright.base.errors import FretboardError
from fretwright.fretboard.hand import OPEN_POSITION, REACH_FRETS, first_finger_fret
from fretwright.fretboard.layout import Layout, by_strings, from_lowest, over_position
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import STANDARD, Tuning
from fretwright.theory.interval import UNISON, Interval
from fretwright.theory.pitch import NoteName, Pitch
from fretwright.theory.scale import SCALE_KINDS, Scale

_MAX_PER_STRING: Final = 6
_BOX_KINDS: Final = {"minor pentatonic", "blues"}


@dataclass(frozen=True, slots=True)
class ShapeNote:
    """One note of a shape."""

    place: Place
    finger: int
    """1 to 4 from the index to the little finger; 0 for an open string."""
    pitch: Pitch
    """What sounds, spelled as the scale spells it."""
    degree: Interval
    """Which note of the scale it is, as an interval above the tonic within one octave."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A scale laid on a stretch of the neck."""

    scale: Scale
    neck: Neck
    position: int
    """Fret of the first finger, counted from the capo; 0 where open strings are used, and then the
    first finger is at fret 1."""
    notes: tuple[ShapeNote, ...]
    """Notes from the lowest to the highest."""

    def on_string(self, string: int) -> tuple[ShapeNote, ...]:
        """The notes on one string, from the lowest fret up."""
        return tuple(note for note in self.notes if note.place.string == string)

    @property
    def lowest_tonic(self) -> ShapeNote | None:
        """The lowest note that is the tonic, or None in a shape too small to hold one."""
        return next((note for note in self.notes if note.degree == UNISON), None)

    @property
    def frets(self) -> range:
        """From the lowest fret used to the highest, both included."""
        used = [note.place.fret for note in self.notes]
        return range(min(used), max(used) + 1)

    @property
    def box(self) -> int | None:
        """Number of the minor pentatonic box, 1 to 5, or None where the trade has no number.

        Box 1 starts on the tonic on the lowest string, box 2 on the next scale note, and so on. A blues
        shape has the number of the box that it adds the flat fifth to. Only tunings with the intervals
        of the standard one have boxes.
        """
        if self.scale.kind.name not in _BOX_KINDS or not _like_standard(self.neck.tuning):
            return None
        pentatonic = SCALE_KINDS["minor pentatonic"].degrees
        boxed = [note for note in self.notes if note.degree in pentatonic]
        per_string = [sum(n.place.string == s for n in boxed) for s in self.neck.tuning.strings]
        return pentatonic.index(boxed[0].degree) + 1 if set(per_string) == {2} else None

    @property
    def name(self) -> str:
        """What a teacher calls it: ``B minor pentatonic, box 1, position 7``."""
        where = "open position" if self.position == OPEN_POSITION else f"position {self.position}"
        box = f"box {self.box}, " if self.box else ""
        return f"{self.scale.name}, {box}{where}"


def shape_at(scale: Scale, neck: Neck, position: int) -> Shape:
    """Lay a scale over a position, with the first finger at fret ``position`` counted from the capo.

    The hand rests over four frets. It leaves them by one on a string where a scale note would
    otherwise be missing, and a finger stretches where that is not enough. The outer strings carry what
    they would if further strings followed a fourth beyond them, so that in standard tuning both E
    strings look alike.

    Positions 0 and 1 are the same place of the hand. Position 0, the open one, uses open strings
    wherever the scale has them; position 1 only where the closed hand would have to move or stretch.

    Raises :class:`FretboardError` where the position is off the neck or the neck ends too soon.
    """
    layout = over_position(scale, neck, position) if 0 <= position <= neck.last_fret else None
    if layout is None:
        raise FretboardError(
            f"{scale.name} cannot be laid over position {position} of this neck.",
            f"Use a position from 0, the open one, to {max(1, neck.last_fret - REACH_FRETS)}; where strings "
            "lie too far apart for one position, ask for notes per string instead.",
        )
    return _shape(scale, neck, position, layout)


def positions_of(scale: Scale, neck: Neck) -> tuple[Shape, ...]:
    """All positions of a scale along the neck, from the nut up.

    A position counts where the hand is more at rest than one fret lower or higher; in standard tuning
    that gives five to the octave for the pentatonic, blues, major and minor scales. Open strings add
    the open position where it is none of these.
    """
    resting = _resting_positions(scale, neck)
    shapes: list[Shape] = []
    for position in range(1, max(1, neck.last_fret - REACH_FRETS) + 1):
        layout = over_position(scale, neck, position)
        if layout is None:
            continue
        shape = _shape(scale, neck, position, layout)
        if shape.position == OPEN_POSITION or position % 12 in resting:
            shapes.append(shape)
    return tuple(shapes)


def _resting_positions(scale: Scale, neck: Neck) -> set[int]:
    """Positions, within an octave of frets, where the hand is most at rest among its neighbours.

    They are sought where neither nut nor end of neck is near, so that a scale has the same shapes in
    every key. Of two neighbours that serve equally well the higher counts: there the first finger lies
    on the lowest note of more strings.
    """
    candidates = []
    for position in range(12, 24):
        layout = over_position(scale, neck, position, last_fret=48)
        if layout is not None:
            candidates.append((layout.cost, -position))
    kept: set[int] = set()
    for _, negative in sorted(candidates):
        position = -negative % 12
        if kept.isdisjoint({(position - 1) % 12, (position + 1) % 12}):
            kept.add(position)
    return kept


def shape_by_strings(
    scale: Scale,
    neck: Neck,
    per_string: int,
    start: NoteName | Interval | None = None,
    position: int | None = None,
) -> Shape:
    """Lay a scale with the same number of notes on every string, from the lowest string up.

    ``start`` is the lowest note, by name or by degree; without it the first scale note at or above
    ``position`` on the lowest string. ``position`` says near which fret to start, where the note lies
    at two; without it the lower one is used. The position of the shape is the fret of its first note.

    Raises :class:`FretboardError` where ``start`` is not in the scale or the notes run off the neck.
    """
    if not 1 <= per_string <= _MAX_PER_STRING:
        raise FretboardError(
            f"{per_string} notes on a string cannot be laid out.", f"Use from 1 to {_MAX_PER_STRING}."
        )
    layouts = {}
    for first in _starts(scale, neck, start):
        layout = by_strings(scale, neck, per_string, first)
        if layout is not None:
            layouts[first] = layout
    hint = 0 if position is None else position
    if start is None:
        layouts = {first: layout for first, layout in layouts.items() if first >= hint}
    if not layouts:
        raise FretboardError(
            f"{scale.name} with {per_string} notes on each string runs off this neck.",
            "Start lower, or put fewer notes on a string.",
        )
    first = min(layouts, key=lambda fret: (abs(fret - hint), fret))
    return _shape(scale, neck, first, layouts[first])


def _starts(scale: Scale, neck: Neck, start: NoteName | Interval | None) -> list[int]:
    """Frets of the lowest string where a shape may start."""
    lowest_open = from_lowest(neck)[0][1]
    wanted: int | None = None
    if start is not None:
        name = scale.tonic.transposed(start) if isinstance(start, Interval) else start
        wanted = name.pitch_class
        if not scale.contains(wanted):
            raise FretboardError(
                f"{name} is not a note of {scale.name}.",
                f"Start on one of {', '.join(str(note) for note in scale.notes)}.",
            )
    return [
        fret
        for fret in range(neck.last_fret + 1)
        if scale.contains(lowest_open + fret) and wanted in {None, (lowest_open + fret) % 12}
    ]


def _shape(scale: Scale, neck: Neck, position: int, layout: Layout) -> Shape:
    notes = []
    for (string, open_midi), run, taken in zip(from_lowest(neck), layout.runs, layout.holds, strict=True):
        for fret, finger in zip(run, taken.fingers, strict=True):
            pitch = scale.spell(open_midi + fret)
            degree = scale.tonic.interval_to(pitch.name)
            notes.append(ShapeNote(Place(string, fret), finger, pitch, degree))
    uses_open = any(note.place.fret == 0 for note in notes)
    shape = Shape(scale, neck, position, tuple(notes))
    return replace(shape, position=OPEN_POSITION if uses_open else first_finger_fret(position))


def _like_standard(tuning: Tuning) -> bool:
    """Whether neighbouring strings lie as far apart as in standard tuning."""
    return _steps_between(tuning) == _steps_between(STANDARD)


def _steps_between(tuning: Tuning) -> list[int]:
    return [high.midi - low.midi for high, low in pairwise(tuning.open_pitches)]
