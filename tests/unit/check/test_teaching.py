"""The order of teaching."""

from collections.abc import Callable
from pathlib import Path

import pytest

from fretwright.check.check import Checked, check
from fretwright.check.skills import skill_named
from fretwright.course.reader import read_course

Codes = Callable[..., list[str]]

FRONT = "---\ntitle: Example\ngoal: See a finding.\n{more}---\n\n"
PLAIN = """\
```exercise plain
tempo: 60
rhythm: q q h
tab: |
  e|-------|
  B|-------|
  G|-5-7-5-|
  D|-------|
  A|-------|
  E|-------|
```
"""
HAMMERED = PLAIN.replace("5-7-5", "5h7-5").replace("plain", "hammered")


def test_a_skill_is_named_where_it_first_appears_and_once(checked: Callable[..., Checked]) -> None:
    found = checked(PLAIN, HAMMERED, HAMMERED).findings

    assert [(each.code, each.exercise) for each in found] == [("skill-before-taught", "02-example/hammered")]
    assert "hammer-on" in found[0].message


def test_all_that_is_new_in_one_exercise_is_one_finding(checked: Callable[..., Checked]) -> None:
    (found,) = checked(HAMMERED, know="half notes").findings

    assert "hammer-on and quarter notes" in found.message


def test_a_course_that_names_no_skills_is_not_held_to_an_order(tmp_path: Path) -> None:
    (tmp_path / "lessons").mkdir()
    (tmp_path / "course.yaml").write_text("title: Example\nteacher: Nobody\n", encoding="utf-8")
    (tmp_path / "lessons" / "01-one.md").write_text(FRONT.format(more="") + HAMMERED, encoding="utf-8")

    assert not check(read_course(tmp_path)).findings


def test_a_lesson_may_use_what_it_teaches(codes: Codes) -> None:
    assert codes(FRONT.format(more="teaches: hammer-ons\n") + HAMMERED, HAMMERED) == []


def test_what_students_know_need_not_be_taught(codes: Codes) -> None:
    assert codes(HAMMERED, know="quarter notes, half notes, hammer-on") == []


@pytest.mark.parametrize(
    ("words", "skill"),
    [
        ("Hammer-Ons", "hammer-on"),
        ("eighths", "eighth notes"),
        ("eighth notes", "eighth notes"),
        ("triplet", "triplets"),
        ("minor pentatonic", "minor pentatonic scale"),
        ("string  crossings", "string crossing"),
        ("sitting well", "sitting well"),
    ],
)
def test_a_skill_is_known_by_the_words_a_teacher_uses(words: str, skill: str) -> None:
    assert skill_named(words) == skill


def test_teaching_later_is_too_late(codes: Codes) -> None:
    later = FRONT.format(more="teaches: hammer-on\n") + HAMMERED

    assert codes(HAMMERED, later) == ["skill-before-taught"]


def test_what_is_taught_is_exercised(codes: Codes) -> None:
    assert codes(FRONT.format(more="teaches: pull-off\n") + PLAIN) == ["taught-never-exercised"]


def test_what_no_score_can_show_may_be_taught(codes: Codes) -> None:
    assert codes(FRONT.format(more="teaches: sitting well, tuning by ear\n") + PLAIN) == []


def test_a_slip_of_the_pen_in_a_skill_is_advice(checked: Callable[..., Checked]) -> None:
    (found,) = checked(FRONT.format(more="teaches: sitting well, quater notes\n") + PLAIN).findings

    assert found.code == "skill-name-unclear"
    assert "quarter notes" in found.mend
    assert found.span.text == "quater notes"


def test_needs_are_earlier_lessons_or_what_they_teach(codes: Codes) -> None:
    first = FRONT.format(more="teaches: hammer-on\n") + HAMMERED

    assert codes(first, FRONT.format(more="needs: 01-example\n") + PLAIN) == []
    assert codes(first, FRONT.format(more="needs: hammer-on\n") + PLAIN) == []
    assert codes(FRONT.format(more="needs: 02-example\n") + PLAIN, PLAIN) == ["need-not-met"]
    assert codes(first, FRONT.format(more="needs: courage\n") + PLAIN) == ["need-not-met"]


def test_four_new_things_are_too_many(codes: Codes) -> None:
    four = FRONT.format(more="teaches: breathing, sitting, listening, waiting\n") + PLAIN

    assert codes(four) == ["too-much-at-once"]
    assert codes(four.replace(", waiting", "")) == []


def test_a_jump_in_speed_is_advice(checked: Callable[..., Checked]) -> None:
    fast = PLAIN.replace("plain", "fast").replace("tempo: 60", "tempo: {tempo}")

    assert not checked(PLAIN + "\n" + fast.format(tempo=95)).findings
    (found,) = checked(PLAIN + "\n" + fast.format(tempo=98)).findings
    assert found.code == "speed-jump"
    assert "01-example/plain" in found.message
