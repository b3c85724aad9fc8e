"""Where everything of a chord diagram stands, in millimetres.

The neck stands upright as printed chord books have it: the nut on top, the lowest string on the left (on the
right for a left-handed player). Frets are spaced evenly and not to scale. The grid is in the middle of the
diagram whatever stands beside it, so that diagrams line up in a row (common practice, no source).

Lengths in mm, x to the right and y downwards, the origin at the top left.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from fretwright.engrave.ink import Box, ink_of
from fretwright.engrave.lettering import Letters
from fretwright.engrave.outlines import Face
from fretwright.fretboard.neck import Place
from fretwright.fretboard.voicing import Barre, Voicing
from fretwright.score.note import Finger

STRING_GAP_MM: Final = 4.4
FRET_GAP_MM: Final = 5.6
_DOT_MM: Final = 1.85
_MARK_MM: Final = 0.95
_MARGIN_MM: Final = 0.6
_SIDE_MM: Final = 8.0
"""Beside the grid, wide enough for the number of a fret."""
_NAME_SIZE_MM: Final = 5.4
_NAME_MM: Final = 6.4
"""Height of the row with the chord's name."""
_MARKS_MM: Final = 4.0
"""Height of the row with the marks of open and silent strings."""
_NUT_CLEARANCE_MM: Final = 1.7
"""From the first wire up to the marks: the nut and some white."""
_DIGIT_SIZE_MM: Final = 2.9
_DIGIT_SHARE: Final = 1.5
_NUMBER_SIZE_MM: Final = 2.7
_BELOW_SIZE_MM: Final = 2.5
_BELOW_MM: Final = 4.0
_BELOW_WIDTH_MM: Final = STRING_GAP_MM - 0.6
_STUB_MM: Final = 1.1
"""How far strings run on where the neck does."""
_FEWEST_FRETS: Final = 4
_NEAR_NUT: Final = 4
_NEAR_NUT_WITH_OPENS: Final = 5
_PRETTY: Final = str.maketrans("b#", "♭♯")

