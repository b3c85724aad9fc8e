"""The chords that a hand holds through a score, and how it changes between them."""

from bisect import bisect_left
from fractions import Fraction
from typing import NamedTuple

from fretwright.fretboard.change import Change, change
from fretwright.fretboard.voicing import Voicing
from fretwright.score.score import LabelKind, Score


class TimedChange(NamedTuple):
    """A change of chords where it happens."""

    at: Fraction
    """Written time of the first note of the new chord."""
    since: Fraction
    """Written time of the last note of the old one."""
    change: Change


def voicings_of(score: Score) -> tuple[Voicing, ...]:
    """How the chords of a score are held, each once, in the order in which they come."""
    found = (label.voicing for label in score.labels if label.voicing is not None)
    return tuple(dict.fromkeys(found))


def changes_of(score: Score) -> tuple[TimedChange, ...]:
    """Every change of the chords that are held, in written order."""
    names = [label for label in score.labels if label.kind is LabelKind.CHORD]
    onsets = sorted({note.onset for note in score.notes})
    found: list[TimedChange] = []
    before: Voicing | None = None
    for label in names:
        if label.voicing is not None and before is not None and label.voicing != before:
            nth = bisect_left(onsets, label.at)
            if 0 < nth < len(onsets):
                found.append(TimedChange(onsets[nth], onsets[nth - 1], change(before, label.voicing)))
        before = label.voicing or before
    return tuple(found)


def hardest_change(score: Score) -> Change | None:
    """The change that costs most, the earliest of several alike; None where there is none."""
    changes = [timed.change for timed in changes_of(score)]
    return max(changes, key=lambda one: one.cost.total, default=None)
