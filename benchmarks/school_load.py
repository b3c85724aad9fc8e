"""How a school bears many students at once, and how soon a verdict stands.

Three questions on a real server of this machine, over SQLite:

* 200 students open pages, each every five seconds or so: how long a page takes, against a file of the same
  server that needs neither database nor template;
* a take of 30 s is sent in pieces while it is recorded: how long from its end to its verdicts, against the
  hearing alone;
* takes wait in a queue: how fast one and two processes judge them, as a multiple of real time, and how the
  memory of the server and of its judges stands after each tenth of them.

``python benchmarks/school_load.py [--students 200] [--takes 100] [--seconds 30] [--workers N]``
"""

import argparse
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime
from http import HTTPStatus
from pathlib import Path
from statistics import median, quantiles

sys.path.append(str(Path(__file__).parents[1]))

import numpy as np
from evaluation.school.crowd import Asked, crowd
from evaluation.school.rig import Caller, Rig, open_rig, sha256

from fretwright.flows.judging import JudgeOrder, hear_order
from fretwright.flows.reading import check_course
from fretwright.sound.files import encode_audio
from fretwright.sound.render import render
from fretwright.store import people, takes
from fretwright.store.database import Database
from fretwright.store.records import TakeOrder, TakeState
from fretwright.store.takefiles import TakeFiles

_PIECE_S = 1.0
_LONG_S = 30.0
_TENTHS = 10
_LEAST_ASKED = 20
"""How often each page has to be opened before 95 of 100 mean anything."""


def main() -> None:
    """Ask the three questions, and print a line for each answer."""
    options = argparse.ArgumentParser()
    options.add_argument("--students", type=int, default=200)
    options.add_argument("--takes", type=int, default=100)
    options.add_argument("--seconds", type=float, default=30.0)
    options.add_argument(
        "--workers", type=int, action="append", help="1 and 2, one after the other, if not said"
    )
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        rig = open_rig(Path(folder), None, students=asked.students)
        rig.recording, length_s = long_take(rig)
        try:
            pages(rig, asked.seconds)
            verdict(rig, length_s)
            for workers in asked.workers or (1, 2):
                queue(rig, asked.takes, length_s, workers)
        finally:
            rig.stop()


def long_take(rig: Rig) -> tuple[bytes, float]:
    """The exercise over and over for just 30 s, as the string model plays it, in the form a browser sends."""
    checked = check_course(rig.course)
    sound = render(checked.score_of(checked.course.exercise(rig.exercise)), rig.bpm)
    frames = round(_LONG_S * len(sound.samples) / sound.duration_s)
    again = replace(sound, samples=np.resize(sound.samples, (frames, sound.samples.shape[1])))
    return encode_audio(again, ".webm"), _LONG_S


def pages(rig: Rig, lasts_s: float) -> None:
    """Question 1."""
    rig.workers = 1
    rig.start()
    lesson = rig.exercise.partition("/")[0]
    paths = ["/course/index.html", f"/course/lessons/{lesson}.html", "/today", "/progress", "/account"]
    plain = "/static/school.css"
    for path in [*paths, plain]:  # what is read from disk once is read before
        status, _ = Caller(rig, 0).call("GET", path, headers={"Accept": "text/html"})
        print(f"   {path}: {status}")
    asked = crowd(rig, [*paths, plain], lasts_s=lasts_s, seed=1)
    reference = [each for each in asked if each.path == plain]
    told = [each for each in asked if each.path != plain]
    if min(sum(each.path == path for each in asked) for path in [*paths, plain]) < _LEAST_ASKED:
        sys.exit(f"A page was opened less than {_LEAST_ASKED} times: ask for more students, or for longer.")
    failed = sum(each.status != HTTPStatus.OK for each in asked)
    print(
        f"pages: {len(rig.cookies)} students, {len(asked) / lasts_s:.0f} requests a second, {failed} failed"
    )
    for path in paths:
        print(f"   {path}: {_times([each for each in told if each.path == path])}")
    print(f"   all: {_times(told)}; a plain file: {_times(reference)}")
    print(f"   ratio of the medians: {_median_ms(told) / _median_ms(reference):.1f}")


def _times(asked: list[Asked]) -> str:
    cuts = quantiles([1000 * each.took_s for each in asked], n=20)
    return f"median {_median_ms(asked):.1f} ms, 95 of 100 within {cuts[18]:.1f} ms"


def _median_ms(asked: list[Asked]) -> float:
    return 1000 * median(each.took_s for each in asked)