Below = Literal["nothing", "notes", "degrees"]
Role = Literal["name", "digit", "number", "below", "capo"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A fingertip's disc, an open string's ring or a silent string's cross."""

    kind: Literal["finger", "open", "silent"]
    string: int
    fret: int
    x_mm: float
    y_mm: float
    radius_mm: float
    digit: Letters | None = None

    @property
    def box(self) -> Box:
        """Its ink."""
        r = self.radius_mm
        return Box(self.x_mm - r, self.y_mm - r, self.x_mm + r, self.y_mm + r)


@dataclass(frozen=True, slots=True)
class Bar:
    """A finger that lies flat: a bar with round ends, its digit at the finger's tip."""

    barre: Barre
    strings: tuple[int, ...]
    """The strings that it stops; higher fingers stop the others under it."""
    left_mm: float
    right_mm: float
    y_mm: float
    radius_mm: float
    digit: Letters

    @property
    def box(self) -> Box:
        """Its ink."""
        r = self.radius_mm
        return Box(self.left_mm - r, self.y_mm - r, self.right_mm + r, self.y_mm + r)


@dataclass(frozen=True, slots=True)
class ChordLayout:
    """A chord diagram ready to be drawn."""

    width_mm: float
    height_mm: float
    strings: tuple[tuple[float, float], ...]
    """x and thickness of each string from number 1."""
    wires: tuple[float, ...]
    """y of each fret wire, the nut not among them."""
    left_mm: float
    right_mm: float
    top_mm: float
    bottom_mm: float
    """Where the strings end, past the last wire."""
    nut: float | None
    """y of the nut or capo; None where the diagram starts further up the neck."""
    first_fret: int
    marks: tuple[Mark, ...]
    bars: tuple[Bar, ...]
    words: tuple[Letters, ...]

    @property
    def box_of(self) -> dict[Place, Box]:
        """The ink of each place that sounds, a flat finger's share of its bar among them."""
        found = {Place(mark.string, mark.fret): mark.box for mark in self.marks if mark.kind != "silent"}
        for bar in self.bars:
            r = bar.radius_mm
            for string in bar.strings:
                x = self.strings[string - 1][0]
                box = Box(x - r, bar.y_mm - r, x + r, bar.y_mm + r)
                found[Place(string, bar.barre.fret)] = box
        return found


@dataclass(frozen=True, slots=True)
class _Grid:
    """The stretch of neck that is shown, and where it stands."""

    strings: int
    first: int
    rows: int
    top_mm: float
    width_mm: float
    left_mm: float
    left_handed: bool

    def x(self, string: int) -> float:
        """Where a string stands."""
        from_left = string - 1 if self.left_handed else self.strings - string
        return self.left_mm + from_left * STRING_GAP_MM

    def y(self, fret: int) -> float:
        """The middle between a fret's wire and the one above it."""
        return self.top_mm + (fret - self.first + 0.5) * FRET_GAP_MM

    @property
    def end_mm(self) -> float:
        """Y of the last wire."""
        return self.top_mm + self.rows * FRET_GAP_MM


def lay_out_chord(
    voicing: Voicing, *, name: str | None, below: Below = "nothing", left_handed: bool = False
) -> ChordLayout:
    """Place the neck, the fingers and the words of one voicing."""
    strings = voicing.neck.tuning.string_count
    first, rows = stretch(voicing)
    name_word = None if name is None else _centred("name", name, Face.SERIF_BOLD, _NAME_SIZE_MM, 0.0, 0.0)
    grid_mm = STRING_GAP_MM * (strings - 1)
    width = max(grid_mm + 2 * _SIDE_MM, (name_word.box.width if name_word else 0.0) + 2 * _MARGIN_MM)
    top = _MARGIN_MM + (_NAME_MM if name else 0.0) + _MARKS_MM
    grid = _Grid(strings, first, rows, top, width, (width - grid_mm) / 2, left_handed)
    bottom = grid.end_mm + _STUB_MM
    words = [*_number(voicing, grid), *_below(voicing, grid, below, bottom)]
    if name is not None:
        words.append(
            _centred("name", name, Face.SERIF_BOLD, _NAME_SIZE_MM, width / 2, _MARGIN_MM + _NAME_MM * 0.72)
        )
    foot = bottom + (_BELOW_MM if below != "nothing" else 0.0)
    if voicing.neck.capo:
        text = f"capo {voicing.neck.capo}"
        words.append(_centred("capo", text, Face.SANS, _BELOW_SIZE_MM, width / 2, foot + 3.1))
        foot += _BELOW_MM
    return ChordLayout(
        width_mm=width,
        height_mm=foot + _MARGIN_MM,
        strings=tuple(
            (grid.x(string), 0.16 + 0.3 * (string - 1) / (strings - 1)) for string in range(1, strings + 1)
        ),
        wires=tuple(top + row * FRET_GAP_MM for row in range(1 if first == 1 else 0, rows + 1)),
        left_mm=grid.left_mm,
        right_mm=grid.left_mm + grid_mm,
        top_mm=top if first == 1 else top - _STUB_MM,
        bottom_mm=bottom,
        nut=top if first == 1 else None,
        first_fret=first,
        marks=tuple(_marks(voicing, grid)),
        bars=tuple(_bar(barre, voicing, grid) for barre in voicing.barres),
        words=tuple(words),
    )


def stretch(voicing: Voicing) -> tuple[int, int]:
    """The first fret to show and how many: from the nut where it is near, five at the most by custom."""
    stopped = [fret for fret in voicing.frets if fret] or [1]
    lowest, highest = min(stopped), max(stopped)
    near = _NEAR_NUT_WITH_OPENS if 0 in voicing.frets else _NEAR_NUT
    first = 1 if highest <= near else lowest
    return first, max(_FEWEST_FRETS, highest - first + 1)


def _marks(voicing: Voicing, grid: _Grid) -> Iterator[Mark]:
    """Discs for single fingertips, rings and crosses above the grid."""
    above = grid.top_mm - _NUT_CLEARANCE_MM - _MARK_MM
    flat = {
        (string, barre.fret)
        for barre in voicing.barres
        for string in range(barre.high_string, barre.low_string + 1)
    }
    for string, (fret, finger) in enumerate(zip(voicing.frets, voicing.fingers, strict=True), start=1):
        x = grid.x(string)
        if not fret:
            yield Mark("silent" if fret is None else "open", string, 0, x, above, _MARK_MM)
        elif (string, fret) not in flat:
            y = grid.y(fret)
            digit = _digit(Finger(finger).mark, x, y) if finger else None
            yield Mark("finger", string, fret, x, y, _DOT_MM, digit)


def _bar(barre: Barre, voicing: Voicing, grid: _Grid) -> Bar:
    covered = range(barre.high_string, barre.low_string + 1)
    strings = tuple(string for string in covered if voicing.frets[string - 1] == barre.fret)
    tip, base = grid.x(barre.low_string), grid.x(barre.high_string)
    y = grid.y(barre.fret)
    digit = _digit(Finger(barre.finger).mark, tip, y)
    return Bar(barre, strings, min(tip, base), max(tip, base), y, _DOT_MM, digit)


def _number(voicing: Voicing, grid: _Grid) -> Iterator[Letters]:
    """The number of the first fret, beside the lowest string, where the nut is out of sight."""
    if grid.first == 1:
        return
    text = f"{grid.first}fr"
    ink = ink_of(text, Face.SANS_SEMIBOLD, _NUMBER_SIZE_MM)
    edge = grid.x(voicing.neck.tuning.string_count)
    gap = _DOT_MM + 0.5
    x = edge + gap - ink.left if grid.left_handed else edge - gap - ink.right
    y = grid.y(grid.first) - (ink_of("1", Face.SANS_SEMIBOLD, _NUMBER_SIZE_MM).top) / 2
    yield Letters("number", text, Face.SANS_SEMIBOLD, _NUMBER_SIZE_MM, x, y)


def _below(voicing: Voicing, grid: _Grid, below: Below, bottom_mm: float) -> Iterator[Letters]:
    """What sounds, under each string that does."""
    if below == "nothing":
        return
    for place, pitch in zip(voicing.places, voicing.pitches, strict=True):
        text = pitch.name.pretty
        if below == "degrees":
            degree = voicing.chord.degree_of(pitch.midi)
            text = degree.degree.translate(_PRETTY) if degree else text
        size = min(1.0, _BELOW_WIDTH_MM / ink_of(text, Face.SANS, _BELOW_SIZE_MM).width) * _BELOW_SIZE_MM
        yield _centred("below", text, Face.SANS, size, grid.x(place.string), bottom_mm + 3.0)


def _digit(text: str, x: float, y: float) -> Letters:
    size = _DIGIT_SIZE_MM * min(
        1.0, _DIGIT_SHARE * _DOT_MM / ink_of(text, Face.SANS_SEMIBOLD, _DIGIT_SIZE_MM).width
    )
    height = -ink_of("1", Face.SANS_SEMIBOLD, size).top
    return _centred("digit", text, Face.SANS_SEMIBOLD, size, x, y + height / 2)


def _centred(role: Role, text: str, face: Face, size_mm: float, x_mm: float, y_mm: float) -> Letters:
    """Letters whose ink has its middle at x and which stand on the line y."""
    left, _, right, _ = ink_of(text, face, size_mm)
    return Letters(role, text, face, size_mm, x_mm - (left + right) / 2, y_mm)
