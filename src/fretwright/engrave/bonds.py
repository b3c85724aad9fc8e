"""What ties written heads together: ties, slurs, slides; from note to note, before any place is known.

A tie joins two heads of one note. A slurred note is joined to the one it leaves; on the staff a chain of
slurred notes stands under a single arc, while the tab shows each pair with its own arc and letter.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, TypeVar

from fretwright.score.note import Attack, Note
from fretwright.score.score import Score

HeadKey = tuple[str, int]
"""Note id and index of the head."""

LETTERS: Final = {Attack.HAMMER_ON: "H", Attack.PULL_OFF: "P", Attack.SLIDE: "sl."}


@dataclass(frozen=True, slots=True)
class Bond:
    """An arc from one head to another."""

    first: HeadKey
    last: HeadKey
    start: Fraction
    """Written time of the first head."""
    end: Fraction
    """Written time of the last head."""
    string: int
    attack: Attack | None = None
    """How the last note starts; ``None`` for a tie."""
    falls: bool = False
    """Whether the last note lies lower than the first."""
    is_struck: bool = False
    """Whether the last note is plucked again: a slide without an arc."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Slurred notes in a row, under one arc on the staff."""

    start: Fraction
    """Written time of the first column."""
    end: Fraction
    """Written time of the last column."""
    voice: int = 1


@dataclass(frozen=True, slots=True)
class Bonds:
    """All arcs of a score, each kind in order of time."""

    ties: tuple[Bond, ...]
    pairs: tuple[Bond, ...]
    """One for each slurred note, and one for each that a finger slides to and that is struck all the same."""
    chains: tuple[Chain, ...]
    longest: Fraction
    """The longest that any of them lasts."""

    def within(self, start: Fraction, end: Fraction) -> "Bonds":
        """Those that have a part between two moments.

        Found by bisection, so that a system of a long score is drawn as fast as one of a short score.
        """
        since = start - self.longest
        ties, pairs = (_between(kind, since, end) for kind in (self.ties, self.pairs))
        return Bonds(ties, pairs, _between(self.chains, since, end), self.longest)


def bonds_of(score: Score) -> Bonds:
    """Find all arcs."""
    by_id = {note.id: note for note in score.notes}
    ties = sorted((tie for note in score.notes for tie in _ties(note)), key=_start)
    slurred = [
        _pair(by_id[note.slur_from], note)
        for note in score.notes
        if note.slur_from is not None and note.slur_from in by_id
    ]
    pairs = sorted([*slurred, *_shifts(score.notes)], key=_start)
    chains = tuple(
        sorted((chain for voice in (1, 2) for chain in _chains(score.notes, by_id, voice)), key=_start)
    )
    spans: list[Bond | Chain] = [*ties, *pairs, *chains]
    longest = max((span.end - span.start for span in spans), default=Fraction(0))
    return Bonds(tuple(ties), tuple(pairs), chains, longest)


_Span = TypeVar("_Span", Bond, Chain)


def _start(span: Bond | Chain) -> Fraction:
    return span.start


def _between(spans: tuple[_Span, ...], since: Fraction, end: Fraction) -> tuple[_Span, ...]:
    first, last = (bisect_left(spans, at, key=_start) for at in (since, end))
    return spans[first:last]


def _ties(note: Note) -> list[Bond]:
    ties: list[Bond] = []
    at = note.onset
    for index, value in enumerate(note.values[:-1]):
        following = at + value.duration
        ties.append(Bond((note.id, index), (note.id, index + 1), at, following, note.string))
        at = following
    return ties


def _pair(left: Note, note: Note) -> Bond:
    last = len(left.values) - 1
    start = left.end - left.values[-1].duration
    return Bond(
        (left.id, last),
        (note.id, 0),
        start,
        note.onset,
        note.string,
        note.attack,
        falls=note.pitch.midi < left.pitch.midi,
    )


def _shifts(notes: Sequence[Note]) -> Iterator[Bond]:
    """Slides to a note that is struck again, from the note before it on its string."""
    before: dict[int, Note] = {}
    for note in notes:
        left = before.get(note.string)
        if note.techniques.shift_slide and left is not None and left.fret != note.fret:
            yield replace(_pair(left, note), attack=Attack.SLIDE, is_struck=True)
        before[note.string] = note


def _chains(notes: Sequence[Note], by_id: dict[str, Note], voice: int) -> Iterator[Chain]:
    """Slurs that follow each other without a new pluck become one; parallel ones of a chord as well."""
    steps = sorted(
        {
            (by_id[note.slur_from].onset, note.onset)
            for note in notes
            if note.slur_from in by_id and note.voice == voice
        }
    )
    chains: list[Chain] = []
    for start, end in steps:
        if chains and start == chains[-1].end:
            chains[-1] = Chain(chains[-1].start, end, voice)
        else:
            chains.append(Chain(start, end, voice))
    yield from chains
