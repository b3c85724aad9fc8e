"""When two moments are the same for a listener, and so need not be told twice."""

from collections.abc import Callable, Sequence
from fractions import Fraction

from fretwright.engrave.walkthrough_moments import Moment, Row


class Sameness:
    """What decides whether two moments are the same for the listener."""

    def __init__(self, moments: Sequence[Moment], *, strokes: bool) -> None:
        """Number what is played at each moment, so that long scores are quick to compare.

        ``strokes`` is whether strokes are told note by note.
        """
        self.strokes = strokes
        self._kinds = self._numbered(moments, lambda row: row)
        self._kinds_elsewhere = self._numbered(moments, lambda row: row._replace(string=0))
        self._kinds_at_any_fret = self._numbered(moments, lambda row: row._replace(fret=0))

    def kinds(self, moments: Sequence[Moment]) -> tuple[int, ...]:
        """A number for what is played at each moment; equal numbers are the same for the listener."""
        return tuple(self._kinds[moment.onset] for moment in moments)

    def same(self, a: Sequence[Moment], b: Sequence[Moment]) -> bool:
        """Whether two stretches are the same, strings included."""
        return self.kinds(a) == self.kinds(b)

    def same_elsewhere(self, a: Sequence[Moment], b: Sequence[Moment]) -> bool:
        """Whether two stretches of single notes are the same on any one string each."""
        kinds = self._kinds_elsewhere
        return [kinds[moment.onset] for moment in a] == [kinds[moment.onset] for moment in b]

    def frets_apart(self, a: Sequence[Moment], b: Sequence[Moment]) -> int:
        """How many frets higher ``b`` plays what ``a`` plays; 0 where it plays anything else."""
        kinds = self._kinds_at_any_fret
        if [kinds[moment.onset] for moment in a] != [kinds[moment.onset] for moment in b]:
            return 0
        asked = [note.techniques for moment in a for note in moment.notes]
        if any(each.graces or each.trill or each.harmonic for each in asked):
            return 0  # these name frets of their own
        fretted = [note.fret for moment in a for note in moment.notes]
        moved = [note.fret for moment in b for note in moment.notes]
        distances = {to - where for where, to in zip(fretted, moved, strict=True)}
        return distances.pop() if len(distances) == 1 and 0 not in (*fretted, *moved) else 0

    def _numbered(self, moments: Sequence[Moment], key: Callable[[Row], Row]) -> dict[Fraction, int]:
        numbers: dict[object, int] = {}
        return {
            moment.onset: numbers.setdefault(
                (tuple(key(row) for row in moment.rows(strokes=self.strokes)), moment.step, moment.signs),
                len(numbers),
            )
            for moment in moments
        }
