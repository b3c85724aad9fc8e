"""Judging in the background: threads that take recordings to benches, and the queue that they share."""

import logging
import secrets
import threading
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Protocol

from fretwright.base.errors import FretwrightError
from fretwright.ear.take import Refusal
from fretwright.ear.verdicts import HeardAttack, Hearing, Verdict
from fretwright.flows.benches import Cluster, ProcessBench, cores_for_judging
from fretwright.flows.hearings import stored_hearing
from fretwright.flows.judging import Bench, JudgeOrder, judge_next
from fretwright.store import hearings, takes
from fretwright.store.database import Database
from fretwright.store.records import HearingRecord, NoteVerdict, TakeRecord, TakeState
from fretwright.store.takefiles import TakeFiles
from fretwright.web.classroom import Classroom
from fretwright.web.clock import Clock
from fretwright.web.settings import Settings

_LOG: Final = logging.getLogger("fretwright.judging")
CLAIM_LASTS: Final = timedelta(minutes=3)
"""Longer than any take takes: decoding is cut off after one minute, hearing takes seconds."""
_LOOK_S: Final = 1.0
_CHANGED: Final = Refusal(
    "The exercise was changed after this was recorded.", "Record it again as it stands now."
)


@dataclass(frozen=True, slots=True)
class ClaimedTake:
    """A take in hand, with the claim that holds it."""

    take: TakeRecord
    claim: str
    order: JudgeOrder | Refusal


class StoredQueue:
    """The queue of takes, as the database has it."""

    def __init__(
        self, database: Database, files: TakeFiles, classroom: Classroom, clock: Clock, holder: str
    ) -> None:
        """``holder`` begins every claim, so that a server knows its own."""
        self._database: Final = database
        self._files: Final = files
        self._classroom: Final = classroom
        self._clock: Final = clock
        self._holder: Final = holder
        self._settled: Final[deque[int]] = deque(maxlen=2000)

    def claim(self) -> ClaimedTake | None:
        """Take the next one in hand."""
        claim = f"{self._holder}.{secrets.token_hex(8)}"
        with self._database.writing() as transaction:
            take = takes.claim_next(transaction, claim, self._clock() + CLAIM_LASTS)
        return None if take is None else ClaimedTake(take, claim, self._order(take))

    def settle(self, claimed: ClaimedTake, heard: Hearing | Refusal) -> bool:
        """Store what was heard, if the claim still holds."""
        now = self._clock()
        with self._database.writing() as transaction:
            if isinstance(heard, Refusal):
                trouble = f"{heard.reason} {heard.mend}".strip()
                kept = takes.settle(
                    transaction, claimed.take.id, claimed.claim, TakeState.REFUSED, now, trouble
                )
            else:
                record = hearing_record(claimed.take.id, heard, now)
                kept = hearings.store_hearing(
                    transaction, claimed.take, claimed.claim, record, note_verdicts(heard)
                )
        self._settled.append(claimed.take.id)
        return kept

    def give_back(self, claimed: ClaimedTake) -> None:
        """Put it back."""
        with self._database.writing() as transaction:
            takes.give_back(transaction, claimed.take.id, claimed.claim, self._clock())

    def hand_out_again(self, *, mine: str | None = None) -> int:
        """Put back what nobody holds any more, and what claims of that holder hold."""
        with self._database.writing() as transaction:
            return takes.hand_out_again(transaction, self._clock(), claims_like=mine)

    def is_news(self, take_id: int) -> bool:
        """Whether a take was settled here a moment ago."""
        return take_id in self._settled

    def _order(self, take: TakeRecord) -> JudgeOrder | Refusal:
        wording = self._classroom.wording(take.exercise)
        if wording is None or take.file is None:
            return _CHANGED
        return JudgeOrder(wording.score, wording.ladder, take.tempo_bpm, self._files.path(take.file))


class ClosableBench(Bench, Protocol):
    """A bench that is warmed up before and closed after its work."""

    def warm_up(self, order: JudgeOrder) -> None:
        """Have it ready."""

    def close(self) -> None:
        """End it."""


