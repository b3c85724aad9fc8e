"""Which notes slurs leave and reach."""

from collections.abc import Iterator, Mapping
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
    shift_starts: AbstractSet[str] = frozenset()
    """Notes from which the finger slides on to one that is plucked all the same."""
    shift_stops: AbstractSet[str] = frozenset()


def slur_ends(score: Score) -> SlurEnds:
    """Find all slurs of a score."""
    leaving = {note.slur_from: note.attack for note in score.notes if note.slur_from is not None}
    reached = {note.id for note in score.notes if note.slur_from is not None}
    shifts = dict(_shifts(score))
    return SlurEnds(
        leaving,
        leaving.keys() - reached,
        reached - leaving.keys(),
        frozenset(shifts.values()),
        frozenset(shifts),
    )


def _shifts(score: Score) -> Iterator[tuple[str, str]]:
    """Each note that is shifted to, and the one before it on its string."""
    latest: dict[tuple[int, int], str] = {}
    for note in score.notes:
        left = latest.get((note.voice, note.string))
        if note.techniques.shift_slide and left is not None:
            yield note.id, left
        latest[note.voice, note.string] = note.id
