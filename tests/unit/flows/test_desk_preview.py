"""What the teacher sees while writing."""

import time
from dataclasses import replace
from pathlib import Path

import pytest

from fretwright.base.errors import UsageError
from fretwright.check.check import check
from fretwright.course.reader import read_course
from fretwright.fingering.finger import finger
from fretwright.fingering.hand import MEDIUM
from fretwright.flows import desk_preview as desk
from fretwright.flows.desk_preview import NARROW_MM, findings_of, preview, preview_sound
from scores import line
from small_course import small_course

STAIRS = "lessons/01-stairs.md"
LAMP = "lessons/02-lamp.md"
DEMO = Path(__file__).parents[3] / "demo"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    small_course(tmp_path / "course")
    return tmp_path / "course"


def text_of(folder: Path, file: str) -> str:
    return (folder / file).read_text(encoding="utf-8")


def row_of(text: str, words: str) -> int:
    """The line, from 1, that holds the words."""
    return text[: text.index(words)].count("\n") + 1


def test_the_exercise_under_the_cursor_is_shown(folder: Path) -> None:
    text = text_of(folder, STAIRS)

    for words, block, title in (
        ("position: 8", "up-and-back", "Up and back"),
        ("It's worth the time", "up-and-back", "Up and back"),
        ("G|--------10", "slurred", "Slurred & sung"),
        ("title: The stairs", "up-and-back", "Up and back"),
    ):
        found = preview(folder, STAIRS, text, row_of(text, words))
        assert (found.block, found.findings) == (block, ())
        assert found.shown is not None
        assert found.shown.title == title
        assert found.shown.name == f"01-stairs/{block}"


def test_what_is_shown_is_the_unsaved_text(folder: Path) -> None:
    text = text_of(folder, LAMP).replace("G|-5-6-7-8-|-5--|", "G|-5-6-7-9-|-5--|")

    found = preview(folder, LAMP, text, 20)

    assert found.shown is not None
    assert "fret 9" in " ".join(found.shown.drawn.sentences) or "9" in " ".join(found.shown.drawn.sentences)
    assert found.shown.drawn.plate.startswith("<svg")
    assert 'id="preview-neck-s3f9"' in found.shown.drawn.neck
    assert "9" not in text_of(folder, LAMP).split("tab:")[1]


def test_a_typo_is_a_finding_at_its_place_and_the_exercise_waits(folder: Path) -> None:
    text = text_of(folder, STAIRS).replace("scale: C minor pentatonic", "scale: C minor pentatonik")

    found = preview(folder, STAIRS, text, row_of(text, "pentatonik"))

    (finding,) = found.findings
    assert (finding.span.line, finding.span.column) == (row_of(text, "pentatonik"), 8)
    assert finding.is_error
    assert "C minor pentatonic" in finding.mend or "minor pentatonic" in finding.mend
    assert found.block == "up-and-back"
    assert found.shown is None
    other = preview(folder, STAIRS, text, row_of(text, "exercise slurred"))
    assert other.shown is not None


def test_a_rule_of_the_check_is_told_as_well_as_a_slip_of_the_pen(folder: Path) -> None:
    text = text_of(folder, STAIRS).replace("8h11-8", "8p11-8")

    found = preview(folder, STAIRS, text, row_of(text, "8p11"))

    assert [finding.span.line for finding in found.findings] == [row_of(text, "8p11")]
    assert found.shown is None


def test_what_only_the_whole_course_tells_comes_with_the_whole_course(folder: Path) -> None:
    text = text_of(folder, LAMP).replace("- 01-stairs", "- 07-nowhere")

    quick = preview(folder, LAMP, text, 1)
    whole = findings_of(folder, LAMP, text)

    assert not quick.findings
    assert "07-nowhere" in " ".join(finding.message for finding in whole)


@pytest.mark.parametrize("file", [STAIRS, LAMP])
def test_the_quick_look_says_nothing_that_the_whole_course_denies(folder: Path, file: str) -> None:
    for old, new in (("tempo", "tempi"), ("|", "!"), ("position: 8", "position: 80"), ("notes: eighths", "")):
        text = text_of(folder, file).replace(old, new)
        assert {*preview(folder, file, text, 12).findings} <= {*findings_of(folder, file, text)}


def test_an_exercise_made_from_one_in_another_lesson_is_shown(folder: Path) -> None:
    block = "```exercise higher\nfrom: 01-stairs/up-and-back\nposition: 10\n```\n"
    text = f"{text_of(folder, LAMP)}\n{block}"

    found = preview(folder, LAMP, text, text.count("\n"))

    assert found.findings == ()
    assert found.shown is not None
    assert found.shown.name == "02-lamp/higher"


