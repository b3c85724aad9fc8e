"""``python -m evaluation.school.rows``: how long the school's queries take over a million verdicts.

A school is filled with made-up rows, without a recording behind them: students, takes over a year, a verdict
for every note. Each query that a page or a judge makes is timed, and its plan is asked for: a query that
reads a whole table grows with the school.
"""

import argparse
import random
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any, Final

from evaluation.school.postgres import running_postgres
from sqlalchemy import event, insert, text

from fretwright.store import classes, following, hearings, people, remarks, takes
from fretwright.store.database import Database, Transaction
from fretwright.store.migrate import migrate
from fretwright.store.records import Role
from fretwright.store.tables import hearings as hearings_table
from fretwright.store.tables import note_verdicts
from fretwright.store.tables import people as people_table
from fretwright.store.tables import takes as takes_table

NOTES: Final = 32
_START: Final = datetime(2027, 1, 1, tzinfo=UTC)
_AT_ONCE: Final = 5000


def main() -> None:
    """Fill, time, print; on each kind of database."""
    options = argparse.ArgumentParser()
    options.add_argument("--verdicts", type=int, default=1_000_000)
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "school.sqlite"
        report("SQLite", f"sqlite:///{path}", asked.verdicts)
        print(f"   the file holds {path.stat().st_size / 1e6:.0f} MB")
    with running_postgres() as server:
        report("PostgreSQL", server.empty_database(), asked.verdicts)


