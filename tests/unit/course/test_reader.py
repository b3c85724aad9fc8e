"""A course folder as a whole: order, limits, links, broken bytes."""

import os
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path

import pytest

from fretwright.base.errors import CourseError, UsageError
from fretwright.course.files import LARGEST_FILE_BYTES
from fretwright.course.model import Prose, Reading
from fretwright.course.notebook import MOST_FINDINGS_PER_FILE
from fretwright.course.reader import read_course
from fretwright.score.swing import Swing

HEAD = (
    "---\ntitle: River shape\ngoal: Play it.\nteaches: hammer-on, minor pentatonic\nneeds:\n  - 01-a\n---\n"
)
RULE = "scale: A minor pentatonic\nposition: 5\nnotes: eighths\ntempo: 60 to 100\n"


def course(folder: Path, lessons: Mapping[str, str | bytes], head: str = "title: A\nteacher: B\n") -> Reading:
    (folder / "lessons").mkdir(exist_ok=True)
    (folder / "course.yaml").write_text(head, encoding="utf-8")
    for name, text in lessons.items():
        data = text if isinstance(text, bytes) else text.encode()
        (folder / "lessons" / f"{name}.md").write_bytes(data)
    return read_course(folder)


def block(exercise_id: str, keys: str = RULE) -> str:
    return f"```exercise {exercise_id}\n{keys}```\n"


def codes(reading: Reading) -> list[str]:
    return [finding.code for finding in reading.findings]


def test_course_says_what_its_file_says(tmp_path: Path) -> None:
    head = (
        "title: Night ferry\nteacher: Nobody\nabout: >\n  Two\n  lines.\nlanguage: pt-BR\ntuning: DADGAD\n"
        "scale length: 25.5 in\nfrets: 24\ncapo: 2\ndays between lessons: 3\n"
    )
    read = course(tmp_path, {"01-a": HEAD}, head).course
    assert (read.title, read.teacher, read.about, read.language) == (
        "Night ferry",
        "Nobody",
        "Two lines.",
        "pt-BR",
    )
    assert read.neck.tuning.name == "DADGAD"
    assert read.neck.scale_length_mm == pytest.approx(647.7)  # 25.5 inches of 25.4 mm (exact by definition)
    assert (read.neck.frets, read.neck.capo, read.days_between_lessons) == (24, 2, 3)


def test_lesson_keeps_prose_and_exercises_in_order(tmp_path: Path) -> None:
    text = HEAD + "\nFirst.\n\n" + block("a") + "\nThen.\n" + block("b") + "\nLast.\n"
    (lesson,) = course(tmp_path, {"07-river": text}).course.lessons
    kinds = [part.markdown if isinstance(part, Prose) else part.id for part in lesson.blocks]
    assert kinds == ["First.", "a", "Then.", "b", "Last."]
    assert (lesson.title, lesson.goal) == ("River shape", "Play it.")
    assert [name for name, _ in lesson.teaches] == ["hammer-on", "minor pentatonic"]
    assert [(span.line, span.column) for _, span in lesson.teaches] == [(4, 10), (4, 21)]
    assert [(name, span.line, span.column) for name, span in lesson.needs] == [("01-a", 6, 5)]
    assert [part.span.line for part in lesson.blocks] == [9, 11, 18, 19, 26]


def test_lessons_come_by_number_unless_they_are_listed(tmp_path: Path) -> None:
    lessons = {"10-c": HEAD, "2-b": HEAD, "1-a": HEAD}
    assert [lesson.slug for lesson in course(tmp_path, lessons).course.lessons] == ["1-a", "2-b", "10-c"]
    listed = course(tmp_path, {}, "title: A\nteacher: B\nlessons: [10-c, 1-a, 2-b.md]\n").course.lessons
    assert [lesson.slug for lesson in listed] == ["10-c", "1-a", "2-b"]


