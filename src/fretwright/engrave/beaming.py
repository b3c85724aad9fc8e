"""Which notes share a beam, and which share a tuplet number.

Beams show the beats. Eighths are joined over two beats in 2/4 and 4/4 (never across the middle of the bar)
when nothing shorter, no tuplet and no longer note stands among them; everything else is beamed by the beat,
3/8 by the bar, 5/8 and 7/8 with their odd three first and last. Rests break beams. Common practice, no
source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fretwright.engrave.reading import BarOfColumns, Column
from fretwright.score.meter import Meter
from fretwright.score.values import EIGHTH, Tuplet


@dataclass(frozen=True, slots=True)
class TupletGroup:
    """Columns under one tuplet number."""

    first: int
    last: int
    """Indices of columns in the bar, both included."""
    tuplet: Tuplet

    @property
    def number(self) -> str:
        """What is printed: the count alone."""
        return str(self.tuplet.actual)


def beam_groups(bar: BarOfColumns) -> tuple[tuple[int, ...], ...]:
    """Groups of two or more column indices that share a beam, in order."""
    windows = _windows(bar)
    groups: list[list[int]] = []
    before: tuple[int, int] | None = None
    for index, column in enumerate(bar.columns):
        if column.is_rest or column.value.flags == 0:
            before = None
            continue
        window = windows[index]
        if before is not None and before[1] == window and before[0] == index - 1:
            groups[-1].append(index)
        else:
            groups.append([index])
        before = (index, window)
    return tuple(tuple(group) for group in groups if len(group) > 1)


def _windows(bar: BarOfColumns) -> list[int]:
    """For each column the number of the stretch of the bar inside which it may be beamed."""
    starts = _beam_starts(bar.bar.meter)
    shift = _missing_before(bar)
    beats = [
        max(i for i, start in enumerate(starts) if start <= column.offset + shift) for column in bar.columns
    ]
    if not _joins_beats(bar.bar.meter):
        return beats
    halves = [beat // 2 for beat in beats]
    joined = {
        half
        for half in set(halves)
        if all(
            column.value == EIGHTH
            for column, of_half in zip(bar.columns, halves, strict=True)
            if of_half == half
        )
    }
    return [-1 - half if half in joined else beat for beat, half in zip(beats, halves, strict=True)]


def _missing_before(bar: BarOfColumns) -> Fraction:
    """A pickup is counted from the end of the bar it would fill."""
    return bar.bar.meter.length - bar.bar.length if bar.bar.number == 0 else Fraction(0)


def _joins_beats(meter: Meter) -> bool:
    return meter.unit == 4 and meter.count in (2, 4)


def _beam_starts(meter: Meter) -> list[Fraction]:
    """Offsets in the bar at which a beam may not run on."""
    if meter.unit == 8 and not meter.is_compound:
        pieces = {3: [3], 5: [3, 2], 7: [2, 2, 3]}.get(
            meter.count, [2] * (meter.count // 2) + [1] * (meter.count % 2)
        )
        return [Fraction(sum(pieces[:i]), 8) for i in range(len(pieces))]
    return [meter.beat * i for i in range(meter.beats)]


def beam_levels(columns: Sequence[Column], beat: Fraction) -> list[list[tuple[int, int, str]]]:
    """The beams of a group, level by level: (first, last, side) with indices into ``columns``.

    ``side`` is empty for a beam between two or more stems; a beamlet has first == last and points to the
    ``left`` or ``right``. A group with thirty-seconds or shorter shows its half beats: only its first
    beam runs through.
    """
    flags = [column.value.flags for column in columns]
    levels: list[list[tuple[int, int, str]]] = []
    breaks = _inner_breaks(columns, beat)
    for level in range(1, max(flags) + 1):
        runs: list[tuple[int, int, str]] = []
        start: int | None = None
        for index in range(len(columns) + 1):
            carries = index < len(columns) and flags[index] >= level
            cut = level > 1 and index in breaks
            if start is not None and (not carries or cut):
                runs.append(_run(columns, start, index - 1, beat))
                start = None
            if carries and start is None:
                start = index
        levels.append(runs)
    return levels


def _run(columns: Sequence[Column], first: int, last: int, beat: Fraction) -> tuple[int, int, str]:
    if first < last:
        return first, last, ""
    if first == 0:
        return first, last, "right"
    if first == len(columns) - 1:
        return first, last, "left"
    inside = columns[first].offset % beat
    own = columns[first].value.duration
    return first, last, "right" if inside % (2 * own) == 0 else "left"


def _inner_breaks(columns: Sequence[Column], beat: Fraction) -> set[int]:
    """Indices before which the second and further beams are broken."""
    if max(column.value.flags for column in columns) < 3:
        return set()
    half = beat / 2 if beat.denominator in (4, 2) else beat / 3
    return {index for index, column in enumerate(columns) if index and column.offset % half == 0}


def tuplet_groups(bar: BarOfColumns) -> tuple[TupletGroup, ...]:
    """Columns that stand under one number.

    A group of equal values closes when it holds as many as its number says; a mixed one when its length
    is that of plain values and either a beat or the tuplets end there.
    """
    groups: list[TupletGroup] = []
    first: int | None = None
    for index, column in enumerate(bar.columns):
        tuplet = column.value.tuplet
        if tuplet is None:
            first = None
            continue
        if first is None or bar.columns[first].value.tuplet != tuplet:
            first = index
        if _closes(bar, first, index, tuplet):
            groups.append(TupletGroup(first, index, tuplet))
            first = None
    return tuple(groups)


def _closes(bar: BarOfColumns, first: int, last: int, tuplet: Tuplet) -> bool:
    members = bar.columns[first : last + 1]
    bases = {column.value.base for column in members}
    following = bar.columns[last + 1].value.tuplet if last + 1 < len(bar.columns) else None
    if following != tuplet:
        return True
    if len(bases) == 1 and not any(column.value.dots for column in members):
        return len(members) == tuplet.actual
    length = sum((column.value.duration for column in members), Fraction(0))
    plain = length.denominator & (length.denominator - 1) == 0
    end = members[-1].offset + members[-1].value.duration
    return plain and length >= tuplet.normal * min(bases) and end % bar.bar.meter.beat == 0
