"""The course site: pages and assets as a folder that any browser opens, with or without a server.

Addresses are relative throughout. Pages run classic scripts alone and fetch nothing, since a browser
refuses both modules and fetching to a page opened from a folder; a Content-Security-Policy in each page
keeps it from reaching beyond its own folder.
"""

import posixpath
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fretwright.course.model import Course, Exercise, Lesson, LessonBlock, Prose, TuningBlock
from fretwright.publish.cautions import CAUTIONS, SHORT_CAUTION
from fretwright.publish.material import ALONE, NO_FILES, CourseFiles, ExerciseMaterial, Surround
from fretwright.publish.prose import Setting, to_html
from fretwright.publish.site_exercise import ExerciseView, chords_view, exercise_view
from fretwright.publish.site_tuning import TuningView, tuning_view
from fretwright.publish.sound_script import clicks_script

COURSE_PAGE: Final = "index.html"
_ASSETS: Final = files("fretwright.publish") / "assets"
_SITE_ASSETS: Final = "assets"

# `file:` is for browsers to which a page in a folder has no origin of its own.
_OWN: Final = "'self' file:"
CONTENT_SECURITY_POLICY: Final = (
    f"default-src 'none'; script-src {_OWN}; style-src {_OWN}; font-src {_OWN}; "
    f"img-src {_OWN}; media-src {_OWN} data:; base-uri 'none'; form-action 'none'"
)

SCRIPTS: Final = (
    "memory",
    "wishes",
    "delivery",
    "clicks",
    "rounds",
    "clock",
    "playing",
    "plate",
    "ladder",
    "part",
    "player",
    "page",
)
"""In the order in which each builds on those before it."""


def site_files(
    course: Course,
    materials: Mapping[str, ExerciseMaterial],
    version: str,
    course_files: CourseFiles = NO_FILES,
    surround: Surround = ALONE,
) -> dict[str, bytes]:
    """Every page and asset of the site: path in the output folder -> content.

    ``materials`` is keyed by ``lesson/exercise``; an exercise that it lacks was not built, and its place
    says so. Sound, handouts and files copied from the course are not among the results.
    """
    pages = {COURSE_PAGE: course_page(course, materials, version, course_files, surround)}
    for lesson in course.lessons:
        pages[lesson_path(lesson)] = lesson_page(course, lesson, materials, version, course_files, surround)
    return pages | asset_files()


def lesson_path(lesson: Lesson) -> str:
    """Where the page of a lesson lies in the output folder."""
    return f"lessons/{lesson.slug}.html"


def asset_files() -> dict[str, bytes]:
    """Styles, scripts and fonts, the same for every course."""
    found = {f"{_SITE_ASSETS}/{path}": file.read_bytes() for path, file in _walk(_ASSETS)}
    return dict(sorted(found.items())) | {f"{_SITE_ASSETS}/js/clicks.js": clicks_script()}


def course_page(
    course: Course,
    materials: Mapping[str, ExerciseMaterial],
    version: str,
    course_files: CourseFiles = NO_FILES,
    surround: Surround = ALONE,
) -> bytes:
    """The page that opens the course: what it is about, its lessons, the cautions."""
    page = _Page(course, COURSE_PAGE, version, course_files, surround)
    lessons = [
        {
            "lesson": lesson,
            "number": number,
            "address": page.address(lesson_path(lesson)),
            "rungs": [
                {"exercise": exercise.name, "bpm": [rung.bpm for rung in materials[exercise.name].rungs]}
                for exercise in lesson.exercises
                if exercise.name in materials
            ],
        }
        for number, lesson in enumerate(course.lessons, start=1)
    ]
    return page.render(
        "course.html",
        about=page.prose(course.about, 1, folder=""),
        lessons=lessons,
        cautions=CAUTIONS,
        handout=page.optional(course_files.handout),
    )


