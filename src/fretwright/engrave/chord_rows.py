"""Chord names over the moments they start at, each over its diagram where there is one."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Final

from fretwright.engrave.chord_diagram_layout import stretch
from fretwright.engrave.ink import Ink, Layer, ink_of
from fretwright.engrave.marks import CHORD_FACE, CHORD_SIZE
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.rows import straight_row, x_at
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.small_diagrams import FRET_GAP, diagram_width, small_diagram
from fretwright.engrave.style import HEAD_WIDTH, PlateStyle
from fretwright.fretboard.voicing import Voicing
from fretwright.score.score import Label, LabelKind

_GAP: Final = 0.6

Spots = Mapping[Fraction, tuple[float, float]]
"""Left end and width of each diagram."""


def chord_row(
    labels: Sequence[Label], spots: Spots, system: PlacedSystem, sky: Skyline, layer: Layer, width: float
) -> list[Ink]:
    """Chord names, of the system's own labels, in one row."""
    placed = [(label.text, _name_x(label, spots, system, width)) for label in _last_at_each_moment(labels)]
    return straight_row(placed, CHORD_FACE, CHORD_SIZE, sky, 0.7, "chord", layer)


def _name_x(label: Label, spots: Spots, system: PlacedSystem, width: float) -> float:
    box = ink_of(label.text, CHORD_FACE, CHORD_SIZE)
    x = x_at(system, label.at) - HEAD_WIDTH / 2
    if label.at in spots:
        left, wide = spots[label.at]
        x = left + max(0.0, wide - box.width) / 2
    return min(x, width - box.right)


def _last_at_each_moment(labels: Sequence[Label]) -> Sequence[Label]:
    """Chord names, one at a time."""
    return list({label.at: label for label in labels if label.kind is LabelKind.CHORD}.values())


def diagram_row(
    shown: Mapping[Fraction, Voicing], system: PlacedSystem, sky: Skyline, layer: Layer, style: PlateStyle
) -> tuple[list[Ink], dict[Fraction, tuple[float, float]]]:
    """The diagrams of a system, their first wires in one line; and the left end and width of each."""
    spots: dict[Fraction, tuple[float, float]] = {}
    for at, voicing in shown.items():
        width = diagram_width(voicing)
        spots[at] = min(x_at(system, at) - HEAD_WIDTH / 2, style.width_sp - width), width
    if not spots:
        return [], spots
    tallest = max(stretch(shown[at])[1] for at in spots)
    bottom = min(sky.edge(x, x + width, _GAP, at_least=-1.0) for x, width in spots.values())
    top = bottom - tallest * FRET_GAP
    drawn: list[Ink] = []
    for at, (x, _) in spots.items():
        mirrored = shown[at].neck.left_handed if style.left_handed is None else style.left_handed
        drawn += small_diagram(shown[at], x, top, layer, left_handed=mirrored)
    sky.add_ink(drawn)
    return drawn, spots
