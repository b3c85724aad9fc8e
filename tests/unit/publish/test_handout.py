"""The printed handout, read back by an independent reader (pypdf) against PDF/UA-1 (ISO 14289-1).

The standard asks for a marked structure tree, a title that is shown, a language, an alternative text for
every figure, embedded fonts, and headings that skip no level; these are checked here (from memory).
"""

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf.generic import ArrayObject, DictionaryObject

from fretwright.base.errors import RenderError, UsageError
from fretwright.base.spans import Span
from fretwright.course.model import Course, Lesson, Prose
from fretwright.engrave.plate import engrave
from fretwright.engrave.walkthrough import walk_through
from fretwright.fretboard.neck import Neck
from fretwright.publish.cautions import CAUTIONS, SHORT_CAUTION
from fretwright.publish.handout import Paper, course_handout, handout
from fretwright.publish.handout_pictures import plate_pieces
from fretwright.publish.material import ExerciseMaterial
from fretwright.score.score import Score
from fretwright.score.tempo import Ladder

HOSTILE = (Path(__file__).parents[2] / "data" / "handout" / "hostile.md").read_text(encoding="utf-8")
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="8" height="4"><rect width="8" height="4"/></svg>'
SPAN = Span("lessons/01-stairs.md", 1, 1)
MM = 72 / 25.4

BARE = Course(
    title="A course",
    teacher="Ottoline Quay",
    about="",
    language="en",
    neck=Neck(),
    days_between_lessons=7,
    lessons=(Lesson("01-one", "One", "Play.", (), (), (), SPAN),),
    span=SPAN,
)

MARKS = [
    "#", "> ", "- ", "1. ", "*", "**", "`", "```", "\n", "\n\n", "    ", "[a](b)", "![a](b)", "<b>",
    "$", "\\", "x", "---", "http://x.org", "<http://x.org>",
]  # fmt: skip

Material = Mapping[str, ExerciseMaterial]


def read(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def root_of(pdf: bytes) -> Any:  # noqa: ANN401 - a PDF's own objects
    return read(pdf).trailer["/Root"].get_object()


def resources(pdf: bytes, kind: str) -> list[tuple[str, Any]]:
    """Fonts or pictures of all pages, by their names there."""
    pages: list[Any] = list(read(pdf).pages)
    return [
        (name, thing.get_object())
        for page in pages
        for name, thing in page["/Resources"].get(kind, {}).items()
    ]


@cache
def text_of(pdf: bytes) -> str:
    """All text with its spacing evened out."""
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in read(pdf).pages))


@cache
def tags(pdf: bytes) -> list[tuple[str, str]]:
    """Every structure element in reading order: its type and its alternative text."""

    def walk(element: Any) -> Iterator[tuple[str, str]]:  # noqa: ANN401 - whatever a PDF holds
        element = element.get_object() if hasattr(element, "get_object") else element
        if isinstance(element, ArrayObject):
            for child in element:
                yield from walk(child)
        elif isinstance(element, DictionaryObject):
            if "/S" in element:
                yield str(element["/S"]).removeprefix("/"), str(element.get("/Alt", ""))
            yield from walk(element.get("/K"))

    return list(walk(root_of(pdf)["/StructTreeRoot"]))


def fonts(pdf: bytes) -> dict[str, bool]:
    """Name of each font, without its subset tag, and whether it is embedded."""
    found = {}
    for _, font in resources(pdf, "/Font"):
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        descriptor = inner["/FontDescriptor"].get_object()
        name = str(font["/BaseFont"]).partition("+")[2]
        found[name] = "/FontFile2" in descriptor or "/FontFile3" in descriptor
    return found


def with_prose(course: Course, *markdown: str) -> tuple[Course, Lesson]:
    """The course with one lesson of prose alone."""
    lesson = replace(course.lessons[0], blocks=tuple(Prose(text, SPAN) for text in markdown))
    return replace(course, lessons=(lesson,)), lesson


@pytest.fixture(scope="module")
def lesson_pdf(course: Course, materials: Material) -> bytes:
    return handout(course, course.lessons[0], materials)


@pytest.fixture(scope="module")
def course_pdf(course: Course, materials: Material) -> bytes:
    return course_handout(course, materials)