def report(name: str, address: str, verdicts: int) -> None:
    """Fill one database and time its queries."""
    database = Database(address)
    migrate(database)
    began = time.monotonic()
    students, exercises = fill(database, verdicts // NOTES)
    with database.writing() as transaction:
        transaction.execute(text("ANALYZE"))
    took_s = time.monotonic() - began
    print(f"{name}: {verdicts // NOTES} takes of {students} students, filled in {took_s:.0f} s")
    for what, query in queries(students, exercises).items():
        times_ms, plan = timed(database, query)
        print(f"   {what}: {median(times_ms):.2f} ms{'' if plan is None else f'; reads all of {plan}'}")
    database.close()


def fill(database: Database, count: int) -> tuple[int, list[int]]:
    """Rows as a year of practice leaves them: how many students, and the numbers of the exercises."""
    rng = random.Random(1)
    students = max(count // 300, 10)
    with database.writing() as transaction:
        course = classes.ensure_course(transaction, name="made-up", title="Made up", now=_START)
        wordings = [
            (f"{lesson:02d}-lesson/exercise-{each}", "d", "") for lesson in range(20) for each in range(5)
        ]
        known = classes.ensure_exercises(transaction, course.id, wordings, _START)
        for number in range(students):
            _add_student(transaction, course.id, number)
        first = transaction.execute(people_table.select().order_by(people_table.c.id)).first()
    assert first is not None  # noqa: S101 - there are ten at least
    exercises = [exercise.id for exercise in known.values()]
    for start in range(0, count, _AT_ONCE // 10):
        numbers = range(start + 1, min(start + _AT_ONCE // 10, count) + 1)
        with database.writing() as transaction:
            _add_takes(transaction, numbers, first.id, students, exercises, rng)
    if not database.is_sqlite:
        with database.writing() as transaction:
            transaction.execute(text(f"SELECT setval('takes_id_seq', {count})"))
    return students, exercises


def _add_student(transaction: Transaction, course_id: int, number: int) -> None:
    person = people.add_person(
        transaction,
        role=Role.STUDENT,
        name="Made up",
        email=f"s{number}@example.org",
        time_zone="UTC",
        now=_START,
    )
    classes.enrol(transaction, person.id, course_id, starts_on=date(2027, 1, 1), now=_START)


def _add_takes(
    transaction: Transaction,
    numbers: range,
    first: int,
    students: int,
    exercises: list[int],
    rng: random.Random,
) -> None:
    rows: dict[str, list[dict[str, Any]]] = {"takes": [], "hearings": [], "verdicts": []}
    for number in numbers:
        at, exercise = _START + timedelta(minutes=5 * number), rng.choice(exercises)
        rows["takes"].append(_take(number, first + rng.randrange(students), exercise, at))
        rows["hearings"].append(_hearing(number, at))
        rows["verdicts"] += [_verdict(number, place, exercise, rng) for place in range(NOTES)]
    transaction.execute(insert(takes_table), rows["takes"])
    transaction.execute(insert(hearings_table), rows["hearings"])
    transaction.execute(insert(note_verdicts), rows["verdicts"])


def _take(number: int, person: int, exercise: int, at: datetime) -> dict[str, Any]:
    return {
        "id": number, "person_id": person, "exercise_id": exercise, "client_id": f"c{number}",
        "state": "judged", "tempo_bpm": 90.0, "media_type": "audio/webm", "file": f"{number:034d}",
        "stored_bytes": 400_000, "recorded_at": at, "created_at": at, "received_at": at, "tries": 1,
        "settled_at": at,
    }  # fmt: skip


def _hearing(number: int, at: datetime) -> dict[str, Any]:
    note = {"id": "b1t0-8s4", "verdict": "played", "confidence": 0.91, "onset_s": 1.25, "timing_ms": -8.5}
    return {
        "take_id": number, "heard": {"notes": [note] * NOTES}, "tempo_bpm": 90.0, "notes": NOTES,
        "notes_played": 30, "timing_spread_ms": 12.0, "mean_offset_ms": 3.0, "drift_percent": 0.5,
        "headline": "Bar 2 is late.", "next_bpm": 92.0, "heard_at": at,
    }  # fmt: skip


def _verdict(number: int, place: int, exercise: int, rng: random.Random) -> dict[str, Any]:
    return {
        "take_id": number,
        "place": place,
        "exercise_id": exercise,
        "note_id": f"b{place // 8}t{place % 8}-8s4",
        "verdict": "played" if rng.random() < 0.9 else "missed",
        "timing_ms": -8.5,
        "level_db": 0.0,
        "attack": "pluck",
    }


Query = Callable[[Transaction], object]


def queries(students: int, exercises: list[int]) -> dict[str, Query]:
    """What pages and judges ask most."""
    person, exercise = students // 2, exercises[7]
    now = _START + timedelta(days=300)
    return {
        "whose turn is it to be judged": lambda tx: takes.claim_next(tx, "claim", now),
        "how many wait": takes.waiting,
        "one take": lambda tx: takes.find_take(tx, 1000),
        "a student's last takes": lambda tx: takes.takes_of(tx, person),
        "which takes of a student were heard": lambda tx: hearings.heard_wordings(tx, person, 1, limit=600),
        "what was heard in 100 of them": lambda tx: hearings.heard_takes(
            tx, [one.take_id for one in hearings.heard_wordings(tx, person, 1, limit=100)]
        ),
        "remarks to a student": lambda tx: remarks.remarks_to(tx, person),
        "takes that wait for the teacher": lambda tx: following.unanswered_takes(
            tx, 1, since=now - timedelta(days=28), limit=200
        ),
        "the class picture of one exercise": lambda tx: following.class_verdicts(tx, exercise),
        "how the ear agrees with the teacher": lambda tx: hearings.agreement(tx, 1),
        "the class": lambda tx: people.students_of(tx, 1),
        "recordings to let go of": lambda tx: takes.old_files(tx, _START),
    }


def timed(database: Database, query: Query, rounds: int = 5) -> tuple[list[float], str | None]:
    """Times of a query in milliseconds, and the table that its plan reads as a whole, if any."""
    said: list[tuple[str, Any]] = []

    def note(_c: object, _k: object, statement: str, parameters: Any, *_: object) -> None:  # noqa: ANN401 - the library's
        said.append((statement, parameters))

    times_ms: list[float] = []
    for _ in range(rounds):
        said.clear()
        event.listen(database.engine, "before_cursor_execute", note)
        with database.writing() as transaction:
            began = time.perf_counter()
            query(transaction)
            times_ms.append(1000 * (time.perf_counter() - began))
        event.remove(database.engine, "before_cursor_execute", note)
    return times_ms, _read_whole(database, [each for each in said if each[0].startswith("SELECT")])


def _read_whole(database: Database, said: list[tuple[str, Any]]) -> str | None:
    explain = "EXPLAIN QUERY PLAN " if database.is_sqlite else "EXPLAIN "
    for statement, parameters in said:
        with database.writing() as transaction:
            rows = transaction.exec_driver_sql(explain + statement, parameters).all()
        for row in rows:
            line = str(row[-1]).strip()
            if line.startswith("SCAN ") and "INDEX" not in line and "CONSTANT" not in line:
                return line.split()[1]
            if "Seq Scan on " in line:
                return line.split("Seq Scan on ")[1].split()[0]
    return None


if __name__ == "__main__":
    main()
