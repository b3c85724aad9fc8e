"""The first half of teaching: from course text to a checked course, quickly and without pictures or sound."""

from pathlib import Path

from fretwright.base.errors import UsageError
from fretwright.base.findings import Finding
from fretwright.check.check import Checked, check
from fretwright.course.reader import read_course


def check_course(folder: Path, *, left_handed: bool | None = None) -> Checked:
    """Read and check the course in ``folder``; ``left_handed`` goes before what it says of the hand.

    Raises :class:`~fretwright.base.errors.CourseError` if there is no course to read.
    """
    return check(read_course(folder, left_handed=left_handed))


def errors_of(checked: Checked, name: str) -> tuple[Finding, ...]:
    """The errors that keep the exercise ``lesson/exercise`` from being built; none if it can be.

    Raises :class:`~fretwright.base.errors.UsageError` if neither a built nor a broken exercise has that
    name.
    """
    errors = tuple(finding for finding in checked.findings if finding.is_error and finding.exercise == name)
    if not errors:
        checked.course.exercise(name)
    return errors


def require_lesson(checked: Checked, slug: str) -> None:
    """Make sure that the course has a lesson of that name.

    Raises :class:`~fretwright.base.errors.UsageError` if it has none.
    """
    slugs = [lesson.slug for lesson in checked.course.lessons]
    if slug not in slugs:
        raise UsageError(f"There is no lesson {slug!r} in this course.", f"Its lessons: {', '.join(slugs)}.")
