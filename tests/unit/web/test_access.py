"""Every route says who may use it, and nobody else may: asked of the routes themselves, not of a list."""

import re
from collections.abc import Callable, Iterator

import pytest
from fastapi import FastAPI
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute

from fretwright.web import access
from fretwright.web.app import ROUTERS, create_app
from fretwright.web.guards import STOP
from school import Class, send_take

EXERCISE = "01-stairs/up-and-back"


def routes() -> list[APIRoute]:
    """Every route of every module of pages."""
    return [route for router in ROUTERS for route in router.routes if isinstance(route, APIRoute)]


def methods(route: APIRoute) -> set[str]:
    return route.methods or set()


def declared(route: APIRoute) -> set[Callable[..., object]]:
    """The declarations that stand behind a route; ``signed_in`` beside a role is part of it."""
    found: set[Callable[..., object]] = {
        each for each in _calls(route.dependant) if each in access.DECLARATIONS
    }
    roles = found & {access.teacher_only, access.student_only}
    return set(roles or found)


def _calls(dependant: Dependant) -> Iterator[Callable[..., object]]:
    for each in dependant.dependencies:
        if each.call is not None:
            yield each.call
        yield from _calls(each)


def named(route: APIRoute) -> str:
    return f"{'/'.join(sorted(methods(route)))} {route.path}"


def address(route: APIRoute, **numbers: int) -> str:
    """The route's path with something in every place."""
    return re.sub(r"{(\w+)(?::\w+)?}", lambda place: str(numbers.get(place[1], 1)), route.path)


ALL = routes()
IDS = [named(route) for route in ALL]


def test_there_are_routes_of_every_kind() -> None:
    kinds = {next(iter(declared(route))) for route in ALL}

    assert kinds == set(access.DECLARATIONS)


@pytest.mark.parametrize("route", ALL, ids=IDS)
def test_a_route_declares_who_may_use_it(route: APIRoute) -> None:
    assert len(declared(route)) == 1, f"{named(route)} does not say who may use it (web/access.py)"


def test_a_route_without_a_declaration_would_be_noticed() -> None:
    app = FastAPI()

    @app.get("/forgotten")
    def forgotten() -> None: ...

    route = next(each for each in app.routes if isinstance(each, APIRoute) and each.path == "/forgotten")
    assert declared(route) == set()


def test_nothing_is_served_beside_the_routes(school_class: Class) -> None:
    beside = {
        route.path
        for route in create_app(school_class.school).routes
        if not isinstance(route, APIRoute) and hasattr(route, "path")
    }

    # the page's own styles, scripts and fonts, and the description of the API
    assert beside <= {"/static/book", "/static", "/api/openapi.json"}


def test_whoever_is_not_signed_in_is_turned_away_everywhere_else(school_class: Class) -> None:
    client = school_class.client()
    for route in ALL:
        if access.anyone in declared(route):
            continue
        for method in sorted(methods(route)):
            answer = client.request(method, address(route))
            assert answer.status_code == 401, f"{named(route)}: {answer.status_code}"
            assert answer.json()["error"]["code"] == "sign-in"


@pytest.mark.parametrize(
    ("declaration", "who"), [(access.teacher_only, "student"), (access.student_only, "teacher")]
)
def test_a_role_is_kept(school_class: Class, declaration: Callable[..., object], who: str) -> None:
    client = school_class.client(getattr(school_class, who))
    for route in ALL:
        if declaration in declared(route):
            for method in sorted(methods(route)):
                answer = client.request(method, address(route))
                assert (answer.status_code, answer.json()["error"]["code"]) == (403, "role"), named(route)


def test_what_belongs_to_one_student_is_not_there_for_another(school_class: Class) -> None:
    number = send_take(school_class.client(school_class.student), EXERCISE, b"sound")["id"]
    other = school_class.client(school_class.other)
    owned = [
        route for route in ALL if "{take_id}" in route.path and access.teacher_only not in declared(route)
    ]
    assert len(owned) >= 5
    for route in owned:
        for method in sorted(methods(route)):
            answer = other.request(
                method, address(route, take_id=number), headers={"Upload-Offset": "0"}, json=_body(route)
            )
            assert answer.status_code in {404, 422}, f"{named(route)}: {answer.status_code}"
            # what is not there at all is answered alike: nobody learns that it is somebody's
            nowhere = other.request(
                method, address(route, take_id=10_000), headers={"Upload-Offset": "0"}, json=_body(route)
            )
            assert (nowhere.status_code, nowhere.text) == (answer.status_code, answer.text), named(route)


def _body(route: APIRoute) -> dict[str, object] | None:
    return {"size_bytes": 5} if route.path.endswith("/finish") else None


@pytest.mark.parametrize("origin", [None, "null", "https://elsewhere.example", "http://127.0.0.1:8322"])
def test_a_write_from_elsewhere_is_turned_down(school_class: Class, origin: str | None) -> None:
    client = school_class.client(school_class.student)
    del client.headers["Origin"]
    headers = {} if origin is None else {"Origin": origin}
    for route in ALL:
        if route.path.startswith(STOP):
            continue  # mailboxes write there; see test_letters.py
        for method in sorted(methods(route) - {"GET", "HEAD"}):
            answer = client.request(method, address(route), headers=headers)
            assert (answer.status_code, answer.json()["error"]["code"]) == (403, "origin"), named(route)


def test_another_name_for_this_machine_is_not_answered(school_class: Class) -> None:
    # a stranger's page whose name was pointed at the loopback (DNS rebinding)
    client = school_class.client(school_class.student)

    answer = client.get("/account", headers={"Host": "rebound.example:8321"})

    assert (answer.status_code, answer.json()["error"]["code"]) == (421, "host")


@pytest.mark.parametrize("number", [2**31, 2**63, 2**70, -1])
def test_a_number_that_nothing_has_is_found_nowhere_and_breaks_nothing(
    school_class: Class, number: int
) -> None:
    for who in (school_class.student, school_class.teacher):
        client = school_class.client(who)
        for route in ALL:
            if not re.search(r"{(\w+_id|place)}", route.path):
                continue
            path = re.sub(r"{(\w+)(?::\w+)?}", str(number), route.path)
            for method in sorted(methods(route)):
                answer = client.request(method, path, headers={"Upload-Offset": "0"}, json=_body(route))
                # what can be withdrawn twice can be withdrawn where there is nothing
                assert answer.status_code in {303, 403, 404, 422}, f"{named(route)}: {answer.status_code}"


def test_text_that_no_database_holds_is_turned_down(school_class: Class) -> None:
    number = send_take(school_class.client(school_class.student), EXERCISE, b"sound")["id"]
    teacher = school_class.client(school_class.teacher)

    half_a_character = '{"words": "\\ud800"}'
    answer = teacher.post(
        f"/api/desk/takes/{number}/remarks",
        content=half_a_character,
        headers={"Content-Type": "application/json"},
    )

    assert answer.status_code == 422
    assert answer.json()["error"]["code"] == "malformed"
