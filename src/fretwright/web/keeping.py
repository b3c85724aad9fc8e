"""A person's own data: to take home and to delete.

Recordings belong to the student. Rows are deleted before the files they name, so that a page never points to
nothing; a file that a crash in between leaves behind belongs to no row, and housekeeping sweeps it away.
"""

import json
import zipfile
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import Final

from fretwright.base.errors import RefusedError
from fretwright.store import belongings, people
from fretwright.store.records import Person
from fretwright.web.school import School

_DELETED: Final = "deleted.jsonl"
_ENDINGS: Final = {
    "audio/webm": ".webm",
    "audio/mp4": ".m4a",
    "audio/ogg": ".ogg",
    "audio/mpeg": ".mp3",
    "audio/wav": ".wav",
}


def exported(school: School, person: Person) -> bytes:
    """All that belongs to a person as a ZIP file: ``data.json`` and every recording."""
    with school.database.reading() as transaction:
        rows = belongings.belongings(transaction, person.id)
    target = BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("data.json", json.dumps(rows, ensure_ascii=False, indent=1))
        for table, folder in (("takes", "takes"), ("remarks", "answers")):
            for row in rows[table]:
                if row["file"] is not None and school.take_files.path(row["file"]).is_file():
                    ending = _ENDINGS.get(row["media_type"].partition(";")[0], "")
                    archive.write(school.take_files.path(row["file"]), f"{folder}/{row['id']}{ending}")
    return target.getvalue()


def delete_everything(school: School, person: Person) -> None:
    """Delete a student: rows, then files. Of backups that still hold them a note is kept, by number alone.

    Raises :class:`~fretwright.base.errors.RefusedError` for a teacher, whose the school is.
    """
    if person.is_teacher:
        raise RefusedError(
            403,
            "teacher",
            "The school is yours.",
            "Delete its folder and its database, and all of it is gone.",
        )
    with school.database.writing() as transaction:
        names = belongings.files_of(transaction, person.id)
        people.delete_person(transaction, person.id)
    note_deleted(school.settings.home, person, school.now())
    for name in names:
        school.take_files.delete(name)


def note_deleted(home: Path, person: Person, now: datetime) -> None:
    """Remember that a person was deleted, so that a backup does not bring them back."""
    line = json.dumps({"id": person.id, "created_at": person.created_at.isoformat(), "at": now.isoformat()})
    with (home / _DELETED).open("a", encoding="utf-8") as file:
        file.write(line + "\n")


def delete_again(school: School) -> int:
    """After a restore: delete whoever had been deleted since the backup was made. Returns how many."""
    path = school.settings.home / _DELETED
    if not path.exists():
        return 0
    count = 0
    for line in path.read_text(encoding="utf-8").splitlines():
        told = json.loads(line)
        with school.database.reading() as transaction:
            found = people.find_person(transaction, told["id"])
        if found is not None and found.created_at == datetime.fromisoformat(told["created_at"]):
            delete_everything(school, found)
            count += 1
    return count
