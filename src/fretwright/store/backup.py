"""Backups: everything in one file, made while the school runs, and read back into either database.

The rows are read from one moment of the database; the files they name were on disk before. A recording that
is deleted while the backup is made is missing in it, and its row says so once it is restored. Sessions and
sign-in links are left out: whoever is restored signs in anew.
"""

import json
import os
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Table, delete, func, insert, select, update

from fretwright.base.errors import StoreError
from fretwright.store.belongings import KEYS, all_files
from fretwright.store.database import Database, Transaction
from fretwright.store.migrate import migrate, newest_form
from fretwright.store.plain import plain_row, row_of
from fretwright.store.tables import metadata, people, remarks, takes
from fretwright.store.takefiles import TakeFiles

_FORM: Final = "form"
_KEY: Final = "secret.key"
_AT_ONCE: Final = 1000
_PART: Final = ".part"


def write_backup(database: Database, files: TakeFiles, key: bytes, target: Path) -> int:
    """Write everything into a file, which gets its name when it is whole. Returns how many rows it holds.

    Raises :class:`~fretwright.base.errors.StoreError` if it cannot be written.
    """
    part = target.with_name(target.name + _PART)
    try:
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, strict_timestamps=False) as archive:
            count = _write_rows(database, archive)
            archive.writestr(_KEY, key)
            with database.reading() as transaction:
                names = all_files(transaction)
            for name in sorted(names):
                path = files.path(name)
                if path.is_file():
                    # sound is compressed already
                    archive.write(path, f"takes/{name}", zipfile.ZIP_STORED)
        part.chmod(0o600)
        with part.open("rb") as file:
            os.fsync(file.fileno())
        part.replace(target)
    except OSError as error:
        raise StoreError(f"{target} cannot be written: {error.strerror}.", "Free some space.") from error
    finally:
        part.unlink(missing_ok=True)
    return count


def restore_backup(source: Path, database: Database, files: TakeFiles) -> bytes:
    """Read a backup into an empty school; returns the school's secret.

    Raises :class:`~fretwright.base.errors.StoreError` if the school is not empty, the file is no backup,
    or it was made by another form of the tables.
    """
    try:
        with zipfile.ZipFile(source) as archive:
            form = archive.read(_FORM).decode()
            if form != newest_form():
                raise StoreError(
                    f"The backup has form {form}, this version works with {newest_form()}.",
                    "Restore it with the version that made it, then start this one.",
                )
            migrate(database)
            with database.writing() as transaction:
                _require_empty(transaction)
                _restore_files(archive, files)
                _restore_rows(archive, transaction)
                _forget_missing(transaction, files)
            return archive.read(_KEY)
    except (OSError, zipfile.BadZipFile, KeyError) as error:
        raise StoreError(
            f"{source} is not a backup, or cannot be read.", "Name a file that backup made."
        ) from error


def _tables() -> Iterator[Table]:
    return (table for table in metadata.sorted_tables if table.name not in KEYS)


def _write_rows(database: Database, archive: zipfile.ZipFile) -> int:
    count = 0
    with database.reading() as transaction:
        archive.writestr(_FORM, newest_form())
        for table in _tables():
            rows = transaction.execution_options(yield_per=_AT_ONCE).execute(select(table))
            with archive.open(f"tables/{table.name}.jsonl", "w", force_zip64=True) as file:
                for row in rows:
                    file.write(json.dumps(plain_row(table, row), ensure_ascii=False).encode() + b"\n")
                    count += 1
    return count


def _require_empty(transaction: Transaction) -> None:
    if transaction.execute(select(func.count()).select_from(people)).scalar_one():
        raise StoreError("There is a school here already.", "Restore into an empty folder and database.")


def _restore_files(archive: zipfile.ZipFile, files: TakeFiles) -> None:
    """Every recording under its own name; a name that the school would not make is no recording's."""
    for entry in archive.infolist():
        folder, _, name = entry.filename.partition("/")
        if folder == "takes" and not entry.is_dir():
            files.restore(name, archive.read(entry))


def _restore_rows(archive: zipfile.ZipFile, transaction: Transaction) -> None:
    for table in _tables():
        with archive.open(f"tables/{table.name}.jsonl") as file:
            batch: list[dict[str, Any]] = []
            for line in file:
                batch.append(row_of(table, json.loads(line)))
                if len(batch) == _AT_ONCE:
                    transaction.execute(insert(table), batch)
                    batch = []
            if batch:
                transaction.execute(insert(table), batch)
        _count_on(transaction, table)


def _count_on(transaction: Transaction, table: Table) -> None:
    """Have PostgreSQL number new rows from where the restored ones end; SQLite does so by itself."""
    if transaction.dialect.name == "postgresql" and "id" in table.c:
        last = transaction.execute(select(func.max(table.c.id))).scalar_one() or 1
        sequence = func.pg_get_serial_sequence(table.name, "id")
        transaction.execute(select(func.setval(sequence, last)))


def _forget_missing(transaction: Transaction, files: TakeFiles) -> None:
    """Say of a recording that is not in the backup that it is gone."""
    missing = {name for name in all_files(transaction) if not files.path(name).is_file()}
    for name in sorted(missing):
        transaction.execute(update(takes).where(takes.c.file == name).values(file=None, stored_bytes=0))
        transaction.execute(delete(remarks).where(remarks.c.file == name, remarks.c.words == ""))
        transaction.execute(update(remarks).where(remarks.c.file == name).values(file=None, media_type=None))
