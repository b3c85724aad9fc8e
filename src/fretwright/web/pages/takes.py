"""Takes: a recording arrives in pieces, is received once it is whole, and its verdict is asked for.

A device chooses a ``client_id`` for each recording. It may repeat every call: nothing is stored twice,
and an interrupted upload goes on where the school's own count says.
"""

import time
from datetime import datetime
from typing import Annotated, Any, Final

from anyio import sleep, to_thread
from fastapi import APIRouter, Header, Request
from pydantic import AwareDatetime, BaseModel, Field
from starlette.responses import FileResponse, Response

from fretwright.base.errors import RefusedError
from fretwright.flows.hearings import hearing_of
from fretwright.flows.practise import hearing_data
from fretwright.store import hearings
from fretwright.store.records import TakeRecord, TakeState
from fretwright.web import uploads
from fretwright.web.access import AtSchool, RowNumber, SignedIn, StudentOnly, own_take
from fretwright.web.refusals import ERROR_ANSWERS, not_found
from fretwright.web.school import School

router = APIRouter(prefix="/api/takes", responses=ERROR_ANSWERS, tags=["takes"])

MOST_PIECE_BYTES: Final = 8_000_000
_LOOK_S: Final = 0.03
_LOOKS: Final = 20
_LONGEST_WAIT_S: Final = 20.0


class TakeAnnounced(BaseModel):
    """What a device says of a recording before it sends it."""

    client_id: Annotated[str, Field(min_length=8, max_length=64, pattern="^[A-Za-z0-9_-]+$")]
    exercise: Annotated[str, Field(max_length=200)]
    tempo_bpm: Annotated[float, Field(ge=10, le=400, allow_inf_nan=False)]
    media_type: Annotated[str, Field(max_length=100, pattern="^(audio|video)/[A-Za-z0-9.+-]+(;.*)?$")]
    latency_ms: Annotated[float, Field(ge=0, le=2000, allow_inf_nan=False)] | None = None
    recorded_at: AwareDatetime


class TakeFinished(BaseModel):
    """What a device says once it has sent everything."""

    size_bytes: Annotated[int, Field(ge=1)]
    sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")] | None = None
    """Of the whole recording; compared with what lies on disk."""


class TakeStanding(BaseModel):
    """Where a take stands."""

    id: int
    client_id: str
    exercise: str
    state: TakeState
    tempo_bpm: float
    offset: int
    """How many bytes are safe on disk: send from here on."""
    recorded_at: datetime
    trouble: str | None = None
    """Why it was refused or failed, and what to do."""
    hearing: dict[str, Any] | None = None
    """Once judged: docs/schemas/hear.schema.json."""


@router.post("", status_code=201)
def announce(school: AtSchool, person: StudentOnly, announced: TakeAnnounced) -> TakeStanding:
    """Open a take; with a ``client_id`` that is known, the take that is open already."""
    order = uploads.order_for(
        school,
        person,
        announced.exercise,
        client_id=announced.client_id,
        tempo_bpm=announced.tempo_bpm,
        latency_ms=announced.latency_ms,
        media_type=announced.media_type,
        recorded_at=announced.recorded_at,
    )
    return standing(uploads.announce(school, order))


@router.patch("/{take_id}/content")
async def send_piece(
    request: Request,
    school: AtSchool,
    person: StudentOnly,
    take_id: RowNumber,
    upload_offset: Annotated[int, Header(ge=0)],
) -> TakeStanding:
    """Add a piece at ``Upload-Offset``. Where the school has another count it answers 409: go on there."""
    piece = bytearray()
    async for part in request.stream():
        piece += part
        if len(piece) > MOST_PIECE_BYTES:
            raise RefusedError(413, "too-large", "That piece is too large.", "Send at most 8 MB at a time.")
    stored = await to_thread.run_sync(
        uploads.store_piece, school, person, take_id, upload_offset, bytes(piece)
    )
    return standing(stored)


@router.post("/{take_id}/finish")
def finish(school: AtSchool, person: StudentOnly, take_id: RowNumber, finished: TakeFinished) -> TakeStanding:
    """Say that everything was sent. When this is answered the take is on disk and will be judged."""
    return standing(uploads.finish(school, person, take_id, finished.size_bytes, finished.sha256))


@router.get("/{take_id}")
async def ask(
    school: AtSchool,
    person: SignedIn,
    take_id: RowNumber,
    wait_s: float = 0.0,
) -> TakeStanding:
    """Where the take stands; with ``wait_s``, as soon as it is settled or that time has passed."""
    ends = time.monotonic() + min(max(wait_s, 0.0), _LONGEST_WAIT_S)
    take = await to_thread.run_sync(own_take, school, person, take_id)
    while not take.state.is_settled and take.state is not TakeState.ARRIVING and time.monotonic() < ends:
        await _news(school, take_id)
        take = await to_thread.run_sync(own_take, school, person, take_id)
    return await to_thread.run_sync(_with_hearing, school, take)


@router.get("/{take_id}/recording")
def recording(school: AtSchool, person: SignedIn, take_id: RowNumber) -> Response:
    """The recording, for the student it belongs to and the teacher."""
    take = own_take(school, person, take_id)
    if take.file is None or take.state is TakeState.ARRIVING:
        raise not_found()
    return FileResponse(
        school.take_files.path(take.file),
        media_type=take.media_type.partition(";")[0],
        headers={"Cache-Control": "private, no-store"},
    )


@router.delete("/{take_id}", status_code=204)
def delete(school: AtSchool, person: StudentOnly, take_id: RowNumber) -> None:
    """Delete a take: recording, verdicts and remarks."""
    uploads.delete(school, own_take(school, person, take_id))


def standing(take: TakeRecord, hearing: dict[str, Any] | None = None) -> TakeStanding:
    """A take as the API shows it."""
    return TakeStanding(
        id=take.id,
        client_id=take.client_id,
        exercise=take.exercise.name,
        state=take.state,
        tempo_bpm=take.tempo_bpm,
        offset=take.stored_bytes,
        recorded_at=take.recorded_at,
        trouble=take.trouble,
        hearing=hearing,
    )


async def _news(school: School, take_id: int) -> None:
    """Wait until this server has settled the take, or long enough that another may have."""
    for _ in range(_LOOKS):
        if school.judging.is_news(take_id):
            return
        await sleep(_LOOK_S)


def _with_hearing(school: School, take: TakeRecord) -> TakeStanding:
    if take.state is not TakeState.JUDGED:
        return standing(take)
    with school.database.reading() as transaction:
        found = hearings.find_hearing(transaction, take.id)
    data = None if found is None else hearing_data(take.exercise.name, hearing_of(found.heard))
    return standing(take, data)
