"""Which of a take's passes is described: the last complete one.

A student who stops and goes on from a bar, or goes back a bar, has not begun anew: what is played again
takes the place of what it repeats. One who goes back to the beginning has.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fretwright.ear.align import Match, Pass

_AT_AN_END = 2
"""Notes at either end that may be missing from a complete pass."""
_LEAST_SHARE = 0.6
_A_BEGINNING = 3


@dataclass(frozen=True, slots=True)
class Played:
    """One time through, made of one or more passes of the alignment."""

    parts: tuple[Pass, ...]
    matches: tuple[Match, ...]
    """The last sounding of each note found, in order of the notes."""
    extras: tuple[tuple[int, int, float], ...]
    complete: bool

    @property
    def moments(self) -> tuple[int, int]:
        """First and last candidate of it."""
        return self.parts[0].matches[0].moment, self.parts[-1].matches[-1].moment


def played_through(passes: Sequence[Pass], note_count: int) -> tuple[Played, ...]:
    """The passes joined to times through, in order of time."""
    groups: list[list[Pass]] = []
    for one in passes:
        first = one.matches[0].note
        if groups and (first > _AT_AN_END or (first > 0 and not _joined(groups[-1], note_count).complete)):
            groups[-1].append(one)
        elif groups and len(one.matches) < min(_A_BEGINNING, note_count):
            continue  # a sound between two passes that happens to be the first note
        else:
            groups.append([one])
    return tuple(_joined(group, note_count) for group in groups)


def last_complete(times: Sequence[Played]) -> Played | None:
    """The last complete time through, or the fullest where none is complete."""
    complete = [one for one in times if one.complete]
    if complete:
        return complete[-1]
    return max(times, key=lambda one: len(one.matches), default=None)


def _joined(group: Sequence[Pass], note_count: int) -> Played:
    latest: dict[int, Match] = {}
    extras: list[tuple[int, int, float]] = []
    for one in group:
        first, last = one.matches[0].note, one.matches[-1].note
        again = {n: m.moment for n, m in latest.items() if first <= n <= last}
        if again:
            # what is played again takes the place of what it repeats, left-out notes and extras included
            until = min((m.moment for n, m in latest.items() if n > last), default=None)
            extras = [
                extra
                for extra in extras
                if extra[0] < min(again.values()) or (until is not None and extra[0] > until)
            ]
            latest = {n: m for n, m in latest.items() if n not in again}
        for match in one.matches:
            latest[match.note] = match
        extras += one.extras
    notes = sorted(latest)
    complete = (
        bool(notes)
        and notes[0] <= min(_AT_AN_END, note_count // 4)
        and notes[-1] >= note_count - 1 - min(_AT_AN_END, note_count // 4)
        and len(notes) >= _LEAST_SHARE * note_count
    )
    return Played(tuple(group), tuple(latest[n] for n in notes), tuple(extras), complete)
