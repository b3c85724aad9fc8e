"""Plates and fretboards of one exercise, drawn once and read back from the shelf until it changes."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from fretwright.course.model import Exercise
from fretwright.engrave.diagram import Diagram, fretboard_diagram
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.walkthrough import walk_through
from fretwright.flows.digests import digest, digest_of_score
from fretwright.flows.shelf import Shelf
from fretwright.fretboard.shapes import Shape
from fretwright.score.score import Score

_STYLES: Final = {"wide": PlateStyle(width_mm=170.0), "narrow": PlateStyle(width_mm=84.0)}
"""Narrow is for a page 320 CSS pixels wide: the smallest signs are then as large as on paper."""
_ENDINGS: Final = {"wide": ".svg", "narrow": "-narrow.svg", "diagram": "-fretboard.svg", "boxes": ".json"}


@dataclass(frozen=True, slots=True)
class StoredBox:
    """Where a sign stands, in mm from the top left corner of its plate."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class StoredPicture:
    """A drawing as it lies on the shelf."""

    svg: str
    path: str
    """Where it lies."""
    width_mm: float
    height_mm: float
    boxes: Mapping[str, tuple[StoredBox, ...]]
    """Note id -> its signs; empty for a fretboard."""


@dataclass(frozen=True, slots=True)
class Drawings:
    """All pictures of one exercise."""

    wide: StoredPicture
    narrow: StoredPicture
    diagram: StoredPicture


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
        return tuple(self.path_of(part) for part in _ENDINGS)

    def path_of(self, part: str) -> str:
        """Where a part of the drawings lies."""
        return f"plates/{self.lesson}/{self.exercise}{_ENDINGS[part]}"

    def make(self) -> dict[str, bytes]:
        """Draw the exercise: path -> content."""
        words = walk_through(self.score)
        drawn: dict[str, Plate | Diagram] = {
            part: engrave(
                self.score,
                style,
                title=words.title,
                description=f"{words.summary} {words.text}",
                id_prefix=f"{self.exercise}-{part}",
            )
            for part, style in _STYLES.items()
        }
        drawn["diagram"] = fretboard_diagram(self.shape or self.score, id_prefix=f"{self.exercise}-neck")
        content = {self.path_of(part): picture.svg.encode() for part, picture in drawn.items()}
        return content | {self.path_of("boxes"): _measures(drawn)}


def _measures(drawn: Mapping[str, Plate | Diagram]) -> bytes:
    """Sizes of all pictures and note boxes of the plates as JSON, in mm."""
    measures = {
        part: {
            "width_mm": picture.width_mm,
            "height_mm": picture.height_mm,
            "boxes": _boxes(picture) if isinstance(picture, Plate) else {},
        }
        for part, picture in drawn.items()
    }
    return json.dumps(measures, separators=(",", ":")).encode()


def _boxes(plate: Plate) -> dict[str, list[list[float]]]:
    return {
        note_id: [[box.x_mm, box.y_mm, box.width_mm, box.height_mm] for box in boxes]
        for note_id, boxes in plate.boxes.items()
    }


def read_back(job: DrawingJob, shelf: Shelf) -> Drawings:
    """The pictures of an exercise from the shelf, once its job is done."""
    measures = json.loads(shelf.target(job.path_of("boxes")).read_bytes())
    pictures = {
        part: StoredPicture(
            svg=shelf.target(job.path_of(part)).read_text(encoding="utf-8"),
            path=job.path_of(part),
            width_mm=measured["width_mm"],
            height_mm=measured["height_mm"],
            boxes={
                note_id: tuple(StoredBox(*box) for box in boxes)
                for note_id, boxes in measured["boxes"].items()
            },
        )
        for part, measured in measures.items()
    }
    return Drawings(**pictures)
