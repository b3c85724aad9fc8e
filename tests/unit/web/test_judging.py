"""Judging: real processes, real recordings, and what happens when a process is killed over one."""

import os
import signal
import threading
import time
from collections.abc import Callable

import pytest

from fretwright.base.errors import JudgeLostError
from fretwright.ear.take import Refusal
from fretwright.ear.verdicts import Hearing
from fretwright.flows.benches import Cluster, ProcessBench
from fretwright.flows.judging import JudgeOrder, judge_next
from fretwright.sound.files import encode_audio
from fretwright.sound.render import render
from fretwright.store import hearings, takes
from fretwright.store.records import TakeState
from fretwright.web.judging import CLAIM_LASTS, Judging
from school import Class, FakeBench, judge_all, send_take

EXERCISE = "01-stairs/up-and-back"


def played(school_class: Class) -> tuple[bytes, JudgeOrder]:
    """A take of the exercise, as the string model plays it, and the order to hear it."""
    taught = school_class.school.classroom.now
    exercise = taught.checked.course.exercise(EXERCISE)
    score = taught.checked.score_of(exercise)
    recording = encode_audio(render(score, 100), ".m4a")
    return recording, JudgeOrder(score, exercise.ladder, 100, recording)


def state(school_class: Class, number: int) -> TakeState:
    with school_class.school.database.reading() as transaction:
        take = takes.find_take(transaction, number)
    assert take is not None
    return take.state


def test_a_process_hears_what_was_played_and_survives_its_own_death(school_class: Class) -> None:
    recording, order = played(school_class)
    bench = ProcessBench()
    heard = bench.hear(order)
    assert isinstance(heard, Hearing)
    assert {note.verdict.value for note in heard.notes} == {"played"}
    broken = bench.hear(JudgeOrder(order.score, order.ladder, 100, recording[:100]))
    assert isinstance(broken, Refusal)

    pool = bench._pool
    assert pool is not None
    (process,) = pool._processes.values()
    killing = threading.Timer(0.02, os.kill, (process.pid, signal.SIGTERM))
    killing.start()
    with pytest.raises(JudgeLostError):
        _hear_on_and_on(bench, order)
    killing.join()

    assert bench.hear(order) == heard
    bench.close()


def _hear_on_and_on(bench: ProcessBench, order: JudgeOrder) -> None:
    for _ in range(200):
        bench.hear(order)


class DyingBench(FakeBench):
    """Dies over a recording as often as it is told."""

    def __init__(self, deaths: int) -> None:
        super().__init__()
        self.deaths = deaths

    def hear(self, order: JudgeOrder) -> Hearing | Refusal:
        if self.deaths:
            self.deaths -= 1
            raise JudgeLostError("killed")
        return super().hear(order)


def test_a_take_whose_judge_dies_is_judged_by_the_next(school_class: Class) -> None:
    number = send_take(school_class.client(school_class.student), EXERCISE, b"sound")["id"]
    bench = DyingBench(2)

    for expected in (TakeState.RECEIVED, TakeState.RECEIVED, TakeState.JUDGED):
        assert judge_next(school_class.school.queue, bench)
        assert state(school_class, number) is expected


def test_a_take_that_kills_every_judge_is_given_up_and_says_so(school_class: Class) -> None:
    client = school_class.client(school_class.student)
    number = send_take(client, EXERCISE, b"sound")["id"]

    assert judge_all(school_class.school, DyingBench(takes.MOST_TRIES)) == takes.MOST_TRIES

    failed = client.get(f"/api/takes/{number}").json()
    assert failed["state"] == "failed"
    assert "several times" in failed["trouble"]
    assert client.get(f"/api/takes/{number}/recording").content == b"sound"


