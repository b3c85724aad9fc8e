"""Words that the score itself calls for, besides the teacher's: tuning, capo, swing."""

from fractions import Fraction
from typing import Final

from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.swing import STRAIGHT

_TAKEN_FOR_GRANTED: Final = frozenset(
    {"standard", "bass", "5-string bass", "7-string", "8-string", "9-string", "GCEA"}
)
"""Tunings that their number of strings alone tells."""


def labels_of(score: Score) -> tuple[Label, ...]:
    """All labels in order of time; what the player has to know before the first note comes first."""
    words: list[str] = []
    if score.neck.tuning.name not in _TAKEN_FOR_GRANTED:
        notes = " ".join(pitch.name.pretty for pitch in reversed(score.neck.tuning.open_pitches))
        words.append(f"Tuning {notes}")
    if score.neck.capo:
        words.append(f"Capo {score.neck.capo}")
    if score.swing.share != STRAIGHT.share:
        words.append("Swing")
    heading = (Label(Fraction(0), " · ".join(words), LabelKind.TEXT),) if words else ()
    return (*heading, *sorted(score.labels, key=lambda label: label.at))
