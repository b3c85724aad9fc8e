"""The practice room: a desk for takes under every exercise, and what was heard written onto its plate."""

from importlib.resources import files
from typing import Annotated, Any, Final

from anyio import to_thread
from fastapi import APIRouter, Form, Request, UploadFile
from markupsafe import Markup
from starlette.background import BackgroundTask
from starlette.responses import HTMLResponse, RedirectResponse, Response

from fretwright import __version__
from fretwright.base.errors import RefusedError, RenderError
from fretwright.flows.planning import is_heard
from fretwright.flows.take_view import TakeView, prepare_pictures, take_view
from fretwright.practice.words import after_take
from fretwright.store import remarks, takes
from fretwright.store.records import Person, TakeRecord, TakeState
from fretwright.web import uploads
from fretwright.web.access import Anyone, AtSchool, RowNumber, SignedIn, StudentOnly, own_take
from fretwright.web.keys import new_token
from fretwright.web.opening import open_lessons
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import School
from fretwright.web.studies import heard_take, score_of, study_of

router: Final = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False)
_NOT_YET: Final = 202
_NOTHING: Final = 204
_WORKER: Final = files("fretwright.web") / "static" / "practice" / "offline.js"


@router.get("/practice/desks/{lesson}")
def desks(request: Request, person: SignedIn, school: AtSchool, lesson: str) -> Response:
    """What the room adds to a lesson's page: a part of a page, fetched by it; nothing to a teacher's."""
    if person.is_teacher:
        return Response(status_code=_NOTHING)
    taught = school.classroom.now
    found = next((one for one in taught.checked.course.lessons if one.slug == lesson), None)
    if found is None or lesson not in open_lessons(school, person):
        raise not_found()
    with school.database.reading() as transaction:
        mine = takes.takes_of(transaction, person.id, limit=200)
    latest = {take.exercise.name: take for take in reversed(mine) if take.state.is_settled}
    places: list[dict[str, Any]] = [
        {
            "exercise": exercise,
            "score": taught.checked.score_of(exercise),
            "is_heard": is_heard(taught.checked.score_of(exercise)),
            "latest": latest.get(exercise.name),
        }
        for exercise in found.exercises
    ]
    answer = page(
        request,
        "practice/desks.html",
        places=places,
        may_record=person.consent_at is not None,
    )
    if places:
        answer.background = BackgroundTask(prepare_pictures, places[0]["score"])
    return answer


@router.get("/practice/takes/{take_id}/verdicts")
def verdicts(request: Request, person: SignedIn, school: AtSchool, take_id: RowNumber) -> Response:
    """The verdicts of a take as a part of a page; 202 as long as there are none."""
    take = own_take(school, person, take_id)
    if not take.state.is_settled:
        return Response(status_code=_NOT_YET, headers={"Cache-Control": "no-store"})
    return page(request, "practice/verdicts.html", **_told(school, person, take))


@router.get("/practice/takes/{take_id}")
def one_take(request: Request, person: StudentOnly, school: AtSchool, take_id: RowNumber) -> HTMLResponse:
    """A take on a page of its own."""
    take = own_take(school, person, take_id)
    with school.database.writing() as transaction:
        remarks.mark_read(transaction, take_id, person.id, school.now())
    return page(request, "practice/take.html", **_told(school, person, take))


@router.get("/practice/send")
def choose_file(request: Request, person: StudentOnly, school: AtSchool) -> HTMLResponse:
    """Send a recording as a file, for those who load no script."""
    open_ones = open_lessons(school, person)
    course = school.classroom.now.checked.course
    lessons = [lesson for lesson in course.lessons if lesson.slug in open_ones]
    return page(request, "practice/send.html", lessons=lessons, may_record=person.consent_at is not None)


@router.post("/practice/send")
async def send_file(
    person: StudentOnly,
    school: AtSchool,
    exercise: Annotated[str, Form(max_length=200)],
    tempo_bpm: Annotated[float, Form(ge=10, le=400, allow_inf_nan=False)],
    recording: UploadFile,
) -> RedirectResponse:
    """Receive a recording in one piece, and on to the page of its take."""
    kind = recording.content_type or ""
    if not kind.startswith(("audio/", "video/")):
        raise RefusedError(422, "kind", "That file is no recording.", "Choose a sound or a film.")
    content = await recording.read()
    take_id = await to_thread.run_sync(_receive, school, person, exercise, tempo_bpm, kind, content)
    return RedirectResponse(f"/practice/takes/{take_id}", status_code=303)


def _receive(
    school: School, person: Person, exercise: str, tempo_bpm: float, kind: str, content: bytes
) -> int:
    order = uploads.order_for(
        school,
        person,
        exercise,
        client_id=new_token(),
        tempo_bpm=tempo_bpm,
        latency_ms=None,
        media_type=kind,
        recorded_at=school.now(),
    )
    take = uploads.announce(school, order)
    uploads.store_piece(school, person, take.id, 0, content)
    return uploads.finish(school, person, take.id, len(content), None).id


@router.get("/offline.js", dependencies=[Anyone])
def offline() -> Response:
    """The service worker; at the root, since a worker governs only what lies below its own address."""
    script = _WORKER.read_text(encoding="utf-8").replace("{version}", __version__)
    headers = {"Cache-Control": "no-cache", "Service-Worker-Allowed": "/"}
    return Response(script, media_type="text/javascript", headers=headers)


def _told(school: School, person: Person, take: TakeRecord) -> dict[str, Any]:
    """Everything that the verdicts of a take are shown with."""
    with school.database.reading() as transaction:
        said = remarks.remarks_of(transaction, take.id)
    lesson, _, own = take.exercise.name.partition("/")
    return {
        "take": take,
        "view": _view(school, person, take),
        "remarks": said,
        "markup": Markup,
        "address": f"/course/lessons/{lesson}.html#ex-{own}",
    }


def _view(school: School, person: Person, take: TakeRecord) -> TakeView | None:
    """The marked plate, unless the take was refused or its exercise was written anew since."""
    if take.state is not TakeState.JUDGED or score_of(school.classroom.now, take) is None:
        return None
    heard = heard_take(school, take)
    if heard is None:
        return None
    standing = None if person.is_teacher else study_of(school, person).standing(take.exercise.name)
    words = heard.advice.next_words if standing is None else after_take(standing)
    try:
        return take_view(school.classroom.now.checked, take.exercise.name, heard, words)
    except RenderError:
        return None
