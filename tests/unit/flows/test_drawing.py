"""Pictures come back from the shelf as they were drawn."""

from dataclasses import replace
from pathlib import Path

import pytest

from fretwright.base.spans import Span
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.engrave.diagram import fretboard_diagram
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.walkthrough import walk_through
from fretwright.flows.drawing import DrawingJob, read_back
from fretwright.flows.shelf import Shelf
from fretwright.score.tempo import TempoMap

README_PICTURE = Path(__file__).parents[3] / "docs" / "images" / "hammered.svg"


@pytest.fixture
def job(demo: Checked, exercise: Exercise) -> DrawingJob:
    return DrawingJob.of(exercise, demo.score_of(exercise))


def test_what_is_read_back_is_what_was_drawn(job: DrawingJob, tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    made = job.make()
    assert set(made) == set(job.paths)
    shelf.put(made, job.key)

    back = read_back(job, shelf)

    words = walk_through(job.score)
    drawn = engrave(
        job.score,
        PlateStyle(width_mm=170.0),
        title=words.title,
        description=words.summary,
        id_prefix="one-pair-wide",
    )
    assert back.wide == replace(drawn, ink=())
    assert back.diagram == fretboard_diagram(job.score, id_prefix="one-pair-neck")
    assert back.narrow.width_mm < back.wide.width_mm
    assert set(back.narrow.boxes) == set(back.wide.boxes) == {note.id for note in job.score.notes}


def test_the_key_follows_what_is_drawn_and_nothing_else(job: DrawingJob) -> None:
    moved = job.score.with_notes(
        tuple(replace(note, source=Span("lessons/other.md", 99, 1)) for note in job.score.notes)
    )
    slower = replace(job.score, tempo=TempoMap.constant(30))

    assert replace(job, score=moved).key == job.key
    assert replace(job, score=slower).key != job.key
    assert replace(job, exercise="other").key != job.key


def test_the_picture_in_the_readme_is_what_the_engraver_draws_today(demo: Checked) -> None:
    # After a change of the engraver: cp build/demo/plates/04-hammer-ons/hammered.svg docs/images/
    hammered = demo.course.exercise("04-hammer-ons/hammered")
    job = DrawingJob.of(hammered, demo.score_of(hammered))

    assert README_PICTURE.read_bytes() == job.make()[job.picture("wide")]
