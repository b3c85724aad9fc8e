"""Which notes slurs leave and reach."""

from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from fretwright.score.note import Attack
from fretwright.score.score import Score


@dataclass(frozen=True, slots=True)
class SlurEnds:
    """The two ends of everything that joins notes of a score, by note id.

    A slur spans a whole chain of slurred notes; hammer-on, pull-off and slide join two neighbours each.
    """

    leaving: Mapping[str, Attack]
    """For a note that another is slurred from: how the other one starts."""
    slur_starts: AbstractSet[str]
    slur_stops: AbstractSet[str]


def slur_ends(score: Score) -> SlurEnds:
    """Find all slurs of a score."""
    leaving = {note.slur_from: note.attack for note in score.notes if note.slur_from is not None}
    reached = {note.id for note in score.notes if note.slur_from is not None}
    return SlurEnds(leaving, leaving.keys() - reached, reached - leaving.keys())
