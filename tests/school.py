"""What the tests of the school share: a school over the small course, and people who are signed in."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

import uvicorn
from starlette.testclient import TestClient

from fretwright.ear.take import Refusal
from fretwright.ear.verdicts import Advice, HeardAttack, HeardNote, HeardPass, Hearing, Verdict
from fretwright.flows.judging import JudgeOrder, judge_next
from fretwright.score.score import Score
from fretwright.store import classes, entry, people
from fretwright.store.records import Person, Role
from fretwright.web.app import create_app
from fretwright.web.keys import digest, new_token
from fretwright.web.school import School
from fretwright.web.settings import Settings
from small_course import small_course

MORNING: Final = datetime(2027, 3, 4, 9, 0, tzinfo=UTC)
"""When it is in a school of the tests, until a test says otherwise."""
ORIGIN: Final = "http://127.0.0.1:8321"


@dataclass
class Clock:
    """A clock that stands still until it is moved."""

    at: datetime = MORNING

    def __call__(self) -> datetime:
        """The present moment."""
        return self.at

    def forward(self, **span: float) -> None:
        """Let time pass: ``forward(days=1)``."""
        self.at += timedelta(**span)


@dataclass(frozen=True)
class Class:
    """A school with a teacher and students in it."""

    school: School
    clock: Clock
    teacher: Person
    student: Person
    other: Person
    """Another student of the same course."""

    def client(self, person: Person | None = None) -> TestClient:
        """A browser of that person's; nothing of the school's background is started."""
        client = TestClient(
            create_app(self.school), base_url=ORIGIN, headers={"Origin": ORIGIN}, follow_redirects=False
        )
        if person is not None:
            client.cookies.set("fretwright", session(self.school, person))
        return client


def open_class(folder: Path, *, database: str | None = None, clock: Clock | None = None) -> Class:
    """A school over the small course in an empty folder: a teacher, two students who may record."""
    small_course(folder / "course")
    settings = Settings.beside(folder / "course")
    if database is not None:
        settings = replace(settings, database=database)
    clock = clock or Clock()
    school = School(settings, clock)
    return Class(
        school,
        clock,
        school.teacher(),
        add_student(school, "Isolde Fenn", "isolde@example.org"),
        add_student(school, "Tam Orrin", "tam@example.org"),
    )


def add_student(school: School, name: str, email: str, *, time_zone: str = "UTC") -> Person:
    """A student of the course who agreed to recording."""
    now = school.now()
    with school.database.writing() as transaction:
        person = people.add_person(
            transaction, role=Role.STUDENT, name=name, email=email, time_zone=time_zone, now=now
        )
        people.consent(transaction, person.id, guardian=None, now=now)
        classes.enrol(transaction, person.id, school.classroom.now.record.id, starts_on=now.date(), now=now)
        return people.person(transaction, person.id)


def session(school: School, person: Person) -> str:
    """The value of a session cookie for that person."""
    token, now = new_token(), school.now()
    with school.database.writing() as transaction:
        entry.add_session(
            transaction, person.id, digest=digest(token), now=now, expires_at=now + timedelta(days=30)
        )
    return token


# Takes


def send_take(
    client: TestClient, exercise: str, recording: bytes, *, client_id: str = "take-0001", bpm: float = 100.0
) -> dict[str, Any]:
    """Send a recording as a device does; what is answered at the end."""
    announced = client.post(
        "/api/takes",
        json={
            "client_id": client_id,
            "exercise": exercise,
            "tempo_bpm": bpm,
            "media_type": "audio/wav",
            "recorded_at": MORNING.isoformat(),
        },
    )
    assert announced.status_code == 201, announced.text
    number = announced.json()["id"]
    sent = client.patch(f"/api/takes/{number}/content", content=recording, headers={"Upload-Offset": "0"})
    assert sent.status_code == 200, sent.text
    finished = client.post(f"/api/takes/{number}/finish", json={"size_bytes": len(recording)})
    assert finished.status_code == 200, finished.text
    answer: dict[str, Any] = finished.json()
    return answer


@dataclass
class FakeBench:
    """Hears what the test says. By default every note was played, the first one late."""

    heard: Hearing | Refusal | None = None

    def hear(self, order: JudgeOrder) -> Hearing | Refusal:
        """What was set, or a hearing of the order's score."""
        return self.heard or heard_well(order.score, order.bpm)


def judge_all(school: School, bench: FakeBench | None = None) -> int:
    """Judge everything that waits, without a process of its own; how many takes that was."""
    count = 0
    while judge_next(school.queue, bench or FakeBench()):
        count += 1
    return count


def heard_well(score: Score, bpm: float, *, missed: frozenset[str] = frozenset()) -> Hearing:
    """A hearing in which every note was played in time, but for those that are named as missed."""
    notes = tuple(
        HeardNote(note.id, Verdict.MISSED, 0.9)
        if note.id in missed
        else HeardNote(
            note.id,
            Verdict.PLAYED,
            0.9,
            onset_s=1.0 + 0.25 * index,
            timing_ms=0.0,
            heard_midi=note.midi,
            pitch_cents=0.0,
            level_db=-6.0 if note.attack.is_slur else 0.0,
            attack=HeardAttack.SLUR if note.attack.is_slur else HeardAttack.PLUCK,
            length_s=0.2,
            gap_s=0.0,
        )
        for index, note in enumerate(score.notes)
    )
    return Hearing(
        tempo_bpm=bpm,
        start_s=1.0,
        tuning_cents=0.0,
        shift=0,
        passes=(HeardPass(1.0, 1.0 + 0.25 * len(notes), complete=True),),
        notes=notes,
        extras=(),
        timing_spread_ms=8.0,
        mean_offset_ms=2.0,
        drift_percent=0.5,
        advice=Advice("Clean.", (), bpm, "Play it once more."),
    )


# A real server


@dataclass(frozen=True)
class Served:
    """A class whose school runs on a port of this machine, as ``fretwright serve`` runs it."""

    people: Class
    address: str
    """``http://127.0.0.1:PORT``."""

    def cookie(self, person: Person) -> dict[str, Any]:
        """A session cookie as a browser's context takes it (``context.add_cookies([...])``)."""
        return {
            "name": "fretwright",
            "value": session(self.people.school, person),
            "url": self.address,
            "httpOnly": True,
            "sameSite": "Lax",
        }


@contextmanager
def served_class(folder: Path, *, judges: int = 1) -> Iterator[Served]:
    """A class over the small course on a real server, its course built and its judges working."""
    small_course(folder / "course")
    port = free_port()
    settings = replace(Settings.beside(folder / "course"), port=port, workers=judges)
    clock = Clock(datetime.now(UTC))
    school = School(settings, clock)
    made = Class(
        school,
        clock,
        school.teacher(),
        add_student(school, "Isolde Fenn", "isolde@example.org"),
        add_student(school, "Tam Orrin", "tam@example.org"),
    )
    server = uvicorn.Server(
        uvicorn.Config(create_app(school), port=port, log_config=None, access_log=False, lifespan="on")
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        _until(lambda: server.started, "the server starts")
        _until(lambda: school.press.wait(0.2) or not thread.is_alive(), "the course is built")
        yield Served(made, f"http://127.0.0.1:{port}")
    finally:
        server.should_exit = True
        thread.join(timeout=20)


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as found:
        port: int = found.getsockname()[1]
        return port


def _until(happened: Any, what: str, timeout_s: float = 120.0) -> None:  # noqa: ANN401 - any condition
    ends = time.monotonic() + timeout_s
    while not happened():
        assert time.monotonic() < ends, f"still waiting until {what}"
        time.sleep(0.02)
