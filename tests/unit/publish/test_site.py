"""The site as files: whole, closed in itself, and the same twice. What it does in a browser is a journey."""

import json
import posixpath
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from lxml import html

from fretwright.course.model import Course
from fretwright.publish.cautions import CAUTIONS, SHORT_CAUTION
from fretwright.publish.material import CourseFiles, ExerciseMaterial
from fretwright.publish.prose import FILE_SUFFIXES
from fretwright.publish.site import SCRIPTS, site_files
from small_course import materials_of, small_course

FILES = CourseFiles(
    handout="handouts/course.pdf",
    lesson_handouts={"01-stairs": "handouts/01-stairs.pdf"},
    from_course={"pictures/stairs.png": "course/pictures/stairs.png"},
)
PAGES = ("index.html", "lessons/01-stairs.html", "lessons/02-lamp.html")


@pytest.fixture(scope="module")
def site(course: Course, materials: Mapping[str, ExerciseMaterial]) -> dict[str, bytes]:
    return site_files(course, materials, "9.9", FILES)


def parsed(site: Mapping[str, bytes], path: str) -> html.HtmlElement:
    return html.document_fromstring(site[path])


def text_of(element: html.HtmlElement) -> str:
    return " ".join(element.text_content().split())


def test_every_lesson_has_its_page(site: dict[str, bytes]) -> None:
    assert {path for path in site if path.endswith(".html")} == set(PAGES)


def addresses(page: html.HtmlElement) -> Iterator[str]:
    for element in page.iter():
        for name in ("href", "src"):
            if element.get(name) is not None:
                yield str(element.get(name))
    for data in page.findall(".//script[@type='application/json']"):
        yield from (rung["script"] for rung in json.loads(data.text or "")["rungs"])


@pytest.mark.parametrize("path", PAGES)
def test_every_address_leads_to_a_file_of_the_build(
    path: str, site: dict[str, bytes], materials: Mapping[str, ExerciseMaterial]
) -> None:
    sounds = {
        part for each in materials.values() for rung in each.rungs for part in (rung.script, rung.audio)
    }
    taken_home = {each.path for material in materials.values() for each in material.downloads}
    printed = {"handouts/course.pdf", "handouts/01-stairs.pdf", "course/pictures/stairs.png"}
    page = parsed(site, path)
    found = list(addresses(page))
    assert len(found) > 10
    for address in found:
        parts = urlsplit(address)
        assert not parts.scheme
        assert not parts.netloc
        if parts.path:
            target = posixpath.normpath(posixpath.join(posixpath.dirname(path), unquote(parts.path)))
            assert target in site.keys() | sounds | taken_home | printed
        else:
            assert page.get_element_by_id(parts.fragment) is not None


@pytest.mark.parametrize("path", PAGES)
def test_ids_are_unique_and_references_to_them_hold(path: str, site: dict[str, bytes]) -> None:
    page = parsed(site, path)
    counts = Counter(str(each) for each in page.xpath("//@id"))
    assert [each for each, count in counts.items() if count > 1] == []
    for name in ("aria-labelledby", "aria-describedby", "for"):
        for value in page.xpath(f"//@{name}"):
            assert set(str(value).split()) <= set(counts)


@pytest.mark.parametrize("path", PAGES)
def test_the_policy_stands_before_what_it_governs_and_nothing_is_inline(
    path: str, site: dict[str, bytes]
) -> None:
    """Directives after W3C Content Security Policy Level 3."""
    page = parsed(site, path)
    head = page.find("head")
    policy = head.xpath("meta[@http-equiv='Content-Security-Policy']")[0]
    directives = dict(part.strip().split(" ", 1) for part in policy.get("content").split(";"))
    assert directives["default-src"] == "'none'"
    # A page opened from a folder may load no text track, so that captions are part of their address.
    assert directives.pop("media-src").split() == ["'self'", "file:", "data:"]
    assert not {word for value in directives.values() for word in value.split()} - {
        "'none'",
        "'self'",
        "file:",
    }
    assert head.index(policy) < min(head.index(each) for each in head.xpath("link | script"))
    for script in page.iter("script"):
        assert script.get("src") or script.get("type") == "application/json"
        assert script.get("type") in {None, "application/json"}  # no modules: a folder cannot serve them
    assert not list(page.iter("style"))
    assert not [
        name for element in page.iter() for name in element.attrib if name.startswith("on") or name == "style"
    ]


@pytest.mark.parametrize("path", PAGES)
def test_one_heading_of_the_first_rank_and_none_skipped(path: str, site: dict[str, bytes]) -> None:
    """WCAG 2.2, technique G141."""
    ranks = [int(each.tag[1]) for each in parsed(site, path).iter("h1", "h2", "h3", "h4", "h5", "h6")]
    assert ranks.count(1) == 1
    assert ranks[0] == 1
    assert all(later <= sooner + 1 for sooner, later in pairwise(ranks))


def test_words_of_the_teacher_are_words_and_not_tags(site: dict[str, bytes]) -> None:
    page = parsed(site, "index.html")
    assert text_of(page.find(".//h1")) == "Lines for a lighthouse & its keeper"
    assert "with Ottoline <Quay>" in text_of(page)
    titles = [text_of(each) for each in parsed(site, "lessons/01-stairs.html").iter("h2")]
    assert titles == ["Why stairs", "Up and back", "Slurred & sung"]


