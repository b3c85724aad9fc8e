"""Skills of playing from chords: each chord, and what both hands do with it."""

from collections.abc import Iterator
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.score.held import voicings_of
from fretwright.score.score import Score
from fretwright.theory.chord import Chord

CHORD_SKILLS: Final = (
    "strumming", "fingerpicking", "muted strokes", "barre chords", "chord changes",
)  # fmt: skip
"""What playing from chords takes, besides the chords themselves, each of which is a skill (``Am chord``)."""
_WIDEST_TIP: Final = 2
"""Strings that a finger stops with its tip, or nearly so; over more of them it is a barre."""


def chord_skill(words: str) -> str | None:
    """The skill that a chord's name means, such as ``Am chord`` for ``Am``, ``A minor`` or ``Am chords``."""
    name = " ".join(words.split()).removesuffix("s").removesuffix(" chord")
    if not name[:1].isupper():
        return None
    try:
        return f"{Chord.parse(name)} chord"
    except NotationError:
        return None


def chord_skills(score: Score) -> Iterator[str]:
    """The skills that playing from chords takes; none for a score whose chords are not held as a whole."""
    held = voicings_of(score)
    if not held:
        return
    yield from (f"{voicing.chord} chord" for voicing in held)
    if len(held) > 1:
        yield "chord changes"
    if any(barre.width > _WIDEST_TIP for voicing in held for barre in voicing.barres):
        yield "barre chords"
    if any(note.picking_finger is not None for note in score.notes):
        yield "fingerpicking"
    if any(note.stroke is not None and note.picking_finger is None for note in score.notes):
        yield "strumming"
    if any(note.techniques.dead for note in score.notes):
        yield "muted strokes"
