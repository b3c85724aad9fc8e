"""The school: people, courses, takes, practice and mail."""

import sqlalchemy as sa
from alembic import op

from fretwright.store.columns import Moment

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# Marks a name as whole: the conventions of the tables add nothing to it.
final = op.f

KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables."""
    _people()
    _courses()
    _takes()
    _practice()
    _mail()


def _people() -> None:
    """People, and how they sign in."""
    op.create_table(
        "people",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("email", sa.Text(), nullable=False),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("below_age", sa.Boolean(), nullable=False),
        sa.Column("guardian", sa.Text(), nullable=True),
        sa.Column("consent_at", Moment(), nullable=True),
        sa.CheckConstraint("email = lower(email) AND email LIKE '%_@_%'", name=final("ck_people_email_form")),
        sa.CheckConstraint("name <> ''", name=final("ck_people_name_given")),
        sa.CheckConstraint("role IN ('teacher', 'student')", name=final("ck_people_role_known")),
        sa.CheckConstraint(
            "consent_at IS NULL OR NOT below_age OR guardian IS NOT NULL",
            name=final("ck_people_consent_by_guardian"),
        ),
        sa.PrimaryKeyConstraint("id", name="pk_people"),
        sa.UniqueConstraint("email", name="uq_people_email"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "sign_in_links",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("expires_at", Moment(), nullable=False),
        sa.Column("used_at", Moment(), nullable=True),
        sa.CheckConstraint("expires_at > created_at", name=final("ck_sign_in_links_lasts")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name="fk_sign_in_links_person_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_sign_in_links"),
        sa.UniqueConstraint("digest", name="uq_sign_in_links_digest"),
    )
    op.create_index("ix_sign_in_links_person_id", "sign_in_links", ["person_id"], unique=False)
    op.create_table(
        "sessions",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("expires_at", Moment(), nullable=False),
        sa.CheckConstraint("expires_at > created_at", name=final("ck_sessions_lasts")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name="fk_sessions_person_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_sessions"),
        sa.UniqueConstraint("digest", name="uq_sessions_digest"),
    )
    op.create_index("ix_sessions_person_id", "sessions", ["person_id"], unique=False)


def _courses() -> None:
    """Courses, and who is in them."""
    op.create_table(
        "courses",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_courses"),
        sa.UniqueConstraint("name", name="uq_courses_name"),
    )
    op.create_table(
        "exercises",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("course_id", KEY, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(
            ["course_id"], ["courses.id"], name="fk_exercises_course_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_exercises"),
        sa.UniqueConstraint("course_id", "name", "digest", name="uq_exercises_course_id_name_digest"),
    )
    op.create_table(
        "invitations",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("course_id", KEY, nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("expires_at", Moment(), nullable=False),
        sa.Column("places", sa.Integer(), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.Column("withdrawn_at", Moment(), nullable=True),
        sa.CheckConstraint("expires_at > created_at", name=final("ck_invitations_lasts")),
        sa.CheckConstraint("taken >= 0 AND taken <= places", name=final("ck_invitations_places_kept")),
        sa.ForeignKeyConstraint(
            ["course_id"], ["courses.id"], name="fk_invitations_course_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_invitations"),
        sa.UniqueConstraint("digest", name="uq_invitations_digest"),
    )
    op.create_table(
        "enrolments",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("course_id", KEY, nullable=False),
        sa.Column("enrolled_at", Moment(), nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("left_at", Moment(), nullable=True),
        sa.ForeignKeyConstraint(
            ["course_id"], ["courses.id"], name="fk_enrolments_course_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name="fk_enrolments_person_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_enrolments"),
        sa.UniqueConstraint("person_id", "course_id", name="uq_enrolments_person_id_course_id"),
    )
    op.create_index("ix_enrolments_course_id", "enrolments", ["course_id"], unique=False)
    op.create_table(
        "lesson_releases",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("course_id", KEY, nullable=False),
        sa.Column("lesson", sa.Text(), nullable=False),
        sa.Column("person_id", KEY, nullable=True),
        sa.Column("released_at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(
            ["course_id"], ["courses.id"], name="fk_lesson_releases_course_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name="fk_lesson_releases_person_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_lesson_releases"),
    )
    op.create_index(
        "uq_lesson_releases_class",
        "lesson_releases",
        ["course_id", "lesson"],
        unique=True,
        sqlite_where=sa.text("person_id IS NULL"),
        postgresql_where=sa.text("person_id IS NULL"),
    )
    op.create_index(
        "uq_lesson_releases_person", "lesson_releases", ["course_id", "lesson", "person_id"], unique=True
    )


def _takes() -> None:
    """Recordings, what was heard in them, and what was said of them."""
    op.create_table(
        "takes",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("exercise_id", KEY, nullable=False),
        sa.Column("client_id", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("tempo_bpm", sa.Float(), nullable=False),
        sa.Column("latency_ms", sa.Float(), nullable=True),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("file", sa.Text(), nullable=True),
        sa.Column("stored_bytes", sa.Integer(), nullable=False),
        sa.Column("recorded_at", Moment(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("received_at", Moment(), nullable=True),
        sa.Column("claim", sa.Text(), nullable=True),
        sa.Column("claimed_until", Moment(), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("settled_at", Moment(), nullable=True),
        sa.Column("trouble", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(state = 'arriving') = (received_at IS NULL)", name=final("ck_takes_received_has_time")
        ),
        sa.CheckConstraint(
            "(state = 'judging') = (claim IS NOT NULL)", name=final("ck_takes_judging_has_claim")
        ),
        sa.CheckConstraint(
            "(state IN ('judged', 'refused', 'failed')) = (settled_at IS NOT NULL)",
            name=final("ck_takes_settled_has_time"),
        ),
        sa.CheckConstraint(
            "state IN ('arriving', 'received', 'judging', 'judged', 'refused', 'failed')",
            name=final("ck_takes_state_known"),
        ),
        sa.CheckConstraint("(claim IS NULL) = (claimed_until IS NULL)", name=final("ck_takes_claim_has_end")),
        sa.CheckConstraint(
            "latency_ms IS NULL OR (latency_ms >= 0 AND latency_ms <= 2000)",
            name=final("ck_takes_latency_possible"),
        ),
        sa.CheckConstraint("stored_bytes >= 0", name=final("ck_takes_bytes_counted")),
        sa.CheckConstraint("tempo_bpm >= 10 AND tempo_bpm <= 400", name=final("ck_takes_tempo_possible")),
        sa.CheckConstraint("tries >= 0", name=final("ck_takes_tries_counted")),
        sa.ForeignKeyConstraint(
            ["exercise_id"], ["exercises.id"], name="fk_takes_exercise_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_takes_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_takes"),
        sa.UniqueConstraint("person_id", "client_id", name="uq_takes_person_id_client_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_takes_exercise_id_received_at", "takes", ["exercise_id", "received_at"], unique=False)
    op.create_index(
        "ix_takes_person_id_exercise_id_received_at",
        "takes",
        ["person_id", "exercise_id", "received_at"],
        unique=False,
    )
    op.create_index(
        "ix_takes_recordings",
        "takes",
        ["created_at"],
        unique=False,
        sqlite_where=sa.text("file IS NOT NULL"),
        postgresql_where=sa.text("file IS NOT NULL"),
    )
    op.create_index(
        "ix_takes_waiting",
        "takes",
        ["received_at"],
        unique=False,
        sqlite_where=sa.text("state IN ('received', 'judging')"),
        postgresql_where=sa.text("state IN ('received', 'judging')"),
    )
    op.create_table(
        "hearings",
        sa.Column("take_id", KEY, nullable=False),
        sa.Column("heard", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("tempo_bpm", sa.Float(), nullable=False),
        sa.Column("notes", sa.Integer(), nullable=False),
        sa.Column("notes_played", sa.Integer(), nullable=False),
        sa.Column("timing_spread_ms", sa.Float(), nullable=False),
        sa.Column("mean_offset_ms", sa.Float(), nullable=False),
        sa.Column("drift_percent", sa.Float(), nullable=False),
        sa.Column("slur_level_db", sa.Float(), nullable=True),
        sa.Column("headline", sa.Text(), nullable=False),
        sa.Column("next_bpm", sa.Float(), nullable=False),
        sa.Column("heard_at", Moment(), nullable=False),
        sa.CheckConstraint(
            "notes_played >= 0 AND notes_played <= notes", name=final("ck_hearings_played_of_notes")
        ),
        sa.ForeignKeyConstraint(["take_id"], ["takes.id"], name="fk_hearings_take_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("take_id", name="pk_hearings"),
    )
    op.create_table(
        "note_verdicts",
        sa.Column("take_id", KEY, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("exercise_id", KEY, nullable=False),
        sa.Column("note_id", sa.Text(), nullable=False),
        sa.Column("verdict", sa.Text(), nullable=False),
        sa.Column("timing_ms", sa.Float(), nullable=True),
        sa.Column("level_db", sa.Float(), nullable=True),
        sa.Column("attack", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "attack IS NULL OR attack IN ('pluck', 'slur', 'unsure')",
            name=final("ck_note_verdicts_attack_known"),
        ),
        sa.CheckConstraint(
            "verdict IN ('played', 'missed', 'wrong', 'unsure')", name=final("ck_note_verdicts_verdict_known")
        ),
        sa.ForeignKeyConstraint(
            ["exercise_id"], ["exercises.id"], name="fk_note_verdicts_exercise_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["take_id"], ["takes.id"], name="fk_note_verdicts_take_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("take_id", "place", name="pk_note_verdicts"),
    )
    op.create_index(
        "ix_note_verdicts_exercise_id_note_id_verdict",
        "note_verdicts",
        ["exercise_id", "note_id", "verdict"],
        unique=False,
    )
    op.create_table(
        "overrules",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("take_id", KEY, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("teacher_id", KEY, nullable=False),
        sa.Column("heard", sa.Text(), nullable=False),
        sa.Column("meant", sa.Text(), nullable=False),
        sa.Column("made_at", Moment(), nullable=False),
        sa.CheckConstraint(
            "heard IN ('played', 'missed', 'wrong', 'unsure')", name=final("ck_overrules_heard_known")
        ),
        sa.CheckConstraint(
            "meant IN ('played', 'missed', 'wrong', 'unsure')", name=final("ck_overrules_meant_known")
        ),
        sa.ForeignKeyConstraint(["take_id"], ["takes.id"], name="fk_overrules_take_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["teacher_id"], ["people.id"], name="fk_overrules_teacher_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_overrules"),
        sa.UniqueConstraint("take_id", "place", name="uq_overrules_take_id_place"),
    )
    op.create_table(
        "remarks",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("take_id", KEY, nullable=False),
        sa.Column("author_id", KEY, nullable=False),
        sa.Column("bar", sa.Integer(), nullable=True),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("file", sa.Text(), nullable=True),
        sa.Column("media_type", sa.Text(), nullable=True),
        sa.Column("made_at", Moment(), nullable=False),
        sa.Column("read_at", Moment(), nullable=True),
        sa.CheckConstraint("words <> '' OR file IS NOT NULL", name=final("ck_remarks_says_something")),
        sa.CheckConstraint("(file IS NULL) = (media_type IS NULL)", name=final("ck_remarks_file_has_kind")),
        sa.CheckConstraint("bar IS NULL OR bar >= 0", name=final("ck_remarks_bar_possible")),
        sa.ForeignKeyConstraint(
            ["author_id"], ["people.id"], name="fk_remarks_author_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["take_id"], ["takes.id"], name="fk_remarks_take_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_remarks"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_remarks_take_id", "remarks", ["take_id"], unique=False)


def _practice() -> None:
    """Plans, practice and memory."""
    op.create_table(
        "plans",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("course_id", KEY, nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("made_at", Moment(), nullable=False),
        sa.CheckConstraint("minutes > 0 AND minutes <= 240", name=final("ck_plans_minutes_possible")),
        sa.ForeignKeyConstraint(["course_id"], ["courses.id"], name="fk_plans_course_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_plans_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_plans"),
        sa.UniqueConstraint("person_id", "course_id", "day", name="uq_plans_person_id_course_id_day"),
    )
    op.create_table(
        "plan_items",
        sa.Column("plan_id", KEY, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("exercise", sa.Text(), nullable=True),
        sa.Column("tempo_bpm", sa.Float(), nullable=True),
        sa.Column("minutes", sa.Float(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("details", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("done_at", Moment(), nullable=True),
        sa.CheckConstraint("minutes > 0", name=final("ck_plan_items_minutes_possible")),
        sa.ForeignKeyConstraint(["plan_id"], ["plans.id"], name="fk_plan_items_plan_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("plan_id", "place", name="pk_plan_items"),
    )
    op.create_table(
        "practice_log",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("course_id", KEY, nullable=False),
        sa.Column("client_id", sa.Text(), nullable=False),
        sa.Column("exercise", sa.Text(), nullable=False),
        sa.Column("tempo_bpm", sa.Float(), nullable=True),
        sa.Column("seconds", sa.Float(), nullable=False),
        sa.Column("started_at", Moment(), nullable=False),
        sa.CheckConstraint(
            "seconds >= 0 AND seconds <= 86400", name=final("ck_practice_log_seconds_possible")
        ),
        sa.ForeignKeyConstraint(
            ["course_id"], ["courses.id"], name="fk_practice_log_course_id", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name="fk_practice_log_person_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_practice_log"),
        sa.UniqueConstraint("person_id", "client_id", name="uq_practice_log_person_id_client_id"),
    )
    op.create_index(
        "ix_practice_log_person_id_started_at", "practice_log", ["person_id", "started_at"], unique=False
    )
    op.create_table(
        "recall_cards",
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("exercise", sa.Text(), nullable=False),
        sa.Column("card", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("due_at", Moment(), nullable=False),
        sa.Column("changed_at", Moment(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name="fk_recall_cards_person_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("person_id", "exercise", name="pk_recall_cards"),
    )
    op.create_table(
        "device_latencies",
        sa.Column("person_id", KEY, nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("latency_ms", sa.Float(), nullable=False),
        sa.Column("measured_at", Moment(), nullable=False),
        sa.CheckConstraint(
            "latency_ms >= 0 AND latency_ms <= 2000", name=final("ck_device_latencies_latency_possible")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["people.id"], name="fk_device_latencies_person_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("person_id", "device", name="pk_device_latencies"),
    )


def _mail() -> None:
    """The outbox."""
    op.create_table(
        "mail",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("person_id", KEY, nullable=True),
        sa.Column("recipient", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("once", sa.Text(), nullable=False),
        sa.Column("created_at", Moment(), nullable=False),
        sa.Column("due_at", Moment(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("sent_at", Moment(), nullable=True),
        sa.Column("trouble", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_mail_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_mail"),
        sa.UniqueConstraint("once", name="uq_mail_once"),
    )
    op.create_index(
        "ix_mail_unsent",
        "mail",
        ["due_at"],
        unique=False,
        sqlite_where=sa.text("sent_at IS NULL"),
        postgresql_where=sa.text("sent_at IS NULL"),
    )
