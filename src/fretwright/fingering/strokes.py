"""Which way the picking hand moves.

Alternate picking follows the beat like a pendulum: down on the beat and on every even part of it, up in
between, whether or not each swing meets a string. The hand so keeps time by itself, a rest or a slur never
turns the strokes around, and the same rhythm has the same strokes each time it comes. Only groups of three
(triplets, compound time) alternate strictly, down-up-down up-down-up, because two downs in a row would
break the swing at speed; the next even beat begins down again. Strict alternation of all notes is the
other common way; it leaves the beat wherever a slur or an odd number of notes comes.

A rolled chord is swept in one slow stroke the way that it goes, whatever the beat.

Economy picking lets the pick fall through: a string change towards the treble is a down-stroke, towards
the bass an up-stroke, and only notes that stay on a string alternate.

All of these are common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from itertools import groupby
from math import gcd, lcm

from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar, Score
from fretwright.score.techniques import Stroke


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
    row = stroke_row(score, picking)
    return score.with_notes(
        tuple(replace(note, stroke=stroke) for note, stroke in zip(score.notes, row, strict=True))
    )


def stroke_row(score: Score, picking: Picking) -> list[Stroke | None]:
    """The stroke of each note of a score, as :func:`strokes` gives them."""
    ticks = lcm(*(note.onset.denominator for note in score.notes))
    onsets = [note.onset.numerator * (ticks // note.onset.denominator) for note in score.notes]
    grid = _grid(score, onsets, ticks) if picking is Picking.ALTERNATE else {}
    row: list[Stroke | None] = []
    last: tuple[Stroke, int] | None = None
    for onset, group in groupby(zip(onsets, score.notes, strict=True), key=lambda pair: pair[0]):
        chord = [note for _, note in group]
        # Fingers that pluck each on its own make no strokes.
        plucked = [note for note in chord if note.attack is Attack.PLUCK and note.picking_finger is None]
        if not plucked:
            row += [None] * len(chord)
            continue
        stroke = grid.get(onset, Stroke.DOWN)
        if picking is Picking.ECONOMY and last is not None:
            stroke = _falling_through(plucked, *last)
        rolled = [note.techniques.roll.stroke for note in plucked if note.techniques.roll]
        stroke = next(
            (note.stroke for note in plucked if note.stroke is not None), next(iter(rolled), stroke)
        )
        row += [stroke if note in plucked else None for note in chord]
        last = stroke, _leaving_string(plucked, stroke)
    return row


def _falling_through(plucked: Sequence[Note], last: Stroke, last_string: int) -> Stroke:
    """The stroke that goes on the way the pick is already moving."""
    nearest = min((note.string for note in plucked), key=lambda string: abs(string - last_string))
    if nearest == last_string:
        return Stroke.UP if last is Stroke.DOWN else Stroke.DOWN
    return Stroke.DOWN if nearest < last_string else Stroke.UP


def _leaving_string(plucked: Sequence[Note], stroke: Stroke) -> int:
    """The string that a stroke through several ends on: a down-stroke ends on the highest-sounding one."""
    strings = [note.string for note in plucked]
    return min(strings) if stroke is Stroke.DOWN else max(strings)


def _grid(score: Score, onsets: Sequence[int], ticks: int) -> dict[int, Stroke]:
    """The pendulum's way at every onset, all in ticks of a whole note."""
    grid: dict[int, Stroke] = {}
    first = 0
    for bar in score.bars:
        # finer ticks where the bar lines or the beat ask for them
        fine = lcm(ticks, bar.start.denominator, bar.end.denominator, bar.meter.beat.denominator)
        origin, end, beat = _in_ticks(bar, fine)
        after = first
        while after < len(onsets) and onsets[after] * (fine // ticks) < end:
            after += 1
        offsets = [onset * (fine // ticks) - origin for onset in onsets[first:after]]
        grid |= zip(onsets[first:after], _swings(offsets, beat), strict=True)
        first = after
    return grid


def _in_ticks(bar: Bar, ticks: int) -> tuple[int, int, int]:
    """Where a bar's beats are counted from, its end, and the length of its beat."""
    # A pickup is counted from its end, like the last part of a full bar.
    origin = bar.end - bar.meter.length if bar.number == 0 else bar.start
    return int(origin * ticks), int(bar.end * ticks), int(bar.meter.beat * ticks)


def _swings(offsets: Sequence[int], beat: int) -> list[Stroke]:
    """The stroke at each offset from where the bar's beats are counted from."""
    swings: list[Stroke] = []
    turned, last_number = False, -1
    for number, group in groupby(offsets, key=lambda offset: offset // beat):
        inside = [offset - number * beat for offset in group]
        parts = max(2, lcm(*(beat // gcd(offset, beat) for offset in inside)))
        if parts % 2 == 0 or number != last_number + 1:
            turned = False
        swings += [Stroke.UP if (offset * parts // beat) % 2 != turned else Stroke.DOWN for offset in inside]
        turned = turned != (parts % 2 == 1)
        last_number = number
    return swings
