"""Writing: the course's own files in the browser, saved over the version that was opened and no other."""

from pathlib import PurePosixPath
from typing import Annotated, Any, Final

from fastapi import APIRouter, BackgroundTasks, Depends, Form, Request
from pydantic import BaseModel, Field
from starlette.responses import JSONResponse, Response

from fretwright.base.errors import FretwrightError
from fretwright.base.findings import Finding
from fretwright.course.outline import COURSE_FILE
from fretwright.flows.desk_files import Conflict, desk_files, new_lesson, open_file, save_file
from fretwright.flows.desk_inserts import NOTE_CHOICES, PATHS, SCALE_WORDS, SLURS
from fretwright.web.access import AtSchool, teacher_only
from fretwright.web.pages.account import see_other
from fretwright.web.refusals import ERROR_ANSWERS, ErrorBody
from fretwright.web.rendering import page
from fretwright.web.school import School

router = APIRouter(tags=["desk"], responses=ERROR_ANSWERS, dependencies=[Depends(teacher_only)])

MOST_TEXT: Final = 1_048_576
"""Characters of one file; what is more bytes than a lesson may have is refused on saving."""
LONGEST_NAME: Final = 100
_BOARD_FRETS: Final = 15
_TONICS: Final = ("C", "C#", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "Bb", "B")
_WHOSE: Final = {"mine": "yours", "theirs": "on disk"}

FileText = Annotated[str, Field(max_length=MOST_TEXT)]
FileName = Annotated[str, Field(max_length=LONGEST_NAME)]


class SaveOrder(BaseModel):
    """A text to be saved."""

    file: FileName
    """``course.yaml``, or ``lessons/NN-name.md``."""
    text: FileText
    version: Annotated[str, Field(max_length=64)]
    """Of the file as it was opened; empty for one that is not there yet."""


class SavedAnswer(BaseModel):
    """The text is on disk."""

    version: str


class LineBody(BaseModel):
    """One line of a comparison."""

    side: str
    """``mine``, ``theirs``, ``both`` or ``gap``."""
    text: str


class ConflictBody(BaseModel):
    """What is on disk, and how it differs from what was to be saved."""

    theirs: str
    version: str
    gone: bool
    lines: list[LineBody]


class ConflictAnswer(BaseModel):
    """Nothing was written: the file has changed since it was opened."""

    error: ErrorBody
    conflict: ConflictBody


@router.get("/desk/write", include_in_schema=False)
def files_page(request: Request, school: AtSchool) -> Response:
    """All files of the course with what the check says of each."""
    return _files_page(request, school, "")


@router.post("/desk/write", include_in_schema=False)
def make_lesson(
    request: Request,
    school: AtSchool,
    name: Annotated[str, Form(max_length=LONGEST_NAME)],
    title: Annotated[str, Form(max_length=200)],
) -> Response:
    """Make a new lesson and open it."""
    try:
        file = new_lesson(school.settings.course, name.strip(), title)
    except FretwrightError as error:
        return _files_page(request, school, str(error))
    school.course_changed()
    return see_other(f"/desk/write/{file}")


@router.get("/desk/write/{name:path}", include_in_schema=False)
def editor_page(request: Request, school: AtSchool, name: str) -> Response:
    """One file in the editor."""
    file = open_file(school.settings.course, name)
    return _editor(request, school, {"name": file.name, "text": file.text, "version": file.version})


@router.post("/desk/write/{name:path}", include_in_schema=False)
def save_by_form(
    request: Request,
    school: AtSchool,
    name: str,
    text: Annotated[str, Form(max_length=MOST_TEXT + 1)],
    version: Annotated[str, Form(max_length=64)],
) -> Response:
    """Save without a script; a conflict comes back as a page with both texts."""
    outcome = save_file(school.settings.course, name, text, version)
    if isinstance(outcome, Conflict):
        shown = {"name": name, "text": outcome.mine, "version": outcome.version}
        return _editor(request, school, shown, status=409, conflict=outcome)
    school.course_changed()
    return _editor(request, school, {"name": name, "text": text, "version": outcome.version}, said="Saved")


