"""Pages from templates: ``page(request, "today/plan.html", plan=plan)``."""

from datetime import date, datetime
from functools import cache
from zoneinfo import ZoneInfo

from fastapi import Request
from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse

from fretwright import __version__
from fretwright.store.records import Person
from fretwright.web.places import places


def page(request: Request, template: str, *, status: int = 200, **names: object) -> HTMLResponse:
    """The finished page. Every template knows ``person`` (or ``None``), ``school`` and ``path``."""
    html = render(
        template,
        person=getattr(request.state, "person", None),
        school=request.app.state.school,
        path=request.url.path,
        version=__version__,
        **names,
    )
    return HTMLResponse(html, status_code=status, headers={"Cache-Control": "no-store"})


def render(template: str, **names: object) -> str:
    """A template filled in; also for parts of pages."""
    return environment().get_template(template).render(**names)


@cache
def environment() -> Environment:
    """The templates of this layer: values are escaped, and a name that is missing is an error."""
    made = Environment(
        loader=PackageLoader("fretwright.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["moment"] = moment
    made.filters["day"] = day
    made.globals["places"] = places
    return made


def moment(at: datetime, person: Person | None) -> str:
    """A time as the clock on that person's wall shows it."""
    local = at.astimezone(ZoneInfo(person.time_zone)) if person is not None else at
    return f"{day(local)}, {local:%H:%M}" + ("" if person is not None else " UTC")


def day(at: date) -> str:
    """A day as one writes it."""
    return f"{at.day} {at:%B %Y}"
