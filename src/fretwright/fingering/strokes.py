"""Which way the picking hand moves.

Alternate picking follows the beat like a pendulum: down on the beat and on every even part of it, up in
between, whether or not each swing meets a string. The hand so keeps time by itself, a rest or a slur never
turns the strokes around, and the same rhythm has the same strokes each time it comes. Only groups of three
(triplets, compound time) alternate strictly, down-up-down up-down-up, because two downs in a row would
break the swing at speed; the next even beat begins down again. Strict alternation of all notes is the
other common way; it leaves the beat wherever a slur or an odd number of notes comes.

Economy picking lets the pick fall through: a string change towards the treble is a down-stroke, towards
the bass an up-stroke, and only notes that stay on a string alternate.

All of these are common practice, no source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from itertools import groupby
from math import lcm

from fretwright.score.note import Attack, Note, Stroke
from fretwright.score.score import Bar, Score


class Picking(StrEnum):
    """A way of choosing strokes."""

    ALTERNATE = "alternate"
    ECONOMY = "economy"
    DOWN = "down"
    """Down-strokes alone."""


def strokes(score: Score, picking: Picking = Picking.ALTERNATE) -> Score:
    """The score with a stroke on every plucked note, and none on slurred and tapped ones.

    Strokes that are already there are the teacher's and are kept; economy picking goes on from them.
    Notes that start together share one stroke.
    """
    grid = _grid(score) if picking is Picking.ALTERNATE else {}
    notes: list[Note] = []
    last: Stroke | None = None
    last_string = 0
    for onset, group in groupby(score.notes, key=lambda note: note.onset):
        chord = tuple(group)
        plucked = [note for note in chord if note.attack is Attack.PLUCK]
        stroke = Stroke.DOWN
        if picking is Picking.ALTERNATE:
            stroke = grid[onset]
        elif picking is Picking.ECONOMY and plucked and last is not None:
            stroke = _falling_through(plucked, last, last_string)
        stroke = next((note.stroke for note in plucked if note.stroke is not None), stroke)
        notes += [
            replace(note, stroke=(note.stroke or stroke) if note.attack is Attack.PLUCK else None)
            for note in chord
        ]
        if plucked:
            last, last_string = stroke, _leaving_string(plucked, stroke)
    return score.with_notes(tuple(notes))


def _falling_through(plucked: Sequence[Note], last: Stroke, last_string: int) -> Stroke:
    """The stroke that goes on the way the pick is already moving."""
    nearest = min((note.string for note in plucked), key=lambda string: abs(string - last_string))
    if nearest == last_string:
        return _turned(last)
    return Stroke.DOWN if nearest < last_string else Stroke.UP


def _leaving_string(plucked: Sequence[Note], stroke: Stroke) -> int:
    """The string that a stroke through several ends on: a down-stroke ends on the highest-sounding one."""
    strings = [note.string for note in plucked]
    return min(strings) if stroke is Stroke.DOWN else max(strings)


def _turned(stroke: Stroke) -> Stroke:
    return Stroke.UP if stroke is Stroke.DOWN else Stroke.DOWN


def _grid(score: Score) -> dict[Fraction, Stroke]:
    """The pendulum's way at every onset."""
    onsets = sorted({note.onset for note in score.notes})
    grid: dict[Fraction, Stroke] = {}
    for bar, in_bar in _by_bar(score.bars, onsets):
        # A pickup is counted from its end, like the last part of a full bar.
        origin = bar.end - bar.meter.length if bar.number == 0 else bar.start
        beat = bar.meter.beat
        turned, last_beat = False, -1
        for number, group in groupby(in_bar, key=lambda onset: (onset - origin) // beat):
            inside = [(onset - origin) / beat - number for onset in group]
            parts = max(2, lcm(*(offset.denominator for offset in inside)))
            if parts % 2 == 0 or number != last_beat + 1:
                turned = False
            for offset in inside:
                is_down = (offset * parts) % 2 == (1 if turned else 0)
                grid[origin + (number + offset) * beat] = Stroke.DOWN if is_down else Stroke.UP
            turned = turned != (parts % 2 == 1)
            last_beat = number
    return grid


def _by_bar(bars: Sequence[Bar], onsets: Sequence[Fraction]) -> Iterator[tuple[Bar, list[Fraction]]]:
    index = 0
    for bar in bars:
        first = index
        while index < len(onsets) and onsets[index] < bar.end:
            index += 1
        yield bar, list(onsets[first:index])