@router.post(
    "/api/desk/save",
    responses={
        **ERROR_ANSWERS,
        409: {"model": ConflictAnswer, "description": "The file has changed on disk."},
    },
)
def save(school: AtSchool, order: SaveOrder, after: BackgroundTasks) -> SavedAnswer:
    """Save a text over the version that was opened."""
    outcome = save_file(school.settings.course, order.file, order.text, order.version)
    if isinstance(outcome, Conflict):
        return _conflict(outcome)  # type: ignore[return-value]  # an answer of its own kind, described above
    after.add_task(school.course_changed)
    return SavedAnswer(version=outcome.version)


def _conflict(found: Conflict) -> JSONResponse:
    body = ConflictAnswer(
        error=ErrorBody(
            status=409,
            code="conflict",
            message="The file has changed on disk since it was opened.",
            mend="Compare the two texts and choose.",
        ),
        conflict=ConflictBody(
            theirs=found.theirs,
            version=found.version,
            gone=found.is_gone,
            lines=[LineBody(side=line.side.value, text=line.text) for line in found.lines],
        ),
    )
    return JSONResponse(body.model_dump(), status_code=409)


def _files_page(request: Request, school: School, said: str) -> Response:
    checked = school.classroom.now.checked
    titles = {f"lessons/{lesson.slug}.md": lesson.title for lesson in checked.course.lessons}
    names = desk_files(school.settings.course)
    files = [
        {
            "name": name,
            "title": checked.course.title if name == COURSE_FILE else titles.get(name, ""),
            "says": says_of([finding for finding in checked.findings if finding.span.file == name]),
        }
        for name in names
    ]
    numbers = [int(stem[:2]) for name in names if (stem := PurePosixPath(name).stem)[:2].isdigit()]
    return page(
        request,
        "desk/files.html",
        files=files,
        said=said,
        next_name=f"{min(max(numbers, default=0) + 1, 99):02}-",
        status=400 if said else 200,
    )


def says_of(findings: list[Finding]) -> str:
    """How many findings of each kind there are."""
    kinds = {"error": "mistake", "warning": "doubt", "advice": "of advice"}
    counts = {kind: sum(finding.severity.value == kind for finding in findings) for kind in kinds}
    parts = [
        f"{count} {word}{'s' if count != 1 and kind != 'advice' else ''}"
        for kind, word in kinds.items()
        if (count := counts[kind])
    ]
    return f"{', '.join(parts)}." if parts else "Nothing to mend."


def _editor(
    request: Request,
    school: School,
    file: dict[str, str],
    *,
    status: int = 200,
    conflict: Conflict | None = None,
    said: str = "",
) -> Response:
    taught = school.classroom.now.checked
    name = file["name"]
    lesson = next((each for each in taught.course.lessons if name == f"lessons/{each.slug}.md"), None)
    findings = [finding for finding in taught.findings if finding.span.file == name]
    return page(
        request,
        "desk/editor.html",
        status=status,
        file=file,
        title=lesson.title if lesson else "The course" if name == COURSE_FILE else name,
        is_lesson=name != COURSE_FILE,
        lesson_address=f"/course/lessons/{lesson.slug}.html" if lesson else None,
        findings=findings,
        summary=says_of(findings),
        conflict=conflict,
        said=said,
        whose=_WHOSE,
        **_helpers(school),
    )


def _helpers(school: School) -> dict[str, Any]:
    """What the helpers offer."""
    neck = school.classroom.now.checked.course.neck
    return {
        "strings": " ".join(str(pitch.name) for pitch in neck.tuning.open_pitches),
        "frets": min(_BOARD_FRETS, neck.last_fret),
        "tonics": _TONICS,
        "kinds": SCALE_WORDS,
        "paths": PATHS,
        "values": NOTE_CHOICES,
        "slurs": SLURS,
    }
