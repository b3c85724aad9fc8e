"""The score as a speaker goes through it: one moment after the other, each with what starts there.

Time goes on from moment to moment by ``step``. A note usually lasts that long; one that rings on while
others start (or that stops short of them) is marked, so that its own length can be said.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import NamedTuple

from fretwright.engrave.walkthrough_words import number, position_of
from fretwright.score.note import Attack, Finger, Note
from fretwright.score.score import Bar, LabelKind, Score
from fretwright.score.techniques import PickingFinger, Stroke, Techniques
from fretwright.score.values import Value, value_of


@dataclass(frozen=True, slots=True)
class Moment:
    """What starts at one time."""

    onset: Fraction
    bar: Bar
    notes: tuple[Note, ...]
    """From the lowest string up; empty for a rest."""
    step: tuple[Value, ...]
    """Written length until the next moment."""
    leaves: tuple[int | None, ...]
    """For each note the fret that its slur leaves."""
    signs: tuple[str, ...] = ()
    """Chord names, words and tempos that stand here, ready to be said."""
    shift: str = ""
    """Where the hand moves to for this moment, ready to be said; empty where it stays."""

    @property
    def string(self) -> int | None:
        """The string of a single note; None for a rest or several notes."""
        return self.notes[0].string if len(self.notes) == 1 else None

    @property
    def length(self) -> Fraction:
        """Whole notes until the next moment."""
        return sum((value.duration for value in self.step), Fraction(0))

    @property
    def offset(self) -> Fraction:
        """Whole notes since the bar line."""
        return self.onset - self.bar.start

    def rings_on(self, note: Note) -> bool:
        """Whether the note's own length is not that of the step."""
        return note.duration != self.length

    def rows(self, *, strokes: bool) -> "tuple[Row, ...]":
        """All that a student does here, note by note; ``strokes`` is whether each stroke is told."""
        return tuple(
            Row(
                note.string,
                note.fret,
                note.finger if note.fret else None,
                note.attack,
                leaves - note.fret if leaves is not None and note.attack is Attack.SLIDE else None,
                note.values,
                note.stroke if strokes else None,
                note.techniques,
                note.picking_finger,
                note.voice,
            )
            for note, leaves in zip(self.notes, self.leaves, strict=True)
        )


class Row(NamedTuple):
    """What is done for one note; two notes are the same for a listener where their rows are equal."""

    string: int
    fret: int
    finger: Finger | None
    attack: Attack
    slides: int | None
    """Frets from here to where a slide starts."""
    values: tuple[Value, ...]
    stroke: Stroke | None
    techniques: Techniques
    picking_finger: PickingFinger | None
    voice: int


def moments_of(score: Score) -> tuple[Moment, ...]:
    """Every onset and every rest of the score in order of time."""
    groups = _starts(score)
    fret_of = {note.id: note.fret for note in score.notes}
    signs = _signs_by_moment(score, [onset for onset, _ in groups])
    ends = [onset for onset, _ in groups[1:]] + [_end(score, groups)]
    found = []
    for (onset, notes), end in zip(groups, ends, strict=True):
        bar = score.bar_at(onset)
        step = _written(score, onset, end, notes)
        leaves = tuple(fret_of.get(note.slur_from or "") for note in notes)
        found.append(Moment(onset, bar, notes, step, leaves, signs.get(onset, ())))
    return tuple(_with_shifts(found, score.position))


def _starts(score: Score) -> list[tuple[Fraction, tuple[Note, ...]]]:
    """Onsets with the notes that start there; rests that really are silent, merged inside a bar."""
    starts: dict[Fraction, tuple[Note, ...]] = {}
    for note in score.notes:
        starts[note.onset] = (*starts.get(note.onset, ()), note)
    onsets = [note.onset for note in score.notes]
    sounds_until = list(accumulate((note.end for note in score.notes), max))
    silent_until: Fraction | None = None
    for rest in score.rests:
        before = bisect_right(onsets, rest.onset)
        if before and sounds_until[before - 1] > rest.onset:
            continue
        if silent_until != rest.onset or score.bar_at(rest.onset).start == rest.onset:
            starts.setdefault(rest.onset, ())
        silent_until = rest.end
    return sorted(starts.items())


def _end(score: Score, groups: Sequence[tuple[Fraction, tuple[Note, ...]]]) -> Fraction:
    """When the last moment ends."""
    return max((note.end for _, notes in groups[-1:] for note in notes), default=score.length)


