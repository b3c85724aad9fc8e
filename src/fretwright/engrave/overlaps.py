"""The proof-reader's first look: ink that runs into other ink, or off the plate.

Every box of every primitive is held against every other; an arc or a slanted beam counts piece by piece.
What may touch is listed below with its reason, and nothing else may.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fretwright.engrave.ink import Box
from fretwright.engrave.plate import Plate
from fretwright.engrave.style import STEM

TOUCH_SP: Final = 0.03
"""Boxes may share a hair, since note heads a third apart touch exactly."""

_STANDS_ON_THE_STAFF: Final = (
    "clef", "key", "meter", "notehead", "accidental", "dot", "ledger", "stem", "flag", "beam", "rest",
    "tie", "slur", "slide", "bar-line", "system-line", "repeat-dot", "grace-head", "grace-stroke", "bend",
    "bend-goal", "bracket", "tremolo", "slash", "roll",
)  # fmt: skip

ALLOWED: Final[dict[str, tuple[str, ...]]] = {
    # Notes stand on the lines; that is what the lines are for.
    "staff-line": _STANDS_ON_THE_STAFF,
    # The word TAB and the time signature of tab alone are printed over the strings, as are bar lines and the
    # repeat dots of an odd number of strings; fret numbers and slides break their string instead.
    "string": ("tab-clef", "meter", "bar-line", "system-line", "repeat-dot"),
    # An arc or slide from bar to bar crosses the bar line or repeat sign, on the staff and inside the tab.
    "bar-line": ("tie", "slur", "slide", "system-line"),
    "repeat-dot": ("tie", "slur", "slide"),
    # A stem grows out of the side of its head (and pierces no other), ends in a flag or beam, and passes
    # the ledger lines of its own column.
    "stem": ("notehead", "flag", "beam", "ledger", "rhythm-head", "grace-head", "grace-stroke", "tremolo"),
    # A head stands on its ledger line, and a whole rest hangs from one.
    "ledger": ("notehead", "grace-head", "bend-goal", "rest", "tremolo", "grace-stroke", "bracket"),
    # A trill's wave is made of pieces that join.
    "trill-wave": ("trill-wave",),
    # The flag and beams of grace notes, and the stroke through the flag, grow out of their stems and may
    # cross the ledger lines of their own heads.
    "grace-flag": ("stem", "ledger", "grace-stroke", "staff-line"),
    "grace-beam": ("stem", "ledger", "grace-beam", "staff-line"),
    # A rolled chord's wave runs through the strings, its arrow grows out of it, and arcs and slides to its
    # notes cross it.
    "roll": ("string", "roll", "slur", "tie", "slide"),
    # The slides of two strings may cross.
    "slide": ("slide",),
    # A bend's arrow rises through the strings, and through the arcs and slides of higher strings.
    "bend": ("string", "slur", "slide", "bend"),
    # Both lines of a hairpin start in its circle, both lines of a cross meet; barre and fingertips lie on the
    # lines of their grid, which cross each other.
    "hairpin": ("hairpin",),
    "diagram-mark": ("diagram-mark",),
    "diagram": ("diagram", "diagram-dot"),
    "diagram-dot": ("diagram-dot",),
    # Heads a step apart share the stem between them (and no more than that); heads a third apart touch.
    "notehead": ("notehead",),
    # Two strokes of one bracket meet in its corner.
    "ending": ("ending",),
    "tuplet": ("tuplet",),
    # The figures of a time signature meet on the middle line.
    "meter": ("meter",),
}
"""Role to the roles that it may meet; the table reads both ways."""


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two primitives in one place."""

    first: str
    """Role of the one."""
    second: str
    """Role of the other, or ``edge`` where ink leaves the plate."""
    box: Box
    """What they share, in staff spaces."""
    notes: tuple[str | None, str | None]
    """The notes they belong to."""


def overlaps(plate: Plate) -> list[Overlap]:
    """Everything on a plate that runs into something else, from left to right."""
    pieces = sorted(
        (box, index, each.role, each.note)
        for index, each in enumerate(ink for system in plate.ink for ink in system)
        for box in each.boxes
    )
    found: list[Overlap] = []
    active: list[tuple[Box, int, str, str | None]] = []
    for piece in pieces:
        box, index, role, note = piece
        active = [other for other in active if other[0].right > box.left + TOUCH_SP]
        for other, other_index, other_role, other_note in active:
            if other_index == index or not box.meets(other, TOUCH_SP):
                continue
            if not _may_meet((role, box), (other_role, other)):
                found.append(Overlap(other_role, role, _shared(box, other), (other_note, note)))
        active.append(piece)
    found.extend(_off_the_plate(plate, pieces))
    return found


def _may_meet(first: tuple[str, Box], second: tuple[str, Box]) -> bool:
    (role, box), (other_role, other) = first, second
    roles = {role, other_role}
    shared = _shared(box, other)
    if roles == {"notehead"}:
        return shared.width <= STEM + TOUCH_SP
    if roles == {"notehead", "stem"}:
        head = box if role == "notehead" else other
        return shared.left - head.left < TOUCH_SP or head.right - shared.right < TOUCH_SP
    return other_role in ALLOWED.get(role, ()) or role in ALLOWED.get(other_role, ())


def _shared(first: Box, second: Box) -> Box:
    return Box(
        max(first.left, second.left),
        max(first.top, second.top),
        min(first.right, second.right),
        min(first.bottom, second.bottom),
    )


def _off_the_plate(plate: Plate, pieces: list[tuple[Box, int, str, str | None]]) -> Iterator[Overlap]:
    width, height = plate.width_mm / plate.staff_space_mm, plate.height_mm / plate.staff_space_mm
    for box, _, role, note in pieces:
        if box.left < -0.1 or box.top < 0 or box.right > width + 0.1 or box.bottom > height + 0.01:
            yield Overlap(role, "edge", box, (note, None))
