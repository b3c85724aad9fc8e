"""One shape for every error: a page for a person, ``{"error": {...}}`` for a program."""

import logging
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse, Response

from fretwright.base.errors import (
    ConflictError,
    FretwrightError,
    RefusedError,
    StoreError,
    UnstorableError,
    UsageError,
)
from fretwright.web.rendering import page

_LOG: Final = logging.getLogger("fretwright.web")
_SIGN_IN: Final = "/sign-in"


class ErrorBody(BaseModel):
    """What went wrong."""

    status: int
    code: str
    """One word, for programs."""
    message: str
    mend: str
    """What to do about it; may be empty."""


class ErrorAnswer(BaseModel):
    """The answer to every request that is turned down."""

    error: ErrorBody


ERROR_ANSWERS: Final[dict[int | str, dict[str, Any]]] = {
    "4XX": {"model": ErrorAnswer, "description": "The request is turned down."},
    "5XX": {"model": ErrorAnswer, "description": "The school cannot answer just now."},
}
"""For the OpenAPI description of every route."""


def not_found() -> RefusedError:
    """What is said of a thing that is not there, and of one that is somebody else's."""
    return RefusedError(
        404, "not-found", "There is nothing here.", "It may have been deleted, or the address is wrong."
    )


def install(app: FastAPI) -> None:
    """Have every error of the application answered in the one shape."""
    app.add_exception_handler(RefusedError, _refused)
    app.add_exception_handler(FretwrightError, _own)
    app.add_exception_handler(RequestValidationError, _malformed)
    app.add_exception_handler(HTTPException, _plain)
    app.add_exception_handler(Exception, _broken)


def wants_page(request: Request) -> bool:
    """Whether a person reads the answer."""
    return not request.url.path.startswith("/api/") and "text/html" in request.headers.get("accept", "")


def answer(request: Request, refused: RefusedError) -> Response:
    """The answer to a request that is turned down."""
    if refused.status == 401 and wants_page(request) and request.method == "GET":
        return RedirectResponse(_SIGN_IN, status_code=303)
    body = ErrorBody(status=refused.status, code=refused.code, message=refused.message, mend=refused.mend)
    if wants_page(request):
        return page(request, "error.html", status=refused.status, error=body)
    return JSONResponse(ErrorAnswer(error=body).model_dump(), status_code=refused.status)


def _refused(request: Request, error: Exception) -> Response:
    return answer(request, error if isinstance(error, RefusedError) else _unknown())


def _own(request: Request, error: Exception) -> Response:
    """An error of the layers below, with the status that fits its kind."""
    message, mend = (error.message, error.mend) if isinstance(error, FretwrightError) else (str(error), "")
    match error:
        case UsageError():
            refused = RefusedError(404, "not-found", message, mend)
        case ConflictError():
            refused = RefusedError(409, "conflict", message, mend)
        case UnstorableError():
            refused = RefusedError(422, "malformed", message, mend)
        case StoreError():
            _LOG.error("store: %s", message)
            # what the disk or the database said is for whoever runs the school
            refused = RefusedError(
                503, "unavailable", "The school cannot store anything just now.", "Try again soon."
            )
        case _:
            refused = RefusedError(400, "impossible", message, mend)
    return answer(request, refused)


def _malformed(request: Request, error: Exception) -> Response:
    where = ""
    if isinstance(error, RequestValidationError):
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"][1:]) or str(first["loc"][0])
        where = f" {place}: {first['msg']}."
    return answer(request, RefusedError(422, "malformed", f"The request cannot be read.{where}"))


def _plain(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    code, message = _WORDS.get(status, ("refused", "The request is turned down."))
    return answer(request, RefusedError(status, code, message))


def _broken(request: Request, error: Exception) -> Response:
    _LOG.error("broken: %s", type(error).__name__, exc_info=error)
    return answer(request, _unknown())


def _unknown() -> RefusedError:
    return RefusedError(
        500, "broken", "Something broke here that is not your fault.", "Try again in a moment."
    )


_WORDS: Final = {
    400: ("malformed", "The request cannot be read."),
    404: ("not-found", "There is nothing here."),
    405: ("method", "That cannot be done here."),
    413: ("too-large", "That is too large."),
}
