"""The tab: one line for each string, broken where a fret number stands on it.

y counts from the line of string 1 downwards.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.engrave.heads import FRET_SIZE, fret_text, fret_width
from fretwright.engrave.ink import Ink, Line, centred
from fretwright.engrave.outlines import Face
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.staff import Drawing, HeadSpot
from fretwright.engrave.style import DIGIT_CLEARANCE, DIGIT_HEIGHT, TAB_LINE, TAB_SPACE

FRET_TOP: Final = DIGIT_HEIGHT / 2
"""How far a fret number reaches over its line."""


_BREAKS_THE_LINE: Final = {"fret", "slide", "grace-fret", "auxiliary", "rake"}


def string_y(string: int) -> float:
    """Height of a string's line."""
    return (string - 1) * TAB_SPACE


def draw_tab(system: PlacedSystem) -> Drawing:
    """The fret numbers of a system; the lines follow when it is known what breaks them."""
    drawing = Drawing()
    for shape, x in system.moments:
        room = shape.beside
        for head in shape.moment.heads:
            note, y, half = head.note, string_y(head.note.string), fret_width(head) / 2
            number = centred(
                fret_text(head), Face.SANS_SEMIBOLD, FRET_SIZE, x, y + FRET_TOP,
                role="fret", note=note.id, layer="tab",
            )  # fmt: skip
            drawing.ink.append(number)
            spot = HeadSpot(
                x - half,
                x + half,
                x - room.tab_left,
                x + room.tab_right,
                y,
                up=False,
                outer=1,
                alone=True,
                is_crowded=room.is_crowded,
            )
            drawing.heads[note.id, head.index] = spot
    return drawing


def tab_lines(strings: int, left: float, right: float, ink: Sequence[Ink]) -> Iterator[Ink]:
    """The strings, each broken under the fret numbers and slides that lie on it."""
    gaps: dict[int, list[tuple[float, float]]] = {string: [] for string in range(1, strings + 1)}
    for each in ink:
        if each.role in _BREAKS_THE_LINE:
            for box in each.boxes:
                string = round((box.top + box.bottom) / 2 / TAB_SPACE) + 1
                gaps[string].append((box.left - DIGIT_CLEARANCE, box.right + DIGIT_CLEARANCE))
    for string, broken in gaps.items():
        y, x = string_y(string), left
        for start, end in sorted(broken):
            if start > x:
                yield Line(x, y, start, y, TAB_LINE, role="string", layer="tab")
            x = max(x, end)
        if right > x:
            yield Line(x, y, right, y, TAB_LINE, role="string", layer="tab")
