"""A school to be ill-treated: a small course, a real server, and students who keep trying."""

import contextlib
import hashlib
import json
import os
import signal
import socket
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any, Final

from evaluation.memory import held_mb
from evaluation.school.starter import Starter

from fretwright.course.starter import write_starter
from fretwright.flows.reading import check_course
from fretwright.sound.files import encode_audio
from fretwright.sound.render import render
from fretwright.store import classes, entry, people
from fretwright.store.records import Role
from fretwright.web.keys import digest, new_token
from fretwright.web.school import School
from fretwright.web.settings import PREFIX, Settings

START_S: Final = 180.0
BUILD_S: Final = 600.0
_KILL: Final = signal.SIGKILL  # noqa: TID251 - what is killed is not our child, and /proc is Unix


@dataclass
class Rig:
    """A school in a folder, and the server over it, which may be dead."""

    folder: Path
    database: str | None
    """Address of the database; ``None`` for the school's own file."""
    port: int
    cookies: tuple[str, ...] = ()
    """One for each student."""
    exercise: str = ""
    bpm: float = 0.0
    recording: bytes = b""
    """A take of the exercise, as the string model plays it."""
    workers: int = 1
    server: int | None = None
    """The number of its process while it lives."""
    log: Path = field(default_factory=Path)
    _starter: Starter | None = None

    @property
    def course(self) -> Path:
        """The course folder."""
        return self.folder / "course"

    @property
    def settings(self) -> Settings:
        """As the server reads them."""
        return Settings.from_environment(self.course, self._environment())

    @property
    def address(self) -> str:
        """Where the server answers."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> float:
        """Start the server and wait until it answers; how long that took."""
        began = time.monotonic()
        if self._starter is None:
            self._starter = Starter.of(self.course, {**os.environ, **self._environment()}, self.log)
        self.server = self._starter.start()
        while time.monotonic() - began < START_S:
            if self._answers():
                return time.monotonic() - began
            if not (Path("/proc") / str(self.server)).exists():
                break
            time.sleep(0.02)
        raise RuntimeError(f"the server does not start; see {self.log}")

    def _answers(self) -> bool:
        caller = Caller(self, 0)
        try:
            return caller.call("GET", "/health")[0] == 200
        except (OSError, HTTPException):
            return False
        finally:
            caller.hang_up()

    def kill(self) -> None:
        """Kill the server as a power cut would: without a word."""
        self._end(_KILL)

    def kill_judge(self, choice: int) -> bool:
        """Kill one of the processes that judge or decode, if there is one."""
        judges = self._below()
        if not judges:
            return False
        _signal(judges[choice % len(judges)], _KILL)
        return True

    def memory_mb(self) -> tuple[float, float]:
        """Memory that the server holds, and its processes that judge and decode."""
        server = [] if self.server is None else [self.server]
        return held_mb(server), held_mb(self._below())

    def stop(self) -> None:
        """End the server as a person would, and what starts it: other settings need another."""
        self._end(signal.SIGTERM)
        self.close()

    def close(self) -> None:
        """End whatever still runs."""
        self.kill()
        if self._starter is not None:
            self._starter.close()
            self._starter = None

    def _end(self, how: signal.Signals) -> None:
        if self.server is not None and self._starter is not None:
            _signal(self.server, how)
            self._starter.wait()
            self.server = None

    def _below(self) -> list[int]:
        """The server's processes that judge, and theirs that decode."""
        if self.server is None:
            return []
        parents: dict[int, list[int]] = {}
        words: dict[int, str] = {}
        for entry_ in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError, IndexError, ValueError):
                number = int(entry_.name)
                parent = int((entry_ / "stat").read_text().rsplit(")", 1)[1].split()[1])
                parents.setdefault(parent, []).append(number)
                words[number] = (entry_ / "cmdline").read_text()
        found, waiting = [], [self.server]
        while waiting:
            for child in parents.get(waiting.pop(), []):
                waiting.append(child)
                if "spawn_main" in words[child] or "fretwright.ear.decoder" in words[child]:
                    found.append(child)
        return sorted(found)

    def _environment(self) -> dict[str, str]:
        told = {"HOME": str(self.folder / "school"), "PORT": str(self.port), "WORKERS": str(self.workers)}
        if self.database is not None:
            told["DATABASE"] = self.database
        return {PREFIX + name: value for name, value in told.items()}


def open_rig(
    folder: Path, database: str | None, *, students: int, workers: int = 1, builds: bool = True
) -> Rig:
    """A school with students who are signed in, its course built if asked; the server is not started."""
    rig = Rig(folder, database, free_port(), workers=workers, log=folder / "server.log")
    write_starter(rig.course)
    checked = check_course(rig.course)
    exercise = next(checked.course.exercises)
    rig.exercise, rig.bpm = exercise.name, exercise.ladder.start_bpm
    rig.recording = encode_audio(render(checked.score_of(exercise), rig.bpm), ".m4a")
    school = School(rig.settings)
    rig.cookies = tuple(_student(school, number) for number in range(students))
    if builds:  # so that no server that is killed has to begin it again
        school.press.ask()
        school.press.wait(BUILD_S)
    school.close()
    return rig


def _student(school: School, number: int) -> str:
    token, now = new_token(), datetime.now(UTC)
    with school.database.writing() as transaction:
        person = people.add_person(
            transaction,
            role=Role.STUDENT,
            name=f"Student {number}",
            email=f"student{number}@example.org",
            time_zone="UTC",
            now=now,
        )
        people.consent(transaction, person.id, guardian=None, now=now)
        classes.enrol(
            transaction,
            person.id,
            school.classroom.now.record.id,
            starts_on=now.date() - timedelta(days=365),
            now=now,
        )
        entry.add_session(
            transaction, person.id, digest=digest(token), now=now, expires_at=now + timedelta(days=30)
        )
    return token


@dataclass
class Caller:
    """One student's device."""

    rig: Rig
    student: int
    timeout_s: float = 30.0
    _line: HTTPConnection | None = None

    def call(
        self, method: str, path: str, body: bytes | None = None, headers: Mapping[str, str] | None = None
    ) -> tuple[int, bytes]:
        """One request: status and content. Raises what a broken line raises."""
        if self._line is None:
            self._line = HTTPConnection("127.0.0.1", self.rig.port, timeout=self.timeout_s)
        cookie = self.rig.cookies[self.student] if self.rig.cookies else ""
        try:
            self._line.request(
                method,
                path,
                body,
                {"Cookie": f"fretwright={cookie}", "Origin": self.rig.address, **(headers or {})},
            )
            answer = self._line.getresponse()
            return answer.status, answer.read()
        except (OSError, HTTPException):
            self.hang_up()
            raise

    def json(self, method: str, path: str, data: object = None) -> tuple[int, dict[str, Any]]:
        """The same with JSON both ways."""
        body = None if data is None else json.dumps(data).encode()
        status, content = self.call(method, path, body, {"Content-Type": "application/json"})
        answer: dict[str, Any] = json.loads(content)
        return status, answer

    def hang_up(self) -> None:
        """Close the line."""
        if self._line is not None:
            self._line.close()
            self._line = None


def sha256(data: bytes) -> str:
    """A recording in one word."""
    return hashlib.sha256(data).hexdigest()


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as found:
        port: int = found.getsockname()[1]
        return port


def _signal(process: int, how: signal.Signals) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.kill(process, how)
