"""The tables. What must be true of a row stands here, so that no program can store anything else.

The migrations make these tables step by step; ``tests/unit/store/test_migrate.py`` holds the two together.
"""

from typing import Any, Final

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    true,
)

from fretwright.store.columns import Document, Key, Moment

metadata: Final = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _id() -> Column[Any]:
    return Column("id", Key, primary_key=True, autoincrement=True)


def _of(table: str, name: str, *, nullable: bool = False, primary_key: bool = False) -> Column[Any]:
    """A reference; the row goes when that which it belongs to goes."""
    target = ForeignKey(f"{table}.id", ondelete="CASCADE")
    return Column(name, Key, target, nullable=nullable, primary_key=primary_key)


def _text(name: str, *, nullable: bool = False) -> Column[Any]:
    return Column(name, Text, nullable=nullable)


def _at(name: str, *, nullable: bool = False) -> Column[Any]:
    return Column(name, Moment, nullable=nullable)


def _changes() -> Column[Any]:
    """Counts changes in what is known of takes: what was worked out at one count stands until the next."""
    return Column("changes", Integer, nullable=False, server_default="0")


def _one_of(column: str, *words: str) -> CheckConstraint:
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


people = Table(
    "people",
    metadata,
    _id(),
    _text("role"),
    _text("name"),
    _text("email"),
    _text("time_zone"),
    _at("created_at"),
    Column("below_age", Boolean, nullable=False),
    _text("guardian", nullable=True),
    _at("consent_at", nullable=True),
    # Servers of the version before still run while this column comes: they leave it out.
    Column("lesson_letters", Boolean, nullable=False, server_default=true()),
    _changes(),
    UniqueConstraint("email"),
    _one_of("role", "teacher", "student"),
    CheckConstraint("name <> ''", name="name_given"),
    CheckConstraint("email = lower(email) AND email LIKE '%_@_%'", name="email_form"),
    # No recording of a child without a guardian's word.
    CheckConstraint(
        "consent_at IS NULL OR NOT below_age OR guardian IS NOT NULL", name="consent_by_guardian"
    ),
    # A number is never given again: a restored or repeated request must not mean another's row.
    sqlite_autoincrement=True,
)

sign_in_links = Table(
    "sign_in_links",
    metadata,
    _id(),
    _of("people", "person_id"),
    _text("digest"),
    _at("created_at"),
    _at("expires_at"),
    _at("used_at", nullable=True),
    UniqueConstraint("digest"),
    CheckConstraint("expires_at > created_at", name="lasts"),
    Index(None, "person_id"),
)

sessions = Table(
    "sessions",
    metadata,
    _id(),
    _of("people", "person_id"),
    _text("digest"),
    _at("created_at"),
    _at("expires_at"),
    UniqueConstraint("digest"),
    CheckConstraint("expires_at > created_at", name="lasts"),
    Index(None, "person_id"),
)

courses = Table(
    "courses",
    metadata,
    _id(),
    _text("name"),
    _text("title"),
    _at("created_at"),
    UniqueConstraint("name"),
)

exercises = Table(
    "exercises",
    metadata,
    _id(),
    _of("courses", "course_id"),
    _text("name"),
    _text("digest"),
    _text("title"),
    _at("created_at"),
    _changes(),
    UniqueConstraint("course_id", "name", "digest"),
)

invitations = Table(
    "invitations",
    metadata,
    _id(),
    _of("courses", "course_id"),
    _text("digest"),
    _text("note"),
    _at("created_at"),
    _at("expires_at"),
    Column("places", Integer, nullable=False),
    Column("taken", Integer, nullable=False),
    _at("withdrawn_at", nullable=True),
    UniqueConstraint("digest"),
    CheckConstraint("taken >= 0 AND taken <= places", name="places_kept"),
    CheckConstraint("expires_at > created_at", name="lasts"),
)

