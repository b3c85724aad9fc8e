"""Chord diagrams over the staff, as small as can be read: the grid, the fingertips, rings and crosses.

They stand where the way of holding changes; fingers and notes are for the large diagrams of
``chord_diagram.py``, whose rules of mirroring and of the first fret hold here as well.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from fretwright.engrave.chord_diagram_layout import stretch
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.headings import labels_of
from fretwright.engrave.ink import Glyph, Ink, Layer, Line, Text, Trace, ink_of
from fretwright.engrave.marks import NUMBER_FACE
from fretwright.engrave.style import PlateStyle
from fretwright.fretboard.voicing import Voicing
from fretwright.score.score import LabelKind, Score

STRING_GAP: Final = 0.82
FRET_GAP: Final = 1.05
_THIN: Final = 0.09
_NUT: Final = 0.26
_DOT: Final = 0.36
"""Radius of a fingertip."""
_MARK: Final = 0.22
"""Radius of a ring; half the width of a cross."""
_MARK_ROOM: Final = 0.42
"""From the first wire up to the middle of rings and crosses."""
_NUMBER_SIZE: Final = 1.25


def shown_voicings(score: Score, style: PlateStyle) -> dict[Fraction, Voicing]:
    """The voicings that are drawn: each that differs from the one before it."""
    shown: dict[Fraction, Voicing] = {}
    if not style.diagrams:
        return shown
    before: Voicing | None = None
    for label in labels_of(score):
        if label.kind is LabelKind.CHORD:
            if label.voicing is not None and label.voicing != before:
                shown[label.at] = label.voicing
            before = label.voicing
    return shown


def diagram_width(voicing: Voicing) -> float:
    """Room for one, the number of its first fret included."""
    first, _ = stretch(voicing)
    number = 0.0 if first == 1 else _number_width(first) + 0.25
    return _grid_width(voicing) + 2 * _DOT + number


def diagram_height(voicing: Voicing) -> float:
    """From the rings over the nut to the end of the strings."""
    _, rows = stretch(voicing)
    return rows * FRET_GAP + _MARK_ROOM + _MARK + 0.1


def small_diagram(
    voicing: Voicing, x: float, top: float, layer: Layer, *, left_handed: bool = False
) -> Iterator[Ink]:
    """One diagram whose room starts at ``x`` and whose first wire is at ``top``."""
    first, rows = stretch(voicing)
    strings = voicing.neck.tuning.string_count
    number = "" if first == 1 else str(first)
    number_room = _number_width(first) + 0.25 if number else 0.0
    left = x + _DOT + (0.0 if left_handed else number_room)
    right, bottom = left + _grid_width(voicing), top + rows * FRET_GAP

    def x_of(string: int) -> float:
        return left + STRING_GAP * (string - 1 if left_handed else strings - string)

    for string in range(1, strings + 1):
        yield Line(x_of(string), top, x_of(string), bottom, _THIN, role="diagram", layer=layer)
    for row in range(rows + 1):
        thick = _NUT if row == 0 and first == 1 else _THIN
        y = top + row * FRET_GAP - (thick / 2 if thick == _NUT else 0.0)
        yield Line(left - _THIN / 2, y, right + _THIN / 2, y, thick, role="diagram", layer=layer)
    if number:
        box = ink_of(number, NUMBER_FACE, _NUMBER_SIZE)
        at = right + _DOT + 0.2 - box.left if left_handed else x - box.left
        y = top + FRET_GAP / 2 - (box.top + box.bottom) / 2
        yield Text(number, NUMBER_FACE, _NUMBER_SIZE, at, y, role="diagram-number", layer=layer)
    for barre in voicing.barres:
        y = top + (barre.fret - first + 0.5) * FRET_GAP
        ends = sorted((x_of(barre.low_string), x_of(barre.high_string)))
        yield Line(*_along(ends, y), 0.42, role="diagram-dot", layer=layer)
    for string, fret in enumerate(voicing.frets, start=1):
        yield from _mark(fret, first, x_of(string), top, layer)


def _along(ends: Sequence[float], y: float) -> tuple[float, float, float, float]:
    return ends[0], y, ends[1], y


def _mark(fret: int | None, first: int, x: float, top: float, layer: Layer) -> Iterator[Ink]:
    if fret:
        scale = 2 * _DOT / glyph("augmentationDot").width_sp
        y = top + (fret - first + 0.5) * FRET_GAP
        yield Glyph("augmentationDot", x - _DOT, y, scale, role="diagram-dot", layer=layer)
        return
    y = top - _NUT - _MARK_ROOM + 0.1
    if fret is None:
        for lean in (_MARK, -_MARK):
            points = ((x - _MARK, y - lean), (x + _MARK, y + lean))
            yield Trace(points, 0.1, role="diagram-mark", layer=layer)
        return
    yield Trace(_circle(x, y, _MARK), 0.09, role="diagram-mark", layer=layer)


def _circle(x: float, y: float, radius: float) -> tuple[tuple[float, float], ...]:
    eighth = 0.70711
    turns = (
        (1.0, 0.0), (0.924, 0.383), (eighth, eighth), (0.383, 0.924), (0.0, 1.0), (-0.383, 0.924),
        (-eighth, eighth), (-0.924, 0.383), (-1.0, 0.0), (-0.924, -0.383), (-eighth, -eighth),
        (-0.383, -0.924), (0.0, -1.0), (0.383, -0.924), (eighth, -eighth), (0.924, -0.383), (1.0, 0.0),
    )  # fmt: skip
    return tuple((x + radius * dx, y + radius * dy) for dx, dy in turns)


def _grid_width(voicing: Voicing) -> float:
    return STRING_GAP * (voicing.neck.tuning.string_count - 1)


def _number_width(first: int) -> float:
    return ink_of(str(first), NUMBER_FACE, _NUMBER_SIZE).width
