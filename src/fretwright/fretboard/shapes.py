"""Shapes: a scale laid on strings and frets, with the fingers that take it.

A shape holds every scale note between its lowest and its highest exactly once. Where a note could lie on
either of two strings, the layout that leaves the hand most at rest wins; it is found by an exact search
over all ways to deal the notes out to the strings. No table of shapes stands behind it: the five minor
pentatonic boxes, the five major shapes and the seven with three notes per string follow from the rule
(common practice, no source).

Strings are taken in order of their open pitch, so that reentrant tunings work as well.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from fretwright.base.errors import FretboardError
from fretwright.fretboard.hand import OPEN_POSITION, REACH_FRETS, Hold, first_finger_fret, hold
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import STANDARD, Tuning
from fretwright.theory.interval import UNISON, Interval
from fretwright.theory.pitch import NoteName, Pitch
from fretwright.theory.scale import SCALE_KINDS, Scale

_REACH_BEYOND: Final = 4
"""Frets outside the position that the search looks at; only wide tunings ever need more than one."""
_EMPTY_STRING_COST: Final = 300
_IMAGINED_STRING_SEMITONES: Final = 5
"""Where a string beyond the outer ones is imagined: a fourth away, as most neighbours are."""
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


@dataclass(frozen=True, slots=True)
class _Layout:
    """Frets for each string, in the order of :func:`_from_lowest`, with the fingers and the total cost."""

    runs: tuple[tuple[int, ...], ...]
    holds: tuple[Hold, ...]
    cost: int


def shape_at(scale: Scale, neck: Neck, position: int) -> Shape:
    """Lay a scale over a position, with the first finger at fret ``position`` counted from the capo.

    The hand rests over four frets. It leaves them by one on a string where a scale note would
    otherwise be missing, and a finger stretches where that is not enough. The outer strings carry what
    they would if further strings followed a fourth beyond them, so that in standard tuning both E
    strings look alike. Positions 0 and 1 are the same place of the hand, with open strings used where
    the scale has them.

    Raises :class:`FretboardError` where the position is off the neck or the neck ends too soon.
    """
    layout = _layout_at(scale, neck, position)
    if layout is None:
        raise FretboardError(
            f"{scale.name} cannot be laid over position {position} of this neck.",
            f"Use a position from 1 to {max(1, neck.last_fret - REACH_FRETS)}.",
        )
    return _shape(scale, neck, position, layout)


def positions_of(scale: Scale, neck: Neck) -> tuple[Shape, ...]:
    """All positions of a scale along the neck, from the nut up.

    A position counts where the hand is more at rest than one fret lower or higher. In standard tuning
    that gives five to the octave for the pentatonic and the major and minor scales.
    """
    last = max(1, neck.last_fret - REACH_FRETS)
    shapes = []
    for position in range(1, last + 1):
        layout = _layout_at(scale, neck, position)
        if layout is not None:
            shapes.append((layout.cost, _shape(scale, neck, position, layout)))
    kept: list[Shape] = []
    for _, shape in sorted(shapes, key=lambda entry: (entry[0], -len(entry[1].notes), -entry[1].position)):
        if all(abs(shape.position - other.position) > 1 for other in kept):
            kept.append(shape)
    return tuple(sorted(kept, key=lambda shape: shape.position))


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
        layout = _layout_by_strings(scale, neck, per_string, first)
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


def _layout_at(scale: Scale, neck: Neck, position: int) -> _Layout | None:
    """The easiest layout over a position, or None where the notes cannot be had there."""
    if not 0 <= position <= neck.last_fret:
        raise FretboardError(
            f"There is no position {position} on this neck.",
            f"Use a position from 0, the open one, to {max(1, neck.last_fret - REACH_FRETS)}.",
        )
    real = [midi for _, midi in _from_lowest(neck)]
    opens = [real[0] - _IMAGINED_STRING_SEMITONES, *real, real[-1] + _IMAGINED_STRING_SEMITONES]
    resting = first_finger_fret(position)
    floor = 0 if resting == 1 else 1
    under_hand = [
        midi
        for open_midi in opens
        for midi in range(open_midi + resting * floor, open_midi + resting + REACH_FRETS + 1)
        if scale.contains(midi)
    ]
    if not under_hand:
        return None
    notes = [midi for midi in range(min(under_hand), max(under_hand) + 1) if scale.contains(midi)]
    lowest = max(floor, resting - _REACH_BEYOND)
    highest = min(neck.last_fret, resting + REACH_FRETS + _REACH_BEYOND)

    def run_on(string_index: int, run: Sequence[int]) -> tuple[int, ...] | None:
        frets = tuple(midi - opens[string_index] for midi in run)
        return frets if not frets or (lowest <= frets[0] and frets[-1] <= highest) else None

    whole = _dealt_out(notes, len(opens), run_on, position)
    if whole is None or not any(whole.runs[1:-1]):
        return None
    runs = whole.runs[1:-1]
    return _Layout(runs, *_held(runs, [position] * len(runs)))


def _dealt_out(
    notes: Sequence[int],
    string_count: int,
    run_on: Callable[[int, Sequence[int]], tuple[int, ...] | None],
    position: int,
) -> _Layout | None:
    """Deal rising notes out to the strings, each a run of neighbours, at the least total cost.

    Dynamic programming over (strings used, notes dealt); the answer is exact.
    """
    best: dict[int, _Layout] = {0: _Layout((), (), 0)}
    for string_index in range(string_count):
        longer: dict[int, _Layout] = {}
        for dealt, layout in best.items():
            for end in range(dealt, len(notes) + 1):
                frets = run_on(string_index, notes[dealt:end])
                if frets is None:
                    continue
                taken = hold(frets, position)
                cost = layout.cost + (taken.cost if frets else _EMPTY_STRING_COST)
                if end not in longer or cost < longer[end].cost:
                    longer[end] = _Layout((*layout.runs, frets), (*layout.holds, taken), cost)
        best = longer
    return best.get(len(notes))


def _layout_by_strings(scale: Scale, neck: Neck, per_string: int, first: int) -> _Layout | None:
    """So many notes on every string from fret ``first`` of the lowest one, or None off the neck."""
    opens = _from_lowest(neck)
    midi = opens[0][1] + first
    runs = []
    for _, open_midi in opens:
        run: list[int] = []
        while len(run) < per_string:
            if scale.contains(midi):
                run.append(midi - open_midi)
            midi += 1
        if run[0] < 0 or run[-1] > neck.last_fret:
            return None
        runs.append(tuple(run))
    candidates = [
        [OPEN_POSITION if run[0] == 0 else position for run in runs]
        for position in sorted({first_finger_fret(run[0]) for run in runs})
    ]
    fingered = [_Layout(tuple(runs), *_held(runs, positions)) for positions in candidates]
    return min(fingered, key=lambda layout: layout.cost)


def _held(runs: Sequence[tuple[int, ...]], positions: Sequence[int]) -> tuple[tuple[Hold, ...], int]:
    """Fingers for each string's run from that string's position, and their cost in all."""
    holds = tuple(hold(run, position) for run, position in zip(runs, positions, strict=True))
    return holds, sum(taken.cost for taken in holds)


def _starts(scale: Scale, neck: Neck, start: NoteName | Interval | None) -> list[int]:
    """Frets of the lowest string where a shape may start."""
    lowest_open = _from_lowest(neck)[0][1]
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


def _shape(scale: Scale, neck: Neck, position: int, layout: _Layout) -> Shape:
    notes = []
    for (string, open_midi), run, taken in zip(_from_lowest(neck), layout.runs, layout.holds, strict=True):
        for fret, finger in zip(run, taken.fingers, strict=True):
            pitch = scale.spell(open_midi + fret)
            degree = scale.tonic.interval_to(pitch.name)
            notes.append(ShapeNote(Place(string, fret), finger, pitch, degree))
    uses_open = any(note.place.fret == 0 for note in notes)
    shape = Shape(scale, neck, position, tuple(notes))
    return replace(shape, position=OPEN_POSITION if uses_open else first_finger_fret(position))


def _from_lowest(neck: Neck) -> list[tuple[int, int]]:
    """Every string's number and what it sounds open at the capo, from the lowest sounding up."""
    sounding = [
        (pitch.midi + neck.capo, string) for string, pitch in enumerate(neck.tuning.open_pitches, start=1)
    ]
    return [(string, midi) for midi, string in sorted(sounding, key=lambda entry: (entry[0], -entry[1]))]


def _like_standard(tuning: Tuning) -> bool:
    """Whether neighbouring strings lie as far apart as in standard tuning."""
    return _steps_between(tuning) == _steps_between(STANDARD)


def _steps_between(tuning: Tuning) -> list[int]:
    return [high.midi - low.midi for high, low in pairwise(tuning.open_pitches)]
