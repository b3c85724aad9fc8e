"""The written heads of a note: one for each sign of its tied chain."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from fretwright.score.note import Note
from fretwright.score.values import Value


@dataclass(frozen=True, slots=True)
class Head:
    """One written note head."""

    note: Note
    index: int
    """Which of the note's tied values it writes; 0 is the one that is struck."""

    @property
    def value(self) -> Value:
        """The sign that it is written with."""
        return self.note.values[self.index]

    @property
    def is_tied_on(self) -> bool:
        """Whether another head of the same note follows."""
        return self.index + 1 < len(self.note.values)

    @property
    def is_held(self) -> bool:
        """Whether it goes on from a head before it and is not struck."""
        return self.index > 0


def heads_of(note: Note) -> Iterator[tuple[Fraction, Head]]:
    """Each head of a note with the written time at which it starts, in whole notes."""
    at = note.onset
    for index, value in enumerate(note.values):
        yield at, Head(note, index)
        at += value.duration
