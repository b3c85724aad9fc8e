"""``move``: a tab played elsewhere on the neck or in another key, by the same fingers on the same strings."""

import re
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import NotationError, ScoreError
from fretwright.course.entries import Entries, Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.values import refuse
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.techniques import HarmonicKind
from fretwright.score.transpose import transpose
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName

_FRETS = re.compile(r"(?:(up|down)\s+)?(?:by\s+)?([0-9]{1,2})\s+frets?(?:\s+(up|down))?")
_KEY = re.compile(r"(?:(up|down)\s+)?to\s+([A-Ga-g](?:#|b|♯|♭)?)(?:\s+(.+))?")
_STEPS: Final = (0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6)
"""Diatonic steps by semitones within the octave: the tritone as a diminished fifth, all else perfect, major
or minor."""
_OCTAVE: Final = Interval(7, 12)
_UPWARDS_AT_MOST: Final = 6
"""Semitones: a key further up than this lies nearer downwards."""


@dataclass(frozen=True, slots=True)
class _Target:
    """A key to move to."""

    tonic: NoteName
    mode: str
    """``minor``, ``dorian`` ... in lower case; empty where only the tonic is named."""
    direction: str | None
    """``up`` or ``down``, or None for the shorter way."""


def moved(score: Score, entries: Entries, notebook: Notebook) -> Score:
    """The score where ``move`` says it is played; as it is where nothing is said, or with a finding."""
    entry = entries.get("move")
    if entry is None or entry.is_empty:
        return score
    ways = _ways(entry, score, entries, notebook)
    if ways and ways[0].semitones and any(_is_natural(note) for note in score.notes):
        message = "A natural harmonic sounds over its own fret alone, so that this tab cannot be moved."
        mend = "Leave the exercise where it is, or write harmonics of stopped strings, such as 5<17>."
        notebook.error("harmonic-cannot-move", entry.span, message, mend)
        return score
    for way in ways:
        try:
            return transpose(score, way)
        except ScoreError:
            continue
    if ways:
        _refuse_off_neck(entry, score, ways[0], notebook)
    return score


def _is_natural(note: Note) -> bool:
    harmonic = note.techniques.harmonic
    return harmonic is not None and harmonic.kind is HarmonicKind.NATURAL


def _ways(entry: Entry, score: Score, entries: Entries, notebook: Notebook) -> tuple[Interval, ...]:
    """The intervals that do what is asked, the best one first; none with a finding."""
    text = " ".join(entry.text.split())
    frets = _FRETS.fullmatch(text.lower())
    if frets and bool(frets[1]) != bool(frets[3]):
        octaves, semitones = divmod(int(frets[2]), 12)
        interval = Interval(_STEPS[semitones] + 7 * octaves, int(frets[2]))
        return (interval if "up" in (frets[1], frets[3]) else -interval,)
    target = _target(text)
    if target is None:
        refuse(entry, 'Write "3 frets up", "2 frets down", or a key, such as "to E minor".', notebook)
        return ()
    if not {"key", "scale"} & entries.keys():
        message = "The exercise does not say which key it is moved from."
        notebook.error(
            "missing-key", entry.key, message, 'Add "key: A minor", the key of the tab as written.'
        )
        return ()
    return _to_key(entry, target, score, notebook)


def _target(text: str) -> _Target | None:
    match = _KEY.fullmatch(text)
    if match is None:
        return None
    try:
        return _Target(NoteName.parse(match[2]), (match[3] or "").lower(), match[1])
    except NotationError:
        return None


def _to_key(entry: Entry, target: _Target, score: Score, notebook: Notebook) -> tuple[Interval, ...]:
    modes = {"minor" if score.key.minor else "major"}
    if score.scale is not None:
        modes |= {score.scale.kind.name, *score.scale.kind.aliases}
    home = score.scale.tonic if score.scale is not None else score.key.tonic
    if target.mode and target.mode not in modes:
        name = score.scale.name if score.scale is not None else score.key.name
        message = (
            f"{quoted(entry.text)} asks for another kind of key than {name}; moving keeps every interval."
        )
        notebook.error("bad-value", entry.span, message, f'Write "to {target.tonic}", or write the tab anew.')
        return ()
    up = home.interval_to(target.tonic)
    if up.semitones == 0:
        return (up,)
    down = up - _OCTAVE
    if target.direction is not None:
        return (up,) if target.direction == "up" else (down,)
    return (up, down) if up.semitones <= _UPWARDS_AT_MOST else (down, up)


def _refuse_off_neck(entry: Entry, score: Score, way: Interval, notebook: Notebook) -> None:
    frets = [note.fret for note in score.notes]
    down, up = min(frets), score.neck.last_fret - max(frets)
    direction = "up" if way.semitones > 0 else "down"
    message = f"Moved {abs(way.semitones)} frets {direction}, some notes are off the neck."
    mend = f"Move it by up to {up} frets up or {down} down."
    notebook.error("fret-beyond-neck", entry.span, message, mend)
