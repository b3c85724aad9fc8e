"""Words that the score itself calls for, besides the teacher's: tuning, capo, swing."""

import re
from dataclasses import replace
from fractions import Fraction
from typing import Final

from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.swing import STRAIGHT

_TAKEN_FOR_GRANTED: Final = frozenset(
    {"standard", "bass", "5-string bass", "7-string", "8-string", "9-string", "GCEA"}
)
"""Tunings that their number of strings alone tells."""

_SHARP: Final = re.compile(r"(?<=[A-G])#|#(?=\d)")
_FLAT: Final = re.compile(r"(?<=[A-G])b|b(?=\d)")


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
    own = (
        replace(label, text=as_printed(label.text)) if label.kind is LabelKind.CHORD else label
        for label in sorted(score.labels, key=lambda label: label.at)
        if label.text.strip()
    )
    return (*heading, *own)


def as_printed(name: str) -> str:
    """A chord name with the signs of print: ``Bb7`` as B♭7, ``F#m7b5`` as F♯m7♭5, ``D/F#`` as D/F♯."""
    return _FLAT.sub("♭", _SHARP.sub("♯", name))
