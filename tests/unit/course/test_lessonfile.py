"""Where exercises start and end in a lesson, against an independent reader of CommonMark."""

from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from fretwright.course.lessonfile import Block, read_lesson
from fretwright.course.model import Prose
from fretwright.course.notebook import Notebook
from fretwright.course.page import page_of

HEAD = "---\ntitle: A\ngoal: B\n---\n"
LINES = st.sampled_from(
    [
        "```exercise a",
        "``` exercise b",
        "~~~exercise c",
        "~~~~ exercise d",
        "   ```exercise e",
        "    ```exercise f",
        "```",
        "  ```",
        "````",
        "~~~",
        "~~~~  ",
        "    ```",
        "```text",
        "``` a`b",
        "words",
        "",
        "title: x",
        "<!-- words",
        "words -->",
        "<!-- words -->",
    ]
)


@given(st.lists(LINES, max_size=14))
@settings(max_examples=400)
def test_exercises_are_the_fences_of_commonmark(lines: list[str]) -> None:
    """markdown-it-py implements CommonMark 0.31; its top-level fences named exercise are the exercises."""
    text = "\n".join(lines)
    tokens = MarkdownIt("commonmark").parse(text)
    wanted = [
        (token.map[0] + 5, token.info.split()[1])
        for token in tokens
        if token.type == "fence" and token.level == 0 and token.map and token.info.split()[:1] == ["exercise"]
    ]
    parts = read_lesson(page_of("a.md", HEAD + text), "01-a", Notebook()).parts
    assert [(part.span.line, part.id) for part in parts if isinstance(part, Block)] == wanted


@given(st.lists(LINES, max_size=14))
def test_prose_is_what_is_left(lines: list[str]) -> None:
    page = page_of("a.md", HEAD + "\n".join(lines))
    for part in read_lesson(page, "01-a", Notebook()).parts:
        if isinstance(part, Prose):
            first = part.span.line - 1
            count = part.markdown.count("\n") + 1
            assert part.markdown == "\n".join(page.lines[first : first + count]).rstrip()