def lesson_page(
    course: Course,
    lesson: Lesson,
    materials: Mapping[str, ExerciseMaterial],
    version: str,
    course_files: CourseFiles = NO_FILES,
    surround: Surround = ALONE,
) -> bytes:
    """The page of one lesson: prose and exercises in the teacher's order."""
    page = _Page(course, lesson_path(lesson), version, course_files, surround)
    place = course.lessons.index(lesson)
    neighbours = {
        "before": course.lessons[place - 1] if place else None,
        "after": course.lessons[place + 1] if place + 1 < len(course.lessons) else None,
    }
    return page.render(
        "lesson.html",
        lesson=lesson,
        number=place + 1,
        chords=chords_view(lesson, materials),
        blocks=[_block(page, block, materials) for block in lesson.blocks],
        exercise_at=next((at for at, block in enumerate(lesson.blocks) if isinstance(block, Exercise)), None),
        needs=[_need(page, course, need) for need, _ in lesson.needs],
        short_caution=SHORT_CAUTION,
        handout=page.optional(course_files.lesson_handouts.get(lesson.slug)),
        **neighbours,
        page_of=lambda other: page.address(lesson_path(other)),
    )


@dataclass(frozen=True, slots=True)
class _Block:
    """One block of a lesson: prose, an exercise, tuning, or the name of one that could not be built."""

    prose: Markup | None = None
    exercise: ExerciseView | None = None
    tuning: TuningView | None = None
    missing: str | None = None


def _block(page: "_Page", block: LessonBlock, materials: Mapping[str, ExerciseMaterial]) -> _Block:
    if isinstance(block, Prose):
        return _Block(prose=page.prose(block.markdown, 1))
    if isinstance(block, TuningBlock):
        return _Block(tuning=tuning_view(block, page.address, page.prose(block.remark, 2)))
    material = materials.get(block.name)
    if material is None:
        return _Block(missing=block.title)
    return _Block(exercise=exercise_view(material, page.address, page.prose(block.remark, 2)))


def _need(page: "_Page", course: Course, need: str) -> tuple[str, str | None]:
    """A skill or a lesson that must have come before; a lesson by its title, with its address."""
    for lesson in course.lessons:
        if lesson.slug == need:
            return lesson.title, page.address(lesson_path(lesson))
    return need, None


class _Page:
    """What all templates of one page share: its place in the folder and the way to every other."""

    def __init__(
        self, course: Course, path: str, version: str, course_files: CourseFiles, surround: Surround
    ) -> None:
        self.environment: Final = _ENVIRONMENT
        self._course = course
        self._folder = posixpath.dirname(path)
        self._version = version
        self._surround = surround
        self._from_course = {name: self.address(target) for name, target in course_files.from_course.items()}
        self._lesson_pages = {lesson.slug: self.address(lesson_path(lesson)) for lesson in course.lessons}

    def address(self, path: str) -> str:
        """A path of the output folder as seen from this page."""
        return posixpath.relpath(path, self._folder or ".")

    def optional(self, path: str | None) -> str | None:
        """The same for a file that may not exist."""
        return None if path is None else self.address(path)

    def prose(self, markdown: str, level: int, folder: str = "lessons") -> Markup:
        """The teacher's words as HTML under a heading of that level."""
        setting = Setting(
            language=self._course.language,
            heading_level=level,
            source_folder=folder,
            lesson_pages=self._lesson_pages,
            course_files=self._from_course,
        )
        return to_html(markdown, setting)

    def render(self, template: str, **names: object) -> bytes:
        """The finished page."""
        is_english = self._course.language.partition("-")[0].lower() == "en"
        page = self.environment.get_template(template).render(
            course=self._course,
            course_address=self.address(COURSE_PAGE),
            asset=lambda name: self.address(f"{_SITE_ASSETS}/{name}"),
            policy=CONTENT_SECURITY_POLICY,
            surround=self._surround,
            scripts=SCRIPTS,
            version=self._version,
            # The pages' own words are English; where the prose is not, each stretch of them says so.
            ours=Markup("") if is_english else Markup(' lang="en"'),
            **names,
        )
        return page.encode()


def _walk(folder: Traversable, prefix: str = "") -> list[tuple[str, Traversable]]:
    found: list[tuple[str, Traversable]] = []
    for entry in folder.iterdir():
        if entry.is_dir():
            found += _walk(entry, f"{prefix}{entry.name}/")
        else:
            found.append((f"{prefix}{entry.name}", entry))
    return found


_ENVIRONMENT: Final = Environment(
    loader=PackageLoader("fretwright.publish", "pages"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
