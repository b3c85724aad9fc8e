"""Single values in a teacher's words: counts, lengths, tempos, meters, scales, keys.

Each reader takes an entry (or None where the key is absent) and returns the value, or None with a finding
where it cannot be read.
"""

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from fretwright.base.errors import FretwrightError, NotationError, ScoreError
from fretwright.course.entries import Entries, Entry
from fretwright.course.notebook import Mend, Notebook, did_you_mean, nearest, quoted
from fretwright.fretboard.tuning import TUNINGS, Tuning
from fretwright.score.instruments import Instrument
from fretwright.score.meter import Meter
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.tempo import FASTEST_BPM, SLOWEST_BPM, Ladder
from fretwright.theory.key import Key
from fretwright.theory.scale import SCALE_KINDS, Scale

_COUNT = re.compile(r"[0-9]{1,4}")
_LENGTH = re.compile(r"([0-9]{1,4}(?:[.,][0-9]{1,3})?)\s*(mm|cm|in|inch|inches|\")")
_TEMPO = re.compile(r"([0-9]{1,3}(?:\.[0-9])?)(?:\s*(?:to|-|–|\.\.)\s*([0-9]{1,3}(?:\.[0-9])?))?(?:\s*bpm)?")
_METER = re.compile(r"([0-9]{1,2})/([0-9]{1,2})")
_SWING = re.compile(r"(eighths|sixteenths)(?:\s+([0-9]{1,2})\s*:\s*([0-9]{1,2}))?")
_MM: Final = {"mm": 1.0, "cm": 10.0}
_MM_PER_INCH: Final = 25.4
_SWING_UNITS: Final = {"eighths": Fraction(1, 8), "sixteenths": Fraction(1, 16)}

FEELS: Final = ("straight", "shuffle", "slow blues", "bossa", "ballad", "funk")
"""Feels that a backing band can play, by name."""
ONE_VALUE_KEYS: Final = frozenset(
    {
        "title", "teacher", "about", "language", "scale length", "frets", "capo", "days between lessons",
        "goal", "from", "scale", "key", "position", "tempo", "meter", "swing", "notes", "repeat", "remark",
        "shape", "lowest", "highest", "loop", "pluck", "move", "form", "change", "bass", "written", "band",
        "targets", "answer", "instrument",
    }
)  # fmt: skip
"""Keys of a course, a lesson or an exercise that never have a list."""


def refuse_unknown_keys(entries: Entries, known: Sequence[str], notebook: Notebook) -> None:
    """Write down every key that has no meaning here, and every known one that is left empty."""
    for name, entry in entries.items():
        if name not in known:
            notebook.error(
                "unknown-key",
                entry.key,
                f"The key {quoted(name)} has no meaning here.",
                did_you_mean(name, known),
            )
        elif entry.is_list and name in ONE_VALUE_KEYS:
            message = f'The key "{name}" has one value, and this is a list.'
            notebook.error("nested-value", entry.key, message, "Write the value on the line of its key.")
        elif entry.is_empty:
            message = f'Nothing is written for the key "{name}".'
            notebook.error(
                "empty-value", entry.key, message, "Write its value after the colon, or delete the line."
            )


def read_count(entry: Entry | None, allowed: range, notebook: Notebook) -> int | None:
    """A whole number within ``allowed``."""
    if entry is None or entry.is_empty:
        return None
    text = entry.text.strip()
    if _COUNT.fullmatch(text) and int(text) in allowed:
        return int(text)
    refuse(entry, f"Write a whole number from {allowed.start} to {allowed.stop - 1}.", notebook)
    return None


def refuse(entry: Entry, mend: Mend, notebook: Notebook) -> None:
    """Write down that a value cannot be read."""
    message = f'{quoted(entry.text)} cannot be read as "{entry.key.text}".'
    notebook.error("bad-value", entry.span, message, mend)


def read_scale_length_mm(entry: Entry | None, notebook: Notebook) -> float | None:
    """A length with its unit, in millimetres."""
    if entry is None or entry.is_empty:
        return None
    match = _LENGTH.fullmatch(entry.text.strip().lower())
    if match is None:
        refuse(entry, "Write a length with its unit, such as 648 mm or 25.5 in.", notebook)
        return None
    return round(float(match[1].replace(",", ".")) * _MM.get(match[2], _MM_PER_INCH), 3)


