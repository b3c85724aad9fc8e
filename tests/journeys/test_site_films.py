"""The film of an exercise on its page, in a real browser, opened from the folder itself."""

import subprocess
import sys
import time
from pathlib import Path

import av
import pytest

from browsing import OpenPage, Site, until
from fretwright.flows.report import BuildOrder
from fretwright.flows.shelf import Shelf
from fretwright.flows.teach import build

PAGE = "lessons/01-one.html"
VIDEO = "document.querySelector('figure.film video')"


@pytest.fixture(scope="module")
def order(tmp_path_factory: pytest.TempPathFactory) -> BuildOrder:
    course = tmp_path_factory.mktemp("course")
    (course / "lessons").mkdir()
    (course / "course.yaml").write_text("title: Small\nteacher: Nobody\n", encoding="utf-8")
    (course / "lessons" / "01-one.md").write_text(
        "---\ntitle: One\ngoal: Play.\n---\n\n```exercise short\nscale: A minor pentatonic\nposition: 5\n"
        "strings: 2 to 1\npath: up\nnotes: quarters\ntempo: 240\n```\n",
        encoding="utf-8",
    )
    return BuildOrder(course, tmp_path_factory.mktemp("site"), films=True)


@pytest.fixture(scope="module")
def site(order: BuildOrder) -> Site:
    build(order, Shelf(order.out))
    return Site(order.out, "", {})


def test_the_film_waits_with_a_poster_and_then_plays_with_captions(site: Site, visit: OpenPage) -> None:
    here = visit(site, PAGE)

    state = here.page.evaluate(
        f"({{paused: {VIDEO}.paused, auto: {VIDEO}.autoplay, "
        f"poster: {VIDEO}.poster, label: {VIDEO}.ariaLabel}})"
    )
    assert (state["paused"], state["auto"]) == (True, False)
    assert state["poster"].endswith("films/01-one/short.png")
    assert "Short" in state["label"]
    assert not any(".mp4" in request for request in here.requests)
    assert here.axe() == []

    here.page.evaluate(f"{VIDEO}.muted = true, {VIDEO}.play()")
    until(here.page, f"{VIDEO}.currentTime > 0.3 && {VIDEO}.textTracks[0].cues?.length > 0", 60)
    track = here.page.evaluate(
        f"({{mode: {VIDEO}.textTracks[0].mode, kind: {VIDEO}.textTracks[0].kind, "
        f"first: {VIDEO}.textTracks[0].cues[0].text, source: {VIDEO}.currentSrc}})"
    )
    assert (track["mode"], track["kind"]) == ("showing", "captions")
    assert track["first"] in (site.folder / "films/01-one/short.vtt").read_text(encoding="utf-8")
    assert track["source"].endswith("short.mp4")


def test_who_asks_for_less_motion_gets_the_film_without(site: Site, visit: OpenPage) -> None:
    here = visit(site, PAGE, reduced_motion="reduce")

    here.page.evaluate(f"{VIDEO}.load(), {VIDEO}.muted = true, {VIDEO}.play()")
    until(here.page, f"{VIDEO}.currentTime > 0.1", 60)

    assert here.page.evaluate(f"{VIDEO}.currentSrc").endswith("short-calm.mp4")


def test_at_phone_width_the_film_fits(site: Site, visit: OpenPage) -> None:
    here = visit(site, PAGE, width=320)

    assert here.page.evaluate("document.documentElement.scrollWidth") <= 320
    width = here.page.evaluate(f"{VIDEO}.getBoundingClientRect().width")
    assert 200 < width <= 320


def test_films_are_made_once_and_go_when_they_are_not_asked_for(order: BuildOrder, site: Site) -> None:
    films = {path.name: path.stat().st_mtime_ns for path in (site.folder / "films").rglob("*.*")}
    assert set(films) == {"short.mp4", "short-calm.mp4", "short.png", "short.vtt"}

    build(order, Shelf(order.out))
    assert {path.name: path.stat().st_mtime_ns for path in (site.folder / "films").rglob("*.*")} == films

    plain = BuildOrder(order.course, order.out)
    build(plain, Shelf(order.out))
    assert not (site.folder / "films").exists()
    assert "<video" not in Path(site.folder / PAGE).read_text(encoding="utf-8")


def test_a_build_that_is_killed_leaves_whole_films_or_none(order: BuildOrder, tmp_path: Path) -> None:
    course = tmp_path / "course"
    (course / "lessons").mkdir(parents=True)
    (course / "course.yaml").write_text("title: Small\nteacher: Nobody\n", encoding="utf-8")
    lesson = (order.course / "lessons" / "01-one.md").read_text(encoding="utf-8")
    more = "\n```exercise back\nfrom: short\npath: down\n```\n"
    (course / "lessons" / "01-one.md").write_text(lesson + more, encoding="utf-8")
    out = tmp_path / "site"
    words = [sys.executable, "-m", "fretwright", "build", str(course), "--out", str(out), "--films"]
    with subprocess.Popen(words, stderr=subprocess.DEVNULL) as process:
        deadline = time.monotonic() + 180
        while not any(out.glob("films/*/*.mp4")):
            assert process.poll() is None, "it was done before it could be ended"
            assert time.monotonic() < deadline
            time.sleep(0.005)
        process.kill()
        process.wait(timeout=60)

    assert process.returncode != 0
    for path in out.glob("films/*/*.mp4"):
        with av.open(str(path)) as file:
            assert sum(1 for _ in file.decode(video=0)) == file.streams.video[0].frames

    again = subprocess.run(words, capture_output=True, text=True, timeout=300, check=False)
    assert again.returncode == 0, again.stderr
    assert len(list(out.glob("films/*/*.mp4"))) == 4
    assert not list(out.rglob("*.part"))
