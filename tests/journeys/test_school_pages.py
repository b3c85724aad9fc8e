"""Every page of the school is fit for everybody, and a lesson goes from the desk to the student.

The pages are those of the program's own routes: one that is added and not looked at here fails a test.
"""

import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
from fastapi.routing import APIRoute
from playwright.sync_api import Browser, Page, expect

from browsing import Visit, until
from fretwright.sound.files import encode_audio
from fretwright.sound.render import render
from fretwright.store import people
from fretwright.store.records import Person
from fretwright.web.app import ROUTERS
from fretwright.web.postbox import stop_address
from school import FakeBench, Served, judge_all, send_take

EXERCISE: Final = "01-stairs/slurred"
WIDTHS: Final = (1280, 768, 320)
"""CSS pixels; the last is the narrowest that WCAG 2.2, 1.4.10 asks for."""
PAGES: Final = {
    "/sign-in": ("nobody", "/sign-in"),
    "/sign-in/{token}": ("nobody", "{link}"),
    "/enrol/{token}": ("nobody", "{invitation}"),
    "/letters/stop/{person_id}-{word}": ("nobody", "{stop}"),
    "/account": ("student", "/account"),
    "/calendar": ("student", "/calendar"),
    "/today": ("student", "/today"),
    "/progress": ("student", "/progress"),
    "/progress/{lesson}/{exercise}": ("student", f"/progress/{EXERCISE}"),
    "/practice/send": ("student", "/practice/send"),
    "/practice/takes/{take_id}": ("student", "/practice/takes/{take}"),
    "/course/{path:path}": ("student", "/course/lessons/01-stairs.html"),
    "/desk": ("teacher", "/desk"),
    "/desk/students/{person_id}": ("teacher", "/desk/students/{student}"),
    "/desk/takes/{take_id}": ("teacher", "/desk/takes/{take}"),
    "/desk/exercises": ("teacher", "/desk/exercises"),
    "/desk/exercises/{lesson}/{exercise}": ("teacher", f"/desk/exercises/{EXERCISE}"),
    "/desk/ear": ("teacher", "/desk/ear"),
    "/desk/enrol": ("teacher", "/desk/enrol"),
    "/desk/letters": ("teacher", "/desk/letters"),
    "/desk/write": ("teacher", "/desk/write"),
    "/desk/write/{name:path}": ("teacher", "/desk/write/lessons/01-stairs.md"),
}
"""Route -> who looks at it, and where."""
MORE: Final = (
    ("nobody", "/sign-in/spoilt"),
    ("student", "/course/index.html"),
    ("student", "/course/lessons/02-lamp.html"),
    ("student", "/nothing-here"),
    ("teacher", "/account"),
    ("teacher", "/desk/write/course.yaml"),
)
"""A link that is used up, the course, a lesson that is not open yet, an error, a teacher's own account."""
NO_PAGES: Final = frozenset(
    {
        "/",  # leads on
        "/course",  # leads on
        "/account/export",  # a file
        "/calendar/{person_id}-{word}.ics",  # a feed
        "/desk/takes/{take_id}/waveform",  # a picture in the page of a take
        "/practice/desks/{lesson}",  # a part of a lesson's page
        "/practice/takes/{take_id}/verdicts",  # a part of a lesson's page
        "/offline.js",
        "/health",
        "/metrics",
    }
)


@pytest.fixture(scope="module")
def places(served_school: Served) -> dict[str, str]:
    """What stands in the places of the addresses above."""
    made, school = served_school.people, served_school.people.school
    client = made.client(made.student)
    client.base_url = served_school.address
    client.headers["Origin"] = served_school.address
    score = school.classroom.now.checked.fingered[EXERCISE].score
    take = send_take(client, EXERCISE, encode_audio(render(score, 120), ".wav"), bpm=120)["id"]
    while client.get(f"/api/takes/{take}").json()["state"] not in {"judged", "refused", "failed"}:
        judge_all(school, FakeBench())
    teacher = made.client(made.teacher)
    teacher.base_url = served_school.address
    teacher.headers["Origin"] = served_school.address
    teacher.post(f"/desk/takes/{take}/remarks", data={"words": "Let the slide carry.", "bar": "2"})
    teacher.post("/desk/invite", data={"addresses": "wren@example.org"})
    links = teacher.post("/desk/links", data={"places": "5", "note": "Tuesdays"}).text
    return {
        "take": str(take),
        "student": str(made.student.id),
        "link": school.sign_in_address(made.other).removeprefix(served_school.address),
        "invitation": links.partition("<code>")[2]
        .partition("</code>")[0]
        .removeprefix(served_school.address),
        "stop": stop_address(school.settings, school.key, made.student).removeprefix(served_school.address),
    }


@pytest.fixture(scope="module")
def windows(chromium: Browser, served_school: Served) -> Iterator[dict[str, Page]]:
    """A window for each kind of reader."""
    made = served_school.people
    readers: dict[str, Person | None] = {"nobody": None, "student": made.student, "teacher": made.teacher}
    contexts = {who: chromium.new_context() for who in readers}
    for who, person in readers.items():
        if person is not None:
            cookie: Any = served_school.cookie(person)
            contexts[who].add_cookies([cookie])
    yield {who: context.new_page() for who, context in contexts.items()}
    for context in contexts.values():
        context.close()


