"""The teaching flow: course text -> Course -> check -> Score -> fingering -> plate, sound -> publish."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from fretwright import __version__
from fretwright.check.check import Checked
from fretwright.course.model import Exercise, Lesson
from fretwright.engrave.walkthrough import walk_through
from fretwright.flows.attachments import attachments, pictures, published
from fretwright.flows.band import BandJob
from fretwright.flows.digests import digest
from fretwright.flows.drawing import DrawingJob, read_back
from fretwright.flows.exchange import ExchangeJob
from fretwright.flows.filming import FilmJob
from fretwright.flows.printing import HandoutJob, LeadSheetJob
from fretwright.flows.reading import check_course, require_lesson
from fretwright.flows.report import START_PAGE, BuildOrder, BuildReport, inputs_digest, remember
from fretwright.flows.shelf import Shelf
from fretwright.flows.sounding import SoundJob
from fretwright.flows.tuning import tone_jobs
from fretwright.flows.workshop import Job, Progress, do_all
from fretwright.publish.handout import Paper
from fretwright.publish.material import CourseFiles, Download, ExerciseMaterial
from fretwright.publish.site import lesson_path, site_files
from fretwright.score.held import voicings_of
from fretwright.score.score import Score

Materials = Mapping[str, ExerciseMaterial]


def build(order: BuildOrder, shelf: Shelf, progress: Progress = lambda *_: None) -> BuildReport:
    """Make everything a student sees, hears and prints; only what changed is made again.

    Exercises with an error are left out, and all findings stand in the report.

    Raises :class:`~fretwright.base.errors.FretwrightError` if the course cannot be opened, the lesson
    asked for is not there, or the files cannot be written.
    """
    # taken before anything is read: what is written while this build runs is for the next one
    inputs = inputs_digest(order)
    checked = check_course(order.course, left_handed=order.left_handed)
    lessons = _ordered_lessons(checked, order.only)
    exercises = [exercise for lesson in lessons for exercise in lesson.exercises]

    jobs = {each.name: _jobs(each, checked.score_of(each)) for each in exercises}
    made = do_all(_in_order(jobs.values(), lessons), shelf, "Making", progress)

    materials = {
        each.name: _material(each, checked.score_of(each), jobs[each.name], shelf) for each in exercises
    }
    if order.films:
        films = {each.name: FilmJob(each, checked) for each in exercises if checked.score_of(each).notes}
        made += do_all(list(films.values()), shelf, "Filming", progress, order.cluster)
        materials |= {name: replace(materials[name], film=job.files(shelf)) for name, job in films.items()}
    made += _print(order, checked, lessons, materials, shelf, progress)
    made += _place_pages(order, checked, lessons, materials, shelf)

    report = BuildReport(checked.findings, made, shelf.kept_count - made, order.out / START_PAGE)
    shelf.finish({} if order.only else remember(inputs, report), keep_others=order.only is not None)
    return report


def _ordered_lessons(checked: Checked, only: str | None) -> tuple[Lesson, ...]:
    if only is not None:
        require_lesson(checked, only)
    return tuple(lesson for lesson in checked.course.lessons if only in (None, lesson.slug))


@dataclass(frozen=True, slots=True)
class _Jobs:
    """All that is made of one exercise."""

    drawing: DrawingJob
    exchange: ExchangeJob
    rungs: tuple[SoundJob, ...]
    band: tuple[BandJob, ...]


def _in_order(jobs: Iterable[_Jobs], lessons: tuple[Lesson, ...]) -> list[Job]:
    """Everything but pages and films, the longest work first, so that no core is left alone with it."""
    every = list(jobs)
    bands = [track for each in every for track in each.band]
    rungs = [rung for each in every for rung in each.rungs]
    pictures = [job for each in every for job in (each.drawing, each.exchange)]
    return [*bands, *rungs, *tone_jobs(lessons), *pictures]


def _jobs(exercise: Exercise, score: Score) -> _Jobs:
    return _Jobs(
        DrawingJob.of(exercise, score),
        ExchangeJob.of(exercise, score),
        tuple(SoundJob.of(exercise, score, bpm) for bpm in exercise.ladder.rungs),
        BandJob.all_of(exercise, score),
    )


def _material(exercise: Exercise, score: Score, jobs: _Jobs, shelf: Shelf) -> ExerciseMaterial:
    pictured = read_back(jobs.drawing, shelf)
    return ExerciseMaterial(
        exercise=exercise,
        score=score,
        wide=pictured.wide,
        narrow=pictured.narrow,
        diagram=pictured.diagram,
        mirrored=pictured.mirrored,
        walk_through=walk_through(score),
        rungs=tuple(job.rung for job in jobs.rungs),
        band=tuple(job.track for job in jobs.band),
        downloads=(
            Download("The plate, to enlarge or print (SVG)", jobs.drawing.picture("wide")),
            Download(
                "The chords (SVG)" if voicings_of(score) else "The fretboard (SVG)",
                jobs.drawing.picture("diagram"),
            ),
            *_lead_sheet(exercise),
            *jobs.exchange.downloads,
        ),
    )


def _lead_sheet(exercise: Exercise) -> tuple[Download, ...]:
    path = LeadSheetJob.path_for(exercise)
    return (Download("The lead sheet, one page (PDF)", path),) if exercise.is_chart else ()


def _print(
    order: BuildOrder,
    checked: Checked,
    lessons: tuple[Lesson, ...],
    materials: Materials,
    shelf: Shelf,
    progress: Progress,
) -> int:
    """Set the handouts; that of the whole course only where the whole course is built."""
    shown = pictures(attachments(order.course, checked.course))
    wanted: list[Lesson | None] = [*lessons] if order.only else [*lessons, None]
    jobs = [
        HandoutJob(checked.course, lesson, _of(lesson, materials), shown, Paper(order.paper))
        for lesson in wanted
    ]
    charts = [made for made in materials.values() if made.exercise.is_chart]
    sheets = [LeadSheetJob(checked.course, made.exercise, made, Paper(order.paper)) for made in charts]
    return do_all([*jobs, *sheets], shelf, "Printing", progress)


def _of(lesson: Lesson | None, materials: Materials) -> Materials:
    """The material of one lesson, or of all."""
    return {
        name: made
        for name, made in materials.items()
        if lesson is None or made.exercise.lesson == lesson.slug
    }


def _place_pages(
    order: BuildOrder, checked: Checked, lessons: tuple[Lesson, ...], materials: Materials, shelf: Shelf
) -> int:
    """Set pages and copy attachments; place those that are not there already. Returns how many."""
    found = attachments(order.course, checked.course)
    addresses = published(found)
    files = CourseFiles(
        handout=None if order.only else HandoutJob.path_for(None),
        lesson_handouts={lesson.slug: HandoutJob.path_for(lesson) for lesson in lessons},
        from_course=addresses,
    )
    pages = site_files(checked.course, materials, __version__, files, order.surround)
    if order.only is not None:
        others = {lesson_path(lesson) for lesson in checked.course.lessons if lesson not in lessons}
        pages = {path: page for path, page in pages.items() if path not in others}
    pages |= {addresses[path]: content for path, content in found.items()}
    return sum(_placed(pages, shelf))


def _placed(pages: Mapping[str, bytes], shelf: Shelf) -> Iterator[bool]:
    """Whether each page read differently from what lay there, and was placed anew."""
    for path, content in pages.items():
        key = digest(content)
        changed = not shelf.holds(path, key)
        if changed:
            shelf.put({path: content}, key)
        yield changed
