"""The teacher's CommonMark as data for the handout."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.publish.handout_press import is_readable_picture, printable
from fretwright.publish.handout_prose import Sheet, to_nodes

HOSTILE = (Path(__file__).parents[2] / "data" / "handout" / "hostile.md").read_text(encoding="utf-8")
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="8" height="4"><rect width="8" height="4"/></svg>'
Node = dict[str, Any]


def inlines(markdown: str, sheet: Sheet | None = None) -> list[Node]:
    (paragraph,) = to_nodes(markdown, sheet or Sheet())
    assert paragraph["kind"] == "paragraph"
    return list(paragraph["children"])


def words(nodes: list[Node]) -> str:
    """All that is read, in order."""
    text = ""
    for node in nodes:
        text += node.get("text", "") + (" " if node["kind"] in {"space", "break"} else "")
        text += words(node.get("children", []))
        for item in node.get("items", []):
            text += words(item)
    return text


def kinds(nodes: list[Node]) -> set[str]:
    found: set[str] = set()
    for node in nodes:
        found |= {node["kind"]} | kinds(node.get("children", []))
        for item in node.get("items", []):
            found |= kinds(item)
    return found


def test_each_block_has_its_kind() -> None:
    nodes = to_nodes("# A\n\ntext\n\n- x\n- y\n\n3. z\n\n> q\n\n---\n\n    code\n", Sheet())
    assert [node["kind"] for node in nodes] == [
        "heading",
        "paragraph",
        "bullets",
        "numbers",
        "quote",
        "rule",
        "code",
    ]
    assert nodes[3]["start"] == 3
    assert nodes[6]["text"] == "code"


def test_tight_and_loose_lists_differ() -> None:
    tight, loose = to_nodes("- a\n- b", Sheet())[0], to_nodes("- a\n\n- b", Sheet())[0]
    assert (tight["tight"], loose["tight"]) == (True, False)


def test_emphasis_code_and_breaks() -> None:
    assert inlines("*a* **b** `c`\nd\\\ne") == [
        {"kind": "emphasis", "children": [{"kind": "text", "text": "a"}]},
        {"kind": "text", "text": " "},
        {"kind": "strong", "children": [{"kind": "text", "text": "b"}]},
        {"kind": "text", "text": " "},
        {"kind": "code", "text": "c"},
        {"kind": "space"},
        {"kind": "text", "text": "d"},
        {"kind": "break"},
        {"kind": "text", "text": "e"},
    ]


@pytest.mark.parametrize(
    ("markdown", "levels"),
    [
        ("# a\n\n## b\n\n# c", [3, 4, 3]),
        ("### a\n\n# b\n\n###### c", [3, 3, 4]),
        ("#### a", [3]),
        ("# a\n\n## b\n\n### c\n\n#### d\n\n##### e\n\n###### f", [3, 4, 5, 6, 6, 6]),
    ],
)
def test_headings_stand_below_their_parent_and_none_skips_a_level(markdown: str, levels: list[int]) -> None:
    nodes = to_nodes(markdown, Sheet(heading_level=2))
    assert [node["level"] for node in nodes] == levels


def test_a_link_to_the_web_shows_its_address_on_paper() -> None:
    (link,) = inlines("[tone](https://example.org/a%20b/)")
    assert (link["kind"], link["url"], link["shown"]) == (
        "link",
        "https://example.org/a%20b/",
        "example.org/a b",
    )


@pytest.mark.parametrize(
    ("markdown", "text"),
    [("<mailto:ada@example.org>", "ada@example.org"), ("<https://example.org>", "example.org")],
)
def test_an_address_that_is_its_own_text_is_not_shown_twice(markdown: str, text: str) -> None:
    (link,) = inlines(markdown)
    assert link["shown"] == ""
    assert words(link["children"]) == text


@pytest.mark.parametrize(
    "target",
    [
        "javascript:alert(1)",
        "data:text/html,x",
        "file:///etc/passwd",
        "../../x.md",
        "/x.md",
        "http://[::1",
        "#a",
        "other.md",
    ],
)
def test_any_other_link_is_its_text_alone(target: str) -> None:
    assert inlines(f"[go](<{target}>)") == [{"kind": "text", "text": "go"}]


def test_a_link_to_a_lesson_of_the_course_leads_there() -> None:
    sheet = Sheet(lessons=frozenset({"01-first"}))
    (link,) = inlines("[one](01-first.md#part)", sheet)
    assert (link["kind"], link["slug"]) == ("lesson", "01-first")
    (link,) = inlines("[one](../lessons/01-first.md)", sheet)
    assert link["kind"] == "lesson"


def test_a_picture_of_the_course_is_shown_and_any_other_is_its_words() -> None:
    sheet = Sheet(pictures={"pics/a.svg": SVG})
    (figure,) = to_nodes("![the hand](../pics/a.svg)", sheet)
    assert (figure["kind"], figure["key"], figure["alt"]) == ("figure", "pics/a.svg", "the hand")
    assert inlines("see ![it](../pics/a.svg)", sheet)[1]["kind"] == "picture"
    assert inlines("![the hand](https://example.org/a.svg)", sheet) == [{"kind": "text", "text": "the hand"}]
    assert inlines("![the hand](../../pics/a.svg)", sheet) == [{"kind": "text", "text": "the hand"}]


def test_raw_html_and_tables_stay_words() -> None:
    assert words(inlines("<b>bold</b>")) == "<b>bold</b>"
    assert "| not | a table |" in words(to_nodes(HOSTILE, Sheet()))


def test_quotation_marks_follow_the_language() -> None:
    assert words(inlines('"a" it\'s', Sheet("en-GB"))) == "“a” it’s"
    assert words(inlines('"a"', Sheet("de"))) == "„a“"


def test_hostile_prose_keeps_its_words_and_no_unknown_kind() -> None:
    nodes = to_nodes(HOSTILE, Sheet())
    text = words(nodes)
    for written in (
        "#panic(“executed”)",
        "#set page(width: 1pt)",
        "= Not a heading",
        "$ sum_(i=0)^n $",
        "@missing-label",
    ):
        assert written in text
    assert kinds(nodes) <= {
        "paragraph", "heading", "bullets", "numbers", "quote", "code", "rule",
        "text", "emphasis", "strong", "space", "break", "link",
    }  # fmt: skip


@given(st.text(max_size=300))
def test_any_text_becomes_plain_data(markdown: str) -> None:
    json.dumps(to_nodes(markdown, Sheet()), ensure_ascii=False).encode()


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        ("plain – “text”", "plain – “text”"),
        ("F♯ B♭ ½", "F♯ B♭ ½"),
        ("→ Ω", "→ Ω"),
        ("\U0001f3b8", "[guitar]"),
        ("\U0001f44d\U0001f3fd\ufe0f", "[thumbs up sign]"),
        ("cafe\u0301", "café"),
        ("漢", "[?]"),
        ("a\x00\x07\ufeff\u200b\ue000b", "ab"),
        ("a\u2028b\u3000c", "a b c"),
    ],
)
def test_signs_that_no_face_shows_are_put_into_words(written: str, printed: str) -> None:
    assert printable(written) == printed


def test_lone_surrogates_are_left_out() -> None:
    assert printable("a" + chr(0xD800) + "b") == "ab"


def test_a_broken_picture_is_told_from_a_good_one() -> None:
    assert is_readable_picture(SVG)
    assert not is_readable_picture(b"not a picture")
    assert not is_readable_picture(b"")
