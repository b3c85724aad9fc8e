"""What the flows hand to a product for one exercise: pictures, words, and where its files lie.

Everything is made elsewhere; nothing here is computed. Paths are relative to the output folder, with
forward slashes.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from fretwright.course.model import Exercise
from fretwright.engrave.diagram import Diagram
from fretwright.engrave.plate import Plate
from fretwright.engrave.walkthrough import WalkThrough
from fretwright.score.score import Score


@dataclass(frozen=True, slots=True)
class Rung:
    """The files of one rung of the tempo ladder."""

    bpm: int
    script: str
    """What :func:`~fretwright.publish.sound_script.sound_script` made."""
    audio: str
    """A sound file that any player plays (``.m4a``), for those who load no script."""


@dataclass(frozen=True, slots=True)
class Download:
    """A file that a student may take home."""

    label: str
    """What it is, in a few words: ``The plate, to enlarge or print (SVG)``."""
    path: str


@dataclass(frozen=True, slots=True)
class BandTrack:
    """The files of a backing band at one tempo."""

    bpm: int
    band: str
    """Count-in, several times through, an ending (``.m4a``)."""
    loop: str
    """Once through, cut so that it may be repeated without a seam (``.flac``)."""
    with_guitar: str | None = None
    """Once through with the written notes (``.m4a``); None where none are."""


@dataclass(frozen=True, slots=True)
class FilmFiles:
    """The film of one exercise."""

    moving: str
    """Its playhead runs."""
    calm: str
    """The same for those who ask for less motion."""
    poster: str
    """What is seen before it plays."""
    captions: str
    """WebVTT."""
    captions_text: str
    """What that file holds: a page opened from a folder may not load it."""
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class ExerciseMaterial:
    """One exercise, ready to be set into a page."""

    exercise: Exercise
    score: Score
    """With the fingers and strokes that were found."""
    wide: Plate
    """For paper and screens."""
    narrow: Plate
    """For phones: the same notes in more systems. All ids in the two plates and the diagram differ, and
    differ from those of every other exercise of the lesson."""
    diagram: Diagram | None
    """Its place on the fretboard; ``None`` where a picture would say nothing."""
    walk_through: WalkThrough
    rungs: tuple[Rung, ...]
    """From the slowest to the goal."""
    mirrored: Diagram | None = None
    """The same picture as a player of the other hand sees it."""
    downloads: tuple[Download, ...] = ()
    band: tuple[BandTrack, ...] = ()
    """Tracks to play along with, from the slowest on; none where no band is wanted."""
    film: FilmFiles | None = None
    """Where the build was asked for films."""


@dataclass(frozen=True, slots=True)
class CourseFiles:
    """Files of the whole course that pages point to."""

    handout: str | None = None
    """The course as one PDF."""
    lesson_handouts: Mapping[str, str] = field(default_factory=dict)
    """Lesson slug -> its handout as PDF."""
    from_course: Mapping[str, str] = field(default_factory=dict)
    """Path in the course folder -> path in the output folder, for each picture and file that prose
    names, that exists, and that was copied (:func:`~fretwright.publish.prose.course_paths` lists them)."""


NO_FILES: Final = CourseFiles()


@dataclass(frozen=True, slots=True)
class Surround:
    """What stands around every page of the site.

    Nothing, where it is a folder of its own; where a school serves it, the way to the school's other pages
    and what they add to it.
    """

    styles: tuple[str, ...] = ()
    """Addresses of further style sheets."""
    modules: tuple[str, ...] = ()
    """Addresses of scripts, loaded as modules after the page's own."""
    places: tuple[tuple[str, str], ...] = ()
    """Label and address of each of the school's pages, for a row of links at the top."""
    colophon: str = "This page sends nothing anywhere; what you tick stays on this device."
    """The last sentence of the page."""
    is_alone: bool = True
    """Whether the page itself must say what it may load: a folder has no server to say so."""


ALONE: Final = Surround()
