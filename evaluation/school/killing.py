"""Kill servers and judges at random while students send takes; then count what is left of what was accepted.

A take counts as accepted once a student's device has read "received". Of those, at the end:

* none is missing, and each recording is byte for byte what was sent;
* each is judged, with one hearing and one verdict for each of its notes;
* none was taken in twice, although devices repeat whatever was not answered.
"""

import random
import threading
import time
from collections import deque
from dataclasses import dataclass, field
from http.client import HTTPException
from typing import Final

from evaluation.school.rig import Caller, Rig, sha256

from fretwright.store import hearings, takes
from fretwright.store.database import Database
from fretwright.store.records import TakeRecord, TakeState
from fretwright.store.takefiles import TakeFiles

_PIECE: Final = 12_000
_AGAIN_S: Final = 0.1
_SETTLED: Final = frozenset(state.value for state in TakeState if state.is_settled)
_SETTLES_WITHIN_S: Final = 300.0
"""If nothing at all is judged for so long, the rest is counted as left."""
_UNHEARD: Final = 60
"""A student sends no further take while so many of theirs wait for their verdicts."""
_BEGINS_WITHIN_S: Final = 30.0


@dataclass(frozen=True)
class Count:
    """What came of it."""

    kills: int
    of_servers: int
    of_judges: int
    accepted: int
    """Takes of which a device had read "received"."""
    lost: int
    damaged: int
    judged: int
    unjudged: int
    twice: int
    """Takes that were taken in or judged more than once."""
    begun_again: int
    """Takes whose judging was begun more than once, because whoever judged was killed."""
    resumed: int
    """Uploads that went on after a broken line."""
    took_s: float

    @property
    def is_good(self) -> bool:
        """Whether nothing was lost, damaged, left or doubled."""
        return self.accepted > 0 and not (self.lost or self.damaged or self.unjudged or self.twice)


@dataclass
class _Sent:
    """What the students' devices know."""

    received: dict[str, int] = field(default_factory=dict)
    """Client id -> number of the take, once "received" was read."""
    resumed: int = 0
    stop: threading.Event = field(default_factory=threading.Event)
    lock: threading.Lock = field(default_factory=threading.Lock)


def kill_at_random(
    rig: Rig,
    *,
    kills: int,
    seed: int,
    judges_share: float = 0.4,
    most_s: float = 86_400.0,
    pause_s: float = 1.0,
) -> Count:
    """Let every student of the rig send takes while ``kills`` processes are killed, or until time is up.

    Half of the kills come at any moment, the other half within a moment of judging having begun: on a busy
    machine a judge would otherwise seldom live long enough to be killed at its work.
    """
    rng = random.Random(seed)
    sent, began = _Sent(), time.monotonic()
    rig.start()
    devices = [
        threading.Thread(target=_send_takes, args=(rig, number, sent, pause_s), daemon=True)
        for number in range(len(rig.cookies))
    ]
    for device in devices:
        device.start()
    done = of_judges = 0
    while done < kills and time.monotonic() - began < most_s:
        if rng.random() < 0.5:
            _wait_for_judging(rig)
            time.sleep(rng.uniform(0.0, 0.3))
        else:
            time.sleep(rng.uniform(0.0, 1.2))
        done += 1
        if rng.random() < judges_share and rig.kill_judge(rng.randrange(1000)):
            of_judges += 1
        else:
            rig.kill()
            rig.start()
    sent.stop.set()
    for device in devices:
        device.join(timeout=60)
    _wait_until_settled(rig)
    rig.stop()
    return _counted(rig, sent, done, of_judges, time.monotonic() - began)


def _send_takes(rig: Rig, student: int, sent: _Sent, pause_s: float) -> None:
    """One device: a take after the other, each until it is received."""
    caller, number, waiting = Caller(rig, student), 0, deque[int]()
    while not sent.stop.is_set():
        number += 1
        if len(waiting) == _UNHEARD:
            _wait_for_verdicts(caller, waiting.popleft(), sent.stop)
        client_id = f"take-{student}-{number:05d}"
        recording = rig.recording + number.to_bytes(4, "big") + student.to_bytes(2, "big")
        received = _send(caller, client_id, recording, sent)
        with sent.lock:
            sent.received[client_id] = received
        waiting.append(received)
        sent.stop.wait(pause_s)
    caller.hang_up()


def _wait_for_verdicts(caller: Caller, number: int, stop: threading.Event) -> None:
    """As a student does who looks at a page: ask until the take is settled."""
    while not stop.is_set():
        try:
            _, answer = caller.json("GET", f"/api/takes/{number}?wait_s=5")
            if answer.get("state") in _SETTLED:
                return
        except (OSError, HTTPException, ValueError):
            pass
        stop.wait(_AGAIN_S)


