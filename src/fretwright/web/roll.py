"""The whole class, worked out once and again only where something has changed.

What is known of a student's takes is counted in the database, and so is what is known of an exercise's: the
count rises with every hearing, overrule and deletion. What was worked out at one count stands until the next,
in each server for itself; after a start it is worked out in the background, before anybody asks.
"""

import logging
import threading
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any, Final
from zoneinfo import ZoneInfo

from fretwright.base.errors import FretwrightError
from fretwright.ear.verdicts import Verdict
from fretwright.flows.class_picture import ClassPicture, NoteOutcome, class_picture
from fretwright.flows.following import Followed, Footing, Member, follow, footing_of
from fretwright.store import classes, following, people
from fretwright.store.records import Person
from fretwright.web.classroom import Taught
from fretwright.web.school import School
from fretwright.web.studies import practised_in, summaries_of

_LOG: Final = logging.getLogger("fretwright.roll")
_LOOK_S: Final = 4.0
_BREATH_S: Final = 0.001
"""Pages go first."""
NEWEST: Final = 5
"""So many of each student's newest takes make a picture."""


@dataclass(frozen=True, slots=True)
class _Kept:
    """Something worked out, and what it stands for."""

    key: Hashable
    value: Any


_FOOTINGS: Final[dict[tuple[bytes, int], _Kept]] = {}
"""By school and student."""
_PICTURES: Final[dict[tuple[bytes, str], _Kept]] = {}
"""By school and exercise."""


def followed_class(school: School) -> tuple[Followed, ...]:
    """The class, those who need the teacher first."""
    with school.database.reading() as transaction:
        students = people.students_of(transaction, school.classroom.now.record.id)
    return follow([member_of(school, student) for student in students], school.now())


def member_of(school: School, student: Person) -> Member:
    """A student as the class is followed."""
    zone = ZoneInfo(student.time_zone)
    return Member(student.id, student.name, zone, _footing(school, student), student.created_at)


def _footing(school: School, student: Person) -> Footing:
    taught = school.classroom.now
    course = practised_in(taught)
    key = (student.changes, course, tuple(taught.exercises[each.name].digest for each in course))
    kept = _FOOTINGS.get((school.key, student.id))
    if kept is None or kept.key != key:
        kept = _Kept(key, footing_of(summaries_of(school, student), course))
        _FOOTINGS[school.key, student.id] = kept
    found: Footing = kept.value
    return found


def class_pictures(school: School) -> Mapping[str, ClassPicture]:
    """Each exercise over the class, by its name."""
    taught = school.classroom.now
    changes = _changes_in(school, taught)
    return {name: _picture(school, taught, name, changes) for name in taught.exercises}


def picture_of(school: School, name: str) -> ClassPicture:
    """One exercise over the class, by the newest takes of each student."""
    taught = school.classroom.now
    return _picture(school, taught, name, _changes_in(school, taught))


def _changes_in(school: School, taught: Taught) -> Mapping[int, int]:
    with school.database.reading() as transaction:
        return classes.changes_of(transaction, taught.record.id)


def _picture(school: School, taught: Taught, name: str, changes: Mapping[int, int]) -> ClassPicture:
    exercise = taught.exercises[name]
    key = (exercise.digest, changes[exercise.id])
    kept = _PICTURES.get((school.key, name))
    if kept is None or kept.key != key:
        with school.database.reading() as transaction:
            found = following.class_verdicts(transaction, exercise.id, newest=NEWEST)
        outcomes = (
            NoteOutcome(each.person_id, each.take_id, each.note_id, Verdict(each.verdict)) for each in found
        )
        kept = _Kept(key, class_picture(taught.checked.fingered[name].score, outcomes))
        _PICTURES[school.key, name] = kept
    picture: ClassPicture = kept.value
    return picture


class RollKeeper:
    """One thread that works out whatever has changed, so that the teacher's next look need not."""

    def __init__(self, school: School) -> None:
        """Keep the roll of that school."""
        self._school: Final = school
        self._ended: Final = threading.Event()
        self._thread: Final = threading.Thread(target=self._run, name="roll", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def close(self) -> None:
        """End after what is in hand."""
        self._ended.set()
        self._thread.join(timeout=5)

    def _run(self) -> None:
        while not self._ended.wait(_LOOK_S):
            try:
                self._look()
            except FretwrightError as error:
                _LOG.warning("the class is worked out later: %s", error)
            except Exception:  # noqa: BLE001 - the next look tries again
                _LOG.exception("the class is worked out later")

    def _look(self) -> None:
        taught = self._school.classroom.now
        with self._school.database.reading() as transaction:
            students = people.students_of(transaction, taught.record.id)
        changes = _changes_in(self._school, taught)
        for student in students:
            _footing(self._school, student)
            if self._ended.wait(_BREATH_S):
                return
        for name in taught.exercises:
            _picture(self._school, taught, name, changes)
            if self._ended.wait(_BREATH_S):
                return
