"""The course that is being taught: read from its folder, and read again when the teacher changes it."""

import hashlib
import json
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fretwright.check.check import Checked
from fretwright.flows.digests import digest_of_folder
from fretwright.flows.reading import check_course
from fretwright.score.score import Score
from fretwright.score.tempo import Ladder
from fretwright.store import classes
from fretwright.store.database import Database
from fretwright.store.records import CourseRecord, ExerciseRecord
from fretwright.web.clock import Clock


@dataclass(frozen=True, slots=True)
class Taught:
    """The course as it stands at one moment."""

    checked: Checked
    record: CourseRecord
    exercises: Mapping[str, ExerciseRecord]
    """Every exercise that can be practised, by ``lesson/exercise``."""
    digest: str
    """Of the whole folder."""


@dataclass(frozen=True, slots=True)
class Wording:
    """One exercise as it was worded when a take of it was recorded."""

    score: Score
    """With the fingers and strokes that were found."""
    ladder: Ladder


class Classroom:
    """Keeps the course at hand. ``now`` costs nothing; ``read_again`` costs what changed."""

    def __init__(self, folder: Path, database: Database, clock: Clock) -> None:
        """Read the course.

        Raises :class:`~fretwright.base.errors.CourseError` if there is none.
        """
        self._folder: Final = folder
        self._database: Final = database
        self._clock: Final = clock
        self._lock: Final = threading.Lock()
        self._wordings: Final[dict[tuple[str, str], Wording]] = {}
        self._taught = self._read(self._digest())

    @property
    def now(self) -> Taught:
        """The course as last read."""
        return self._taught

    def read_again(self) -> bool:
        """Read the folder if anything in it is different. Says whether it was."""
        with self._lock:
            digest = self._digest()
            if digest == self._taught.digest:
                return False
            self._taught = self._read(digest)
            return True

    def wording(self, exercise: ExerciseRecord) -> Wording | None:
        """An exercise as it was when it was recorded; ``None`` if this server never read it so."""
        return self._wordings.get((exercise.name, exercise.digest))

    def any_wording(self) -> Wording | None:
        """One that can be practised, whichever."""
        return next(iter(self._wordings.values()), None)

    def _digest(self) -> str:
        return digest_of_folder(self._folder, apart_from=self._folder / ".none")

    def _read(self, digest: str) -> Taught:
        checked = check_course(self._folder)
        playable = [each for each in checked.course.exercises if each.name in checked.fingered]
        wordings = [(each.name, wording_digest(checked.score_of(each)), each.title) for each in playable]
        now = self._clock()
        with self._database.writing() as transaction:
            record = classes.ensure_course(
                transaction, name=self._folder.name, title=checked.course.title, now=now
            )
            exercises = classes.ensure_exercises(transaction, record.id, wordings, now)
        for each in playable:
            record_of = exercises[each.name]
            self._wordings[each.name, record_of.digest] = Wording(checked.score_of(each), each.ladder)
        return Taught(checked, record, exercises, digest)


def wording_digest(score: Score) -> str:
    """One word for what is asked of the player: which notes, where, when and how they start.

    Fingers and remarks are not in it, nor is the version of the program: takes of before and after a
    change to those are takes of the same exercise.
    """
    asked = [
        [note.id, note.string, note.fret, str(note.onset), str(note.duration), note.attack.value]
        for note in score.notes
    ]
    return hashlib.sha256(json.dumps(asked).encode()).hexdigest()[:32]
