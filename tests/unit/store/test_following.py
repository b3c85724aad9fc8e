"""What the desk asks of a class, on both databases."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from fretwright.store import classes, following, hearings, mail, remarks, takes
from fretwright.store.database import Database
from fretwright.store.records import HearingRecord, LetterDraft, NoteVerdict, TakeRecord
from population import NOON, Population

Received = Callable[[], TakeRecord]
LATER = NOON + timedelta(hours=1)


@pytest.fixture
def enrolled(database: Database, population: Population) -> Population:
    """The population, the student in the course."""
    with database.writing() as transaction:
        classes.enrol(
            transaction, population.student.id, population.course.id, starts_on=NOON.date(), now=NOON
        )
    return population


def judged(database: Database, received: Received, *words: str) -> TakeRecord:
    """A take whose notes came as the words say."""
    take = received()
    with database.writing() as transaction:
        claimed = takes.claim_next(transaction, "a", LATER)
        assert claimed is not None
        notes = [
            NoteVerdict(place, f"b1t{place}s1", word, 0.0, 0.0, None) for place, word in enumerate(words)
        ]
        heard = HearingRecord(take.id, {}, 90, len(words), 0, 0, 0, 0, None, "So.", 90, LATER)
        assert hearings.store_hearing(transaction, claimed, "a", heard, notes)
    return take


def waiting(database: Database, population: Population) -> list[int]:
    with database.reading() as transaction:
        found = following.unanswered_takes(transaction, population.course.id, since=NOON)
    return [take.id for take in found]


def test_a_take_waits_until_a_teacher_answers_it_or_a_later_one(
    database: Database, enrolled: Population, received: Received
) -> None:
    first, second, third = (judged(database, received, "played") for _ in range(3))
    received()  # not judged yet
    assert waiting(database, enrolled) == [third.id, second.id, first.id]

    with database.writing() as transaction:
        remarks.add_remark(transaction, third.id, enrolled.student.id, words="Is this right?", now=LATER)
    assert waiting(database, enrolled) == [third.id, second.id, first.id]
    with database.writing() as transaction:
        hearings.overrule(
            transaction, second.id, 0, teacher_id=enrolled.teacher.id, meant="missed", now=LATER
        )
    assert waiting(database, enrolled) == [third.id]
    with database.writing() as transaction:
        remarks.add_remark(transaction, third.id, enrolled.teacher.id, words="Yes.", now=LATER)
    assert waiting(database, enrolled) == []


def test_takes_of_who_has_left_and_old_ones_wait_for_nobody(
    database: Database, enrolled: Population, received: Received
) -> None:
    judged(database, received, "played")
    with database.reading() as transaction:
        assert not following.unanswered_takes(transaction, enrolled.course.id, since=LATER)
        assert not following.unanswered_takes(transaction, enrolled.course.id + 1, since=NOON)
    with database.writing() as transaction:
        classes.leave(transaction, enrolled.student.id, enrolled.course.id, LATER)
    assert waiting(database, enrolled) == []


def test_the_newest_takes_are_counted_with_the_teachers_word(
    database: Database, enrolled: Population, received: Received
) -> None:
    judged(database, received, "wrong", "wrong")
    second = judged(database, received, "played", "missed")
    third = judged(database, received, "missed", "unsure")
    with database.writing() as transaction:
        hearings.overrule(transaction, third.id, 0, teacher_id=enrolled.teacher.id, meant="played", now=LATER)

    with database.reading() as transaction:
        found = following.class_verdicts(transaction, enrolled.exercise.id, newest=2)

    assert [(each.take_id, each.note_id, each.verdict) for each in found] == [
        (second.id, "b1t0s1", "played"),
        (second.id, "b1t1s1", "missed"),
        (third.id, "b1t0s1", "played"),
        (third.id, "b1t1s1", "unsure"),
    ]
    assert {each.person_id for each in found} == {enrolled.student.id}


def test_a_letter_is_held_by_one_and_comes_back(database: Database) -> None:
    with database.writing() as transaction:
        mail.write_letter(transaction, LetterDraft("a@b.example", "Subject", "Body", "test", "once"), NOON)
        (letter,) = mail.letters_due(transaction, NOON)
        assert mail.hold_letter(transaction, letter.id, NOON, LATER)
    with database.writing() as transaction:
        assert not mail.hold_letter(transaction, letter.id, NOON, LATER)
        assert not mail.letters_due(transaction, NOON)
        assert mail.hold_letter(transaction, letter.id, LATER, LATER + timedelta(hours=1))
        mail.mark_sent(transaction, letter.id, LATER)
        assert not mail.hold_letter(transaction, letter.id, LATER + timedelta(days=1), LATER)
