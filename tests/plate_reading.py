"""Reading a plate by its primitives, for tests: this digit, on this line, in this bar."""

from collections.abc import Iterator
from typing import Any

from fretwright.engrave.ink import Box, Ink, Text
from fretwright.engrave.plate import Plate
from fretwright.engrave.style import TAB_SPACE


def ink(plate: Plate, role: str, note: str | None = None, layer: str | None = None) -> list[Any]:
    """Every primitive of a role, from left to right within its system."""
    return [each for system in range(len(plate.ink)) for each in ink_of(plate, system, role, note, layer)]


def ink_of(
    plate: Plate, system: int, role: str, note: str | None = None, layer: str | None = None
) -> list[Any]:
    """The same in one system. A role tells the kind of primitive, which a type cannot."""
    found = [
        each
        for each in plate.ink[system]
        if each.role == role and note in (None, each.note) and layer in (None, each.layer)
    ]
    return sorted(found, key=lambda each: each.boxes[0].left)


def hull(each: Ink) -> Box:
    """The box around all of a primitive."""
    boxes = each.boxes
    return Box(
        min(box.left for box in boxes),
        min(box.top for box in boxes),
        max(box.right for box in boxes),
        max(box.bottom for box in boxes),
    )


def middle(each: Ink) -> tuple[float, float]:
    """The middle of a primitive's hull."""
    box = hull(each)
    return (box.left + box.right) / 2, (box.top + box.bottom) / 2


def staff_top(plate: Plate, system: int) -> float:
    """Height of the staff's top line."""
    return min(middle(line)[1] for line in ink_of(plate, system, "staff-line"))


def tab_top(plate: Plate, system: int) -> float:
    """Height of the line of string 1."""
    return min(middle(line)[1] for line in ink_of(plate, system, "string"))


def step(plate: Plate, head: Ink, system: int = 0) -> int:
    """Staff step of a note head: 0 on the bottom line, 8 on the top line."""
    return round(8 - 2 * (middle(head)[1] - staff_top(plate, system)))


def frets(plate: Plate, system: int = 0) -> list[tuple[int, str]]:
    """String and printed number of every fret number of a system, from left to right."""
    top = tab_top(plate, system)
    return [
        (round((middle(each)[1] - top) / TAB_SPACE) + 1, each.text)
        for each in ink_of(plate, system, "fret")
        if isinstance(each, Text)
    ]


def bar_of(plate: Plate, each: Ink, system: int) -> int:
    """Number of the bar in which a primitive of a system has its middle."""
    x_mm = middle(each)[0] * plate.staff_space_mm
    return next(
        bar.number for bar in plate.bars if bar.system == system and bar.x <= x_mm <= bar.x + bar.width
    )


def all_boxes(plate: Plate) -> Iterator[Box]:
    """Every box of ink."""
    for system in plate.ink:
        for each in system:
            yield from each.boxes
