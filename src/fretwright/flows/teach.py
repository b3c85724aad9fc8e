"""The teaching flow: course text -> Course -> check -> Score -> fingering -> plate, sound -> publish."""

from collections.abc import Mapping

from fretwright import __version__
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.engrave.walkthrough import walk_through
from fretwright.flows.digests import digest
from fretwright.flows.drawing import DrawingJob, read_back
from fretwright.flows.reading import check_course, require_lesson
from fretwright.flows.report import START_PAGE, BuildOrder, BuildReport, remember
from fretwright.flows.shelf import Shelf
from fretwright.flows.sounding import SoundJob
from fretwright.flows.workshop import Progress, do_all
from fretwright.publish.material import ExerciseMaterial
from fretwright.publish.site import site_files


def build(order: BuildOrder, shelf: Shelf, progress: Progress = lambda *_: None) -> BuildReport:
    """Make everything a student sees, hears and prints; only what changed is made again.

    Exercises with an error are left out, and all findings stand in the report.

    Raises :class:`~fretwright.base.errors.FretwrightError` if the course cannot be opened, the lesson
    asked for is not there, or the files cannot be written.
    """
    checked = check_course(order.course)
    if order.only is not None:
        require_lesson(checked, order.only)
    exercises = [each for each in checked.course.exercises if order.only in (None, each.lesson)]
    scores = {each.name: checked.fingered[each.name].score for each in exercises}

    drawn = {each.name: DrawingJob.of(each, scores[each.name]) for each in exercises}
    sounded = {
        each.name: [SoundJob.of(each, scores[each.name], bpm) for bpm in each.ladder.rungs]
        for each in exercises
    }
    made = do_all(list(drawn.values()), shelf, "Drawing", progress)
    made += do_all([job for jobs in sounded.values() for job in jobs], shelf, "Sounding", progress)

    materials = {
        each.name: _material(each, checked, drawn[each.name], sounded[each.name], shelf) for each in exercises
    }
    made += _place_pages(order, checked, materials, shelf)

    report = BuildReport(checked.findings, made, shelf.kept_count - made, order.out / START_PAGE)
    shelf.finish({} if order.only else remember(order, report), keep_others=order.only is not None)
    return report


def _material(
    exercise: Exercise, checked: Checked, drawn: DrawingJob, sounded: list[SoundJob], shelf: Shelf
) -> ExerciseMaterial:
    pictures = read_back(drawn, shelf)
    return ExerciseMaterial(
        exercise=exercise,
        score=checked.fingered[exercise.name].score,
        wide=pictures.wide,
        narrow=pictures.narrow,
        diagram=pictures.diagram,
        walk_through=walk_through(checked.fingered[exercise.name].score),
        rungs=tuple(job.rung for job in sounded),
    )


def _place_pages(
    order: BuildOrder, checked: Checked, materials: Mapping[str, ExerciseMaterial], shelf: Shelf
) -> int:
    """Set the pages and place those that read differently now; returns how many."""
    made = 0
    for path, content in site_files(checked.course, materials, __version__).items():
        other_lesson = order.only is not None and path.startswith("lessons/") and order.only not in path
        if not other_lesson and not shelf.holds(path, key := digest(content)):
            shelf.put({path: content}, key)
            made += 1
    return made
