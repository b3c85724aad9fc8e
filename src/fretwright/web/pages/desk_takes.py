"""One take at the desk: heard, looked at, overruled note by note, answered in words or by playing it."""

import re
from collections.abc import Mapping
from datetime import timedelta
from functools import partial
from typing import Annotated, Any, Final

from anyio import to_thread
from fastapi import APIRouter, Depends, Form, Request, UploadFile
from markupsafe import Markup
from starlette.responses import FileResponse, Response

from fretwright.base.errors import RefusedError, RenderError
from fretwright.ear.take import Refusal, read_take
from fretwright.ear.verdicts import Hearing, Verdict
from fretwright.flows.hearings import hearing_of
from fretwright.flows.take_view import TakeView, take_view
from fretwright.flows.waveform import waveform
from fretwright.store import following, hearings, people, remarks, takes
from fretwright.store.records import Person, TakeRecord, TakeState
from fretwright.web.access import AtSchool, RowNumber, SignedIn, TeacherOnly, own_take, teacher_only
from fretwright.web.pages.account import see_other
from fretwright.web.pages.desk import WAITING_DAYS
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.rendering import page
from fretwright.web.school import School
from fretwright.web.studies import heard_take, score_of

router = APIRouter(responses=ERROR_ANSWERS, include_in_schema=False, dependencies=[Depends(teacher_only)])
answers = APIRouter(prefix="/api/remarks", responses=ERROR_ANSWERS, tags=["remarks"])
"""What the student hears as well."""

LONGEST_WORDS: Final = 4000
MOST_ANSWER_BYTES: Final = 40_000_000
_PLACE: Final = re.compile(r"note-[0-9]{1,5}")
_SHAPES: Final = {"played": "", "missed": "○", "wrong": "✕", "unsure": "◇"}


@router.get("/desk/takes/{take_id}")
def take_page(request: Request, person: TeacherOnly, school: AtSchool, take_id: RowNumber) -> Response:
    """Waveform, plate with verdicts, every note, remarks."""
    take = own_take(school, person, take_id)
    with school.database.reading() as transaction:
        student = people.find_person(transaction, take.person_id)
        found = hearings.find_hearing(transaction, take_id)
        meant = {each.place: each.meant for each in hearings.overrules_of(transaction, take_id)}
        said = remarks.remarks_of(transaction, take_id)
        waiting = following.unanswered_takes(
            transaction, take.exercise.course_id, since=school.now() - timedelta(days=WAITING_DAYS)
        )
        others = takes.takes_of(transaction, take.person_id, exercise=take.exercise.name, limit=12)
    ear = None if found is None else hearing_of(found.heard)
    view = _view(school, take)
    return page(
        request,
        "desk/take.html",
        take=take,
        student=student,
        heard=found,
        ear=ear,
        view=view,
        rows=[] if ear is None or view is None else _rows(ear, view, meant),
        words=[verdict.value for verdict in Verdict],
        bars=[] if view is None else [bar.bar for bar in view.bars],
        remarks=said,
        others=[other for other in others if other.id != take_id],
        next_id=next((each.id for each in waiting if each.id != take_id), None),
        has_sound=take.file is not None,
        markup=Markup,
    )


@router.get("/desk/takes/{take_id}/waveform")
def wave(person: TeacherOnly, school: AtSchool, take_id: RowNumber) -> Response:
    """The waveform with the moments of the notes, as a part of the page."""
    take = own_take(school, person, take_id)
    if take.file is None or take.state is TakeState.ARRIVING:
        raise not_found()
    sound = read_take(school.take_files.path(take.file))
    if isinstance(sound, Refusal):
        raise RefusedError(422, "unreadable", sound.reason, sound.mend)
    drawn = waveform(sound, heard_take(school, take), title=take.exercise.title)
    return Response(drawn.svg, media_type="image/svg+xml", headers={"Cache-Control": "private, no-store"})


@router.post("/desk/takes/{take_id}/verdicts")
async def judge(request: Request, person: TeacherOnly, school: AtSchool, take_id: RowNumber) -> Response:
    """Store the teacher's own verdicts; with ``agree``, the ear's for every note left alone."""
    form = await request.form()
    chosen = {
        int(name.rpartition("-")[2]): str(value)
        for name, value in form.items()
        if _PLACE.fullmatch(name) and value
    }
    if not set(chosen.values()) <= {verdict.value for verdict in Verdict}:
        raise RefusedError(422, "malformed", "That is no verdict.", "Choose one from the list.")
    agrees = form.get("action") == "agree"
    await to_thread.run_sync(partial(store_verdicts, school, person, take_id, chosen, agrees=agrees))
    return see_other(f"/desk/takes/{take_id}#notes")


@router.post("/desk/takes/{take_id}/remarks")
async def answer(
    person: TeacherOnly,
    school: AtSchool,
    take_id: RowNumber,
    words: Annotated[str, Form(max_length=LONGEST_WORDS)] = "",
    bar: Annotated[str, Form(max_length=4)] = "",
    recording: UploadFile | None = None,
) -> Response:
    """Write a remark on a bar or on all of it, with or without a recorded demonstration."""
    if bar and not bar.isdecimal():
        raise RefusedError(422, "malformed", "That is no bar.", "Choose one from the list.")
    content = b"" if recording is None else await recording.read(MOST_ANSWER_BYTES + 1)
    kind = "" if recording is None else recording.content_type or ""
    number = int(bar) if bar else None
    await to_thread.run_sync(
        partial(store_remark, school, person, take_id, words=words, bar=number, content=content, kind=kind)
    )
    return see_other(f"/desk/takes/{take_id}#remarks")


