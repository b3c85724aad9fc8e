"""Boxes of what stands on a plate, in millimetres from its upper left corner."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any

from fretwright.engrave.ink import Layer
from fretwright.engrave.pitches import y_of
from fretwright.engrave.stacking import Stacked
from fretwright.engrave.systems import SetSystem


@dataclass(frozen=True, slots=True)
class NoteBox:
    """One written head or one fret number of a note."""

    x: float
    """Left edge."""
    y: float
    """Upper edge."""
    width: float
    height: float
    layer: Layer
    system: int
    """Index of its system, from 0."""

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class BarBox:
    """One bar, from the end of the bar before it to its own bar line, over the full height of its system."""

    number: int
    """As printed; a pickup bar is 0."""
    index: int
    """Place in the score, from 0."""
    system: int
    x: float
    y: float
    width: float
    height: float

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class SystemBox:
    """One system, from its uppermost to its lowest line."""

    index: int
    x: float
    y: float
    width: float
    height: float
    first_bar: int
    """Index of its first bar in the score."""
    last_bar: int
    ink_top: float
    """Upper edge of the highest sign of the system, slurs and rows of marks included."""
    ink_bottom: float

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class MomentMark:
    """Where a moment stands on the line: what a playhead has to pass when notes start or rests begin."""

    at: Fraction
    """Written time in whole notes."""
    system: int
    x: float

    def as_dict(self) -> dict[str, Any]:
        """For JSON; the time as a fraction in text."""
        return {"at": str(self.at), "system": self.system, "x": self.x}


def moment_marks(systems: Sequence[SetSystem], mm: float) -> tuple[MomentMark, ...]:
    """Every moment in order of time."""
    return tuple(
        MomentMark(shape.moment.at, system.placed.index, _mm(x, mm))
        for system in systems
        for shape, x in system.placed.moments
    )


def note_boxes(systems: Sequence[SetSystem], stacked: Stacked, mm: float) -> dict[str, tuple[NoteBox, ...]]:
    """Note id to the boxes of its heads and fret numbers, in order of system, staff before tab.

    A head that stands for several notes, as in a unison of two voices or a rhythm slash, is a box of each.
    """
    found: dict[str, list[NoteBox]] = {}
    for index, ink in enumerate(stacked.ink):
        for each in ink:
            if each.note is not None and each.role in {"notehead", "fret"}:
                box = each.boxes[0]
                found.setdefault(each.note, []).append(
                    NoteBox(
                        _mm(box.left, mm),
                        _mm(box.top, mm),
                        _mm(box.width, mm),
                        _mm(box.height, mm),
                        each.layer,
                        index,
                    )
                )
    for system, top in zip(systems, stacked.offsets, strict=True):
        for note, lent in _lent_heads(system, top, mm):
            found.setdefault(note, []).append(lent)
            found[note].sort(key=lambda each: (each.system, each.layer != "staff", each.x))
    return {note: tuple(boxes) for note, boxes in found.items()}


def _lent_heads(system: SetSystem, top: float, mm: float) -> Iterator[tuple[str, NoteBox]]:
    """The boxes of notes that have no head of their own on the staff."""
    for moment, x in system.placed.moments:
        for column in moment.columns:
            for head in column.heads:
                others = [each.note.id for each in column.column.heads[1:]] if column.is_slash else []
                lent = [head.head.note.id] if head.is_shared else others
                if lent:
                    y = top + y_of(head.step) - head.half_height
                    place = (
                        _mm(x + head.dx, mm),
                        _mm(y, mm),
                        _mm(head.width, mm),
                        _mm(2 * head.half_height, mm),
                    )
                    for note in lent:
                        yield note, NoteBox(*place, "staff", system.placed.index)


def bar_boxes(systems: Sequence[SetSystem], stacked: Stacked, mm: float) -> tuple[BarBox, ...]:
    """Every bar in order."""
    return tuple(
        BarBox(
            bar.plan.content.bar.number,
            bar.plan.content.index,
            system.placed.index,
            _mm(bar.left, mm),
            _mm(y + system.top, mm),
            _mm(bar.right - bar.left, mm),
            _mm(system.bottom - system.top, mm),
        )
        for system, y in zip(systems, stacked.offsets, strict=True)
        for bar in system.placed.bars
    )


def system_boxes(systems: Sequence[SetSystem], stacked: Stacked, mm: float) -> tuple[SystemBox, ...]:
    """Every system in order."""
    return tuple(
        SystemBox(
            system.placed.index,
            0.0,
            _mm(y + system.top, mm),
            _mm(system.placed.right, mm),
            _mm(system.bottom - system.top, mm),
            system.placed.bars[0].plan.content.index,
            system.placed.bars[-1].plan.content.index,
            _mm(y + min(_tops(system)), mm),
            _mm(y + max(_bottoms(system)), mm),
        )
        for system, y in zip(systems, stacked.offsets, strict=True)
    )


def _tops(system: SetSystem) -> Iterator[float]:
    return (dy + box.top for dy, part in system.ink for each in part for box in each.boxes)


def _bottoms(system: SetSystem) -> Iterator[float]:
    return (dy + box.bottom for dy, part in system.ink for each in part for box in each.boxes)


def _mm(value: float, mm: float) -> float:
    return round(value * mm, 3)