def _written(score: Score, onset: Fraction, end: Fraction, notes: tuple[Note, ...]) -> tuple[Value, ...]:
    """The values that fill the time from ``onset`` to ``end``: those printed there, where there are some."""
    for note in notes:
        sums = list(accumulate(value.duration for value in note.values))
        if end - onset in sums:
            return note.values[: sums.index(end - onset) + 1]
    first, last = (bisect_left(score.rests, at, key=lambda rest: rest.onset) for at in (onset, end))
    printed = tuple(rest.value for rest in score.rests[first:last])
    whole = value_of(end - onset)
    if whole is not None and not notes:
        return (whole,)
    if sum((value.duration for value in printed), Fraction(0)) == end - onset:
        return printed
    return tuple(_spelled(score, onset, end))


def _spelled(score: Score, onset: Fraction, end: Fraction) -> Iterator[Value]:
    while onset < end:
        bar = score.bar_at(onset)
        until = min(end, bar.end) if onset < bar.end else end
        yield from bar.meter.spell(onset - bar.start, until - onset)
        onset = until


def _signs_by_moment(score: Score, onsets: Sequence[Fraction]) -> dict[Fraction, tuple[str, ...]]:
    """Chord names, words and later tempos, each at the first moment that is not before it."""
    spoken = [
        (label.at, _label_words(label.text, label.kind))
        for label in score.labels
        if label.kind is not LabelKind.LYRIC  # told in one piece, before the first bar
    ]
    spoken += [(mark.at, f"at {mark.bpm:g} beats a minute from here") for mark in score.tempo.marks[1:]]
    signs: dict[Fraction, tuple[str, ...]] = {}
    for at, words in sorted(spoken):
        onset = next((onset for onset in onsets if onset >= at), onsets[-1])
        signs[onset] = (*signs.get(onset, ()), words)
    return signs


def _label_words(text: str, kind: LabelKind) -> str:
    quoted = f"“{text.replace('“', '').replace('”', '')}”"
    return f"over the chord {quoted}" if kind is LabelKind.CHORD else f"with the words {quoted} above"


def _with_shifts(moments: Sequence[Moment], position: int | None) -> Iterator[Moment]:
    """The moments with every move of the hand along the neck."""
    position = None if position is None else max(1, position)
    reaches = [[place for note in moment.notes if (place := position_of(note))] for moment in moments]
    first_fingers = [
        any(note.finger is Finger.INDEX and note.fret for note in moment.notes) for moment in moments
    ]
    for index, (moment, reach) in enumerate(zip(moments, reaches, strict=True)):
        following = next((after for after in reaches[index + 1 :] if after), reach)
        target = _shift_target(position, reach, following, first_finger=first_fingers[index])
        if target is None:
            yield moment
            continue
        way = "" if position is None else "up" if target > position else "down"
        yield replace(moment, shift=f"shift {way} to position {number(target)}" if way else "")
        position = target


def _shift_target(
    position: int | None, reach: Sequence[int], following: Sequence[int], *, first_finger: bool
) -> int | None:
    """The fret the first finger moves to for a moment, or None where the hand can stay.

    A finger one fret out of its place is a stretch and no shift, unless it is the first finger: that one
    moves the hand, except where it only reaches back by a fret and the hand is in its old place again
    for the next note (common practice, no source).
    """
    if not reach:
        return None
    target = min(reach)
    if position is None:
        return target
    distance = target - position
    if abs(distance) > 1:
        return target
    reaches_back = distance == -1 and min(following) >= position
    return target if distance and first_finger and not reaches_back else None


def stroke_rule(score: Score) -> str | None:
    """One sentence's worth of words that gives every stroke of the score, or None if there is none.

    Empty where the score has no strokes. A rule covers the plucked notes alone.
    """
    plucked = [note for note in score.notes if note.attack is Attack.PLUCK]
    strokes = [note.stroke for note in plucked]
    if not any(note.stroke for note in score.notes):
        return ""
    if None in strokes or any(note.stroke for note in score.notes if note not in plucked):
        return None
    onsets = [note.onset for note in plucked]
    if len(set(strokes)) == 1:
        return f"{strokes[0]} strokes throughout"
    if len(set(onsets)) == len(onsets) and all(a is not b for a, b in pairwise(strokes)):
        return f"alternate strokes, starting with {_article(strokes[0])} {strokes[0]} stroke"
    on_beat = all(note.stroke is _stroke_by_beat(score, note) for note in plucked)
    return "down strokes on the beat and up strokes between the beats" if on_beat else None


def _stroke_by_beat(score: Score, note: Note) -> Stroke:
    bar = score.bar_at(note.onset)
    missing = bar.meter.length - bar.length if bar.number == 0 else Fraction(0)
    return Stroke.UP if (note.onset - bar.start + missing) % bar.meter.beat else Stroke.DOWN


def _article(stroke: Stroke | None) -> str:
    return "an" if stroke is Stroke.UP else "a"
