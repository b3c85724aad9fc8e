"""What the ear said: one hearing a take, and the teacher's overrules."""

from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import datetime
from typing import Any, Final

from sqlalchemy import bindparam, func, select, update

from fretwright.store.database import Transaction
from fretwright.store.records import (
    HeardTake,
    HeardWording,
    HearingRecord,
    NoteVerdict,
    Overrule,
    TakeRecord,
    TakeState,
)
from fretwright.store.rows import record, records, upsert
from fretwright.store.tables import exercises, hearings, note_verdicts, overrules, takes
from fretwright.store.takes import find_take, note_change, select_takes, settle, take_from

_HEARD: Final = tuple(field.name for field in fields(HearingRecord))
"""The columns that say what was heard."""


def store_hearing(
    transaction: Transaction,
    take: TakeRecord,
    claim: str,
    hearing: HearingRecord,
    notes: Sequence[NoteVerdict],
) -> bool:
    """Close a take with what was heard. ``False``, and nothing stored, if the claim is no longer held."""
    note_change(transaction, take)
    if not settle(transaction, take.id, claim, TakeState.JUDGED, hearing.heard_at):
        return False
    transaction.execute(hearings.insert().values({name: getattr(hearing, name) for name in _HEARD}))
    rows = [
        {
            "take_id": take.id,
            "exercise_id": take.exercise.id,
            "place": note.place,
            "note_id": note.note_id,
            "verdict": note.verdict,
            "timing_ms": note.timing_ms,
            "level_db": note.level_db,
            "attack": note.attack,
        }
        for note in notes
    ]
    if rows:
        transaction.execute(note_verdicts.insert(), rows)
    return True


def find_hearing(transaction: Transaction, take_id: int) -> HearingRecord | None:
    """What was heard in a take, if it is judged."""
    row = transaction.execute(select(hearings).where(hearings.c.take_id == take_id)).one_or_none()
    return None if row is None else record(HearingRecord, row)


def verdicts_of(transaction: Transaction, take_id: int) -> tuple[NoteVerdict, ...]:
    """The verdicts on a take as the class picture counts them, in order of its notes."""
    rows = transaction.execute(
        select(note_verdicts).where(note_verdicts.c.take_id == take_id).order_by(note_verdicts.c.place)
    )
    return records(NoteVerdict, rows)


def heard_wordings(
    transaction: Transaction, person_id: int, course_id: int, *, limit: int = 1000
) -> tuple[HeardWording, ...]:
    """The newest judged takes of a student without what was heard in them: cheap enough for every page."""
    rows = transaction.execute(
        select(takes.c.id, exercises.c.name, exercises.c.digest, hearings.c.heard_at)
        .join(exercises, takes.c.exercise_id == exercises.c.id)
        .join(hearings, hearings.c.take_id == takes.c.id)
        .where(takes.c.person_id == person_id, exercises.c.course_id == course_id)
        .order_by(takes.c.recorded_at.desc(), takes.c.id.desc())
        .limit(limit)
    )
    return tuple(HeardWording(*row) for row in rows)


def heard_takes(transaction: Transaction, take_ids: Sequence[int]) -> tuple[HeardTake, ...]:
    """Judged takes by their numbers, each with what was heard; in any order."""
    found: list[HeardTake] = []
    for start in range(0, len(take_ids), _AT_ONCE):
        query = (
            select_takes()
            .add_columns(*(hearings.c[name].label(f"h_{name}") for name in _HEARD))
            .join(hearings, hearings.c.take_id == takes.c.id)
            .where(takes.c.id.in_(take_ids[start : start + _AT_ONCE]))
        )
        rows = transaction.execute(query)
        found += [HeardTake(take_from(row), _hearing(row._mapping)) for row in rows]  # noqa: SLF001 - public by the library's documents
    return tuple(found)


_AT_ONCE: Final = 200
"""Numbers in one question: databases bound how many there may be."""


def _hearing(found: Mapping[Any, Any]) -> HearingRecord:
    return HearingRecord(**{name: found[f"h_{name}"] for name in _HEARD})


