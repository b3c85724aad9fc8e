"""One system set in full: staff, tab and the rows around them, as ink with its skylines.

y counts from the top line of the system's upper stave. The stages follow each other as an engraver's do:
notes first, then what joins them, then what stands around them.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from operator import attrgetter, itemgetter
from typing import Final, TypeVar

from fretwright.engrave.arcs import slide_lines, slur_arcs, tie_arcs
from fretwright.engrave.articulations import articulations, tab_articulations
from fretwright.engrave.asides import staff_asides, tab_asides
from fretwright.engrave.barlines import bar_lines, meter_changes
from fretwright.engrave.bars import layout_of
from fretwright.engrave.bonds import Bonds, bonds_of
from fretwright.engrave.chord_rows import chord_row, diagram_row
from fretwright.engrave.grace_arcs import grace_arcs, tab_grace_arcs
from fretwright.engrave.headings import labels_of
from fretwright.engrave.ink import Box, Ink, Layer, Line
from fretwright.engrave.lyrics import lyric_rows
from fretwright.engrave.openings import TAB_METER_SCALE, staff_opening, tab_height, tab_opening
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.rhythm import draw_rhythm
from fretwright.engrave.rows import bar_number, ending_row, finger_row, text_rows
from fretwright.engrave.signs import signs_over_staff, signs_over_tab, swells
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.small_diagrams import shown_voicings
from fretwright.engrave.staff import STAFF_HEIGHT, draw_staff, staff_lines
from fretwright.engrave.strokes import picking_row, stroke_row
from fretwright.engrave.style import STAFF_LINE, STAFF_TO_TAB, THIN_BAR, PlateStyle
from fretwright.engrave.tab import draw_tab, tab_lines
from fretwright.engrave.tab_arcs import tab_arcs
from fretwright.engrave.tab_bends import bend_corridors, bend_ink, bend_tip
from fretwright.engrave.tuplets import tuplet_marks
from fretwright.engrave.verses import Sung, verses_of
from fretwright.fretboard.voicing import Voicing
from fretwright.score.meter import Meter
from fretwright.score.score import AirStroke, Label, Score

_LEAST_STAFF_TO_TAB = 3.6
"""From the staff's bottom line to the first string."""
_RHYTHM_GAP = 0.55
_at: Final[Callable[[Label | Sung | AirStroke], Fraction]] = attrgetter("at")
_Item = TypeVar("_Item")


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


@dataclass(frozen=True, slots=True)
class Setter:
    """Sets the systems of one score, one after the other."""

    score: Score
    style: PlateStyle
    bonds: Bonds
    labels: Sequence[Label]
    """In order of time, as are all that follow."""
    verses: Sequence[Sequence[Sung]]
    voicings: Sequence[tuple[Fraction, Voicing]]
    air_strokes: Sequence[AirStroke]
    two_voices: bool

    @classmethod
    def of(cls, score: Score, style: PlateStyle) -> "Setter":
        """All that is known of a score before its systems are set."""
        return cls(
            score,
            style,
            bonds_of(score),
            labels_of(score),
            verses_of(score.labels),
            tuple(shown_voicings(score, style).items()),
            sorted(score.air_strokes, key=_at),
            any(note.voice == 2 for note in score.notes),
        )

    def set(self, placed: PlacedSystem) -> SetSystem:
        """Set one system."""
        first, last = placed.bars[0].plan.content.bar, placed.bars[-1].plan.content.bar
        start, end = first.start, last.end
        own = _Stage(
            self,
            placed,
            self.bonds.within(start, end),
            _between(self.labels, start, end, _at),
            [_between(verse, start, end, _at) for verse in self.verses],
            dict(_between(self.voicings, start, end, itemgetter(0))),
            _between(self.air_strokes, start, end, _at),
        )
        layout = layout_of(self.score, self.style)
        if layout == "tab":
            return own.tab_alone()
        return own.slashes() if layout == "slashes" else own.staff_over_tab()


def _between(
    items: Sequence[_Item], start: Fraction, end: Fraction, at: Callable[[_Item], Fraction]
) -> Sequence[_Item]:
    """Found by bisection, so that a system of a long score is set as fast as one of a short score."""
    first, last = (bisect_left(items, time, key=at) for time in (start, end))
    return items[first:last]


