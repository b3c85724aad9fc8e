"""The teacher's prose: what it may do on a page, and what it may not.

The list of elements and attributes that a page may hold is ours; what a browser takes for an element is
judged by lxml's HTML parser, a witness outside the project.
"""

from urllib.parse import urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import html

from fretwright.course.model import Course
from fretwright.publish.prose import Setting, course_paths, to_html

SETTING = Setting(
    heading_level=1,
    lesson_pages={"02-lamp": "02-lamp.html"},
    course_files={
        "pictures/stairs.png": "../course/pictures/stairs.png",
        "tables/steps.pdf": "../course/s t.pdf",
    },
)
ELEMENTS = {
    *(
        "div",
        "p",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "ul",
        "ol",
        "li",
        "blockquote",
        "pre",
        "code",
        "em",
        "strong",
    ),
    *("a", "br", "hr", "img"),
}
TRICKS = (
    *(
        "<img src=x onerror=a>",
        "<svg/onload=a>",
        "<https://a.b>",
        "<",
        ">",
        '"',
        "' onx='",
        "`",
        "\n\n",
        "# ",
    ),
    *(
        "[a](",
        "![",
        "](",
        ")",
        "[a]: ",
        "javascript:",
        "&#106;avascript:",
        "data:,",
        "../pictures/stairs.png",
    ),
)
ATTRIBUTES = {"href", "rel", "title", "src", "alt", "loading", "start", "class"}


def set_text(markdown: str, setting: Setting = SETTING) -> str:
    return str(to_html(markdown, setting)).strip()


@pytest.mark.parametrize(
    ("markdown", "expected"),
    [
        ("*so* it's", "<p><em>so</em> it’s</p>"),
        ('he said "now"', "<p>he said “now”</p>"),
        ("[lamp](02-lamp.md)", '<p><a href="02-lamp.html">lamp</a></p>'),
        ("[lamp](../lessons/02-lamp.md#ex-a)", '<p><a href="02-lamp.html#ex-a">lamp</a></p>'),
        (
            "[out](https://example.org/a)",
            '<p><a href="https://example.org/a" rel="noopener noreferrer">out</a></p>',
        ),
        (
            "[mail](mailto:a@example.org)",
            '<p><a href="mailto:a@example.org" rel="noopener noreferrer">mail</a></p>',
        ),
        ("[here](#ex-a)", '<p><a href="#ex-a">here</a></p>'),
        ("[table](../tables/steps.pdf)", '<p><a href="../course/s%20t.pdf">table</a></p>'),
        (
            "![stairs](../pictures/stairs.png)",
            '<p><img src="../course/pictures/stairs.png" alt="stairs" loading="lazy" /></p>',
        ),
    ],
)
def test_prose_is_set_as_commonmark(markdown: str, expected: str) -> None:
    assert set_text(markdown) == expected


@pytest.mark.parametrize(
    "target",
    [
        "javascript:alert(1)",
        "JaVaScRiPt:alert(1)",
        "java&#x0a;script:alert(1)",
        "vbscript:x",
        "data:text/html;base64,PHNjcmlwdD4=",
        "file:///etc/passwd",
        "//example.org/x",
        "\\\\example.org\\x",
        "/etc/passwd",
        "../../secret.pdf",
        "../.git/config.txt",
        "nowhere.pdf",
        "03-not-there.md",
        "../tables/steps.exe",
        "http:x",
    ],
)
def test_any_other_link_is_its_text_alone(target: str) -> None:
    assert set_text(f"see [*this*](<{target}>) now") == "<p>see <em>this</em> now</p>"


@pytest.mark.parametrize(
    "target", ["https://example.org/p.png", "data:image/png;base64,AA", "nowhere.png", "//e.org/p.png"]
)
def test_any_other_picture_is_its_words_alone(target: str) -> None:
    assert set_text(f"![a *lamp*](<{target}>)") == "<p>a <em>lamp</em></p>"


def test_tags_are_shown_as_written() -> None:
    assert set_text("<script>alert(1)</script>") == "<p>&lt;script&gt;alert(1)&lt;/script&gt;</p>"
    assert set_text("a <b onclick=x>") == "<p>a &lt;b onclick=x&gt;</p>"


@pytest.mark.parametrize(
    ("levels", "parent", "expected"),
    [
        ("1", 1, "2"),
        ("3", 1, "2"),
        ("2 4 3", 1, "2 3 3"),
        ("2 3 4 2", 2, "3 4 5 3"),
        ("1 2 3 4 5 6", 2, "3 4 5 6 6 6"),
    ],
)
def test_headings_stand_under_their_parent_and_skip_no_level(levels: str, parent: int, expected: str) -> None:
    markdown = "\n\n".join(f"{'#' * int(level)} h" for level in levels.split())
    found = html.fragment_fromstring(set_text(markdown, Setting(heading_level=parent)), create_parent="div")
    assert " ".join(element.tag[1:] for element in found) == expected


def test_quotation_marks_follow_the_language() -> None:
    assert set_text('"so"', Setting(language="de-CH")) == "<p>„so“</p>"
    assert set_text('"so"', Setting(language="fr")) == "<p>«\xa0so\xa0»</p>"


@given(
    st.text(st.sampled_from("<>[]()!*_`#\"'&;: /\\.-=abhjpstxt\n\t\0é"), max_size=60)
    | st.lists(st.sampled_from(TRICKS), max_size=12).map("".join)
)
def test_whatever_is_written_no_page_runs_or_fetches_it(markdown: str) -> None:
    page = html.fragment_fromstring(set_text(markdown) or "<p></p>", create_parent="div")
    for element in page.iter():
        assert element.tag in ELEMENTS
        assert set(element.attrib) <= ATTRIBUTES
        link = str(element.get("href", ""))
        assert urlsplit(link).scheme in {"", "http", "https", "mailto"}
        assert not link.startswith(("//", "/", "\\"))
        assert element.get("src", "../course/pictures/stairs.png") == "../course/pictures/stairs.png"


def test_files_of_the_course_that_prose_names(course: Course) -> None:
    assert course_paths(course) == ("pictures/stairs.png", "tables/steps.pdf")
