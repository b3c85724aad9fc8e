"""How quick the teacher's desk is over a class of 200 students.

The demo course, and of each student as many judged takes as asked for: rows without a recording behind them.
Then the pages of the desk as the teacher's browser asks for them, against a page that asks for nothing of the
class: first from nothing, as after a new version was installed, then again while takes go on coming in. At
last a lesson as it is written: a look at its text after every change, as the editor asks for it.

``python benchmarks/desk_load.py [--students 200] [--takes 60] [--rounds 20]``
"""

import argparse
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from pathlib import Path
from statistics import median, quantiles
from typing import Any, Final

sys.path.append(str(Path(__file__).parents[1] / "tests"))

from sqlalchemy import insert
from starlette.testclient import TestClient

from fretwright.ear.verdicts import Hearing
from fretwright.store.records import Person
from fretwright.store.tables import hearings, note_verdicts, takes
from fretwright.web.app import create_app
from fretwright.web.judging import hearing_record
from fretwright.web.judging import note_verdicts as verdicts_of
from fretwright.web.school import School
from fretwright.web.settings import Settings
from school import FakeBench, add_student, heard_well, judge_all, send_take, session

_DEMO: Final = Path(__file__).parents[1] / "demo"
_LESSON: Final = _DEMO / "lessons" / "01-four-fingers.md"
_PLAIN: Final = "/desk/letters"
_SHARES_MISSED: Final = (0.0, 0.0, 0.05, 0.1, 0.3)
_AT_ONCE: Final = 1000


def main() -> None:
    """Fill, ask, print."""
    options = argparse.ArgumentParser()
    options.add_argument("--students", type=int, default=200)
    options.add_argument("--takes", type=int, default=60)
    options.add_argument("--rounds", type=int, default=20)
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        course = Path(folder) / "course"
        shutil.copytree(_DEMO, course)
        school = School(Settings.beside(course))
        students = [add_student(school, f"Student {n}", f"s{n}@example.org") for n in range(asked.students)]
        _fill(school, students, asked.takes)
        print(f"{asked.students} students, {asked.takes} takes of each")
        _ask(school, students, asked.rounds)
        _write(school, asked.rounds)
        school.close()


def _fill(school: School, students: list[Person], count: int) -> None:
    rng, rows = random.Random(1), list[tuple[dict[str, Any], dict[str, Any], list[dict[str, Any]]]]()
    for number, row in enumerate(_rows(school, students, count, rng)):
        rows.append(row)
        if number % _AT_ONCE == _AT_ONCE - 1 or number == count * len(students) - 1:
            with school.database.writing() as transaction:
                transaction.execute(insert(takes), [take for take, _, _ in rows])
                transaction.execute(insert(hearings), [heard for _, heard, _ in rows])
                transaction.execute(insert(note_verdicts), [one for _, _, notes in rows for one in notes])
            rows = []


def _rows(
    school: School, students: list[Person], count: int, rng: random.Random
) -> Iterator[tuple[dict[str, Any], dict[str, Any], list[dict[str, Any]]]]:
    """A take, what was heard, and its verdicts; each exercise was heard in a few ways."""
    taught, now, number = school.classroom.now, datetime.now(UTC), 0
    heard = {name: list(_heard(school, name, rng)) for name in taught.exercises}
    for nth in range(count):
        at = now - timedelta(days=120 * (1 - nth / count), minutes=5)
        for student in students:
            number += 1
            name = rng.choice(list(heard))
            hearing, exercise = rng.choice(heard[name]), taught.exercises[name].id
            take = {
                "id": number, "person_id": student.id, "exercise_id": exercise, "client_id": f"c{number}",
                "state": "judged", "tempo_bpm": 80.0, "media_type": "audio/webm", "stored_bytes": 0,
                "recorded_at": at, "created_at": at, "received_at": at, "settled_at": at, "tries": 1,
            }  # fmt: skip
            notes = [
                {**asdict(one), "take_id": number, "exercise_id": exercise} for one in verdicts_of(hearing)
            ]
            yield take, asdict(hearing_record(number, hearing, at)), notes


def _heard(school: School, name: str, rng: random.Random) -> Iterator[Hearing]:
    score = school.classroom.now.checked.fingered[name].score
    for share in _SHARES_MISSED:
        yield heard_well(score, 80, missed=frozenset(n.id for n in score.notes if rng.random() < share))


def _ask(school: School, students: list[Person], rounds: int) -> None:
    teacher, student = _browser(school, school.teacher()), _browser(school, students[0])
    name = next(iter(school.classroom.now.exercises))
    paths = [
        _PLAIN, "/desk", f"/desk/students/{students[0].id}", "/desk/takes/1", "/desk/exercises",
        f"/desk/exercises/{name}", "/desk/ear", "/desk/enrol", "/desk/write",
    ]  # fmt: skip
    plain_ms, sent = 0.0, 0
    for path in paths:
        times_ms, worked_ms = [], []
        for nth in range(rounds + 1):
            if nth % 4 == 1:  # meanwhile somebody practises
                sent += 1
                send_take(student, name, b"sound", client_id=f"take-{sent:06d}")
                judge_all(school, FakeBench())
            began, worked = time.perf_counter(), time.process_time()
            answer = teacher.get(path, headers={"Accept": "text/html"})
            times_ms.append(1000 * (time.perf_counter() - began))
            worked_ms.append(1000 * (time.process_time() - worked))
            if answer.status_code != HTTPStatus.OK:
                sys.exit(f"{path} was answered with {answer.status_code}: a figure would mean nothing.")
        plain_ms = plain_ms or median(worked_ms[1:])
        ratio = median(worked_ms[1:]) / plain_ms
        print(
            f"   {path}: {_told(times_ms[1:])}; of a core {_told(worked_ms[1:])}, "
            f"from nothing {worked_ms[0]:.0f} ms; ratio to a plain page {ratio:.1f}",
            flush=True,
        )


def _write(school: School, rounds: int) -> None:
    teacher, file = _browser(school, school.teacher()), _LESSON.relative_to(_DEMO).as_posix()
    text = _LESSON.read_text(encoding="utf-8")
    line = text[: text.index("tempo: ")].count("\n") + 1
    for way, path in (("the lesson", "/api/desk/look"), ("the whole course", "/api/desk/look-whole")):
        times_ms, worked_ms = [], []
        for nth in range(rounds + 1):
            changed = text.replace("5-6-7-8", f"{nth % 12 + 1}-6-7-8", 1)
            began, worked = time.perf_counter(), time.process_time()
            answer = teacher.post(path, json={"file": file, "text": changed, "line": line})
            times_ms.append(1000 * (time.perf_counter() - began))
            worked_ms.append(1000 * (time.process_time() - worked))
            if answer.status_code != HTTPStatus.OK:
                sys.exit(f"{path} was answered with {answer.status_code}: a figure would mean nothing.")
        print(f"   a look at {way}: {_told(times_ms[1:])}; of a core {_told(worked_ms[1:])}", flush=True)


def _told(times_ms: list[float]) -> str:
    return f"median {median(times_ms):.0f} ms, 95 of 100 within {quantiles(times_ms, n=20)[18]:.0f} ms"


def _browser(school: School, person: Person) -> TestClient:
    origin = school.settings.origin
    client = TestClient(create_app(school), base_url=origin, headers={"Origin": origin})
    client.cookies.set("fretwright", session(school, person))
    return client


if __name__ == "__main__":
    main()
