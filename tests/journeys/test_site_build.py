"""From a folder of text to a page that plays: the command builds a site, and a browser opens it."""

import subprocess
import sys
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

from browsing import OpenPage, Site, framed, press_play, until
from small_course import small_course


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Site:
    course, out = tmp_path_factory.mktemp("course") / "course", tmp_path_factory.mktemp("out") / "site"
    small_course(course)
    (course / "pictures").mkdir()
    (course / "pictures" / "stairs.png").write_bytes(PIXEL)
    command = [sys.executable, "-m", "fretwright", "build", str(course), "--out", str(out)]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    return Site(out, "", {})


PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108000000003a7e9b55"
    "0000000a49444154789c6360000000020001e221bc330000000049454e44ae426082"
)
"""The smallest grey picture (PNG, ISO/IEC 15948; from memory)."""


def test_every_link_of_every_page_leads_somewhere(built: Site, visit: OpenPage) -> None:
    assert built.pages == ("index.html", "lessons/01-stairs.html", "lessons/02-lamp.html")
    for path in built.pages:
        here = visit(built, path)
        links = here.page.evaluate(
            "[...document.querySelectorAll('a[href], audio, img')].map((each) => each.href || each.src)"
        )
        assert links
        for link in links:
            assert Path(unquote(urlsplit(link).path)).exists(), link


def test_every_exercise_plays_at_every_rung(built: Site, visit: OpenPage) -> None:
    for path in built.pages[1:]:
        page = visit(built, path).page
        for section in page.locator("[data-exercise]").all():
            section.locator("[data-count-in]").uncheck()
            for rung in section.locator(".rung").all():
                rung.click()
                press_play(section)
                until(page, f"document.querySelector('#{section.get_attribute('id')} [data-around]')")
                assert len(framed(section)) == 1
                section.locator("[data-play]").click()


def test_a_handout_goes_with_each_lesson_and_with_the_course(built: Site, visit: OpenPage) -> None:
    for path in built.pages:
        links = visit(built, path).page.locator("a[href$='.pdf']")
        assert links.count() >= 1
        assert (built.folder / path).parent.joinpath(links.first.get_attribute("href") or "").is_file()


def test_a_picture_of_the_course_folder_is_shown(built: Site, visit: OpenPage) -> None:
    picture = visit(built, "lessons/01-stairs.html").page.locator(".prose img")
    assert picture.get_attribute("alt") == "the spiral stair from above"
    until(picture.page, "document.querySelector('.prose img').naturalWidth === 1")
