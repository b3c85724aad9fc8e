"""What the school lets go of by itself: old recordings, what has expired, files of no row."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from fretwright.store import belongings, entry, rates, takes
from fretwright.store.database import Database
from fretwright.store.takefiles import TakeFiles

_SWEPT_AFTER: Final = timedelta(hours=24)
"""A young file may be about to get its row."""


@dataclass(frozen=True, slots=True)
class LetGo:
    """What one round let go of."""

    recordings: int
    """That were older than the school keeps them; verdicts stay."""
    strays: int
    """Files that no row names."""


def keep_house(database: Database, files: TakeFiles, *, retention_days: int, now: datetime) -> LetGo:
    """Do one round. It may be interrupted anywhere: the next one finds what is left."""
    with database.writing() as transaction:
        entry.forget_expired(transaction, now)
        rates.forget_rates(transaction, now)
    recordings = _let_recordings_go(database, files, now - timedelta(days=retention_days))
    return LetGo(recordings, _sweep(database, files, now - _SWEPT_AFTER))


def _let_recordings_go(database: Database, files: TakeFiles, before: datetime) -> int:
    count = 0
    while True:
        with database.reading() as transaction:
            old = takes.old_files(transaction, before)
        if not old:
            return count
        for number, name in old:
            with database.writing() as transaction:
                takes.forget_file(transaction, number)
            files.delete(name)
            count += 1


def _sweep(database: Database, files: TakeFiles, before: datetime) -> int:
    # what lies there is listed first: a row that comes meanwhile names a younger file
    lying = files.names_before(before)
    with database.reading() as transaction:
        strays = lying - belongings.all_files(transaction)
    for name in strays:
        files.delete(name)
    return len(strays)