def test_broken_exercise_is_left_out_and_all_others_stand(tmp_path: Path) -> None:
    text = HEAD + block("a") + block("b", RULE + "path: sideways\n") + block("c")
    reading = course(tmp_path, {"01-a": text, "02-b": HEAD + block("d")})
    assert [exercise.name for exercise in reading.course.exercises] == ["01-a/a", "01-a/c", "02-b/d"]
    assert [finding.exercise for finding in reading.findings] == ["01-a/b"]


def test_exercise_takes_over_from_an_earlier_lesson_and_not_from_a_later_one(tmp_path: Path) -> None:
    later = block("b", "from: 01-a/a\npath: down\n")
    reading = course(
        tmp_path, {"01-a": HEAD + block("a") + block("c", "from: 02-b/b\n"), "02-b": HEAD + later}
    )
    taken = reading.course.exercise("02-b/b")
    assert taken.source == "01-a/a"
    assert taken.score.notes[0].fret == 8
    assert codes(reading) == ["later-source"]


def test_exercise_knows_where_its_values_stand(tmp_path: Path) -> None:
    exercise = course(tmp_path, {"01-a": HEAD + "Prose.\n\n" + block("a")}).course.exercise("01-a/a")
    spans = {name: (span.line, span.column, span.text) for name, span in exercise.fields.items()}
    assert spans["position"] == (12, 11, "5")
    assert spans["tempo"] == (14, 8, "60 to 100")
    assert (exercise.span.line, exercise.span.text) == (10, "a")
    assert exercise.score.notes[0].source == exercise.fields["scale"]


def test_note_of_a_tab_knows_its_column(tmp_path: Path) -> None:
    tab = "".join(f"  {string}|{'-5h12-' if string == 'G' else '------'}|\n" for string in "eBGDAE")
    text = HEAD + block("a", f"tempo: 60\nrhythm: h h\ntab: |\n{tab}")
    notes = course(tmp_path, {"01-a": text}).course.exercise("01-a/a").score.notes
    sources = [note.source for note in notes]
    assert [(span.line, span.column, span.text) for span in sources if span] == [(14, 6, "5"), (14, 8, "12")]


@pytest.mark.parametrize(
    ("words", "swing"),
    [
        ("no", Swing()),
        ("yes", Swing(Fraction(2, 3))),
        ("sixteenths", Swing(Fraction(2, 3), Fraction(1, 16))),
        ("eighths 3:2", Swing(Fraction(3, 5))),
    ],
)
def test_swing(tmp_path: Path, words: str, swing: Swing) -> None:
    reading = course(tmp_path, {"01-a": HEAD + block("a", RULE + f"swing: {words}\n")})
    assert reading.course.exercise("01-a/a").score.swing == swing


def test_tempo_counts_the_beat_of_the_meter_and_starts_at_the_first_rung(tmp_path: Path) -> None:
    reading = course(tmp_path, {"01-a": HEAD + block("a", RULE + "meter: 6/8\n")})
    exercise = reading.course.exercise("01-a/a")
    assert (exercise.score.tempo.bpm, exercise.score.tempo.marks[0].beat) == (60, Fraction(3, 8))
    assert (exercise.ladder.start_bpm, exercise.ladder.goal_bpm) == (60, 100)


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
def test_other_line_ends_and_a_byte_order_mark_change_nothing(tmp_path: Path, ending: str) -> None:
    text = HEAD + block("a", RULE + "pathh: up\n")
    plain = course(tmp_path, {"01-a": text})
    other = course(tmp_path, {"01-a": b"\xef\xbb\xbf" + text.replace("\n", ending).encode()})
    assert plain == other
    assert codes(plain) == ["unknown-key"]


def test_bytes_that_are_no_text_are_reported_where_they_stand(tmp_path: Path) -> None:
    text = (HEAD + "Pl\N{LATIN SMALL LETTER A WITH DIAERESIS}y \xff\n").encode("latin-1") + block(
        "a"
    ).encode()
    reading = course(tmp_path, {"01-a": text})
    assert [(f.code, f.span.line, f.span.column) for f in reading.findings] == [("not-utf8", 8, 3)]
    assert [exercise.id for exercise in reading.course.exercises] == ["a"]


