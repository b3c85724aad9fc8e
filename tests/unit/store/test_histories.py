"""What a plan asks of the store: which takes were heard, what was heard in some, and what was overruled."""

from collections.abc import Callable
from datetime import timedelta

from fretwright.store import hearings, takes
from fretwright.store.database import Database
from fretwright.store.records import HearingRecord, NoteVerdict, TakeRecord
from population import NOON, Population

Received = Callable[[], TakeRecord]
LATER = NOON + timedelta(hours=1)


def judged(database: Database, take: TakeRecord) -> TakeRecord:
    """The take with a hearing of one note."""
    heard = HearingRecord(take.id, {"number": take.id}, 90, 1, 1, 9.5, 1, 0, None, "Clean.", 90, LATER)
    with database.writing() as transaction:
        held = takes.claim_next(transaction, "a", LATER)
        assert held is not None
        note = NoteVerdict(0, "b1t0-5s1", "played", 4.0, 0.0, "pluck")
        hearings.store_hearing(transaction, held, "a", heard, (note,))
    return take


def test_heard_wordings_name_the_newest_judged_takes_and_no_others(
    database: Database, received: Received
) -> None:
    sent = [judged(database, received()) for _ in range(3)]
    received()

    with database.reading() as transaction:
        person, course = sent[0].person_id, sent[0].exercise.course_id
        found = hearings.heard_wordings(transaction, person, course, limit=2)
        others = hearings.heard_wordings(transaction, person + 1, course)

    assert [one.take_id for one in found] == [sent[2].id, sent[1].id]
    assert {(one.exercise, one.digest, one.heard_at) for one in found} == {("01-stairs/up", "d1", LATER)}
    assert others == ()


def test_heard_takes_are_found_by_number_however_many_are_asked_for(
    database: Database, received: Received
) -> None:
    sent = [judged(database, received()) for _ in range(3)]
    numbers = [sent[0].id, sent[2].id, *range(5000, 5400)]

    with database.reading() as transaction:
        found = hearings.heard_takes(transaction, numbers)
        none = hearings.heard_takes(transaction, [])

    assert {one.take.id: one.hearing.heard["number"] for one in found} == {
        sent[0].id: sent[0].id,
        sent[2].id: sent[2].id,
    }
    assert none == ()


def test_overrules_are_those_in_the_students_own_takes(
    database: Database, received: Received, population: Population
) -> None:
    take = judged(database, received())
    with database.writing() as transaction:
        teacher = population.teacher.id
        hearings.overrule(transaction, take.id, 0, teacher_id=teacher, meant="wrong", now=LATER)

    with database.reading() as transaction:
        assert hearings.overrules_to(transaction, take.person_id) == {take.id: {0: "wrong"}}
        assert hearings.overrules_to(transaction, population.teacher.id) == {}