enrolments = Table(
    "enrolments",
    metadata,
    _id(),
    _of("people", "person_id"),
    _of("courses", "course_id"),
    _at("enrolled_at"),
    Column("starts_on", Date, nullable=False),
    _at("left_at", nullable=True),
    UniqueConstraint("person_id", "course_id"),
    Index(None, "course_id"),
)

lesson_releases = Table(
    "lesson_releases",
    metadata,
    _id(),
    _of("courses", "course_id"),
    _text("lesson"),
    _of("people", "person_id", nullable=True),
    _at("released_at"),
    # For the whole class once, and for one student once: NULLs are not equal, hence two indexes.
    Index(
        "uq_lesson_releases_class",
        "course_id",
        "lesson",
        unique=True,
        sqlite_where=Column("person_id", Key).is_(None),
        postgresql_where=Column("person_id", Key).is_(None),
    ),
    Index("uq_lesson_releases_person", "course_id", "lesson", "person_id", unique=True),
)

takes = Table(
    "takes",
    metadata,
    _id(),
    _of("people", "person_id"),
    _of("exercises", "exercise_id"),
    _text("client_id"),
    _text("state"),
    Column("tempo_bpm", Float, nullable=False),
    Column("latency_ms", Float, nullable=True),
    _text("media_type"),
    _text("file", nullable=True),
    Column("stored_bytes", Integer, nullable=False),
    _at("recorded_at"),
    _at("created_at"),
    _at("received_at", nullable=True),
    _text("claim", nullable=True),
    _at("claimed_until", nullable=True),
    Column("tries", Integer, nullable=False),
    _at("settled_at", nullable=True),
    _text("trouble", nullable=True),
    UniqueConstraint("person_id", "client_id"),
    _one_of("state", "arriving", "received", "judging", "judged", "refused", "failed"),
    CheckConstraint("tempo_bpm >= 10 AND tempo_bpm <= 400", name="tempo_possible"),
    CheckConstraint(
        "latency_ms IS NULL OR (latency_ms >= 0 AND latency_ms <= 2000)", name="latency_possible"
    ),
    CheckConstraint("stored_bytes >= 0", name="bytes_counted"),
    CheckConstraint("tries >= 0", name="tries_counted"),
    CheckConstraint("(state = 'arriving') = (received_at IS NULL)", name="received_has_time"),
    CheckConstraint("(state = 'judging') = (claim IS NOT NULL)", name="judging_has_claim"),
    CheckConstraint("(claim IS NULL) = (claimed_until IS NULL)", name="claim_has_end"),
    CheckConstraint(
        "(state IN ('judged', 'refused', 'failed')) = (settled_at IS NOT NULL)", name="settled_has_time"
    ),
    Index(None, "person_id", "exercise_id", "received_at"),
    Index(None, "exercise_id", "received_at"),
    # Recordings are let go of by their age.
    Index(
        "ix_takes_recordings",
        "created_at",
        sqlite_where=Column("file", Text).is_not(None),
        postgresql_where=Column("file", Text).is_not(None),
    ),
    # Takes that wait are few among all that ever were: the queue has an index of its own.
    Index(
        "ix_takes_waiting",
        "received_at",
        sqlite_where=Column("state", Text).in_(["received", "judging"]),
        postgresql_where=Column("state", Text).in_(["received", "judging"]),
    ),
    sqlite_autoincrement=True,
)

hearings = Table(
    "hearings",
    metadata,
    # The take's own number is the key: a take has one hearing, whoever tries to store a second.
    _of("takes", "take_id", primary_key=True),
    Column("heard", Document, nullable=False),
    Column("tempo_bpm", Float, nullable=False),
    Column("notes", Integer, nullable=False),
    Column("notes_played", Integer, nullable=False),
    Column("timing_spread_ms", Float, nullable=False),
    Column("mean_offset_ms", Float, nullable=False),
    Column("drift_percent", Float, nullable=False),
    Column("slur_level_db", Float, nullable=True),
    _text("headline"),
    Column("next_bpm", Float, nullable=False),
    _at("heard_at"),
    # What practice keeps of it, as long as the key is that of the rules and of what was overruled.
    Column("summary", Document, nullable=True),
    _text("summary_key", nullable=True),
    CheckConstraint("notes_played >= 0 AND notes_played <= notes", name="played_of_notes"),
)

