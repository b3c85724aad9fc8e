"""Whether the school works, for whoever keeps it running."""

import hmac
from typing import Annotated

from fastapi import APIRouter, Header, Request
from pydantic import BaseModel
from starlette.responses import PlainTextResponse, Response

from fretwright.base.errors import RefusedError
from fretwright.store import takes
from fretwright.web.access import Anyone, AtSchool
from fretwright.web.refusals import ERROR_ANSWERS

router = APIRouter(responses=ERROR_ANSWERS)


class Health(BaseModel):
    """Whether the database answers and the course is built."""

    database: bool
    course: bool


@router.get("/health", dependencies=[Anyone])
def health(school: AtSchool) -> Health:
    """Answers 503 in the one error shape where the database does not."""
    with school.database.reading() as transaction:
        takes.waiting(transaction)
    return Health(database=True, course=school.press.is_ready)


@router.get("/metrics", dependencies=[Anyone])
def metrics(request: Request, school: AtSchool, authorization: Annotated[str, Header()] = "") -> Response:
    """Counts in the Prometheus text format, for a teacher or for a monitor with the token."""
    token = school.settings.metrics_token
    is_monitor = token is not None and hmac.compare_digest(authorization.encode(), f"Bearer {token}".encode())
    person = request.state.person
    if not is_monitor and (person is None or not person.is_teacher):
        raise RefusedError(403, "role", "This is for a teacher or a monitor.")
    with school.database.reading() as transaction:
        counts, since = takes.waiting(transaction)
    age_s = 0.0 if since is None else (school.now() - since).total_seconds()
    lines = [
        "# HELP fretwright_takes Takes that wait to be judged, and that are in hand.",
        "# TYPE fretwright_takes gauge",
        *(f'fretwright_takes{{state="{state.value}"}} {count}' for state, count in counts.items()),
        "# HELP fretwright_oldest_take_seconds How long the oldest of them has waited.",
        "# TYPE fretwright_oldest_take_seconds gauge",
        f"fretwright_oldest_take_seconds {age_s:.3f}",
    ]
    return PlainTextResponse("\n".join(lines) + "\n", media_type="text/plain; version=0.0.4")
