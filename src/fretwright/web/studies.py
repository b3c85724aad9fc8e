"""One student's practice as the pages need it: what the store holds, brought to the planner."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Final
from zoneinfo import ZoneInfo

from fretwright.base.errors import UsageError
from fretwright.ear.verdicts import Hearing, Verdict
from fretwright.flows.digests import digest
from fretwright.flows.hearings import hearing_of
from fretwright.flows.planning import Stamp, overruled, practised, stored_summary, summary_from, summary_of
from fretwright.flows.schedule import openings
from fretwright.practice.days import believed
from fretwright.practice.history import History, PracticeExercise, Remark, TakeSummary
from fretwright.practice.standing import Standing, standing_of
from fretwright.score.score import Score
from fretwright.store import classes, hearings, remarks, takes
from fretwright.store.database import Transaction
from fretwright.store.records import HeardTake, Person, TakeRecord
from fretwright.web.classroom import Taught
from fretwright.web.school import School

MOST_TAKES: Final = 600
"""Of a student, the newest: what lies before them changes no plan any more."""


@dataclass(frozen=True, slots=True)
class Study:
    """All that a plan or a progress page is made from."""

    course: tuple[PracticeExercise, ...]
    history: History
    releases: Mapping[str, datetime]
    """Lesson slug -> when it opens to this student."""
    zone: tzinfo

    def standing(self, exercise: str) -> Standing | None:
        """Where the student stands on an exercise; ``None`` where the course has none of that name."""
        for each in self.course:
            if each.name == exercise:
                return standing_of(self.history.of(exercise), each.ladder)
        return None


def study_of(school: School, person: Person) -> Study:
    """A student's practice in the course that is taught."""
    taught = school.classroom.now
    zone = ZoneInfo(person.time_zone)
    summaries = summaries_of(school, person)
    with school.database.reading() as transaction:
        said = _remarks(transaction, person, {int(one.id): one.exercise for one in summaries})
        place = classes.enrolment(transaction, person.id, taught.record.id)
        by_hand = classes.releases(transaction, taught.record.id, person.id)
    opened = {one.lesson: one.released_at for one in by_hand}
    schedule = openings(taught.checked.course, place.starts_on, opened) if place is not None else ()
    return Study(
        course=practised_in(taught),
        history=History(summaries, said),
        releases={
            one.lesson: min(one.opens_at(zone), one.opened_at or one.opens_at(zone)) for one in schedule
        },
        zone=zone,
    )


def summaries_of(school: School, person: Person) -> tuple[TakeSummary, ...]:
    """A student's newest takes as practice knows them.

    Those of another wording of their exercise were of another task and are left out. What a take comes to is
    worked out once and kept beside its hearing, under a key of the program, the wording and the overrules.
    """
    taught = school.classroom.now
    with school.database.reading() as transaction:
        judged = hearings.heard_wordings(transaction, person.id, taught.record.id, limit=MOST_TAKES)
        overrules = hearings.overrules_to(transaction, person.id)
        keys = {
            one.take_id: digest(one.digest, sorted(overrules.get(one.take_id, {}).items()))
            for one in judged
            if one.exercise in taught.exercises and taught.exercises[one.exercise].digest == one.digest
        }
        kept = hearings.summaries(transaction, keys)
        missing = hearings.heard_takes(transaction, [number for number in keys if number not in kept])
    if missing:
        made = {one.take.id: _summary(taught, one, overrules.get(one.take.id, {})) for one in missing}
        # that a take comes to nothing is kept as well: an empty document
        stored = {number: {} if one is None else stored_summary(one) for number, one in made.items()}
        with school.database.writing() as transaction:
            hearings.keep_summaries(transaction, keys, stored)
        kept |= stored
    return tuple(summary_from(one) for one in kept.values() if one)


def heard_take(school: School, take: TakeRecord) -> Hearing | None:
    """What is said of a take, the teacher's word in place of the ear's; ``None`` while it is not judged."""
    with school.database.reading() as transaction:
        found = hearings.find_hearing(transaction, take.id)
        meant = {one.place: one.meant for one in hearings.overrules_of(transaction, take.id)}
    return None if found is None else _meant(hearing_of(found.heard), meant)


def score_of(taught: Taught, take: TakeRecord) -> Score | None:
    """The score that a take is of, unless the exercise was written anew since."""
    now = taught.exercises.get(take.exercise.name)
    if now is None or now.digest != take.exercise.digest:
        return None
    return taught.checked.fingered[take.exercise.name].score


_PRACTISED: Final[dict[str, tuple[PracticeExercise, ...]]] = {}
"""By the digest of the course folder; only the course that is taught now is kept."""


def practised_in(taught: Taught) -> tuple[PracticeExercise, ...]:
    """What is practised in the course."""
    found = _PRACTISED.get(taught.digest)
    if found is None:
        found = practised(taught.checked)
        _PRACTISED.clear()
        _PRACTISED[taught.digest] = found
    return found


def _meant(heard: Hearing, meant: Mapping[int, str]) -> Hearing:
    return overruled(heard, {place: Verdict(word) for place, word in meant.items()}) if meant else heard


def _summary(taught: Taught, heard: HeardTake, meant: Mapping[int, str]) -> TakeSummary | None:
    score = score_of(taught, heard.take)
    if score is None:
        return None
    take = heard.take
    at = believed(take.recorded_at, take.received_at or take.created_at)
    stamp = Stamp(str(take.id), take.exercise.name, at, take.tempo_bpm)
    try:
        return summary_of(score, _meant(hearing_of(heard.hearing.heard), meant), stamp)
    except UsageError:
        # heard by a version that told the notes of this score otherwise: one take, and not the whole page
        return None


def _remarks(transaction: Transaction, person: Person, known: Mapping[int, str]) -> tuple[Remark, ...]:
    """What the teacher wrote, by exercise; an answer that is only played says so."""
    found: list[Remark] = []
    for one in remarks.remarks_to(transaction, person.id):
        exercise = known.get(one.take_id) or _exercise_of(transaction, one.take_id)
        words = one.words or "I played it for you: listen to my recording."
        found.append(Remark(exercise, one.bar, words, one.made_at))
    return tuple(found)


def _exercise_of(transaction: Transaction, take_id: int) -> str:
    """Of a take that was refused, or lies far back; a remark always has its take."""
    take = takes.find_take(transaction, take_id)
    return take.exercise.name if take is not None else ""
