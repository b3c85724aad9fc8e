"""What holds for a whole exercise: neck, scale, key, tempo, meter, rhythm."""

from dataclasses import dataclass, replace
from fractions import Fraction

from fretwright.base.errors import FretboardError
from fretwright.base.spans import Span
from fretwright.course.entries import Entries, Entry
from fretwright.course.keys import CHORD_SOURCES
from fretwright.course.notebook import Notebook, did_you_mean, quoted
from fretwright.course.rhythm import NOTE_WORDS, Row, read_rhythm, value_of_words
from fretwright.course.values import (
    read_count,
    read_key,
    read_meter,
    read_scale,
    read_swing,
    read_tempo,
    read_tuning,
    refuse,
)
from fretwright.fretboard.neck import Neck
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.tempo import Ladder
from fretwright.score.values import Value
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale

_C_MAJOR = Key(0)


@dataclass(frozen=True, slots=True)
class Settings:
    """What holds for the whole exercise; what is not said has its usual value or is None."""

    neck: Neck
    position: int | None
    """Fret of the first finger, counted from the capo; 0 is the open position."""
    scale: Scale | None
    key: Key
    ladder: Ladder | None
    meter: Meter
    swing: Swing
    pickup: Fraction
    """Length of the pickup in whole notes, 0 where there is none."""
    rhythm: Row | Value | None
    """A row of values, or the one value that all notes have."""


def read_settings(entries: Entries, course_neck: Neck, notebook: Notebook) -> Settings:
    """Read every key that holds for the whole exercise."""
    scale = read_scale(entries.get("scale"), notebook)
    key = read_key(entries.get("key"), notebook)
    meter = read_meter(entries.get("meter"), notebook) or COMMON_TIME
    neck = _neck(entries, course_neck, notebook)
    return Settings(
        neck=neck,
        position=_position(entries.get("position"), neck, notebook),
        scale=scale,
        key=key or (Key.of_scale(scale) if scale is not None else _C_MAJOR),
        ladder=read_tempo(entries.get("tempo"), notebook),
        meter=meter,
        swing=read_swing(entries.get("swing"), notebook) or STRAIGHT,
        pickup=_pickup(entries.get("pickup"), meter, notebook),
        rhythm=read_rhythm_keys(entries, notebook),
    )


def read_rhythm_keys(entries: Entries, notebook: Notebook, prefix: str = "") -> Row | Value | None:
    """What ``rhythm`` or ``notes`` say, or those keys of the lower voice; None where both are silent."""
    row = read_rhythm(entries.get(f"{prefix}rhythm"), notebook, may_pause=bool(prefix))
    return row or _equal_notes(entries.get(f"{prefix}notes"), notebook)


def require_keys(entries: Entries, block: Span, notebook: Notebook, *, by_chords: bool = False) -> None:
    """Write down the keys without which no exercise can be built."""
    tempo = (("tempo",), "does not say how fast it goes", 'Add "tempo: 60 to 100", or one tempo.')
    chords = (
        CHORD_SOURCES,
        "has no chords",
        'Add "chords: G | C | D | G", or a form such as "form: twelve-bar blues".',
    )
    by_notes = (
        (
            ("tab", "scale"),
            "has neither a tab nor a scale",
            'Add "tab: |" with its lines, or "scale: A minor pentatonic".',
        ),
        tempo,
        (
            ("notes", "rhythm"),
            "does not say how long its notes are",
            'Add "notes: eighths", or a row such as "rhythm: q e e h".',
        ),
    )
    for names, what, mend in (chords, tempo) if by_chords else by_notes:
        if not set(names) & entries.keys() and not notebook.is_unreadable:
            notebook.error("missing-key", block, f"The exercise {quoted(block.text)} {what}.", mend)


def _neck(entries: Entries, course_neck: Neck, notebook: Notebook) -> Neck:
    tuning = read_tuning(entries.get("tuning"), notebook)
    capo = read_count(entries.get("capo"), range(25), notebook)
    try:
        return replace(
            course_neck,
            tuning=course_neck.tuning if tuning is None else tuning,
            capo=course_neck.capo if capo is None else capo,
        )
    except FretboardError as error:
        notebook.refused("bad-value", entries["capo"].span, error)
        return course_neck


def _position(entry: Entry | None, neck: Neck, notebook: Notebook) -> int | None:
    if entry is not None and entry.text.strip().lower() == "open":
        return 0
    return read_count(entry, range(neck.last_fret + 1), notebook)


def _pickup(entry: Entry | None, meter: Meter, notebook: Notebook) -> Fraction:
    row = read_rhythm(entry, notebook)
    if entry is None or row is None:
        return Fraction(0)
    if row.length >= meter.length:
        refuse(
            entry,
            f"Write the values before the first full bar, less than {meter} in all, such as q.",
            notebook,
        )
        return Fraction(0)
    return row.length


def _equal_notes(entry: Entry | None, notebook: Notebook) -> Value | None:
    if entry is None or entry.is_empty:
        return None
    value = value_of_words(entry.text)
    if value is None:
        refuse(entry, did_you_mean(entry.text.strip(), NOTE_WORDS), notebook)
    return value
