"""The application: guards, error shape, static files, and the router of every module of pages."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.resources import as_file, files
from pathlib import Path
from typing import Final

from fastapi import APIRouter, FastAPI
from starlette.staticfiles import StaticFiles

from fretwright import __version__
from fretwright.web import refusals
from fretwright.web.guards import Guards
from fretwright.web.pages import (
    account,
    calendar,
    desk,
    desk_api,
    desk_enrol,
    desk_exercises,
    desk_looks,
    desk_takes,
    desk_write,
    enrol,
    health,
    lessons,
    letters,
    practice,
    progress,
    takes,
    today,
)
from fretwright.web.roll import RollKeeper
from fretwright.web.school import School

ROUTERS: Final[tuple[APIRouter, ...]] = (
    account.router,
    calendar.router,
    desk.router,
    desk_api.router,
    desk_enrol.router,
    desk_exercises.router,
    desk_looks.router,
    desk_takes.router,
    desk_takes.answers,
    desk_write.router,
    enrol.router,
    health.router,
    lessons.router,
    letters.router,
    practice.router,
    progress.router,
    takes.router,
    today.router,
)
"""One for each module of ``pages``: a new module adds its own here."""


def create_app(school: School) -> FastAPI:
    """The application over an open school; it starts and closes the school with itself."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        keeper = RollKeeper(school)
        school.start()
        keeper.start()
        yield
        keeper.close()
        school.close()

    app = FastAPI(
        title="Fretwright school",
        version=__version__,
        lifespan=lifespan,
        openapi_url="/api/openapi.json",
        # their pages load scripts from elsewhere
        docs_url=None,
        redoc_url=None,
    )
    app.state.school = school
    refusals.install(app)
    app.add_middleware(Guards, settings=school.settings)
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static/book", StaticFiles(directory=_folder("fretwright.publish", "assets")), name="book")
    app.mount("/static", StaticFiles(directory=_folder("fretwright.web", "static")), name="static")
    return app


def _folder(package: str, name: str) -> Path:
    """A folder of the package. Wheels are installed as files; a zip is not served from."""
    with as_file(files(package) / name) as folder:
        return folder
