"""Keys and values as they were written, each at its place."""

import yaml
from hypothesis import given
from hypothesis import strategies as st

from fretwright.course.notebook import Notebook
from fretwright.course.page import Page, page_of
from fretwright.course.yamltext import read_entries

PLAIN = st.text("abc XYZ012.,|'é-~!:#", min_size=1, max_size=20)
KEYS = st.lists(st.text("abcdef", min_size=1, max_size=6), min_size=1, max_size=6, unique=True)


def entries(text: str) -> dict[str, str]:
    notebook = Notebook()
    found = read_entries(page_of("a.md", text), notebook)
    assert not notebook.findings
    return {name: entry.text for name, entry in found.items()}


@given(KEYS, st.data())
def test_values_are_those_of_the_failsafe_schema(keys: list[str], data: st.DataObject) -> None:
    """PyYAML's BaseLoader reads by the failsafe schema of YAML 1.2.2, section 10.1: every scalar is text."""
    written = {key: data.draw(PLAIN) for key in keys}
    text = yaml.safe_dump(written, allow_unicode=True, sort_keys=False, width=30)
    assert entries(text) == yaml.load(text, Loader=yaml.BaseLoader) == written


def test_nothing_is_converted() -> None:
    """Each of these is something else than text to a reader of YAML 1.1 (yaml.org/type, 2005)."""
    for word in (
        "no",
        "on",
        "1:30",
        "012",
        "0x1F",
        "1_000",
        "~",
        "null",
        "2024-01-01",
        "1e3",
        ".inf",
        "=",
        "<<",
    ):
        assert entries(f"key: {word}\n") == {"key": word}


def spans(text: str, name: str) -> list[tuple[int, int, str]]:
    entry = read_entries(page_of("a.md", text), Notebook())[name]
    return [(word.line, word.column, word.text) for word in entry.words()]


def test_words_know_their_places_in_every_style() -> None:
    assert spans("a:  up, down\n", "a") == [(1, 5, "up,"), (1, 9, "down")]
    assert spans("a: 'up down'\n", "a") == [(1, 5, "up"), (1, 8, "down")]
    assert spans("a: q e\n   e q\n", "a") == [(1, 4, "q"), (1, 6, "e"), (2, 4, "e"), (2, 6, "q")]
    assert spans("a: >\n  q e\n\n  q\n", "a") == [(2, 3, "q"), (2, 5, "e"), (4, 3, "q")]
    assert spans("a: |\n  | q\n", "a") == [(2, 3, "|"), (2, 5, "q")]
    assert spans("a:\n  - q e\n  - h\n", "a") == [(2, 5, "q"), (2, 7, "e"), (3, 5, "h")]
    assert spans("é: ü ö\n", "é") == [(1, 4, "ü"), (1, 6, "ö")]


def test_parts_between_commas_know_their_places() -> None:
    entry = read_entries(page_of("a.md", "a: two words,three , four words\n"), Notebook())["a"]
    assert [(part.column, part.text) for part in entry.parts()] == [
        (4, "two words"),
        (14, "three"),
        (22, "four words"),
    ]


def test_page_inside_a_page_keeps_lines_and_columns() -> None:
    page = page_of("a.md", "x\n  a: b\n    c: d\n").part(1, 3, indent=2)
    assert page.lines == ("a: b", "  c: d")
    inner = page.part(1, 2, indent=2)
    assert (inner.span(0, 3).line, inner.span(0, 3).column) == (3, 8)
    assert inner.part(0, 1).span(0, 3) == inner.span(0, 3)


@given(st.text("ab:- \n'\"[]{}&*!|>#%@,?\t", max_size=60))
def test_no_text_brings_it_down_and_every_place_is_in_the_text(text: str) -> None:
    page: Page = page_of("a.md", text)
    notebook = Notebook()
    found = read_entries(page, notebook)
    places = [finding.span for finding in notebook.findings]
    places += [word for entry in found.values() for word in entry.words()]
    for span in places:
        assert 1 <= span.line <= len(page.lines)
        assert 1 <= span.column <= len(page.lines[span.line - 1]) + 1