def test_every_page_of_the_program_is_among_those_looked_at() -> None:
    routes = {
        route.path
        for router in ROUTERS
        for route in router.routes
        if isinstance(route, APIRoute)
        and "GET" in (route.methods or ())
        and not route.path.startswith("/api/")
    }

    assert routes == set(PAGES) | NO_PAGES


@pytest.mark.parametrize(("who", "path"), [*PAGES.values(), *MORE])
def test_a_page_is_accessible_and_fits(
    served_school: Served, windows: dict[str, Page], places: dict[str, str], who: str, path: str
) -> None:
    page, address = windows[who], path.format(**places)
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.set_viewport_size({"width": WIDTHS[0], "height": 900})
    answer = page.goto(served_school.address + address)
    assert answer is not None
    if "/desk/write/" in path:
        until(page, "document.querySelector('[data-editor]').dataset.looked", timeout_s=20)
    if path.endswith("01-stairs.html"):
        expect(page.locator("#ex-slurred [data-record]")).to_be_visible()
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, f"{address} at {width}"
        if width != 768:  # nothing is laid out there that is not laid out at one of the others
            assert Visit(page).axe() == [], f"{address} at {width}"
        if folder := os.environ.get("FRETWRIGHT_SCREENSHOTS"):
            name = path.strip("/").replace("/", "-").replace("{", "").replace("}", "") or "first"
            page.screenshot(path=Path(folder) / f"{who}-{name}-{width}.png", full_page=True)
    # an answer such as 404 is told to the console by the browser itself
    assert [each for each in said if answer.ok or "Failed to load resource" not in each] == []


def test_whoever_opens_the_school_comes_to_their_day(served_school: Served, windows: dict[str, Page]) -> None:
    for who, path in (("nobody", "/sign-in"), ("student", "/today"), ("teacher", "/desk")):
        windows[who].goto(served_school.address)
        assert windows[who].url == served_school.address + path


@pytest.fixture
def _course_is_put_back(served_school: Served) -> Iterator[None]:
    course = served_school.people.school.settings.course
    files = {file: file.read_bytes() for file in course.rglob("*") if file.is_file()}
    yield
    for file in course.rglob("*"):
        if file.is_file() and file not in files:
            file.unlink()
    for file, content in files.items():
        file.write_bytes(content)


@pytest.mark.usefixtures("_course_is_put_back")
def test_a_lesson_is_written_opened_and_read_by_a_student(
    served_school: Served, windows: dict[str, Page]
) -> None:
    teacher, student = windows["teacher"], windows["student"]
    teacher.set_viewport_size({"width": 1280, "height": 900})
    teacher.goto(f"{served_school.address}/desk/write")
    teacher.get_by_label("Name of its file").fill("03-harbour")
    teacher.get_by_label("Title").fill("The harbour")
    teacher.get_by_role("button", name="Make it").click()
    teacher.wait_for_url("**/desk/write/lessons/03-harbour.md")

    teacher.locator("textarea").press("Control+End")
    teacher.keyboard.insert_text(
        "Row home.\n\n```exercise tide\nscale: A minor pentatonic\nposition: 5\npath: up\n"
        "notes: eighths\ntempo: 60 to 70\n```\n"
    )
    expect(teacher.locator("[data-preview] [data-title]")).to_have_text("Tide", timeout=20_000)
    expect(teacher.locator("[data-preview] .preview-plate svg")).to_be_visible()
    teacher.keyboard.press("Control+s")
    expect(teacher.locator("[data-state]")).to_have_text("Saved")

    teacher.goto(f"{served_school.address}/desk/enrol")
    teacher.get_by_role("button", name="Open lesson 3 to all").click()
    expect(teacher.get_by_role("button", name="Leave lesson 3 to its day")).to_be_visible()
    page = served_school.people.school.site / "lessons" / "03-harbour.html"
    ends = time.monotonic() + 120
    while not page.exists() or b'id="ex-tide"' not in page.read_bytes():  # it is set in the background
        assert time.monotonic() < ends, "the lesson is not published"
        time.sleep(0.1)
    student.goto(f"{served_school.address}/course/lessons/03-harbour.html")
    expect(student.locator("#ex-tide svg.plate:visible").first).to_be_visible()  # wide or narrow
    expect(student.locator("#ex-tide [data-record]")).to_be_visible()


def test_a_letter_is_stopped_by_its_link(
    served_school: Served, windows: dict[str, Page], places: dict[str, str]
) -> None:
    page = windows["nobody"]
    page.goto(served_school.address + places["stop"])
    page.get_by_role("button", name="Write no more of them").click()

    expect(page.locator("main")).to_contain_text("No letter goes to isolde@example.org any more")
    school = served_school.people.school
    with school.database.reading() as transaction:
        assert not people.person(transaction, served_school.people.student.id).lesson_letters