note_verdicts = Table(
    "note_verdicts",
    metadata,
    _of("takes", "take_id", primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    _of("exercises", "exercise_id"),
    _text("note_id"),
    _text("verdict"),
    Column("timing_ms", Float, nullable=True),
    Column("level_db", Float, nullable=True),
    _text("attack", nullable=True),
    _one_of("verdict", "played", "missed", "wrong", "unsure"),
    CheckConstraint("attack IS NULL OR attack IN ('pluck', 'slur', 'unsure')", name="attack_known"),
    Index(None, "exercise_id", "note_id", "verdict"),
)

overrules = Table(
    "overrules",
    metadata,
    _id(),
    _of("takes", "take_id"),
    Column("place", Integer, nullable=False),
    _of("people", "teacher_id"),
    _text("heard"),
    _text("meant"),
    _at("made_at"),
    UniqueConstraint("take_id", "place"),
    _one_of("heard", "played", "missed", "wrong", "unsure"),
    _one_of("meant", "played", "missed", "wrong", "unsure"),
)

remarks = Table(
    "remarks",
    metadata,
    _id(),
    _of("takes", "take_id"),
    _of("people", "author_id"),
    Column("bar", Integer, nullable=True),
    _text("words"),
    _text("file", nullable=True),
    _text("media_type", nullable=True),
    _at("made_at"),
    _at("read_at", nullable=True),
    CheckConstraint("bar IS NULL OR bar >= 0", name="bar_possible"),
    CheckConstraint("words <> '' OR file IS NOT NULL", name="says_something"),
    CheckConstraint("(file IS NULL) = (media_type IS NULL)", name="file_has_kind"),
    Index(None, "take_id"),
    sqlite_autoincrement=True,
)

plans = Table(
    "plans",
    metadata,
    _id(),
    _of("people", "person_id"),
    _of("courses", "course_id"),
    Column("day", Date, nullable=False),
    Column("minutes", Integer, nullable=False),
    _at("made_at"),
    UniqueConstraint("person_id", "course_id", "day"),
    CheckConstraint("minutes > 0 AND minutes <= 240", name="minutes_possible"),
)

plan_items = Table(
    "plan_items",
    metadata,
    _of("plans", "plan_id", primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    _text("kind"),
    _text("exercise", nullable=True),
    Column("tempo_bpm", Float, nullable=True),
    Column("minutes", Float, nullable=False),
    _text("reason"),
    Column("details", Document, nullable=False),
    _at("done_at", nullable=True),
    CheckConstraint("minutes > 0", name="minutes_possible"),
)

mail = Table(
    "mail",
    metadata,
    _id(),
    _of("people", "person_id", nullable=True),
    _text("recipient"),
    _text("subject"),
    _text("body"),
    _text("reason"),
    _text("once"),
    _at("created_at"),
    _at("due_at"),
    Column("tries", Integer, nullable=False),
    _at("sent_at", nullable=True),
    _text("trouble", nullable=True),
    _text("stop_address", nullable=True),
    # The same letter is written once, however often the program that writes it runs.
    UniqueConstraint("once"),
    Index(
        "ix_mail_unsent",
        "due_at",
        sqlite_where=Column("sent_at", Moment).is_(None),
        postgresql_where=Column("sent_at", Moment).is_(None),
    ),
)

rates = Table(
    "rates",
    metadata,
    # A signature: who asked for what cannot be read from it.
    Column("key", Text, primary_key=True),
    Column("span", BigInteger, nullable=False),
    Column("hits", Integer, nullable=False),
    Column("hits_before", Integer, nullable=False),
    _at("expires_at"),
    CheckConstraint("hits >= 0 AND hits_before >= 0", name="hits_counted"),
    Index(None, "expires_at"),
)
