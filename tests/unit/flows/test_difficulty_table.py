"""The exercises of a lesson in the order of their difficulty, as the command prints them."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from fretwright.base.errors import UsageError
from fretwright.check.check import Checked
from fretwright.cli.inspect import command
from fretwright.flows.difficulty import difficulty_table, lesson_by_difficulty

DEMO = Path(__file__).parents[3] / "demo"
NAME = "04-hammer-ons/one-pair"


def test_the_whole_lesson_is_in_the_order_and_nothing_else(demo: Checked) -> None:
    ranked = lesson_by_difficulty(demo, NAME)

    lesson = {exercise.id for exercise in demo.course.exercises if exercise.lesson == "04-hammer-ons"}
    assert {one.name for one in ranked} == lesson
    assert len(lesson) > 1
    assert ranked[0].reason == "the easiest to start with"


def test_one_tempo_for_all_takes_the_place_of_the_ladders(demo: Checked) -> None:
    slow, fast = (lesson_by_difficulty(demo, NAME, bpm) for bpm in (50, 100))

    speeds = {one.name: one.difficulty.notes_per_second for one in slow}
    assert {one.name: one.difficulty.notes_per_second for one in fast} == {
        name: pytest.approx(2 * speed) for name, speed in speeds.items()
    }


def test_the_table_points_at_the_exercise_asked_for(demo: Checked) -> None:
    lines = difficulty_table(lesson_by_difficulty(demo, NAME), NAME).splitlines()

    assert [line.split()[1] for line in lines if line.startswith(">")] == ["one-pair"]
    assert "notes/s" in lines[0]


def test_an_unknown_exercise_is_wrong_use(demo: Checked) -> None:
    with pytest.raises(UsageError):
        lesson_by_difficulty(demo, "04-hammer-ons/no-such")


def test_the_command_prints_the_table_and_refuses_it_as_json() -> None:
    shown = CliRunner().invoke(command, [str(DEMO), NAME, "--difficulty"])
    assert shown.exit_code == 0, shown.output
    assert "the easiest to start with" in shown.output

    assert CliRunner().invoke(command, [str(DEMO), NAME, "--difficulty", "--json"]).exit_code == 2