def test_a_server_that_died_begins_with_what_it_had_in_hand(school_class: Class) -> None:
    school = school_class.school
    number = send_take(school_class.client(school_class.student), EXERCISE, b"sound")["id"]
    assert school.queue.claim() is not None
    assert school.queue.claim() is None

    assert school.queue.hand_out_again() == 0
    holder = school.judging._holder
    assert school.queue.hand_out_again(mine="another") == 0
    assert school.queue.hand_out_again(mine=holder) == 1
    assert judge_all(school) == 1
    assert state(school_class, number) is TakeState.JUDGED


def test_a_judge_that_comes_too_late_stores_nothing(school_class: Class) -> None:
    school = school_class.school
    number = send_take(school_class.client(school_class.student), EXERCISE, b"sound")["id"]
    late = school.queue.claim()
    assert late is not None
    school_class.clock.forward(seconds=CLAIM_LASTS.total_seconds())
    assert school.queue.hand_out_again() == 1
    assert judge_all(school) == 1

    assert not school.queue.settle(late, Refusal("Too late.", ""))

    assert state(school_class, number) is TakeState.JUDGED


def test_an_exercise_that_was_changed_meanwhile_is_judged_as_it_was(school_class: Class) -> None:
    school, client = school_class.school, school_class.client(school_class.student)
    number = send_take(client, EXERCISE, b"sound")["id"]
    lesson = school.settings.course / "lessons" / "01-stairs.md"
    text = lesson.read_text(encoding="utf-8")
    lesson.write_text(text.replace("path: up, down", "path: up"), encoding="utf-8")
    before = school.classroom.now.exercises[EXERCISE]
    assert school.classroom.read_again()
    assert school.classroom.now.exercises[EXERCISE].id != before.id

    judge_all(school)

    with school.database.reading() as transaction:
        heard = hearings.find_hearing(transaction, number)
    assert heard is not None
    assert heard.notes == len(school.classroom.wording(before).score.notes)  # type: ignore[union-attr]  # it was read


def test_new_fingers_leave_an_exercise_the_same(school_class: Class) -> None:
    school = school_class.school
    before = school.classroom.now.exercises
    lesson = school.settings.course / "lessons" / "01-stairs.md"
    text = lesson.read_text(encoding="utf-8")
    lesson.write_text(text.replace("Say each string *aloud*.", "Sing it."), encoding="utf-8")

    assert school.classroom.read_again()

    assert school.classroom.now.exercises == before


def test_the_threads_judge_what_comes(school_class: Class, monkeypatch: pytest.MonkeyPatch) -> None:
    school = school_class.school
    monkeypatch.setattr(Judging, "_made", lambda _: [_Ready()])
    school.judging.start()
    number = send_take(school_class.client(school_class.student), EXERCISE, b"sound")["id"]

    _until(lambda: state(school_class, number) is TakeState.JUDGED)
    assert school.judging.is_news(number)
    school.judging.close()


class _Ready(FakeBench):
    def warm_up(self, order: JudgeOrder) -> None: ...

    def close(self) -> None: ...


def _until(happened: Callable[[], bool]) -> None:
    ends = time.monotonic() + 20
    while not happened():
        assert time.monotonic() < ends
        time.sleep(0.02)


def test_a_cluster_judges_and_a_lost_worker_loses_nothing(school_class: Class) -> None:
    from distributed import LocalCluster

    recording, _ = played(school_class)
    school, client = school_class.school, school_class.client(school_class.student)
    numbers = [
        send_take(client, EXERCISE, recording, client_id=f"take-{count:04d}")["id"] for count in range(3)
    ]
    with LocalCluster(  # type: ignore[no-untyped-call]  # typed in part
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
    ) as local:
        cluster = Cluster.connect(local.scheduler_address)
        assert cluster.size == 1
        assert judge_next(school.queue, cluster)
        (worker,) = local.workers.values()
        worker.process.process.kill()
        while judge_next(school.queue, cluster):
            pass
        cluster.close()
    assert [state(school_class, number) for number in numbers] == [TakeState.JUDGED] * 3