def test_a_handout_is_a_tagged_document_with_title_and_language(course: Course, lesson_pdf: bytes) -> None:
    reader, root = read(lesson_pdf), root_of(lesson_pdf)
    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert reader.metadata is not None
    assert reader.metadata.title == f"{course.lessons[0].title} – {course.title}"
    assert reader.metadata.author == course.teacher
    xmp = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"pdfuaid:part(>|=\")1", xmp)


def test_every_picture_says_what_it_shows(course: Course, materials: Material, lesson_pdf: bytes) -> None:
    alts = [alt for tag, alt in tags(lesson_pdf) if tag == "Figure"]
    assert all(alts)
    for exercise in course.lessons[0].exercises:
        made = materials[exercise.name]
        assert f"{exercise.title}. {made.walk_through.summary}" in alts
        assert made.diagram is not None
        assert f"Fretboard of {made.diagram.title}. {made.diagram.description}" in alts


def test_every_exercise_of_the_course_is_in_its_handout(
    course: Course, materials: Material, course_pdf: bytes
) -> None:
    alts = {alt for _, alt in tags(course_pdf)}
    for exercise in course.exercises:
        assert f"{exercise.title}. {materials[exercise.name].walk_through.summary}" in alts


def test_pictures_are_vectors(course_pdf: bytes) -> None:
    assert "/Image" not in {thing["/Subtype"] for _, thing in resources(course_pdf, "/XObject")}


def test_only_our_own_faces_are_used_and_all_are_embedded(course_pdf: bytes) -> None:
    assert fonts(course_pdf)
    assert all(fonts(course_pdf).values())
    assert {name.partition("-")[0] for name in fonts(course_pdf)} == {"Literata", "LibreFranklin"}


@pytest.mark.parametrize("whole", [False, True])
def test_headings_skip_no_level(lesson_pdf: bytes, course_pdf: bytes, whole: bool) -> None:
    levels = [
        int(tag[1]) for tag, _ in tags(course_pdf if whole else lesson_pdf) if re.fullmatch(r"H\d", tag)
    ]
    assert levels[0] == 1
    assert all(later <= sooner + 1 for sooner, later in pairwise(levels))


def test_the_ladder_is_a_table_of_rungs_and_days(course: Course, lesson_pdf: bytes) -> None:
    found = [tag for tag, _ in tags(lesson_pdf)]
    rungs = [len(exercise.ladder.rungs) for exercise in course.lessons[0].exercises]
    assert found.count("Table") == len(rungs)
    assert found.count("TR") == sum(rungs) + len(rungs)
    # A cell for the tempo and one for each day until the next lesson.
    assert found.count("TD") == sum(rungs) * (1 + course.days_between_lessons)
    text = text_of(lesson_pdf)
    for exercise in course.lessons[0].exercises:
        assert all(str(rung) in text for rung in exercise.ladder.rungs)


def test_words_cautions_goal_and_running_matter_are_printed(
    course: Course, materials: Material, lesson_pdf: bytes
) -> None:
    text = text_of(lesson_pdf)
    lesson = course.lessons[0]
    assert lesson.goal in text
    for caution in CAUTIONS:
        assert caution.heading in text
        assert caution.text in text
    for exercise in lesson.exercises:
        for sentence in materials[exercise.name].walk_through.sentences:
            assert sentence.text in text
    for number, page in enumerate(read(lesson_pdf).pages, start=1):
        lines = page.extract_text().split()
        assert str(number) in lines
        assert (course.title in page.extract_text()) is (number > 1)


