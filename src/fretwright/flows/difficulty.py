"""The exercises of a lesson from easy to hard, for reading."""

from fretwright.check.check import Checked
from fretwright.check.difficulty import Ranked, difficulty, easier_first
from fretwright.flows.inspect import columns


def lesson_by_difficulty(checked: Checked, name: str, bpm: float | None = None) -> tuple[Ranked, ...]:
    """An exercise and the others of its lesson, easiest first, all at ``bpm`` or each at its first rung.

    Raises :class:`~fretwright.base.errors.UsageError` if the course has no such exercise.
    """
    lesson = checked.course.exercise(name).lesson
    return easier_first(
        {
            exercise.id: difficulty(checked.fingered[exercise.name], bpm or exercise.ladder.start_bpm)
            for exercise in checked.course.exercises
            if exercise.lesson == lesson
        }
    )


def difficulty_table(ranked: tuple[Ranked, ...], name: str) -> str:
    """One exercise a line, a component a column; ``>`` stands before the exercise asked for."""
    rows = [("", "exercise", "notes/s", "shift mm/s", "stretch mm", "crossings/s", "slurred", "syncopated",
             "lengths", "techniques", "bends", "change mm", "harder than the one before")]  # fmt: skip
    for one in ranked:
        rated = one.difficulty
        rows.append(
            (
                ">" if one.name == name.partition("/")[2] else "",
                one.name,
                f"{rated.notes_per_second:.1f}",
                f"{rated.shift_mm_per_s:.0f}",
                f"{rated.stretch_mm:.0f}",
                f"{rated.crossings_per_s:.1f}",
                f"{rated.slur_share:.0%}",
                f"{rated.syncopated_share:.0%}",
                str(rated.note_lengths),
                f"{rated.technique_share:.0%}",
                f"{rated.bend_semitones:g}",
                f"{rated.change_mm:.0f}",
                one.reason,
            )
        )
    return "\n".join(columns(rows))
