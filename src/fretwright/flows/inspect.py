"""Every note of one exercise as data: ``docs/schemas/inspect.schema.json``."""

from collections.abc import Sequence
from typing import Any

from fretwright.check.check import Checked
from fretwright.score.note import Attack
from fretwright.score.timeline import TimedNote, timeline


def inspection(checked: Checked, name: str, bpm: float | None = None) -> dict[str, Any]:
    """The notes of an exercise as they are played, repeats taken, at ``bpm`` or the ladder's first rung.

    Raises :class:`~fretwright.base.errors.UsageError` if the course has no such exercise.
    """
    exercise = checked.course.exercise(name)
    played = timeline(checked.fingered[exercise.name].score, bpm or exercise.ladder.start_bpm)
    return {
        "exercise": exercise.name,
        "tempo_bpm": played.bpm,
        "notes": [_note(timed) for timed in played.notes],
    }


def _note(timed: TimedNote) -> dict[str, Any]:
    note = timed.note
    return {
        "id": note.id,
        "string": note.string,
        "fret": note.fret,
        "finger": None if note.finger is None else "T" if note.finger.mark == "T" else int(note.finger),
        "midi": note.midi,
        "name": str(note.pitch),
        "onset_s": round(timed.onset_s, 6),
        "duration_s": round(timed.duration_s, 6),
        "attack": note.attack.value,
        "stroke": None if note.stroke is None or note.attack is not Attack.PLUCK else note.stroke.value,
    }


def inspection_table(found: dict[str, Any]) -> str:
    """The same for reading: one note a line."""
    rows = [("time", "string", "fret", "finger", "note", "length", "attack", "stroke")]
    rows += [
        (
            f"{note['onset_s']:.3f} s",
            str(note["string"]),
            str(note["fret"]),
            str(note["finger"]),
            note["name"],
            f"{note['duration_s']:.3f} s",
            note["attack"],
            note["stroke"] or "",
        )
        for note in found["notes"]
    ]
    return "\n".join([f"{found['exercise']} at {found['tempo_bpm']:g} beats a minute", *columns(rows)])


def columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Rows of words as lines of even columns."""
    widths = [max(len(row[index]) for row in rows) for index in range(len(rows[0]))]
    return [
        "  ".join(word.ljust(width) for word, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]