def test_a_block_that_stands_for_several_exercises_shows_the_first(folder: Path) -> None:
    text = text_of(folder, STAIRS).replace("position: 8\n", "position: 8\nkeys: circle of fourths\n")

    found = preview(folder, STAIRS, text, row_of(text, "circle of fourths"))

    assert found.shown is not None
    assert found.shown.name == "01-stairs/up-and-back-in-c"


def test_the_course_file_has_findings_and_no_exercise(folder: Path) -> None:
    text = text_of(folder, "course.yaml").replace("tuning: standard", "tuning: standart")

    found = preview(folder, "course.yaml", text, 1)

    assert [finding.span.line for finding in found.findings] == [row_of(text, "standart")]
    assert found.shown is None


def test_a_lesson_without_exercises_shows_none(folder: Path) -> None:
    found = preview(folder, STAIRS, "---\ntitle: A\ngoal: B.\n---\n\nProse.\n", 5)

    assert (found.block, found.shown) == (None, None)


@pytest.mark.parametrize(
    "text", ["", "```", "---", "```exercise", "\x00" * 100, "a\u2028b", "```exercise a\n" * 300]
)
def test_any_text_has_a_preview(folder: Path, text: str) -> None:
    assert preview(folder, STAIRS, text, 1).shown is None
    assert preview(folder, STAIRS, text, 10**9).shown is None


def test_a_narrow_screen_gets_a_narrow_plate(folder: Path) -> None:
    text = text_of(folder, STAIRS)
    wide, narrow = (preview(folder, STAIRS, text, 12, width) for width in (170.0, NARROW_MM))

    assert wide.shown is not None
    assert narrow.shown is not None
    assert 'viewBox="0 0 170 ' in wide.shown.drawn.plate
    assert 'viewBox="0 0 84 ' in narrow.shown.drawn.plate


def test_the_sound_of_an_unsaved_exercise(folder: Path) -> None:
    text = text_of(folder, LAMP).replace("tempo: 90", "tempo: 180")

    sound = preview_sound(folder, LAMP, text, "02-lamp/last-line", 180)

    assert sound.audio[4:8] == b"ftyp"  # ISO/IEC 14496-12, section 4.3: the file type box comes first
    onsets = [note.onset_s for note in sound.notes]
    assert len(onsets) == 5
    assert onsets[1] - onsets[0] == pytest.approx(60 / 180, abs=0.002)


def test_no_sound_of_what_is_not_there_or_has_no_end(folder: Path) -> None:
    text = text_of(folder, LAMP)
    with pytest.raises(UsageError, match="no exercise"):
        preview_sound(folder, LAMP, text, "02-lamp/other", 90)
    endless = text.replace("tempo: 90", "tempo: 10\nrepeat: 32")
    with pytest.raises(UsageError, match="two minutes"):
        preview_sound(folder, LAMP, endless, "02-lamp/last-line", 10)


def test_a_remembered_fingering_is_the_one_that_would_be_found(folder: Path) -> None:
    course = read_course(folder).course
    for exercise in course.exercises:
        assert desk.remembered_fingering(exercise.score, MEDIUM) == finger(exercise.score)
    moved = {STAIRS: "\n" + text_of(folder, STAIRS)}
    reading = read_course(folder, moved)
    assert check(reading, fingering=desk.remembered_fingering) == check(reading)


def test_equal_notes_are_fingered_once() -> None:
    score = line("6/5 6/8 5/5 5/7")
    desk.remembered_fingering(score, MEDIUM)
    before = desk._fingered.cache_info()

    desk.remembered_fingering(replace(score, notes=tuple(score.notes)), MEDIUM)

    after = desk._fingered.cache_info()
    assert (after.hits, after.misses) == (before.hits + 1, before.misses)


def test_a_pause_in_typing_is_answered_at_once() -> None:
    """A twentieth of the 150 ms that a teacher may wait goes into the look itself on a quiet machine; a
    fifth of a second is the bound here, so that a busy one does not make the test fail."""
    file = "lessons/07-first-lick.md"
    text = text_of(DEMO, file)
    preview(DEMO, file, text, 30)
    took_s = []
    for fret in range(5, 10):
        changed = text.replace("tempo: ", f"text: {fret}\ntempo: ", 1)
        start = time.perf_counter()
        preview(DEMO, file, changed, 30)
        took_s.append(time.perf_counter() - start)

    assert min(took_s) < 0.2