def summaries(transaction: Transaction, keys: Mapping[int, str]) -> dict[int, Mapping[str, Any]]:
    """What is kept of takes by their numbers, in so far as it was made under the key given for each."""
    found: dict[int, Mapping[str, Any]] = {}
    numbers = list(keys)
    for start in range(0, len(numbers), _AT_ONCE):
        rows = transaction.execute(
            select(hearings.c.take_id, hearings.c.summary_key, hearings.c.summary).where(
                hearings.c.take_id.in_(numbers[start : start + _AT_ONCE]), hearings.c.summary.is_not(None)
            )
        )
        found |= {number: kept for number, key, kept in rows if keys[number] == key}
    return found


def keep_summaries(
    transaction: Transaction, keys: Mapping[int, str], kept: Mapping[int, Mapping[str, Any]]
) -> None:
    """Keep what was worked out of takes, each under its key."""
    rows = [{"b_id": number, "b_key": keys[number], "b_kept": dict(one)} for number, one in kept.items()]
    if rows:
        transaction.execute(
            update(hearings)
            .where(hearings.c.take_id == bindparam("b_id"))
            .values(summary=bindparam("b_kept"), summary_key=bindparam("b_key")),
            rows,
        )


def headlines(transaction: Transaction, take_ids: Sequence[int]) -> dict[int, str]:
    """What the ear said of takes in a sentence, by number."""
    rows = transaction.execute(
        select(hearings.c.take_id, hearings.c.headline).where(hearings.c.take_id.in_(take_ids))
    )
    return {row.take_id: row.headline for row in rows}


def overrule(
    transaction: Transaction, take_id: int, place: int, *, teacher_id: int, meant: str, now: datetime
) -> Overrule | None:
    """Store a teacher's own verdict on a note; ``None`` if the take has no such note.

    Agreeing with the ear is stored as well: both are counted.
    """
    heard = transaction.execute(
        select(note_verdicts.c.verdict).where(
            note_verdicts.c.take_id == take_id, note_verdicts.c.place == place
        )
    ).scalar_one_or_none()
    if heard is None:
        return None
    take = find_take(transaction, take_id)
    if take is not None:
        note_change(transaction, take)
    upsert(
        transaction,
        overrules,
        ("take_id", "place"),
        {
            "take_id": take_id,
            "place": place,
            "teacher_id": teacher_id,
            "heard": heard,
            "meant": meant,
            "made_at": now,
        },
    )
    return next(each for each in overrules_of(transaction, take_id) if each.place == place)


def overrules_of(transaction: Transaction, take_id: int) -> tuple[Overrule, ...]:
    """The teacher's verdicts on a take, in order of its notes."""
    rows = transaction.execute(
        select(overrules).where(overrules.c.take_id == take_id).order_by(overrules.c.place)
    )
    return records(Overrule, rows)


def overrules_to(transaction: Transaction, person_id: int) -> dict[int, dict[int, str]]:
    """What teachers overruled in a student's takes: take number -> place of the note -> what was meant."""
    rows = transaction.execute(
        select(overrules.c.take_id, overrules.c.place, overrules.c.meant)
        .join(takes, takes.c.id == overrules.c.take_id)
        .where(takes.c.person_id == person_id)
    )
    found: dict[int, dict[int, str]] = {}
    for take_id, place, meant in rows:
        found.setdefault(take_id, {})[place] = meant
    return found


def agreement(transaction: Transaction, course_id: int) -> dict[tuple[str, str], int]:
    """How often the ear said the first word and the teacher meant the second, where a teacher looked."""
    rows = transaction.execute(
        select(overrules.c.heard, overrules.c.meant, func.count())
        .join(takes, takes.c.id == overrules.c.take_id)
        .join(exercises, exercises.c.id == takes.c.exercise_id)
        .where(exercises.c.course_id == course_id)
        .group_by(overrules.c.heard, overrules.c.meant)
    )
    return {(heard, meant): count for heard, meant, count in rows}
