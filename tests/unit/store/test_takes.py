"""The queue of takes, on both databases: nothing is lost, nothing is settled twice."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

from fretwright.store import hearings, takes
from fretwright.store.database import Database
from fretwright.store.records import HearingRecord, NoteVerdict, TakeRecord, TakeState

NOON = datetime(2027, 3, 4, 12, 0, tzinfo=UTC)
LATER = NOON + timedelta(hours=1)
Received = Callable[[], TakeRecord]


def heard(take_id: int, notes: int = 2) -> HearingRecord:
    return HearingRecord(take_id, {"any": [1, 2]}, 90, notes, 1, 9.5, 1, 0, None, "Clean.", 90, LATER)


NOTES = (
    NoteVerdict(0, "b1t0-5s1", "played", 4.0, 0.0, "pluck"),
    NoteVerdict(1, "b1t1-5s1", "missed", None, None, None),
)


def claimed(database: Database, claim: str = "a") -> TakeRecord | None:
    with database.writing() as transaction:
        return takes.claim_next(transaction, claim, LATER)


def state(database: Database, take: TakeRecord) -> TakeState:
    with database.reading() as transaction:
        found = takes.find_take(transaction, take.id)
    assert found is not None
    return found.state


def test_takes_are_handed_out_in_the_order_they_came(database: Database, received: Received) -> None:
    sent = [received().id for _ in range(3)]

    got = [claimed(database, f"claim-{number}") for number in range(4)]

    assert [take.id if take else None for take in got] == [*sent, None]


def test_two_workers_never_get_the_same_take(database: Database, received: Received) -> None:
    sent = {received().id for _ in range(24)}

    def work(number: int) -> list[int]:
        found: list[int] = []
        while take := claimed(database, f"worker-{number}-{len(found)}"):
            found.append(take.id)
        return found

    with ThreadPoolExecutor(4) as pool:
        got = [number for each in pool.map(work, range(4)) for number in each]

    assert len(got) == len(sent)
    assert set(got) == sent


def test_a_hearing_is_stored_once_and_by_the_claim_that_holds(database: Database, received: Received) -> None:
    take = received()
    held = claimed(database, "first")
    assert held is not None
    with database.writing() as transaction:  # the first worker is lost, the take goes to a second
        assert takes.hand_out_again(transaction, LATER + timedelta(seconds=1)) == 1
    assert claimed(database, "second") is not None

    with database.writing() as transaction:
        assert not hearings.store_hearing(transaction, held, "first", heard(take.id), NOTES)
    assert state(database, take) is TakeState.JUDGING
    with database.writing() as transaction:
        assert hearings.store_hearing(transaction, held, "second", heard(take.id), NOTES)
    with database.writing() as transaction:
        assert not hearings.store_hearing(transaction, held, "second", heard(take.id), NOTES)

    assert state(database, take) is TakeState.JUDGED
    with database.reading() as transaction:
        assert hearings.find_hearing(transaction, take.id) == heard(take.id)


def test_a_claim_that_still_runs_is_left_alone(database: Database, received: Received) -> None:
    received()
    claimed(database)

    with database.writing() as transaction:
        assert takes.hand_out_again(transaction, LATER - timedelta(seconds=1)) == 0
        assert takes.hand_out_again(transaction, NOON, claims_like="other") == 0
        assert takes.hand_out_again(transaction, NOON, claims_like="a") == 1


def test_a_take_that_brings_every_worker_down_is_given_up_and_kept(
    database: Database, received: Received
) -> None:
    take = received()

    for number in range(takes.MOST_TRIES):
        assert claimed(database, f"claim-{number}") is not None
        with database.writing() as transaction:
            takes.give_back(transaction, take.id, f"claim-{number}", LATER)

    assert claimed(database, "one-more") is None
    with database.reading() as transaction:
        found = takes.find_take(transaction, take.id)
    assert found is not None
    assert (found.state, found.tries, found.file) == (TakeState.FAILED, takes.MOST_TRIES, "file-1")
    assert found.trouble


def test_times_come_back_aware_and_in_utc(received: Received) -> None:
    take = received()

    assert take.received_at == NOON + timedelta(seconds=1)
    assert take.received_at is not None
    assert take.received_at.tzinfo is UTC


def test_an_overrule_counts_in_the_agreement(database: Database, received: Received) -> None:
    take = received()
    held = claimed(database)
    assert held is not None
    with database.writing() as transaction:
        hearings.store_hearing(transaction, held, "a", heard(take.id), NOTES)
        teacher = take.person_id
        assert (
            hearings.overrule(transaction, take.id, 9, teacher_id=teacher, meant="played", now=LATER) is None
        )
        hearings.overrule(transaction, take.id, 1, teacher_id=teacher, meant="wrong", now=LATER)
        kept = hearings.overrule(transaction, take.id, 1, teacher_id=teacher, meant="played", now=LATER)
        hearings.overrule(transaction, take.id, 0, teacher_id=teacher, meant="played", now=LATER)

    assert kept is not None
    assert (kept.heard, kept.meant) == ("missed", "played")
    with database.reading() as transaction:
        agreement = hearings.agreement(transaction, take.exercise.course_id)
    assert agreement == {("missed", "played"): 1, ("played", "played"): 1}