def read_tuning(entry: Entry | None, notebook: Notebook) -> Tuning | None:
    """A tuning by name or by notes from the lowest string up."""
    if entry is None or entry.is_empty:
        return None
    try:
        return Tuning.parse(entry.text.strip())
    except FretwrightError as error:
        near = nearest(entry.text.strip(), TUNINGS)
        notebook.refused("unknown-tuning", entry.span, error, f'Did you mean "{near}"?' if near else "")
        return None


def read_scale(entry: Entry | None, notebook: Notebook) -> Scale | None:
    """A tonic and a kind of scale."""
    if entry is None or entry.is_empty:
        return None
    text = entry.text.strip()
    try:
        return Scale.parse(text)
    except NotationError as error:
        names = [name for kind in SCALE_KINDS.values() for name in (kind.name, *kind.aliases)]
        tonic, _, kind_name = text.partition(" ")
        near = nearest(kind_name, names)
        message = f"{quoted(text)} is no scale: {error.message}"
        mend = f'Did you mean "{tonic} {near}"?' if near else error.mend
        notebook.error("unknown-scale", entry.span, message, mend)
        return None


def read_key(entry: Entry | None, notebook: Notebook) -> Key | None:
    """A major or minor key."""
    if entry is None or entry.is_empty:
        return None
    try:
        return Key.parse(entry.text.strip())
    except NotationError as error:
        notebook.refused("bad-value", entry.span, error)
        return None


def read_tempo(entry: Entry | None, notebook: Notebook) -> Ladder | None:
    """One tempo, or the first and the last rung of a ladder."""
    if entry is None or entry.is_empty:
        return None
    match = _TEMPO.fullmatch(entry.text.strip().lower())
    if match is None:
        refuse(entry, "Write beats a minute, such as 72, or start and goal, such as 60 to 100.", notebook)
        return None
    start, goal = float(match[1]), float(match[2] or match[1])
    if not all(SLOWEST_BPM <= bpm <= FASTEST_BPM for bpm in (start, goal)):
        refuse(entry, f"Write tempos from {SLOWEST_BPM:g} to {FASTEST_BPM:g} beats a minute.", notebook)
        return None
    if goal < start:
        message = f"The tempo goal of {goal:g} is below the start of {start:g}."
        notebook.error("goal-below-start", entry.span, message, f"Write {goal:g} to {start:g}.")
        return None
    return Ladder(start, goal)


def read_meter(entry: Entry | None, notebook: Notebook) -> Meter | None:
    """A time signature."""
    if entry is None or entry.is_empty:
        return None
    match = _METER.fullmatch(entry.text.strip())
    try:
        if match and int(match[2]):
            return Meter(int(match[1]), int(match[2]))
    except ScoreError:
        pass
    refuse(entry, "Write a time signature such as 4/4, 3/4 or 6/8.", notebook)
    return None


def read_band(entry: Entry | None, notebook: Notebook) -> str | None:
    """The feel of a backing band: ``shuffle``, ``slow blues`` ..., with or without ``in 12/8`` behind it."""
    if entry is None or entry.is_empty:
        return None
    text = " ".join(entry.text.lower().split()).removesuffix(" in 12/8")
    if text not in FEELS:
        refuse(entry, did_you_mean(text, FEELS), notebook)
        return None
    return text


def read_instrument(entry: Entry | None, notebook: Notebook) -> Instrument | None:
    """What an exercise is played on: ``nylon``, ``clean electric`` ..."""
    if entry is None or entry.is_empty:
        return None
    text = " ".join(entry.text.lower().split())
    names = [instrument.value for instrument in Instrument]
    if text not in names:
        refuse(entry, f"{did_you_mean(text, names)} There are: {', '.join(names)}.", notebook)
        return None
    return Instrument(text)


def read_swing(entry: Entry | None, notebook: Notebook) -> Swing | None:
    """``no``, ``yes``, ``eighths``, ``sixteenths``, or these with a ratio such as ``3:2``."""
    if entry is None or entry.is_empty:
        return None
    text = entry.text.strip().lower()
    if text in {"no", "straight"}:
        return STRAIGHT
    match = _SWING.fullmatch("eighths" if text == "yes" else text)
    if match:
        long, short = int(match[2] or 2), int(match[3] or 1)
        if long >= short > 0:
            return Swing(Fraction(long, long + short), _SWING_UNITS[match[1]])
    refuse(
        entry,
        "Write yes, no, eighths, sixteenths, or a ratio of long to short such as eighths 3:2.",
        notebook,
    )
    return None