class Judging:
    """The threads. Nothing runs before :meth:`start`."""

    def __init__(self, queue: StoredQueue, settings: Settings, classroom: Classroom, holder: str) -> None:
        """Judge what is in ``queue`` where ``settings`` say."""
        self._queue: Final = queue
        self._settings: Final = settings
        self._classroom: Final = classroom
        self._holder: Final = holder
        self._work: Final = threading.Condition()
        self._ended = False
        self._threads: list[threading.Thread] = []
        self._benches: list[ClosableBench] = []

    def start(self) -> None:
        """Begin: first what a server that died had in hand, then what waits."""
        if self._threads:
            return
        again = self._queue.hand_out_again(mine=self._holder)
        if again:
            _LOG.info("%d takes are judged again that were in hand when the school ended", again)
        self._benches = list(self._made())
        for number, bench in enumerate(self._benches):
            thread = threading.Thread(target=self._run, args=(bench,), name=f"judge-{number}", daemon=True)
            self._threads.append(thread)
            thread.start()

    def tell(self) -> None:
        """Say that there is work."""
        with self._work:
            self._work.notify()

    def is_news(self, take_id: int) -> bool:
        """Whether a take was settled by this server a moment ago."""
        return self._queue.is_news(take_id)

    def close(self) -> None:
        """End; what is in hand is handed out again at the next start."""
        self._ended = True
        with self._work:
            self._work.notify_all()
        for bench in self._benches:
            bench.close()

    def _made(self) -> Sequence[ClosableBench]:
        if self._settings.cluster is not None:
            cluster = Cluster.connect(self._settings.cluster)
            return [cluster] * max(cluster.size, 1)
        return [ProcessBench() for _ in range(self._settings.workers or cores_for_judging())]

    def _run(self, bench: ClosableBench) -> None:
        self._warm_up(bench)
        while not self._ended:
            try:
                if not judge_next(self._queue, bench) and not self._ended:
                    self._queue.hand_out_again()
                    with self._work:
                        self._work.wait(_LOOK_S)
            except Exception:  # noqa: BLE001 - a thread that ended would judge nothing more
                # the database may be away for a moment; the take in hand is handed out again later
                _LOG.exception("judging was interrupted")
                with self._work:
                    self._work.wait(_LOOK_S)

    def _warm_up(self, bench: ClosableBench) -> None:
        exercise = self._classroom.any_wording()
        if exercise is None:
            return
        try:
            bench.warm_up(JudgeOrder(exercise.score, exercise.ladder, exercise.ladder.start_bpm, b""))
        except FretwrightError as error:
            _LOG.warning("a bench could not be made ready: %s", error)


def hearing_record(take_id: int, heard: Hearing, now: datetime) -> HearingRecord:
    """What is stored of a hearing beside its notes."""
    return HearingRecord(
        take_id=take_id,
        heard=stored_hearing(heard),
        tempo_bpm=heard.tempo_bpm,
        notes=len(heard.notes),
        notes_played=sum(note.verdict is Verdict.PLAYED for note in heard.notes),
        timing_spread_ms=heard.timing_spread_ms,
        mean_offset_ms=heard.mean_offset_ms,
        drift_percent=heard.drift_percent,
        slur_level_db=_slur_level_db(heard),
        headline=heard.advice.headline,
        next_bpm=heard.advice.next_bpm,
        heard_at=now,
    )


def note_verdicts(heard: Hearing) -> tuple[NoteVerdict, ...]:
    """What the class picture counts of a hearing."""
    return tuple(
        NoteVerdict(
            place=place,
            note_id=note.id,
            verdict=note.verdict.value,
            timing_ms=note.timing_ms,
            level_db=note.level_db,
            attack=None if note.attack is None else note.attack.value,
        )
        for place, note in enumerate(heard.notes)
    )


def _slur_level_db(heard: Hearing) -> float | None:
    """Mean level of what was heard slurred; levels are measured against the plucked notes."""
    levels = [
        note.level_db for note in heard.notes if note.attack is HeardAttack.SLUR and note.level_db is not None
    ]
    return sum(levels) / len(levels) if levels else None
