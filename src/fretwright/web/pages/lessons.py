"""The course as it is published: its pages for those it is open to, with everything they load."""

from pathlib import PurePosixPath
from typing import Final

from fastapi import APIRouter, Request
from starlette.responses import FileResponse, Response

from fretwright.web.access import AnySignedIn, AtSchool, SignedIn, enrolment_of
from fretwright.web.opening import opening_of
from fretwright.web.pages.account import see_other
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import School

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False)

COURSE_PAGE: Final = "/course/index.html"
_OF_ALL: Final = frozenset({"assets", "files"})
"""Folders of the site that belong to no lesson."""


@router.get("/course", dependencies=[AnySignedIn])
def to_course() -> Response:
    """The course page, under the address that a person types."""
    return see_other(COURSE_PAGE)


@router.get("/course/{path:path}")
def show(request: Request, school: AtSchool, person: SignedIn, path: str) -> Response:
    """One file of the built course."""
    if not person.is_teacher:
        enrolment_of(school, person)
    if not school.press.is_ready:
        return page(request, "lessons/setting.html", status=503, trouble=school.press.trouble)
    if "\0" in path:
        raise not_found()
    file = (school.site / path).resolve()
    # `resolve` follows `..` and links: what is outside the folder is not there
    if not file.is_relative_to(school.site.resolve()) or not file.is_file() or file.name.startswith("."):
        raise not_found()
    lesson = lesson_of(file.relative_to(school.site.resolve()).as_posix(), school)
    if lesson is not None and not person.is_teacher:
        opening = opening_of(school, person, lesson)
        if not opening.is_open:
            return page(request, "lessons/closed.html", status=403, opens_on=opening.day)
    return FileResponse(file, headers={"Cache-Control": "no-cache"})


def lesson_of(path: str, school: School) -> str | None:
    """The lesson that a file of the site belongs to; ``None`` for what is of the whole course."""
    parts = PurePosixPath(path).parts
    if parts[0] in _OF_ALL:
        return None
    slugs = {lesson.slug for lesson in school.classroom.now.checked.course.lessons}
    words = {*parts, *(PurePosixPath(part).stem for part in parts)}
    words |= {PurePosixPath(parts[-1]).stem.removeprefix("lesson-")}
    return next(iter(sorted(slugs & words)), None)