def test_invisible_characters_are_reported_and_columns_hold(tmp_path: Path) -> None:
    reading = course(tmp_path, {"01-a": HEAD + block("a", RULE + "pa\x00th: up\n" + "\u2028strings: 9\n")})
    assert [(f.code, f.span.line, f.span.column) for f in reading.findings][:2] == [
        ("odd-character", 13, 3),
        ("odd-character", 14, 1),
    ]


def test_file_that_is_too_big_is_refused(tmp_path: Path) -> None:
    reading = course(tmp_path, {"01-a": "a" * (LARGEST_FILE_BYTES + 1), "02-b": HEAD + block("b")})
    assert codes(reading) == ["file-too-big"]
    assert [lesson.slug for lesson in reading.course.lessons] == ["02-b"]


def test_findings_of_one_file_come_to_an_end(tmp_path: Path) -> None:
    text = HEAD + "".join(block(f"a{i}", "tempo: quick\n") for i in range(150))
    reading = course(tmp_path, {"01-a": text, "02-b": HEAD + block("b", "tempo: quick\n" + RULE)})
    found = [finding for finding in reading.findings if finding.span.file == "lessons/01-a.md"]
    assert len(found) == MOST_FINDINGS_PER_FILE + 1
    assert "too-many-mistakes" in codes(reading)
    assert any(finding.span.file == "lessons/02-b.md" for finding in reading.findings)


def test_lesson_of_more_exercises_than_anyone_practises_is_cut(tmp_path: Path) -> None:
    reading = course(tmp_path, {"01-a": HEAD + "".join(block(f"a{i}", "from: a0\n") for i in range(300))})
    assert "too-many-exercises" in codes(reading)


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="links are made by the operating system")
def test_link_that_leads_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    outside = tmp_path / "outside.md"
    outside.write_text("secret", encoding="utf-8")
    inside = tmp_path / "course"
    inside.mkdir()
    (inside / "lessons").mkdir()
    (inside / "lessons" / "01-a.md").symlink_to(outside)
    reading = course(inside, {"02-b": HEAD})
    assert codes(reading) == ["outside-the-folder"]
    assert "secret" not in str(reading)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes are made by POSIX systems only")
def test_pipe_in_place_of_a_file_does_not_hang(tmp_path: Path) -> None:
    (tmp_path / "lessons").mkdir()
    os.mkfifo(tmp_path / "lessons" / "01-a.md")
    assert codes(course(tmp_path, {})) == ["unreadable-file"]


def test_file_name_that_no_address_can_have_is_reported(tmp_path: Path) -> None:
    reading = course(tmp_path, {"01-a": HEAD, "02 first lick": HEAD})
    assert codes(reading) == ["bad-lesson-name"]


def test_course_without_its_file_still_has_its_lessons_read(tmp_path: Path) -> None:
    (tmp_path / "lessons").mkdir()
    (tmp_path / "lessons" / "01-a.md").write_text(
        HEAD + block("a", "tempo: quick\n" + RULE), encoding="utf-8"
    )
    reading = read_course(tmp_path)
    assert codes(reading) == ["unreadable-file", "bad-value", "duplicate-key"]


