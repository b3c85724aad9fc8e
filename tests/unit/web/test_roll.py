"""The class is worked out once, and again exactly where something has changed."""

import threading
from collections.abc import Callable
from unittest import mock

import pytest

from fretwright.base.errors import StoreError
from fretwright.store import classes, following, hearings, people, takes
from fretwright.store.database import Transaction
from fretwright.store.records import Person
from fretwright.web import roll, studies, uploads
from fretwright.web.roll import class_pictures, followed_class
from school import Class, FakeBench, heard_well, judge_all, send_take

EXERCISE = "01-stairs/slurred"


@pytest.fixture
def busy(school_class: Class) -> Class:
    """Two students with a judged take each."""
    for person in (school_class.student, school_class.other):
        send_take(school_class.client(person), EXERCISE, b"sound", bpm=120)
    judge_all(school_class.school)
    followed_class(school_class.school)
    class_pictures(school_class.school)
    return school_class


def worked_out(made: Class) -> tuple[set[int], set[str]]:
    """Whose footing, and which pictures, a look at the class works out."""
    school = made.school
    with (
        mock.patch.object(roll, "summaries_of", wraps=studies.summaries_of) as summed,
        mock.patch.object(following, "class_verdicts", wraps=following.class_verdicts) as pictured,
    ):
        followed_class(school)
        class_pictures(school)
    names = {each.id: name for name, each in school.classroom.now.exercises.items()}
    return (
        {call.args[1].id for call in summed.call_args_list},
        {names[call.args[1]] for call in pictured.call_args_list},
    )


def hear_another(made: Class) -> None:
    send_take(made.client(made.student), EXERCISE, b"sound", client_id="take-0002", bpm=120)
    judge_all(made.school)


def overrule(made: Class) -> None:
    with made.school.database.writing() as transaction:
        take = takes.takes_of(transaction, made.student.id)[0]
        hearings.overrule(
            transaction, take.id, 0, teacher_id=made.teacher.id, meant="missed", now=made.clock.at
        )


def delete_one(made: Class) -> None:
    with made.school.database.reading() as transaction:
        take = takes.takes_of(transaction, made.student.id)[0]
    uploads.delete(made.school, take)


def test_while_nothing_changes_nothing_is_worked_out(busy: Class) -> None:
    busy.clock.forward(days=3)

    assert worked_out(busy) == (set(), set())


@pytest.mark.parametrize("change", [hear_another, overrule, delete_one])
def test_what_changed_is_worked_out_and_nothing_else(busy: Class, change: Callable[[Class], None]) -> None:
    change(busy)

    assert worked_out(busy) == ({busy.student.id}, {EXERCISE})
    assert worked_out(busy) == (set(), set())


def test_who_leaves_is_in_no_picture_any_more(busy: Class) -> None:
    school = busy.school
    with school.database.writing() as transaction:
        classes.leave(transaction, busy.other.id, school.classroom.now.record.id, school.now())

    assert class_pictures(school)[EXERCISE].students == 1
    assert [each.id for each in followed_class(school)] == [busy.student.id]


def test_the_days_are_counted_at_every_look(busy: Class) -> None:
    assert {each.state for each in followed_class(busy.school)} == {"getting on"}
    busy.clock.forward(days=9)
    assert {each.state for each in followed_class(busy.school)} == {"quiet"}


def test_a_take_is_summed_up_once_and_again_after_an_overrule(busy: Class) -> None:
    school = busy.school
    (before,) = studies.summaries_of(school, busy.student)
    with mock.patch.object(studies, "_summary", side_effect=AssertionError):
        assert studies.summaries_of(school, busy.student) == (before,)

    overrule(busy)

    (after,) = studies.summaries_of(school, busy.student)
    assert (before.clean, after.clean) == (True, False)


def test_a_take_that_comes_to_nothing_is_asked_about_once(busy: Class) -> None:
    school = busy.school
    other = school.classroom.now.checked.fingered["02-lamp/last-line"].score
    send_take(busy.client(busy.student), EXERCISE, b"sound", client_id="take-0002", bpm=120)
    judge_all(school, FakeBench(heard_well(other, 120)))

    assert len(studies.summaries_of(school, busy.student)) == 1
    with mock.patch.object(studies, "_summary", side_effect=AssertionError):
        assert len(studies.summaries_of(school, busy.student)) == 1


def test_the_keeper_works_the_class_out_before_anybody_looks(
    busy: Class, monkeypatch: pytest.MonkeyPatch
) -> None:
    hear_another(busy)
    monkeypatch.setattr(roll, "_LOOK_S", 0.01)
    real_students, real_verdicts = people.students_of, following.class_verdicts
    looks, pictured = iter([StoreError("The database is away for a moment.")]), threading.Event()

    def students_of(transaction: Transaction, course_id: int) -> tuple[Person, ...]:
        for trouble in looks:
            raise trouble
        return real_students(transaction, course_id)

    def class_verdicts(
        transaction: Transaction, exercise_id: int, *, newest: int
    ) -> tuple[following.ClassVerdict, ...]:
        pictured.set()
        return real_verdicts(transaction, exercise_id, newest=newest)

    with (
        mock.patch.object(people, "students_of", students_of),
        mock.patch.object(following, "class_verdicts", class_verdicts),
    ):
        keeper = roll.RollKeeper(busy.school)
        keeper.start()
        assert pictured.wait(20)
        keeper.close()

    assert worked_out(busy) == (set(), set())
