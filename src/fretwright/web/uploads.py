"""How a recording arrives. The database's count is the truth; what lies on disk beyond it is cut off."""

import hashlib
from datetime import datetime

from fretwright.base.errors import RefusedError
from fretwright.store import remarks, takes
from fretwright.store.database import Transaction
from fretwright.store.records import Person, TakeOrder, TakeRecord, TakeState
from fretwright.web.access import enrolment_of
from fretwright.web.opening import open_lessons
from fretwright.web.refusals import not_found
from fretwright.web.school import School


def order_for(
    school: School,
    person: Person,
    exercise: str,
    *,
    client_id: str,
    tempo_bpm: float,
    latency_ms: float | None,
    media_type: str,
    recorded_at: datetime,
) -> TakeOrder:
    """An order for a take, if this student may record that exercise.

    Raises :class:`~fretwright.base.errors.RefusedError` if there is no such exercise, if its lesson is not
    open to the student, or if nobody agreed to recording.
    """
    enrolment_of(school, person)
    if person.consent_at is None:
        raise RefusedError(
            403, "consent", "Nobody has agreed to recordings yet.", "Agree on the account page."
        )
    known = school.classroom.now.exercises.get(exercise)
    if known is None or exercise.partition("/")[0] not in open_lessons(school, person):
        raise not_found()
    return TakeOrder(person.id, known.id, client_id, tempo_bpm, latency_ms, media_type, recorded_at)


def announce(school: School, order: TakeOrder) -> TakeRecord:
    """Open a take, or find the one that is open under the same client id."""
    school.limits.count("takes", str(order.person_id))
    with school.database.writing() as transaction:
        return takes.begin_take(transaction, order, school.now())


def store_piece(school: School, person: Person, take_id: int, offset: int, piece: bytes) -> TakeRecord:
    """Add a piece where the last one ended.

    Raises :class:`~fretwright.base.errors.RefusedError` where ``offset`` is not that place, the take is no
    longer arriving, or it grows too large.
    """
    with school.database.writing() as transaction:
        take = _held(transaction, person, take_id)
        if take.state is not TakeState.ARRIVING:
            raise RefusedError(
                409, "received", "This recording has arrived already.", "Nothing needs to be sent."
            )
        if offset != take.stored_bytes:
            raise RefusedError(
                409, "offset", f"{take.stored_bytes} bytes are here.", f"Send from {take.stored_bytes} on."
            )
        if offset + len(piece) > school.settings.most_take_bytes:
            raise RefusedError(413, "too-large", "The recording is too large.", "Record the exercise alone.")
        name = take.file or school.take_files.new_name()
        stored = school.take_files.append(name, offset, piece)
        takes.note_stored(transaction, take.id, file=name, stored_bytes=stored)
        return _held(transaction, person, take_id)


def finish(school: School, person: Person, take_id: int, size_bytes: int, sha256: str | None) -> TakeRecord:
    """Receive a take that is whole: from now on it will be judged, whatever happens to this process.

    Raises :class:`~fretwright.base.errors.RefusedError` if it is not whole, or not what was sent.
    """
    with school.database.writing() as transaction:
        take = _held(transaction, person, take_id)
        if take.state is not TakeState.ARRIVING:
            return take
        if take.file is None or take.stored_bytes != size_bytes:
            raise RefusedError(
                409, "offset", f"{take.stored_bytes} of {size_bytes} bytes are here.", "Send the rest first."
            )
        if sha256 is not None and _sha256(school, take.file) != sha256:
            # what lies there is not what was recorded: begin anew
            takes.note_stored(transaction, take.id, file=take.file, stored_bytes=0)
            is_damaged = True
        else:
            takes.receive(transaction, take.id, school.now())
            is_damaged = False
    if is_damaged:
        raise RefusedError(409, "damaged", "The recording was damaged on its way.", "Send it again from 0.")
    school.judging.tell()
    with school.database.reading() as transaction:
        received = takes.find_take(transaction, take_id)
    if received is None:
        raise not_found()
    return received


def delete(school: School, take: TakeRecord) -> None:
    """Delete a take: first its rows, then its files, so that no row ever points to nothing."""
    with school.database.writing() as transaction:
        names = [take.file, *(remark.file for remark in remarks.remarks_of(transaction, take.id))]
        takes.delete_take(transaction, take.id)
    for name in names:
        if name is not None:
            school.take_files.delete(name)


def _held(transaction: Transaction, person: Person, take_id: int) -> TakeRecord:
    take = takes.hold_take(transaction, take_id)
    if take is None or take.person_id != person.id:
        raise not_found()
    return take


def _sha256(school: School, name: str) -> str:
    with school.take_files.path(name).open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
