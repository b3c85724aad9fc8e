"""One system set in full: staff, tab and the rows around them, as ink with its skylines.

y counts from the top line of the system's upper stave. The stages follow each other as an engraver's do:
notes first, then what joins them, then what stands around them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fretwright.engrave.arcs import slide_lines, slur_arcs, tie_arcs
from fretwright.engrave.barlines import bar_lines, meter_changes
from fretwright.engrave.bonds import Bonds
from fretwright.engrave.ink import Box, Ink, Layer, Line
from fretwright.engrave.openings import TAB_METER_SCALE, staff_opening, tab_height, tab_opening
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.rhythm import draw_rhythm
from fretwright.engrave.rows import bar_number, chord_row, ending_row, finger_row, stroke_row, text_rows
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.staff import STAFF_HEIGHT, draw_staff, staff_lines
from fretwright.engrave.style import STAFF_LINE, STAFF_TO_TAB, THIN_BAR, PlateStyle
from fretwright.engrave.tab import draw_tab, tab_lines
from fretwright.engrave.tab_arcs import tab_arcs
from fretwright.engrave.tuplets import tuplet_marks
from fretwright.score.meter import Meter
from fretwright.score.score import Label, Score

_LEAST_STAFF_TO_TAB = 3.6
"""From the staff's bottom line to the first string."""


@dataclass(frozen=True, slots=True)
class SetSystem:
    """One system, not yet moved to its place on the plate."""

    placed: PlacedSystem
    ink: tuple[tuple[float, Sequence[Ink]], ...]
    """Parts of the system, each with the y that its own 0 stands at."""
    upper: Skyline
    lower: Skyline
    top: float
    """y of its uppermost line."""
    bottom: float
    """y of its lowest line."""


def set_system(
    score: Score, style: PlateStyle, placed: PlacedSystem, bonds: Bonds, labels: Sequence[Label]
) -> SetSystem:
    """Set one system of a score whose every arc and label is given."""
    first, last = placed.bars[0].plan.content.bar, placed.bars[-1].plan.content.bar
    own = bonds.within(first.start, last.end)
    setter = _staff_over_tab if style.staff else _tab_alone
    return setter(score, style, placed, own, labels)


def _staff_over_tab(
    score: Score, style: PlateStyle, placed: PlacedSystem, bonds: Bonds, labels: Sequence[Label]
) -> SetSystem:
    width = style.width_sp
    sky = {-1: Skyline(width, -1), 1: Skyline(width, 1)}
    staff = _staff_ink(score, placed, bonds, sky)
    staff += _rows_above(style, placed, labels, sky[-1], "staff")
    upper_tab, lower = Skyline(width, -1), Skyline(width, 1)
    tab = _tab_ink(score, style, placed, bonds, upper_tab, lower, meter=False)
    offset = max(sky[1].distance_to(upper_tab) + STAFF_TO_TAB / 2, STAFF_HEIGHT + _LEAST_STAFF_TO_TAB)
    height = tab_height(score.neck.tuning.string_count)
    if style.fingers:
        tab += finger_row(placed, lower)
    joint = Line(
        THIN_BAR / 2,
        -STAFF_LINE / 2,
        THIN_BAR / 2,
        offset + height + STAFF_LINE / 2,
        THIN_BAR,
        role="system-line",
    )
    bottom = Skyline(width, 1)
    bottom.add_ink(tab, offset)
    return SetSystem(placed, ((0.0, [*staff, joint]), (offset, tab)), sky[-1], bottom, 0.0, offset + height)


def _tab_alone(
    score: Score, style: PlateStyle, placed: PlacedSystem, bonds: Bonds, labels: Sequence[Label]
) -> SetSystem:
    upper, lower = Skyline(style.width_sp, -1), Skyline(style.width_sp, 1)
    tab = _tab_ink(score, style, placed, bonds, upper, lower, meter=placed.is_first)
    if style.fingers:
        tab += finger_row(placed, lower)
    left, right = placed.bars[0].left, placed.right
    rhythm = draw_rhythm(placed, lower.edge(left, right, 0.55, at_least=0.0))
    lower.add_ink(rhythm.ink)
    tab += rhythm.ink + tuplet_marks(placed, rhythm, {1: lower}, "tab")
    tab += _rows_above(style, placed, labels, upper, "tab")
    return SetSystem(placed, ((0.0, tab),), upper, lower, 0.0, tab_height(score.neck.tuning.string_count))


def _staff_ink(score: Score, placed: PlacedSystem, bonds: Bonds, sky: dict[int, Skyline]) -> list[Ink]:
    drawing = draw_staff(placed)
    ink = drawing.ink
    Skyline.add_to_all(sky.values(), ink)
    ink += tie_arcs(bonds.ties, drawing, placed, sky)
    ink += slur_arcs(bonds.chains, drawing, placed, sky)
    ink += slide_lines(bonds.pairs, drawing)
    ink += tuplet_marks(placed, drawing, sky)
    frame = [
        *staff_lines(0.0, placed.right),
        *staff_opening(score, first=placed.is_first),
        *bar_lines(placed, STAFF_HEIGHT, 4, "staff"),
        *meter_changes(placed, _announced(score, placed), STAFF_HEIGHT / 2, 1.0, "staff"),
    ]
    Skyline.add_to_all(sky.values(), frame)
    return frame + ink


def _announced(score: Score, placed: PlacedSystem) -> Meter | None:
    """The meter of the next system's first bar, where it is another one."""
    index = placed.bars[-1].plan.content.index
    following = score.bars[index + 1].meter if index + 1 < len(score.bars) else None
    return following if following != score.bars[index].meter else None


def _tab_ink(
    score: Score,
    style: PlateStyle,
    placed: PlacedSystem,
    bonds: Bonds,
    upper: Skyline,
    lower: Skyline,
    *,
    meter: bool,
) -> list[Ink]:
    strings = score.neck.tuning.string_count
    height = tab_height(strings)
    drawing = draw_tab(placed)
    ink = [*drawing.ink, *tab_arcs(bonds.pairs, drawing, placed)]
    frame = [
        *tab_lines(strings, 0.0, placed.right, ink),
        *tab_opening(score, meter=meter),
        *bar_lines(placed, height, strings - 1, "tab"),
    ]
    if not style.staff:
        frame += meter_changes(placed, _announced(score, placed), height / 2, TAB_METER_SCALE, "tab")
    Skyline.add_to_all((upper, lower), ink)
    for skyline in (upper, lower):
        skyline.add(Box(0.0, 0.0, placed.right, height))
    ink += stroke_row(placed, upper, strokes=style.strokes)
    return frame + ink


def _rows_above(
    style: PlateStyle, placed: PlacedSystem, labels: Sequence[Label], sky: Skyline, layer: Layer
) -> list[Ink]:
    ink = chord_row(labels, placed, sky, layer, style.width_sp)
    ink += ending_row(placed, sky, layer)
    ink += text_rows(labels, placed, sky, layer, style.width_sp)
    if style.bar_numbers and not placed.is_first:
        ink += bar_number(placed, sky, layer)
    return ink
