"""Where the playhead is at each moment, and what sounds then.

The path is made of legs. On a leg the playhead runs evenly from one column of the plate to the next, while
the sound goes from one onset to the next; between two legs it may jump, to another line or back to a
repeat. At an onset it stands on the note's own column, exactly.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fretwright.engrave.plate import Plate
from fretwright.film.clock import BarSpan, Clock
from fretwright.sound.render import SoundedNote

_SAME_TIME_S = 1e-3
"""An onset this close to its bar's start is the bar's start."""
_REST_LEAD_SP = 1.5
"""How far behind the bar line the playhead enters a bar that starts without a note, in staff spaces."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the plate."""

    line: int
    """Index of the system."""
    x_mm: float


@dataclass(frozen=True, slots=True)
class Leg:
    """An even run along one line."""

    start_s: float
    end_s: float
    line: int
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class Visit:
    """A stretch of time during which one line is played."""

    start_s: float
    end_s: float
    line: int
    bars: tuple[int, int]
    """Printed numbers of its first and last bar."""
    time_through: int
    """Of its first bar."""


@dataclass(frozen=True, slots=True)
class Path:
    """The way of the playhead through the plate."""

    legs: tuple[Leg, ...]
    """In order of time, each starting when the one before it ends."""
    visits: tuple[Visit, ...]

    def at(self, time_s: float) -> Spot:
        """Where the playhead is; before the music at its start, after it at its end."""
        leg = self._leg_at(time_s)
        if time_s >= leg.end_s or leg.end_s <= leg.start_s:
            return Spot(leg.line, leg.to_mm)
        share = max(0.0, (time_s - leg.start_s) / (leg.end_s - leg.start_s))
        return Spot(leg.line, leg.from_mm + share * (leg.to_mm - leg.from_mm))

    def step_at(self, time_s: float) -> Spot:
        """The same without movement: the column that was reached last."""
        leg = self._leg_at(time_s)
        return Spot(leg.line, leg.from_mm)

    def _leg_at(self, time_s: float) -> Leg:
        # Half a sample of grace, so that a picture at the very moment of an onset belongs to it.
        place = bisect_right(self.legs, time_s + 1e-5, key=lambda leg: leg.start_s) - 1
        return self.legs[max(0, place)]


def path_of(plate: Plate, clock: Clock) -> Path:
    """The playhead's way through a plate by a clock."""
    by_bar = _notes_by_bar(clock)
    stops = [_stops(plate, bar, notes) for bar, notes in zip(clock.bars, by_bar, strict=True)]
    legs: list[Leg] = []
    for place, (bar, own) in enumerate(zip(clock.bars, stops, strict=True)):
        line = plate.bars[bar.index].system
        later = clock.bars[place + 1] if place + 1 < len(clock.bars) else None
        if later and later.index == bar.index + 1 and plate.bars[later.index].system == line:
            ends = stops[place + 1][0]
        else:
            box = plate.bars[bar.index]
            ends = (bar.end_s, box.x + box.width)
        row = [*own, ends]
        legs += [Leg(begin, end, line, left, right) for (begin, left), (end, right) in pairwise(row)]
    return Path(tuple(legs), tuple(_visits(plate, clock)))


def _notes_by_bar(clock: Clock) -> list[list[SoundedNote]]:
    rows: list[list[SoundedNote]] = [[] for _ in clock.bars]
    place = 0
    for note in clock.notes:
        while place + 1 < len(clock.bars) and note.onset_s >= clock.bars[place + 1].start_s - 1e-5:
            place += 1
        rows[place].append(note)
    return rows


def _stops(plate: Plate, bar: BarSpan, notes: Sequence[SoundedNote]) -> list[tuple[float, float]]:
    """Time and x of each column of a bar, and of the bar's own start where no note starts there."""
    columns = {note.onset_s: column_mm(plate, note.note_id) for note in reversed(notes)}
    row = sorted(columns.items())
    box = plate.bars[bar.index]
    if not row or row[0][0] > bar.start_s + _SAME_TIME_S:
        lead_mm = _REST_LEAD_SP * plate.staff_space_mm
        first_mm = row[0][1] if row else box.x + box.width
        row.insert(0, (bar.start_s, min(box.x + lead_mm, (box.x + first_mm) / 2)))
    return row


def column_mm(plate: Plate, note_id: str) -> float:
    """The middle of a note's fret number, where it is struck; of its slash where there is no tab."""
    boxes = plate.boxes[note_id]
    box = next((box for box in boxes if box.layer == "tab"), boxes[0])
    return box.x + box.width / 2


def _visits(plate: Plate, clock: Clock) -> Iterator[Visit]:
    start = 0
    for place in range(1, len(clock.bars) + 1):
        last = place == len(clock.bars)
        if last or plate.bars[clock.bars[place].index].system != plate.bars[clock.bars[start].index].system:
            first, final = clock.bars[start], clock.bars[place - 1]
            yield Visit(
                first.start_s,
                final.end_s,
                plate.bars[first.index].system,
                (plate.bars[first.index].number, plate.bars[final.index].number),
                first.time_through,
            )
            start = place


@dataclass(frozen=True, slots=True)
class Sounding:
    """Which notes sound when."""

    times_s: tuple[float, ...]
    """When that changes."""
    sets: tuple[frozenset[str], ...]
    """The notes' ids from each of these times on."""

    def at(self, time_s: float) -> frozenset[str]:
        """Ids of the notes that sound."""
        place = bisect_right(self.times_s, time_s + 1e-5) - 1
        return self.sets[place] if place >= 0 else frozenset()


def sounding_of(clock: Clock) -> Sounding:
    """Which notes sound when, by a clock."""
    changes: dict[float, list[tuple[int, str]]] = {}
    for note in clock.notes:
        # On the grid of samples, so that an end and an onset at one moment are one change.
        start, end = round(note.onset_s, 6), round(note.onset_s + note.duration_s, 6)
        changes.setdefault(start, []).append((1, note.note_id))
        changes.setdefault(end, []).append((-1, note.note_id))
    counts: dict[str, int] = {}
    times: list[float] = []
    sets: list[frozenset[str]] = []
    for time_s in sorted(changes):
        for change, note_id in changes[time_s]:
            counts[note_id] = counts.get(note_id, 0) + change
        counts = {note_id: count for note_id, count in counts.items() if count}
        times.append(time_s)
        sets.append(frozenset(counts))
    return Sounding(tuple(times), tuple(sets))