@router.post("/desk/remarks/{remark_id}/delete")
def take_back(person: TeacherOnly, school: AtSchool, remark_id: RowNumber) -> Response:
    """Take back a remark of one's own."""
    with school.database.reading() as transaction:
        remark = remarks.find_remark(transaction, remark_id)
    if remark is None or remark.author_id != person.id:
        raise not_found()
    with school.database.writing() as transaction:
        remarks.delete_remark(transaction, remark_id)
    if remark.file is not None:
        school.take_files.delete(remark.file)
    return see_other(f"/desk/takes/{remark.take_id}#remarks")


@answers.get("/{remark_id}/recording", response_class=FileResponse)
def demonstration(person: SignedIn, school: AtSchool, remark_id: RowNumber) -> Response:
    """A recorded demonstration, for the teacher and for the student whose take it answers."""
    with school.database.reading() as transaction:
        remark = remarks.find_remark(transaction, remark_id)
    if remark is None or remark.file is None or remark.media_type is None:
        raise not_found()
    own_take(school, person, remark.take_id)
    return FileResponse(
        school.take_files.path(remark.file),
        media_type=remark.media_type.partition(";")[0],
        headers={"Cache-Control": "private, no-store"},
    )


def _view(school: School, take: TakeRecord) -> TakeView | None:
    """The marked plate, unless there is none or the exercise was written anew since."""
    taught = school.classroom.now
    heard = heard_take(school, take)
    if heard is None or score_of(taught, take) is None:
        return None
    try:
        return take_view(taught.checked, take.exercise.name, heard, heard.advice.next_words)
    except RenderError:
        return None


def _rows(ear: Hearing, view: TakeView, meant: dict[int, str]) -> list[dict[str, Any]]:
    """Each note with what the ear said, what the teacher meant, and where to listen."""
    return [
        {
            "place": place,
            "row": row,
            "id": note.id,
            "heard": note.verdict.value,
            "sure": round(100 * note.confidence),
            "meant": meant.get(place, ""),
            "shape": _SHAPES[meant.get(place, note.verdict.value)],
            "from_s": None if note.onset_s is None else round(max(0.0, note.onset_s - 0.25), 3),
            "to_s": None if note.onset_s is None else round(note.onset_s + (note.length_s or 0.5) + 0.15, 3),
        }
        for place, (note, row) in enumerate(zip(ear.notes, view.rows, strict=True))
    ]


def store_verdicts(
    school: School, person: Person, take_id: int, chosen: Mapping[int, str], *, agrees: bool
) -> None:
    """Keep a teacher's verdicts by the note's place; where they agree, the ear's on all others as well."""
    own_take(school, person, take_id)
    with school.database.writing() as transaction:
        found = hearings.find_hearing(transaction, take_id)
        if found is None:
            raise not_found()
        before = {each.place: each.meant for each in hearings.overrules_of(transaction, take_id)}
        notes = hearing_of(found.heard).notes
        wanted = {place: verdict for place, verdict in chosen.items() if place < len(notes)}
        if agrees:
            wanted |= {
                place: note.verdict.value
                for place, note in enumerate(notes)
                if place not in {*chosen, *before}
            }
        for place, verdict in wanted.items():
            if before.get(place) != verdict:
                hearings.overrule(
                    transaction, take_id, place, teacher_id=person.id, meant=verdict, now=school.now()
                )


def store_remark(
    school: School,
    person: Person,
    take_id: int,
    *,
    words: str,
    bar: int | None,
    content: bytes = b"",
    kind: str = "",
) -> None:
    """Keep a remark on a take, with or without a recording."""
    own_take(school, person, take_id)
    if not words.strip() and not content:
        raise RefusedError(422, "empty", "There is nothing in the remark.", "Write something, or record it.")
    file = _store_answer(school, content, kind) if content else None
    try:
        with school.database.writing() as transaction:
            remarks.add_remark(
                transaction,
                take_id,
                person.id,
                words=words,
                bar=bar,
                file=file,
                media_type=kind if file else None,
                now=school.now(),
            )
    except BaseException:
        if file is not None:
            school.take_files.delete(file)
        raise


def _store_answer(school: School, content: bytes, kind: str) -> str:
    """Keep a recording if it is one."""
    if len(content) > MOST_ANSWER_BYTES:
        raise RefusedError(413, "too-large", "That recording is too large.", "Record a shorter one.")
    if not kind.startswith(("audio/", "video/")):
        raise RefusedError(422, "kind", "That file is no recording.", "Choose a sound or a film.")
    file = school.take_files.write(content)
    sound = read_take(school.take_files.path(file))
    if isinstance(sound, Refusal):
        school.take_files.delete(file)
        raise RefusedError(422, "unreadable", sound.reason, sound.mend)
    return file
