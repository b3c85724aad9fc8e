"""What the store hands out: frozen, and nothing of the database in it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any


class Role(StrEnum):
    """What a person is in the school."""

    TEACHER = "teacher"
    STUDENT = "student"


class TakeState(StrEnum):
    """Where a take stands. ``arriving -> received -> judging -> judged | refused | failed``."""

    ARRIVING = "arriving"
    """Being uploaded; some of it may be on disk."""
    RECEIVED = "received"
    """Whole on disk and waiting to be judged."""
    JUDGING = "judging"
    """In the hands of a worker, until its claim runs out."""
    JUDGED = "judged"
    """Verdicts stand."""
    REFUSED = "refused"
    """The ear could not judge the recording; ``trouble`` says why and what to do."""
    FAILED = "failed"
    """Judging it broke down, more than once."""

    @property
    def is_settled(self) -> bool:
        """Whether nothing more will happen to it."""
        return self in {TakeState.JUDGED, TakeState.REFUSED, TakeState.FAILED}


@dataclass(frozen=True, slots=True)
class Person:
    """A teacher or a student."""

    id: int
    role: Role
    name: str
    email: str
    time_zone: str
    """IANA name (``Europe/Lisbon``): what day it is for this person."""
    created_at: datetime
    below_age: bool
    """Below the age at which the school asks for a guardian's consent."""
    guardian: str | None
    """Who consented for them: a name or an address."""
    consent_at: datetime | None
    """When recording was agreed to; no take is accepted before."""
    lesson_letters: bool
    """Whether they want a letter when a lesson opens."""
    changes: int
    """Rises with whatever changes what is known of their takes: a hearing, an overrule, a deletion."""

    @property
    def is_teacher(self) -> bool:
        """Whether this is a teacher."""
        return self.role is Role.TEACHER


@dataclass(frozen=True, slots=True)
class CourseRecord:
    """A course that the school knows."""

    id: int
    name: str
    """Of its folder."""
    title: str


@dataclass(frozen=True, slots=True)
class ExerciseRecord:
    """One exercise in one wording: when its notes change, it is another row."""

    id: int
    course_id: int
    name: str
    """``lesson/exercise``."""
    digest: str
    """Of its score."""
    title: str


@dataclass(frozen=True, slots=True)
class Invitation:
    """A link by which students enrol; the link itself is not stored, only its digest."""

    id: int
    course_id: int
    note: str
    created_at: datetime
    expires_at: datetime
    places: int
    taken: int
    withdrawn_at: datetime | None


@dataclass(frozen=True, slots=True)
class Enrolment:
    """A student in a course."""

    id: int
    person_id: int
    course_id: int
    enrolled_at: datetime
    starts_on: date
    """In the student's own calendar: the day the first lesson opens."""
    left_at: datetime | None


@dataclass(frozen=True, slots=True)
class Release:
    """A lesson that the teacher opened before its day."""

    lesson: str
    person_id: int | None
    """For one student; ``None`` for the whole class."""
    released_at: datetime


@dataclass(frozen=True, slots=True)
class TakeRecord:
    """A recording and where it stands."""

    id: int
    person_id: int
    exercise: ExerciseRecord
    client_id: str
    """Chosen by the device that recorded, so that sending it again is not a second take."""
    state: TakeState
    tempo_bpm: float
    """At which it was asked for."""
    latency_ms: float | None
    """Of the device, as measured; kept apart from what the student did."""
    media_type: str
    file: str | None
    """In the folder of takes; ``None`` once the recording was deleted and the verdicts kept."""
    stored_bytes: int
    """How much of it is safe on disk."""
    recorded_at: datetime
    created_at: datetime
    received_at: datetime | None
    tries: int
    """How often judging it was begun."""
    settled_at: datetime | None
    trouble: str | None
    """Why it was refused or failed, and what to do."""


@dataclass(frozen=True, slots=True)
class HearingRecord:
    """What the ear said of a take."""

    take_id: int
    heard: Mapping[str, Any]
    """Everything, as ``flows.hearings.hearing_of`` reads it back."""
    tempo_bpm: float
    """At which it was played."""
    notes: int
    notes_played: int
    timing_spread_ms: float
    mean_offset_ms: float
    drift_percent: float
    slur_level_db: float | None
    """Mean level of slurred notes against plucked ones; ``None`` where there are not both."""
    headline: str
    next_bpm: float
    heard_at: datetime


@dataclass(frozen=True, slots=True)
class HeardTake:
    """A judged take with what was heard: one step of a student's history."""

    take: TakeRecord
    hearing: HearingRecord


@dataclass(frozen=True, slots=True)
class HeardWording:
    """A judged take by number, and the wording of the exercise that it is of."""

    take_id: int
    exercise: str
    """``lesson/exercise``."""
    digest: str
    heard_at: datetime


@dataclass(frozen=True, slots=True)
class Overrule:
    """A teacher's own verdict on a note, beside what the ear had said."""

    id: int
    take_id: int
    place: int
    """Which of the hearing's notes, counted from 0."""
    teacher_id: int
    heard: str
    meant: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class Remark:
    """What a teacher (or the student in answer) wrote or recorded about a take."""

    id: int
    take_id: int
    author_id: int
    bar: int | None
    """Bar number; ``None`` for the whole take."""
    words: str
    file: str | None
    """A recorded demonstration."""
    media_type: str | None
    made_at: datetime
    read_at: datetime | None


@dataclass(frozen=True, slots=True)
class PlanItem:
    """One thing to practise on a day."""

    place: int
    kind: str
    exercise: str | None
    tempo_bpm: float | None
    minutes: float
    reason: str
    """Why this, in a sentence."""
    details: Mapping[str, Any]
    done_at: datetime | None


@dataclass(frozen=True, slots=True)
class Plan:
    """What was planned for one day, in the student's own calendar."""

    id: int
    person_id: int
    course_id: int
    day: date
    minutes: int
    made_at: datetime
    items: tuple[PlanItem, ...]


@dataclass(frozen=True, slots=True)
class LetterDraft:
    """A letter to be put into the outbox."""

    recipient: str
    subject: str
    body: str
    reason: str
    """What it is for, one word (``sign-in``)."""
    once: str
    """A key of this very letter: a second one with the same key is not written."""
    person_id: int | None = None
    due_at: datetime | None = None
    """When to send it; ``None`` for at once."""
    stop_address: str | None = None
    """Where the reader can say that they want no more of these; ``None`` where it was asked for."""


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter in the outbox."""

    id: int
    person_id: int | None
    recipient: str
    subject: str
    body: str
    reason: str
    created_at: datetime
    due_at: datetime
    tries: int
    sent_at: datetime | None
    trouble: str | None
    stop_address: str | None


@dataclass(frozen=True, slots=True)
class NoteVerdict:
    """What the ear said of one note of a take, as the class picture counts it."""

    place: int
    """Among the hearing's notes, counted from 0."""
    note_id: str
    verdict: str
    timing_ms: float | None
    level_db: float | None
    attack: str | None


@dataclass(frozen=True, slots=True)
class TakeOrder:
    """What a device says of a recording before it sends it."""

    person_id: int
    exercise_id: int
    client_id: str
    tempo_bpm: float
    latency_ms: float | None
    media_type: str
    recorded_at: datetime
