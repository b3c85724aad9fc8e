"""Plates and fretboard of one exercise, drawn once and read back from the shelf until they change."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any, Final

from fretwright.course.model import Exercise
from fretwright.engrave.boxes import BarBox, MomentMark, NoteBox, SystemBox
from fretwright.engrave.chord_sheet import chords_picture
from fretwright.engrave.diagram import Diagram, DiagramStyle, fretboard_diagram
from fretwright.engrave.ink import Box
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.walkthrough import walk_through
from fretwright.flows.digests import digest, digest_of_score
from fretwright.flows.shelf import Shelf
from fretwright.fretboard.neck import Place
from fretwright.fretboard.shapes import Shape
from fretwright.score.held import voicings_of
from fretwright.score.score import Score

_STYLES: Final = {"wide": PlateStyle(width_mm=170.0), "narrow": PlateStyle(width_mm=84.0)}
"""Narrow is for a page 320 CSS pixels wide: the smallest signs are then as large as on paper."""
_ENDINGS: Final = {
    "wide": "", "narrow": "-narrow", "diagram": "-fretboard", "mirrored": "-fretboard-mirrored",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Drawings:
    """All pictures of one exercise."""

    wide: Plate
    narrow: Plate
    diagram: Diagram
    """The fretboard, or the chords that are held."""
    mirrored: Diagram
    """The same as a player of the other hand sees it."""


@dataclass(frozen=True, slots=True)
class DrawingJob:
    """One exercise to be drawn; travels to another process."""

    lesson: str
    exercise: str
    score: Score
    shape: Shape | None

    @classmethod
    def of(cls, exercise: Exercise, score: Score) -> "DrawingJob":
        """The job of an exercise with its fingered score."""
        return cls(exercise.lesson, exercise.id, score, exercise.shape)

    @property
    def key(self) -> str:
        """Digest of all that is drawn."""
        return digest(self.exercise, digest_of_score(self.score), self.shape)

    @property
    def paths(self) -> tuple[str, ...]:
        """The files that are made."""
        return tuple(path for part in _ENDINGS for path in (self.picture(part), self.boxes(part)))

    def picture(self, part: str) -> str:
        """Where ``wide``, ``narrow``, ``diagram`` or ``mirrored`` lies."""
        return f"plates/{self.lesson}/{self.exercise}{_ENDINGS[part]}.svg"

    def boxes(self, part: str) -> str:
        """Where the map of what stands on a picture lies."""
        return f"plates/{self.lesson}/{self.exercise}{_ENDINGS[part]}.json"

    def make(self) -> dict[str, bytes]:
        """Draw the exercise: path -> content."""
        words = walk_through(self.score)
        made: dict[str, bytes] = {}
        for part, style in _STYLES.items():
            plate = engrave(
                self.score,
                style,
                title=words.title,
                description=words.summary,
                id_prefix=f"{self.exercise}-{part}",
            )
            made |= {self.picture(part): plate.svg.encode(), self.boxes(part): plate.boxes_json().encode()}
        is_left = self.score.neck.left_handed
        for part, left_handed in (("diagram", is_left), ("mirrored", not is_left)):
            prefix = f"{self.exercise}-neck{'-mirrored' * (part == 'mirrored')}"
            diagram = picture_of_hand(self.score, self.shape, id_prefix=prefix, left_handed=left_handed)
            made |= {self.picture(part): diagram.svg.encode(), self.boxes(part): _diagram_json(diagram)}
        return made


def picture_of_hand(
    score: Score, shape: Shape | None, *, id_prefix: str, left_handed: bool | None = None
) -> Diagram:
    """Where the hand is: the chords that it holds, or the fretboard with what is played on it.

    ``left_handed`` is whether it is mirrored; by default the score's neck says it.
    """
    held = voicings_of(score)
    if held:
        title = f"Chords of {score.title}"
        return chords_picture(held, title=title, id_prefix=id_prefix, left_handed=left_handed)
    is_left = score.neck.left_handed if left_handed is None else left_handed
    return fretboard_diagram(shape or score, DiagramStyle(left_handed=is_left), id_prefix=id_prefix)


def read_back(job: DrawingJob, shelf: Shelf) -> Drawings:
    """The pictures of an exercise from the shelf, once its job is done; plates without their primitives."""

    def text(path: str) -> str:
        return shelf.target(path).read_text(encoding="utf-8")

    plates = {part: _plate(text(job.picture(part)), json.loads(text(job.boxes(part)))) for part in _STYLES}
    necks = {
        part: _diagram(text(job.picture(part)), json.loads(text(job.boxes(part))))
        for part in ("diagram", "mirrored")
    }
    return Drawings(plates["wide"], plates["narrow"], necks["diagram"], necks["mirrored"])


def _plate(svg: str, measures: Mapping[str, Any]) -> Plate:
    return Plate(
        svg=svg,
        width_mm=measures["width_mm"],
        height_mm=measures["height_mm"],
        staff_space_mm=measures["staff_space_mm"],
        boxes={
            note_id: tuple(NoteBox(**box) for box in boxes) for note_id, boxes in measures["notes"].items()
        },
        bars=tuple(BarBox(**bar) for bar in measures["bars"]),
        systems=tuple(SystemBox(**system) for system in measures["systems"]),
        ink=(),
        moments=tuple(
            MomentMark(Fraction(mark["at"]), mark["system"], mark["x"]) for mark in measures["moments"]
        ),
    )


def _diagram_json(diagram: Diagram) -> bytes:
    measures = {
        "width_mm": diagram.width_mm,
        "height_mm": diagram.height_mm,
        "title": diagram.title,
        "description": diagram.description,
        "legend": diagram.legend,
        "places": [asdict(place) | box._asdict() for place, box in diagram.boxes.items()],
    }
    return json.dumps(measures, ensure_ascii=False, separators=(",", ":")).encode()


def _diagram(svg: str, measures: dict[str, Any]) -> Diagram:
    places = measures.pop("places")
    boxes = {Place(place.pop("string"), place.pop("fret")): Box(**place) for place in places}
    return Diagram(svg=svg, boxes=boxes, **measures)
