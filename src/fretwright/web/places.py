"""The school's main pages, as the row of links at the top of each names them."""

from typing import Final

from fretwright.store.records import Person

STUDENT_PLACES: Final = (
    ("Today", "/today"),
    ("Course", "/course/index.html"),
    ("Progress", "/progress"),
    ("Calendar", "/calendar"),
    ("Account", "/account"),
)
TEACHER_PLACES: Final = (
    ("Desk", "/desk"),
    ("Course", "/course/index.html"),
    ("Account", "/account"),
)


def places(person: Person) -> tuple[tuple[str, str], ...]:
    """Label and address of each page that this person has."""
    return TEACHER_PLACES if person.is_teacher else STUDENT_PLACES
