"""Boxes of what stands on a plate, in millimetres from its upper left corner."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any

from fretwright.engrave.ink import Layer
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


def note_boxes(stacked: Stacked, mm: float) -> dict[str, tuple[NoteBox, ...]]:
    """Note id to the boxes of its heads and fret numbers, in order of system, staff before tab."""
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
    return {note: tuple(boxes) for note, boxes in found.items()}


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
            _mm(min(box.top for each in ink for box in each.boxes), mm),
            _mm(max(box.bottom for each in ink for box in each.boxes), mm),
        )
        for system, y, ink in zip(systems, stacked.offsets, stacked.ink, strict=True)
    )


def _mm(value: float, mm: float) -> float:
    return round(value * mm, 3)