def test_course_without_lessons(tmp_path: Path) -> None:
    (tmp_path / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
    assert codes(read_course(tmp_path)) == ["no-lessons"]


@pytest.mark.parametrize("name", ["nothing", "course.yaml", "no\0thing"])
def test_folder_that_is_none_cannot_be_opened(tmp_path: Path, name: str) -> None:
    (tmp_path / "course.yaml").write_text("title: A\n", encoding="utf-8")
    with pytest.raises(CourseError, match="folder"):
        read_course(tmp_path / name)


def test_reading_twice_is_the_same(tmp_path: Path) -> None:
    text = HEAD + block("a") + block("b", RULE + "pathh: up\n")
    assert course(tmp_path, {"01-a": text}) == read_course(tmp_path)


def test_box_sounds_as_it_is_taught(tmp_path: Path) -> None:
    """The A minor pentatonic box at fret 5: MIDI numbers computed from open strings and frets by hand."""
    exercise = course(tmp_path, {"01-a": HEAD + block("a")}).course.exercise("01-a/a")
    assert [note.midi for note in exercise.score.notes] == [45, 48, 50, 52, 55, 57, 60, 62, 64, 67, 69, 72]
    assert [note.finger for note in exercise.score.notes] == [1, 4, 1, 3, 1, 3, 1, 3, 1, 4, 1, 4]


def test_deep_nesting_and_references_cannot_hang_the_reader(tmp_path: Path) -> None:
    laughs = "a: &a [x, x, x, x]\n" + "".join(f"k{i}: &k{i} [*a, *a, *a, *a]\n" for i in range(50))
    deep = "title: " + "[" * 50_000 + "\n"
    reading = course(tmp_path, {"01-a": HEAD + block("a", deep) + block("b", laughs) + block("c")})
    assert "yaml-reference" in codes(reading)
    assert "unreadable-text" in codes(reading)
    assert [exercise.id for exercise in reading.course.exercises] == ["c"]


TAB = "".join(f"  {string}|{'-5' * 9000 if string == 'G' else '--' * 9000}-|\n" for string in "eBGDAE")


@pytest.mark.parametrize(
    "keys",
    [
        RULE.replace("notes: eighths", "rhythm: " + "re " * 400 + "e"),
        RULE.replace("notes: eighths", "rhythm: " + "e " * 4001),
        f"tempo: 60\nnotes: eighths\ntab: |\n{TAB}",
    ],
    ids=["rests", "values", "tab"],
)
def test_exercise_that_is_far_too_long_is_refused(tmp_path: Path, keys: str) -> None:
    assert codes(course(tmp_path, {"01-a": HEAD + block("a", keys)})) == ["exercise-too-long"]


def test_block_that_is_far_too_long_is_refused(tmp_path: Path) -> None:
    reading = course(tmp_path, {"01-a": HEAD + block("a", "title: " + "x" * 250_000 + "\n")})
    assert "file-too-big" in codes(reading)


def test_exercise_that_is_not_there_is_a_wrong_use(tmp_path: Path) -> None:
    reading = course(tmp_path, {"01-a": HEAD + block("a")})
    with pytest.raises(UsageError, match="01-a/b") as caught:
        reading.course.exercise("01-a/b")
    assert "01-a/a" in caught.value.mend


def test_an_unsaved_text_is_read_in_place_of_its_file(tmp_path: Path) -> None:
    course(tmp_path, {"01-a": HEAD.replace("  - 01-a\n", "  - x\n") + block("one")})
    unsaved = {"lessons/01-a.md": HEAD + block("two"), "lessons/02-b.md": HEAD + block("three")}

    reading = read_course(tmp_path, unsaved)

    assert [exercise.name for exercise in reading.course.exercises] == ["01-a/two"]
    titled = read_course(tmp_path, {"course.yaml": "title: Unsaved\nteacher: B\n"})
    assert titled.course.title == "Unsaved"


def test_one_lesson_alone_is_built_with_what_it_takes_over_from(tmp_path: Path) -> None:
    course(
        tmp_path,
        {"01-a": HEAD + block("one") + block("other"), "02-b": HEAD + block("two", "from: 01-a/one\n")},
    )

    reading = read_course(tmp_path, only="02-b")

    assert [exercise.name for exercise in reading.course.exercises] == ["01-a/one", "02-b/two"]
    whole = read_course(tmp_path).course
    assert reading.course.exercise("02-b/two") == whole.exercise("02-b/two")
    assert [lesson.slug for lesson in reading.course.lessons] == ["01-a", "02-b"]