@dataclass(frozen=True, slots=True)
class _Stage:
    """One system while it is set, with what belongs to it alone."""

    whole: Setter
    placed: PlacedSystem
    bonds: Bonds
    labels: Sequence[Label]
    verses: Sequence[Sequence[Sung]]
    voicings: dict[Fraction, Voicing]
    air_strokes: Sequence[AirStroke]

    @property
    def score(self) -> Score:
        return self.whole.score

    @property
    def style(self) -> PlateStyle:
        return self.whole.style

    def staff_over_tab(self) -> SetSystem:
        placed, width = self.placed, self.style.width_sp
        sky = {-1: Skyline(width, -1), 1: Skyline(width, 1)}
        staff = self._staff_ink(sky)
        staff += self._rows_above(sky[-1], "staff")
        staff += swells(placed, sky[1], "staff")
        staff += lyric_rows(self.verses, placed, sky[1], "staff", width)
        upper_tab, lower = Skyline(width, -1), Skyline(width, 1)
        tab = self._tab_ink(upper_tab, lower, meter=False)
        tab += signs_over_tab(placed, upper_tab)
        offset = max(sky[1].distance_to(upper_tab) + STAFF_TO_TAB / 2, STAFF_HEIGHT + _LEAST_STAFF_TO_TAB)
        height = tab_height(self.score.neck.tuning.string_count)
        if self.style.fingers:
            tab += finger_row(placed, lower)
        joint = Line(
            THIN_BAR / 2,
            -STAFF_LINE / 2,
            THIN_BAR / 2,
            offset + height + STAFF_LINE / 2,
            THIN_BAR,
            role="system-line",
        )
        # What stands under the tab was set around a plain box; the lines themselves reach a hair further.
        lower.add_ink(each for each in tab if each.role in {"string", "bar-line"})
        parts: tuple[tuple[float, Sequence[Ink]], ...] = ((0.0, [*staff, joint]), (offset, tab))
        return SetSystem(placed, parts, sky[-1], lower.moved(offset), 0.0, offset + height)

    def tab_alone(self) -> SetSystem:
        placed, width = self.placed, self.style.width_sp
        upper, lower = Skyline(width, -1), Skyline(width, 1)
        tab = self._tab_ink(upper, lower, meter=placed.is_first)
        if self.style.fingers:
            tab += finger_row(placed, lower)
        tab += self._rhythms(upper, lower)
        tab += tab_articulations(placed, upper)
        tab += signs_over_tab(placed, upper)
        tab += signs_over_staff(placed, upper, self.score, "tab")
        tab += swells(placed, lower, "tab")
        tab += lyric_rows(self.verses, placed, lower, "tab", width)
        tab += self._rows_above(upper, "tab")
        height = tab_height(self.score.neck.tuning.string_count)
        return SetSystem(placed, ((0.0, tab),), upper, lower, 0.0, height)

    def slashes(self) -> SetSystem:
        """Rhythm slashes under chord names: a staff without a tab."""
        placed, width = self.placed, self.style.width_sp
        sky = {-1: Skyline(width, -1), 1: Skyline(width, 1)}
        ink = self._staff_ink(sky)
        ink += picking_row(placed, sky[-1], "staff")
        if self.style.strokes:
            ink += stroke_row(placed, sky[-1], self.air_strokes, strokes=True, layer="staff")
        ink += signs_over_tab(placed, sky[-1], layer="staff")
        ink += self._rows_above(sky[-1], "staff")
        ink += swells(placed, sky[1], "staff")
        ink += lyric_rows(self.verses, placed, sky[1], "staff", width)
        return SetSystem(placed, ((0.0, ink),), sky[-1], sky[1], 0.0, STAFF_HEIGHT)

    def _rhythms(self, upper: Skyline, lower: Skyline) -> list[Ink]:
        """Below the tab; of two voices the upper one's above it."""
        placed = self.placed
        left, right = placed.bars[0].left, placed.right
        two = self.whole.two_voices
        below = (2 if two else 1,)
        drawn: list[Ink] = []
        rhythm = draw_rhythm(placed, below[0], lower.edge(left, right, _RHYTHM_GAP, at_least=0.0), up=False)
        lower.add_ink(rhythm.ink)
        drawn += rhythm.ink + tuplet_marks(placed, rhythm, {1: lower}, "tab", below)
        if two:
            above = draw_rhythm(placed, 1, upper.edge(left, right, _RHYTHM_GAP, at_least=0.0), up=True)
            upper.add_ink(above.ink)
            drawn += above.ink + tuplet_marks(placed, above, {-1: upper}, "tab", (1,))
        return drawn

    def _staff_ink(self, sky: dict[int, Skyline]) -> list[Ink]:
        placed, bonds = self.placed, self.bonds
        layout = layout_of(self.score, self.style)
        asides = staff_asides(placed)
        drawing = draw_staff(placed, asides)
        drawing.ink += [each for ink in asides for each in ink]
        ink = drawing.ink
        ink += grace_arcs(placed, drawing)
        Skyline.add_to_all(sky.values(), ink)
        marks = articulations(placed, drawing, sky)
        ink += tie_arcs(bonds.ties, drawing, placed, sky, marks)
        ink += slur_arcs(bonds.chains, drawing, placed, sky)
        ink += slide_lines(bonds.pairs, drawing)
        ink += tuplet_marks(placed, drawing, sky)
        frame = [
            *staff_lines(0.0, placed.right),
            *staff_opening(self.score, layout, first=placed.is_first),
            *bar_lines(placed, STAFF_HEIGHT, 4, "staff"),
            *meter_changes(placed, self._announced(), STAFF_HEIGHT / 2, 1.0, "staff"),
        ]
        Skyline.add_to_all(sky.values(), frame)
        over = signs_over_staff(placed, sky[-1], self.score, "staff")
        return frame + ink + marks + over

    def _announced(self) -> Meter | None:
        """The meter of the next system's first bar, where it is another one."""
        bars = self.score.bars
        index = self.placed.bars[-1].plan.content.index
        following = bars[index + 1].meter if index + 1 < len(bars) else None
        return following if following != bars[index].meter else None

    def _tab_ink(self, upper: Skyline, lower: Skyline, *, meter: bool) -> list[Ink]:
        placed, strings = self.placed, self.score.neck.tuning.string_count
        height = tab_height(strings)
        drawing = draw_tab(placed)
        drawing.ink += tab_asides(placed)
        ink = [*drawing.ink, *tab_grace_arcs(placed, drawing)]
        ink += tab_arcs(self.bonds.pairs, drawing, placed, ink, bend_corridors(placed))
        frame = [
            *tab_lines(strings, 0.0, placed.right, ink),
            *tab_opening(self.score, meter=meter),
            *bar_lines(placed, height, strings - 1, "tab"),
        ]
        if not self.style.staff:
            frame += meter_changes(placed, self._announced(), height / 2, TAB_METER_SCALE, "tab")
        Skyline.add_to_all((upper, lower), ink)
        for skyline in (upper, lower):
            skyline.add(Box(0.0, 0.0, placed.right, height))
        in_the_air = self.air_strokes if self.style.strokes else ()
        if in_the_air:  # strokes between the notes would stand in the way of a bend's arrow
            ink += bend_ink(placed, bend_tip(placed, upper), upper)
        ink += stroke_row(placed, upper, in_the_air, strokes=self.style.strokes)
        ink += picking_row(placed, upper, "tab")
        if not in_the_air:
            ink += bend_ink(placed, bend_tip(placed, upper), upper)
        return frame + ink

    def _rows_above(self, sky: Skyline, layer: Layer) -> list[Ink]:
        placed, width = self.placed, self.style.width_sp
        ink, spots = diagram_row(self.voicings, placed, sky, layer, self.style)
        ink += chord_row(self.labels, spots, placed, sky, layer, width)
        ink += ending_row(placed, sky, layer)
        ink += text_rows(self.labels, placed, sky, layer, width)
        if self.style.bar_numbers and not placed.is_first:
            ink += bar_number(placed, sky, layer)
        return ink