def test_a_lesson_reads_in_the_order_in_which_it_was_written(lesson_pdf: bytes) -> None:
    text = text_of(lesson_pdf)
    order = ["The stairs", "Before you play", "Why stairs", "1.1", "Say each string", "In words", "1.2"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert text.index("It’s worth the time.") < text.index("1.2")


def test_a_course_opens_with_cover_contents_and_cautions(course: Course, course_pdf: bytes) -> None:
    pages = [re.sub(r"\s+", " ", page.extract_text()) for page in read(course_pdf).pages]
    assert course.title in pages[0]
    assert course.teacher in pages[0]
    assert "Contents" in pages[1]
    assert CAUTIONS[0].text in pages[1]
    for number, lesson in enumerate(course.lessons, start=1):
        opening = next(page for page in pages if f"Lesson {number}" in page and lesson.title in page)
        assert SHORT_CAUTION in opening
        assert f"{pages.index(opening) + 1}" in pages[1]
    bookmarks = [entry.title for entry in read(course_pdf).outline if not isinstance(entry, list)]
    assert bookmarks == [f"{number} {lesson.title}" for number, lesson in enumerate(course.lessons, start=1)]


def test_a_link_to_a_lesson_leads_there_in_the_course_and_is_text_in_the_lesson(
    course_pdf: bytes, lesson_pdf: bytes
) -> None:
    assert "the lamp" in text_of(lesson_pdf)
    links_in_lesson = [tag for tag, _ in tags(lesson_pdf) if tag == "Link"]
    links_in_course = [tag for tag, _ in tags(course_pdf) if tag == "Link"]
    assert links_in_lesson == []
    assert len(links_in_course) >= 3  # two contents lines and the link itself


@pytest.mark.parametrize(
    ("paper", "width_mm", "height_mm"),
    [(Paper.A4, 210.0, 297.0), (Paper.LETTER, 215.9, 279.4)],  # ISO 216; ANSI/ASME Y14.1
)
def test_both_papers(
    course: Course, materials: Material, paper: Paper, width_mm: float, height_mm: float
) -> None:
    page = read(handout(course, course.lessons[1], materials, paper=paper)).pages[0]
    assert float(page.mediabox.width) == pytest.approx(width_mm * MM, abs=0.01)
    assert float(page.mediabox.height) == pytest.approx(height_mm * MM, abs=0.01)


def test_the_same_bytes_twice(
    course: Course, materials: Material, lesson_pdf: bytes, course_pdf: bytes
) -> None:
    assert handout(course, course.lessons[0], materials) == lesson_pdf
    assert course_handout(course, materials) == course_pdf


def test_hostile_prose_is_printed_and_never_run(course: Course) -> None:
    one, lesson = with_prose(course, HOSTILE)
    text = text_of(handout(one, lesson, {}, pictures={"pictures/a.svg": SVG}))
    for written in (
        "#panic(“executed”) #eval(“1 + 1”)",
        "#set page(width: 1pt)",
        "$ sum_(i=0)^n $",
        '#eval("2 + 2")',
        "<script>alert(“x”)</script>",
        "= Not a heading",
        "@missing-label <label>",
        "| not | a table |",
        "[guitar]",
        "[?]",
    ):
        assert written in text, written
    about = replace(one, about=HOSTILE, title="#panic() *x*", teacher="$y$ #z")
    assert "#panic() *x*" in text_of(course_handout(about, {}))


@settings(max_examples=25)
@given(st.text(max_size=200) | st.lists(st.sampled_from(MARKS), max_size=40).map("".join))
def test_any_prose_can_be_printed(markdown: str) -> None:
    one, lesson = with_prose(BARE, markdown)
    assert handout(one, lesson, {}).startswith(b"%PDF-")


def test_a_picture_of_the_course_is_printed_and_a_broken_one_is_its_words(course: Course) -> None:
    one, lesson = with_prose(course, "![the stairs](../pictures/a.svg)\n\n![the hall](../pictures/b.svg)")
    pdf = handout(one, lesson, {}, pictures={"pictures/a.svg": SVG, "pictures/b.svg": b"broken"})
    assert ("Figure", "the stairs") in tags(pdf)
    assert "the hall" in text_of(pdf)


@pytest.mark.parametrize(("tag", "lang"), [("de-CH", "de-CH"), ("pt-Latn-BR", "pt-BR"), ("not a tag", "en")])
def test_the_language_of_the_course_is_that_of_the_document(course: Course, tag: str, lang: str) -> None:
    one, lesson = with_prose(replace(course, language=tag), "Hallo")
    assert root_of(handout(one, lesson, {}))["/Lang"] == lang


def test_an_exercise_without_material_is_left_out(course: Course, materials: Material) -> None:
    lesson = course.lessons[0]
    kept = {name: made for name, made in materials.items() if not name.endswith("/up-and-back")}
    text = text_of(handout(course, lesson, kept))
    assert "Up and back" not in text
    assert "1.1" in text


def test_a_lesson_of_another_course_is_refused(course: Course, materials: Material) -> None:
    stranger = replace(course.lessons[0], slug="99-elsewhere")
    with pytest.raises(UsageError, match="99-elsewhere"):
        handout(course, stranger, materials)


def long_score(score: Score, times: int) -> Score:
    """The score several times over, as one score."""
    bars, notes = [], []
    for index in range(times):
        shift = score.length * index
        bars += [
            replace(bar, number=bar.number + len(score.bars) * index, start=bar.start + shift)
            for bar in score.bars
        ]
        notes += [
            replace(
                note,
                id=f"{note.id}x{index}",
                onset=note.onset + shift,
                slur_from=note.slur_from and f"{note.slur_from}x{index}",
            )
            for note in score.notes
        ]
    return replace(score, bars=tuple(bars), notes=tuple(notes), rests=(), labels=())


@pytest.fixture(scope="module")
def long_material(course: Course, materials: Material) -> ExerciseMaterial:
    exercise = course.lessons[1].exercises[0]
    made = materials[exercise.name]
    score = long_score(replace(made.score, rests=()), 16)
    ladder = Ladder(40, 200)
    return replace(
        made,
        exercise=replace(exercise, score=score, ladder=ladder),
        score=score,
        wide=engrave(score, id_prefix="long"),
        walk_through=walk_through(score),
    )


def test_a_long_plate_goes_on_over_the_page_system_by_system(
    course: Course, long_material: ExerciseMaterial
) -> None:
    plate = long_material.wide
    assert len(plate.systems) > 3
    pieces = plate_pieces(plate, "A long line.")
    assert len(pieces) == len(plate.systems)
    assert pieces[0]["alt"] == "A long line."
    assert re.fullmatch(r"Continued: bars \d+ to \d+\.", pieces[1]["alt"])
    assert sum(piece["height_mm"] for piece in pieces) == pytest.approx(plate.height_mm, abs=0.1)
    for note in long_material.score.notes:
        assert sum(f'data-note="{note.id}"' in piece["svg"] for piece in pieces) >= 1

    exercise = long_material.exercise
    lesson = replace(course.lessons[1], blocks=(exercise,))
    one = replace(course, lessons=(lesson,), days_between_lessons=30)
    pdf = handout(one, lesson, {exercise.name: long_material})
    assert len(read(pdf).pages) > 1
    assert [alt for tag, alt in tags(pdf) if tag == "Figure" and alt.startswith("Continued")] == [
        piece["alt"] for piece in pieces[1:]
    ]


def test_a_plate_that_does_not_hold_its_systems_is_refused(long_material: ExerciseMaterial) -> None:
    torn = replace(long_material.wide, svg=long_material.wide.svg.replace('class="system"', ""))
    with pytest.raises(RenderError, match="one by one"):
        plate_pieces(torn, "x")


PARAGRAPH = (
    "of a night on the water, and of a guitar that nobody had tuned since the spring before last. " * 4
)


def lines_of_pages(pdf: bytes) -> list[list[str]]:
    """The lines of prose of each page, without the running head and the page number."""
    pages = []
    for page in read(pdf).pages:
        lines = [line.strip() for line in page.extract_text().splitlines() if line.strip()]
        pages.append([line for line in lines if not line.isdigit() and "A course" not in line])
    return pages


def test_no_line_of_a_paragraph_is_left_alone_at_a_page_end() -> None:
    one, lesson = with_prose(BARE, "\n\n".join(f"P{index} {PARAGRAPH}" for index in range(60)))
    pages = lines_of_pages(handout(one, lesson, {}))
    assert len(pages) > 4
    for page in pages[1:-1]:
        starts = [index for index, line in enumerate(page) if re.match(r"P\d+ ", line)]
        carried_over, left = starts[0], len(page) - starts[-1]
        assert carried_over != 1, page[0]
        assert left >= 2, page[-1]


@pytest.mark.parametrize("filled", range(4, 26, 3))
def test_no_heading_is_left_at_a_page_foot(filled: int) -> None:
    before = "\n\n".join(["One line."] * filled)
    sections = "\n\n".join(f"## Heading {index}\n\nText {index}, {PARAGRAPH}" for index in range(12))
    one, lesson = with_prose(BARE, f"{before}\n\n{sections}")
    for page in lines_of_pages(handout(one, lesson, {})):
        assert not page[-1].startswith("Heading"), page[-1]


def test_nothing_is_printed_outside_the_margins(course_pdf: bytes) -> None:
    outside: list[str] = []

    def visit(text: str, page_matrix: list[float], text_matrix: list[float], *_: Any) -> None:  # noqa: ANN401
        x = text_matrix[4] * page_matrix[0] + text_matrix[5] * page_matrix[2] + page_matrix[4]
        if text.strip() and not 18 * MM <= x <= 192 * MM:
            outside.append(text)

    for page in read(course_pdf).pages:
        page.extract_text(visitor_text=visit)
    assert outside == []