def _send(caller: Caller, client_id: str, recording: bytes, sent: _Sent) -> int:
    """Send one take through whatever happens; its number once the school has said "received"."""
    broken = False
    while True:
        try:
            number, offset, state = _announce(caller, client_id)
            if broken and offset:
                with sent.lock:
                    sent.resumed += 1
            broken = False
            while state == "arriving" and offset < len(recording):
                piece = recording[offset : offset + _PIECE]
                status, _ = caller.call(
                    "PATCH", f"/api/takes/{number}/content", piece, {"Upload-Offset": str(offset)}
                )
                if status != 200:
                    break
                offset += len(piece)
            status, answer = caller.json(
                "POST",
                f"/api/takes/{number}/finish",
                {"size_bytes": len(recording), "sha256": sha256(recording)},
            )
            if status == 200 and answer["state"] != "arriving":
                return number
        except (OSError, HTTPException, ValueError):
            broken = True
        time.sleep(_AGAIN_S)


def _announce(caller: Caller, client_id: str) -> tuple[int, int, str]:
    status, answer = caller.json(
        "POST",
        "/api/takes",
        {
            "client_id": client_id,
            "exercise": caller.rig.exercise,
            "tempo_bpm": caller.rig.bpm,
            "media_type": "audio/mp4",
            "recorded_at": "2027-03-04T09:00:00+00:00",
        },
    )
    if status != 201:
        raise HTTPException(str(answer))
    return answer["id"], answer["offset"], answer["state"]


def _wait_for_judging(rig: Rig) -> None:
    database, ends = Database(rig.settings.database), time.monotonic() + _BEGINS_WITHIN_S
    while time.monotonic() < ends:
        with database.reading() as transaction:
            if takes.count_by_state(transaction)[TakeState.JUDGING]:
                break
        time.sleep(0.02)
    database.close()


def _wait_until_settled(rig: Rig) -> None:
    database = Database(rig.settings.database)
    left, ends = -1, time.monotonic() + _SETTLES_WITHIN_S
    while left and time.monotonic() < ends:
        with database.reading() as transaction:
            counts, _ = takes.waiting(transaction)
        before, left = left, sum(counts.values())
        if left != before:
            ends = time.monotonic() + _SETTLES_WITHIN_S
        time.sleep(0.2)
    database.close()


def _counted(rig: Rig, sent: _Sent, kills: int, of_judges: int, took_s: float) -> Count:
    database, files = Database(rig.settings.database), TakeFiles(rig.settings.home / "takes")
    stored = _stored(database)
    lost = [client_id for client_id, number in sent.received.items() if stored.get(number) is None]
    accepted = [stored[number] for number in sent.received.values() if number in stored]
    damaged = [take for take in accepted if not _is_whole(rig, files, take)]
    judged = [take for take in accepted if take.state is TakeState.JUDGED]
    doubled = len(sent.received) - len(set(sent.received.values()))
    count = Count(
        kills=kills,
        of_servers=kills - of_judges,
        of_judges=of_judges,
        accepted=len(sent.received),
        lost=len(lost),
        damaged=len(damaged),
        judged=len(judged),
        unjudged=len(accepted) - len(judged),
        twice=doubled + _heard_otherwise_than_once(database, judged),
        begun_again=sum(take.tries > 1 for take in accepted),
        resumed=sent.resumed,
        took_s=took_s,
    )
    database.close()
    return count


def _stored(database: Database) -> dict[int, TakeRecord]:
    with database.reading() as transaction:
        rows = transaction.execute(takes.select_takes()).all()
    return {row.id: takes.take_from(row) for row in rows}


def _is_whole(rig: Rig, files: TakeFiles, take: TakeRecord) -> bool:
    """Whether what lies on disk is what that device sent."""
    _, student, number = take.client_id.split("-")
    expected = rig.recording + int(number).to_bytes(4, "big") + int(student).to_bytes(2, "big")
    return take.file is not None and files.path(take.file).read_bytes() == expected


def _heard_otherwise_than_once(database: Database, judged: list[TakeRecord]) -> int:
    """Judged takes whose verdicts are not one for each note of their one hearing."""
    wrong = 0
    with database.reading() as transaction:
        for take in judged:
            hearing = hearings.find_hearing(transaction, take.id)
            verdicts = hearings.verdicts_of(transaction, take.id)
            wrong += hearing is None or len(verdicts) != hearing.notes
    return wrong
