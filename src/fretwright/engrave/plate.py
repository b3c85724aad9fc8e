"""The plate: from a score to a picture of it, in one short row of stages.

Enters: a :class:`~fretwright.score.score.Score` with its fingers and strokes. Leaves: a :class:`Plate`, SVG
text and the boxes of its notes, bars and systems in millimetres.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass

from fretwright.engrave.bars import BarPlan, plan_bars
from fretwright.engrave.boxes import (
    BarBox,
    MomentMark,
    NoteBox,
    SystemBox,
    bar_boxes,
    moment_marks,
    note_boxes,
    system_boxes,
)
from fretwright.engrave.ink import Ink
from fretwright.engrave.placing import Rows, fitted, place, rows_of_four
from fretwright.engrave.stacking import Stacked, stack
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.svg import SvgText, write_svg
from fretwright.engrave.systems import SetSystem, Setter
from fretwright.score.score import LabelKind, Score, Writing


@dataclass(frozen=True, slots=True)
class Plate:
    """An engraved picture and where everything stands on it; all lengths in millimetres."""

    svg: str
    """The picture; its view box is in millimetres from the upper left corner."""
    width_mm: float
    height_mm: float
    staff_space_mm: float
    boxes: dict[str, tuple[NoteBox, ...]]
    """Note id to the boxes of its heads and fret numbers."""
    bars: tuple[BarBox, ...]
    systems: tuple[SystemBox, ...]
    ink: tuple[tuple[Ink, ...], ...]
    """The primitives of each system in staff spaces, for checks; the picture says the same."""
    moments: tuple[MomentMark, ...] = ()
    """Where each moment stands on its line, in order of time, for a playhead."""

    def boxes_json(self) -> str:
        """Boxes of notes, bars and systems, and the places of moments, as JSON for pages and films."""
        return json.dumps(
            {
                "width_mm": self.width_mm,
                "height_mm": self.height_mm,
                "staff_space_mm": self.staff_space_mm,
                "notes": {note: [box.as_dict() for box in boxes] for note, boxes in self.boxes.items()},
                "bars": [bar.as_dict() for bar in self.bars],
                "systems": [system.as_dict() for system in self.systems],
                "moments": [moment.as_dict() for moment in self.moments],
            },
            separators=(",", ":"),
        )


def engrave(
    score: Score,
    style: PlateStyle = PlateStyle(),  # noqa: B008 - immutable
    *,
    title: str = "",
    description: str = "",
    id_prefix: str = "plate",
) -> Plate:
    """Engrave a score.

    ``title`` and ``description`` are what the picture says of itself to a reader who cannot see it;
    ``id_prefix`` keeps its ids apart from those of other plates on a page.
    Raises :class:`~fretwright.base.errors.RenderError` where notes that start together have different values.
    """
    plans = plan_bars(score, style)
    style = fitted(style, plans)
    placed = place(plans, style.width_sp, _rows(score, plans, style))
    setter = Setter.of(score, style)
    systems = [setter.set(system) for system in placed]
    stacked = stack(systems)
    return _plate(style, systems, stacked, SvgText(title or score.title, description, id_prefix))


def _rows(score: Score, plans: Sequence[BarPlan], style: PlateStyle) -> Rows:
    """A chart is read in rows of four bars; everything else is broken where it looks best."""
    if score.writing is not Writing.SLASHES:
        return ()
    parts = {label.at for label in score.labels if label.kind is LabelKind.TEXT}
    return rows_of_four(plans, parts, style.width_sp)


def _plate(style: PlateStyle, systems: Sequence[SetSystem], stacked: Stacked, words: SvgText) -> Plate:
    mm = style.staff_space_mm
    height_mm = round(stacked.height * mm, 3)
    return Plate(
        write_svg(stacked.ink, words, style.width_mm, height_mm, mm),
        style.width_mm,
        height_mm,
        mm,
        note_boxes(systems, stacked, mm),
        bar_boxes(systems, stacked, mm),
        system_boxes(systems, stacked, mm),
        stacked.ink,
        moment_marks(systems, mm),
    )