def verdict(rig: Rig, length_s: float, rounds: int = 5) -> None:
    """Question 2: all but the last second is there when the take ends, as it is sent while it is recorded."""
    order = _order(rig)
    hear_order(order)
    alone_s = []
    for _ in range(rounds):
        began = time.perf_counter()
        hear_order(order)
        alone_s.append(time.perf_counter() - began)
    caller, stood_s, page_s = Caller(rig, 0), [], []
    cut = int(len(rig.recording) * (1 - _PIECE_S / length_s))
    for number in range(rounds):
        take = _announced(caller, f"take-verdict-{number:04d}")
        path = f"/api/takes/{take}/content"
        caller.call("PATCH", path, rig.recording[:cut], {"Upload-Offset": "0"})
        ended = time.perf_counter()
        caller.call("PATCH", path, rig.recording[cut:], {"Upload-Offset": str(cut)})
        whole = {"size_bytes": len(rig.recording), "sha256": sha256(rig.recording)}
        caller.json("POST", f"/api/takes/{take}/finish", whole)
        _, answer = caller.json("GET", f"/api/takes/{take}?wait_s=20")
        stood_s.append(time.perf_counter() - ended)
        if answer["state"] != TakeState.JUDGED:
            sys.exit(f"The take was not judged ({answer['state']}): a figure would mean nothing.")
        status, _ = caller.call("GET", f"/practice/takes/{take}/verdicts", headers={"Accept": "text/html"})
        if status != HTTPStatus.OK:
            sys.exit(f"The verdicts were answered with {status}: a figure would mean nothing.")
        page_s.append(time.perf_counter() - ended)
    print(
        f"verdict of a take of {length_s:.0f} s: after {median(stood_s):.2f} s, on the plate after "
        f"{median(page_s):.2f} s (slowest of {rounds}: {max(page_s):.2f} s); "
        f"hearing alone {median(alone_s):.2f} s, ratio {median(page_s) / median(alone_s):.1f}"
    )
    rig.stop()


def _announced(caller: Caller, client_id: str) -> int:
    _, answer = caller.json(
        "POST",
        "/api/takes",
        {
            "client_id": client_id,
            "exercise": caller.rig.exercise,
            "tempo_bpm": caller.rig.bpm,
            "media_type": "audio/webm",
            "recorded_at": datetime.now(UTC).isoformat(),
        },
    )
    number: int = answer["id"]
    return number


def _order(rig: Rig) -> JudgeOrder:
    checked = check_course(rig.course)
    exercise = checked.course.exercise(rig.exercise)
    return JudgeOrder(checked.score_of(exercise), exercise.ladder, rig.bpm, rig.recording)


def queue(rig: Rig, count: int, length_s: float, workers: int) -> None:
    """Question 3: takes are put where uploads would put them, then the server is started."""
    database, files = Database(rig.settings.database), TakeFiles(rig.settings.home / "takes")
    _fill(rig, database, files, count, workers)
    rig.workers = workers
    rig.start()
    began, held = time.monotonic(), list[tuple[float, float]]()
    first: float | None = None
    while True:
        with database.reading() as transaction:
            counts = takes.count_by_state(transaction)
        left = counts[TakeState.RECEIVED] + counts[TakeState.JUDGING]
        if first is None and left < count:
            # the processes have started: from here on it is judging that is timed
            first, began = count - left, time.monotonic()
        if count - left >= (len(held) + 1) * count / _TENTHS:
            held.append(rig.memory_mb())
        if not left:
            break
        time.sleep(0.05)
    took_s = time.monotonic() - began
    judged = count - (first or 0)
    unheard = counts[TakeState.FAILED] + counts[TakeState.REFUSED]
    print(
        f"queue: {judged} takes of {length_s:.0f} s by {workers} in {took_s:.1f} s, "
        f"{judged * length_s / took_s:.0f} times real time; failed or refused: {unheard}"
    )
    for who, each in zip(("server", "judges and decoders"), zip(*held, strict=True), strict=True):
        print(f"   {who}, MB after each tenth: {', '.join(f'{mb:.0f}' for mb in each)}")
    rig.stop()
    database.close()


def _fill(rig: Rig, database: Database, files: TakeFiles, count: int, workers: int) -> None:
    now = datetime.now(UTC)
    with database.reading() as transaction:
        person = people.person_by_email(transaction, "student0@example.org")
        if person is None:
            sys.exit("The rig's first student is not enrolled.")
        exercise = takes.takes_of(transaction, person.id)[-1].exercise
    for number in range(count):
        name = files.write(rig.recording)
        with database.writing() as transaction:
            order = TakeOrder(
                person.id, exercise.id, f"take-queue-{workers}-{number:05d}", rig.bpm, None, "audio/webm", now
            )
            take = takes.begin_take(transaction, order, now)
            takes.note_stored(transaction, take.id, file=name, stored_bytes=len(rig.recording))
            takes.receive(transaction, take.id, now)


if __name__ == "__main__":
    main()