def test_a_lesson_stands_in_the_teachers_order(site: dict[str, bytes]) -> None:
    text = text_of(parsed(site, "lessons/01-stairs.html").find(".//main"))
    order = [
        "The stairs",
        "Walk up and down",
        "A line of notes",
        "Up and back",
        "It’s worth the time",
        "Slurred & sung",
    ]
    assert sorted(order, key=text.index) == order


def test_cautions_stand_where_a_student_meets_them(site: dict[str, bytes]) -> None:
    course_page = text_of(parsed(site, "index.html"))
    assert all(caution.text in course_page for caution in CAUTIONS)
    lesson = text_of(parsed(site, "lessons/01-stairs.html"))
    assert lesson.index(SHORT_CAUTION) < lesson.index("Up and back")


def test_every_exercise_is_seen_told_and_heard(
    site: dict[str, bytes], materials: Mapping[str, ExerciseMaterial]
) -> None:
    page = parsed(site, "lessons/01-stairs.html")
    for name in ("up-and-back", "slurred"):
        section = page.get_element_by_id(f"ex-{name}")
        material = materials[f"01-stairs/{name}"]
        told = [text_of(each) for each in section.find_class("walk-through")[0].iter("li")]
        assert told == [" ".join(each.text.split()) for each in material.walk_through.sentences]
        assert len(section.findall(".//svg")) == 3
        assert len(section.findall(".//audio")) == len(material.rungs)
        rungs = [each.get("value") for each in section.xpath(f".//input[@name='ex-{name}-rung']")]
        assert rungs == [str(rung.bpm) for rung in material.rungs]
        data = json.loads(section.find("script").text or "")
        assert {each["id"] for each in data["notes"]} == {note.id for note in material.score.notes}
        assert data["wide"]["boxes"].keys() == data["narrow"]["boxes"].keys() == material.wide.boxes.keys()


def test_an_exercise_that_was_not_built_leaves_a_word_in_its_place(
    course: Course, materials: Mapping[str, ExerciseMaterial]
) -> None:
    some = {name: each for name, each in materials.items() if name != "01-stairs/slurred"}
    text = text_of(parsed(site_files(course, some, "9.9"), "lessons/01-stairs.html"))
    assert "Slurred & sung This exercise is being mended and will follow." in text


def test_what_is_not_there_is_not_linked(course: Course, materials: Mapping[str, ExerciseMaterial]) -> None:
    bare = site_files(course, materials, "9.9")
    assert b".pdf" not in bare["index.html"]
    assert b"<img" not in bare["lessons/01-stairs.html"]
    assert b"<img" in site_files(course, materials, "9.9", FILES)["lessons/01-stairs.html"]


def test_the_pages_own_words_say_that_they_are_english(tmp_path: Path) -> None:
    """WCAG 2.2, success criterion 3.1.2."""
    course = small_course(tmp_path / "course", language="de")
    page = parsed(site_files(course, materials_of(course), "9.9"), "lessons/01-stairs.html")
    assert page.get("lang") == "de"
    desk = page.find_class("desk")[0]
    assert desk.get("lang") == "en"
    assert page.find_class("prose")[0].get("lang") is None


def test_the_same_course_gives_the_same_bytes(tmp_path: Path, site: dict[str, bytes]) -> None:
    course = small_course(tmp_path / "course")
    assert site_files(course, materials_of(course), "9.9", FILES) == site


def test_every_script_is_there_and_loaded_in_order(site: dict[str, bytes]) -> None:
    assert {path for path in site if path.endswith(".js")} == {f"assets/js/{name}.js" for name in SCRIPTS}
    loaded = [str(each) for each in parsed(site, "index.html").xpath("//script/@src")]
    assert loaded == [f"assets/js/{name}.js" for name in SCRIPTS]


def test_fonts_travel_with_their_licences(site: dict[str, bytes]) -> None:
    families = {posixpath.basename(path).split("-")[0] for path in site if path.endswith(".woff2")}
    assert families == {"Literata", "LibreFranklin"}
    for family in families:
        assert b"SIL OPEN FONT LICENSE" in site[f"assets/fonts/OFL-{family}.txt"].upper()


def test_no_style_of_the_page_touches_a_drawing(
    site: dict[str, bytes], materials: Mapping[str, ExerciseMaterial]
) -> None:
    drawings = [
        html.fromstring(svg)
        for each in materials.values()
        for svg in (each.wide.svg, each.narrow.svg, each.diagram.svg if each.diagram else "<svg/>")
    ]
    drawn = {name for svg in drawings for value in svg.xpath("//@class") for name in str(value).split()}
    styles = b"".join(content for path, content in site.items() if path.endswith(".css")).decode()
    assert drawn
    assert drawn & set(re.findall(r"\.([a-z][a-z-]*)", styles)) == set()


def test_the_documentation_knows_every_script_and_every_kind_of_file() -> None:
    text = (Path(__file__).parents[3] / "docs" / "site.md").read_text(encoding="utf-8")
    assert [name for name in SCRIPTS if f"| `{name}.js` |" not in text] == []
    assert [suffix for suffix in FILE_SUFFIXES if suffix not in re.findall(r"\.[a-z0-9]+", text)] == []
