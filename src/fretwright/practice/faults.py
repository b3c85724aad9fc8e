"""What is to be mended in one take, and whether it was clean.

The order and the thresholds are those of the ear's own headline, so that a take which the ear praises is
always clean here, and the bar that the headline names is the bar that a plan takes up. Timing finer than 6 ms
or 2.5 % of the interval is never called a fault: nobody hears it (Friberg & Sundberg, "Time discrimination
in a monotonic, isochronous sequence", JASA 98, 1995). A constant earliness is none either: taps lead the
click by 20-80 ms as a matter of course (Repp, Psychonomic Bulletin & Review 12, 2005), and it cannot be told
from a device's delay.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import median
from typing import Final

from fretwright.practice.history import Fault, FaultKind

JUST_HEARD_MS: Final = 6.0
JUST_HEARD_SHARE: Final = 0.025
EVEN_SHARE: Final = 0.05
"""Spread of a steady player: musicians tap within some 2-4 % of the interval (from memory)."""
OFF_SHARE: Final = 0.18
"""Of the interval: a note so far from the pulse is named."""
DRIFT_PERCENT: Final = 5.0
OUT_OF_TUNE_CENTS: Final = 15.0
MOST_UNSURE: Final = 0.25
"""Share of notes that could not be told, beyond which a take says too little to be called clean."""


class Came(StrEnum):
    """What became of one written note."""

    PLAYED = "played"
    MISSED = "missed"
    WRONG = "wrong"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class NoteOutcome:
    """One written note as it came."""

    bar: int
    came: Came
    is_slur: bool
    """Whether it is written as one."""
    plucked: bool | None = None
    """How it was heard to start; ``None`` where that could not be told."""
    timing_ms: float | None = None
    cents: float | None = None
    level_db: float | None = None


@dataclass(frozen=True, slots=True)
class TakeOutcome:
    """One take as it came."""

    notes: tuple[NoteOutcome, ...]
    interval_ms: float
    """The usual distance of two notes, as played."""
    spread_ms: float
    drift_percent: float
    extras: int
    shift: int
    """Semitones by which everything lies above what is written."""
    complete: bool
    """Whether it reaches from the first note to the last."""


def faults_of(take: TakeOutcome) -> tuple[Fault, ...]:
    """All that is to be mended, the gravest first."""
    return tuple(fault for source in _SOURCES for fault in source(take))


def is_clean(take: TakeOutcome) -> bool:
    """Whether the take counts as a success: complete, told well enough, and nothing to mend but tune."""
    unsure = sum(note.came is Came.UNSURE for note in take.notes)
    return (
        take.complete
        and unsure <= MOST_UNSURE * len(take.notes)
        and all(fault.kind is FaultKind.TUNE for fault in faults_of(take))
    )


def slur_level_db(notes: Iterable[NoteOutcome]) -> float | None:
    """Middle level of the slurred notes less that of the plucked; ``None`` where either is missing.

    A slur that was heard as plucked belongs to neither.
    """
    told = [note for note in notes if note.came is Came.PLAYED and note.level_db is not None]
    slurred = [note.level_db or 0.0 for note in told if note.is_slur and note.plucked is not True]
    plucked = [note.level_db or 0.0 for note in told if not note.is_slur]
    return median(slurred) - median(plucked) if slurred and plucked else None


def _place(take: TakeOutcome) -> Iterator[Fault]:
    if take.shift:
        yield Fault(FaultKind.PLACE, None, len(take.notes))


def _notes(take: TakeOutcome) -> Iterator[Fault]:
    yield from _worst(FaultKind.NOTES, [n.bar for n in take.notes if n.came in {Came.MISSED, Came.WRONG}])


def _slurs(take: TakeOutcome) -> Iterator[Fault]:
    plucked = [n.bar for n in take.notes if n.is_slur and n.plucked is True and n.came is Came.PLAYED]
    yield from _worst(FaultKind.SLURS, plucked)


def _time(take: TakeOutcome) -> Iterator[Fault]:
    finest = max(JUST_HEARD_MS, JUST_HEARD_SHARE * take.interval_ms)
    timed = [note for note in take.notes if note.timing_ms is not None]
    if timed and take.spread_ms > max(finest, EVEN_SHARE * take.interval_ms):
        # no single note need be far off: the bar that strays most is the one to look at
        strays = dict.fromkeys((note.bar for note in timed), 0.0)
        for note in timed:
            strays[note.bar] += abs(note.timing_ms or 0.0)
        sizes = Counter(note.bar for note in timed)
        bar = min(strays, key=lambda one: (-strays[one] / sizes[one], one))
        yield Fault(FaultKind.TIME, bar, sizes[bar])
        return
    limit = max(finest, OFF_SHARE * take.interval_ms)
    yield from _worst(FaultKind.TIME, [n.bar for n in timed if abs(n.timing_ms or 0.0) > limit])


def _extras(take: TakeOutcome) -> Iterator[Fault]:
    if take.extras:
        yield Fault(FaultKind.EXTRAS, None, take.extras)


def _drift(take: TakeOutcome) -> Iterator[Fault]:
    if abs(take.drift_percent) >= DRIFT_PERCENT:
        yield Fault(FaultKind.DRIFT, None, len(take.notes))


def _tune(take: TakeOutcome) -> Iterator[Fault]:
    off = [n.bar for n in take.notes if n.came is Came.PLAYED and abs(n.cents or 0.0) > OUT_OF_TUNE_CENTS]
    yield from _worst(FaultKind.TUNE, off)


_SOURCES: Final[tuple[Callable[[TakeOutcome], Iterator[Fault]], ...]] = (
    _place,
    _notes,
    _slurs,
    _time,
    _extras,
    _drift,
    _tune,
)


def _worst(kind: FaultKind, bars: Sequence[int]) -> Iterator[Fault]:
    """The bar that the fault concerns most, the first of equals."""
    if bars:
        bar, count = min(Counter(bars).items(), key=lambda item: (-item[1], item[0]))
        yield Fault(kind, bar, count)
