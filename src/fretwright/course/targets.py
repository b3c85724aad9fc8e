"""``targets``: the note of each chord that a solo makes for, as an exercise of its own.

On each chord its third sounds, or another tone, as near as may be to the one before and under a hand that
stays where it is. Such lines are how a player learns to hear changes (common practice, no source).
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final, NamedTuple

from fretwright.base.errors import UnplayableError
from fretwright.base.spans import Span
from fretwright.course.chordrow import ChartBar
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook, did_you_mean, quoted
from fretwright.course.settings import Settings
from fretwright.course.struck import BarPlace, Hit
from fretwright.fretboard.hand import REACH_FRETS, first_finger_fret
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Head
from fretwright.theory.chord import Chord
from fretwright.theory.interval import UNISON, Interval

TARGETS: Final = {
    "roots": ("1",),
    "thirds": ("3",),
    "fifths": ("5",),
    "sevenths": ("7",),
    "thirds and sevenths": ("3", "7"),
    "sevenths and thirds": ("7", "3"),
}
USUAL_POSITION: Final = 5
_REACH: Final = 2
_OUTSIDE: Final = 3
_SUSPENDED: Final = ("4", "2")
"""What stands in for a third."""


class _Sounding(NamedTuple):
    """A chord and how long it lasts."""

    start: Fraction
    end: Fraction
    chord: Chord | None
    span: Span


def target_hits(
    entry: Entry,
    chart: Sequence[ChartBar],
    places: Sequence[BarPlace],
    settings: Settings,
    notebook: Notebook,
) -> list[Hit]:
    """A hit for each target, with findings where a chord has no such tone."""
    text = " ".join(entry.text.lower().split())
    if text not in TARGETS:
        message = f"{quoted(entry.text)} names no tones of a chord."
        notebook.error("bad-value", entry.span, message, did_you_mean(text, tuple(TARGETS)))
        return []
    position = USUAL_POSITION if settings.position is None else settings.position
    hand = _Hand(settings.neck, position)
    hits = []
    for sounding in _sounding(chart, places):
        chord = sounding.chord
        if chord is None:
            hits.append(Hit(sounding.start, (), settings.meter.beat, sounding.span))
            continue
        degrees = [_tone(chord, degree) for degree in TARGETS[text]]
        if None in degrees:
            message = f"{chord} has no {'seventh' if '7' in TARGETS[text] else 'such tone'}."
            notebook.error(
                "bad-value", sounding.span, message, 'Write "targets: thirds", or a seventh chord.'
            )
            return []
        length = (sounding.end - sounding.start) / len(degrees)
        for nth, degree in enumerate(degrees):
            try:
                head = hand.head(chord, degree or UNISON, sounding.span)
            except UnplayableError as error:
                notebook.refused("chord-cannot-be-held", sounding.span, error)
                return []
            hits.append(Hit(sounding.start + nth * length, (head,), settings.meter.beat, sounding.span))
    return hits


def _sounding(chart: Sequence[ChartBar], places: Sequence[BarPlace]) -> Iterator[_Sounding]:
    """Every chord of the chart, each bar for itself, so that a long chord is heard again in every bar."""
    chord: Chord | None = None
    span: Span | None = None
    for bar, place in zip(chart, places, strict=True):
        names = list(bar.names)
        starts = [place.start + name.at for name in names]
        if span is not None and (not names or names[0].at):
            yield _Sounding(place.start, starts[0] if starts else place.start + place.length, chord, span)
        for (start, end), name in zip(pairwise([*starts, place.start + place.length]), names, strict=True):
            yield _Sounding(start, end, name.chord, name.span)
            chord, span = name.chord, name.span


def _tone(chord: Chord, degree: str) -> Interval | None:
    """A tone of the chord by its number; of a suspended chord what stands for its third."""
    by_number = {interval.degree.lstrip("#b"): interval for interval in chord.degrees}
    wanted = (degree, *_SUSPENDED) if degree == "3" else (degree,)
    return next((by_number[number] for number in wanted if number in by_number), None)


class _Hand:
    """A hand in one position, and the note that it played last."""

    def __init__(self, neck: Neck, position: int) -> None:
        self._neck = neck
        self._first = first_finger_fret(position) if position else 0
        self._last: int | None = None

    def head(self, chord: Chord, degree: Interval, span: Span) -> Head:
        """The tone on the place nearest to the last one."""
        name = chord.root.transposed(degree)
        place = min(self._places(name.pitch_class), key=self._way)
        self._last = self._neck.midi_at(place)
        return Head(place, chord.spell(self._last), source=span)

    def _places(self, pitch_class: int) -> list[Place]:
        """Where the tone lies under the hand or so near that it can reach; further off only where it must."""
        for reach in range(_REACH, 12):
            low = max(0, self._first - reach)
            high = min(self._neck.last_fret, self._first + REACH_FRETS + reach)
            found = [
                Place(string, fret)
                for string in self._neck.tuning.strings
                for fret in range(low, high + 1)
                if self._neck.midi_at(Place(string, fret)) % 12 == pitch_class
            ]
            if found:
                return found
        raise UnplayableError(
            "The neck is too short to have every tone of these chords.", "Use a neck with more frets."
        )

    def _way(self, place: Place) -> tuple[int, int]:
        """How far from the last note in semitones; a fret outside the hand weighs as three."""
        outside = max(0, self._first - place.fret, place.fret - self._first - REACH_FRETS)
        if self._last is None:
            middle = (self._neck.tuning.string_count + 1) // 2
            return abs(place.string - middle) + _OUTSIDE * outside, place.string
        return abs(self._neck.midi_at(place) - self._last) + _OUTSIDE * outside, place.string
