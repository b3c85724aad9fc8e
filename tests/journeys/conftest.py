"""A real browser, and the sites that it visits."""

import threading
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, sync_playwright

from browsing import CHROMIUM, CHROMIUM_ARGUMENTS, OpenPage, Site, Visit
from fretwright.course.model import Prose
from fretwright.course.reader import read_course
from fretwright.publish.material import ExerciseMaterial
from fretwright.publish.site import site_files
from small_course import materials_of, small_course, sound_files

ROOT: Final = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium, with a profile of its own that is thrown away."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(CHROMIUM_ARGUMENTS))
        yield browser
        browser.close()


# Sites ---------------------------------------------------------------------------------------------------


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        """Say nothing."""


def _placed(files: Mapping[str, bytes], folder: Path) -> None:
    for path, content in files.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


def _served(folder: Path, materials: Mapping[str, ExerciseMaterial]) -> Iterator[Site]:
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield Site(folder, f"http://127.0.0.1:{server.server_port}", materials)
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture(scope="session")
def small_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The small course with all its sound."""
    folder = tmp_path_factory.mktemp("small-site")
    course = small_course(tmp_path_factory.mktemp("small") / "course")
    materials = materials_of(course)
    _placed(site_files(course, materials, "9.9"), folder)
    for material in materials.values():
        _placed(sound_files(material), folder)
    yield from _served(folder, materials)


@pytest.fixture(scope="session")
def rough_pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The small course with words, addresses and code that are too long for a narrow page."""
    folder = tmp_path_factory.mktemp("rough-pages")
    course = small_course(tmp_path_factory.mktemp("rough") / "course")
    word = "Leuchtturmwärterwohnungsschlüsselbundaufbewahrungskästchen" * 2
    address = f"https://example.org/{word}"
    blocks = (Prose(f"# {word}\n\n{word} <{address}> `{word}`\n\n    {word}\n\n- {word}\n", course.span),)
    rough = tuple(
        replace(lesson, title=word, goal=word, blocks=(*blocks, *lesson.blocks)) for lesson in course.lessons
    )
    course = replace(course, title=word, teacher=word, about=f"{word} {word}", lessons=rough)
    _placed(site_files(course, materials_of(course), "9.9"), folder)
    yield from _served(folder, {})


@pytest.fixture(scope="session")
def demo_pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Every page of the demo course; its sound is a matter of the build's own journey."""
    folder = tmp_path_factory.mktemp("demo-pages")
    course = read_course(ROOT / "demo").course
    materials = materials_of(course)
    _placed(site_files(course, materials, "9.9"), folder)
    yield from _served(folder, materials)


# Visits --------------------------------------------------------------------------------------------------


@pytest.fixture
def visit(chromium: Browser) -> Iterator[OpenPage]:
    """Open a page: ``visit(site, path, over="file", width=1280, **context options)``.

    When the test is over, no visit may have reached beyond its site or drawn a complaint.
    """
    visits: list[tuple[Visit, str]] = []
    contexts: list[BrowserContext] = []

    def open_page(
        site: Site,
        path: str,
        *,
        over: str = "file",
        width: int = 1280,
        height: int = 900,
        script: str = "",
        **options: Any,  # noqa: ANN401 - those of a browser context
    ) -> Visit:
        context = chromium.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        page = context.new_page()
        made = Visit(page)
        page.on("console", lambda message: made.complaints.append(_said(message)))
        page.on("pageerror", lambda error: made.complaints.append(str(error)))
        page.on("request", lambda request: made.requests.append(request.url))
        if script:
            page.add_init_script(script)
        visits.append((made, site.folder.as_uri() if over == "file" else site.web))
        page.goto(site.address(path, over))
        return made

    yield open_page
    for made, home in visits:
        assert [each for each in made.complaints if not any(word in each for word in made.forgiven)] == []
        assert [each for each in made.requests if not each.startswith((f"{home}/", "data:", "blob:"))] == []
    for context in contexts:
        context.close()


def _said(message: ConsoleMessage) -> str:
    return f"{message.type}: {message.text}"
