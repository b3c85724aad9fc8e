"""Moving a score to another pitch by moving every hand along the neck."""

import re
from dataclasses import replace
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.fretboard.neck import Place
from fretwright.score.note import Note
from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.techniques import HarmonicKind, Techniques
from fretwright.theory.interval import Interval
from fretwright.theory.key import MAX_ACCIDENTALS, Key
from fretwright.theory.pitch import NoteName

_ROOT: Final = re.compile(r"(?:^|(?<=/))[A-G](?:##?|bb?)?")


def transpose(score: Score, interval: Interval) -> Score:
    """The same shapes on the same strings, an interval higher or lower.

    Where the new key would need more than seven accidentals, all is written in the enharmonic one.
    Fingers are kept, save where a note becomes open or stops being open: those are left for the fingering
    search. Raises :class:`~fretwright.base.errors.ScoreError` where a note would leave the neck.
    """
    interval = _writable(score.key, interval)
    position = None if score.position is None else score.position + interval.semitones
    return replace(
        score,
        key=Key(score.key.fifths + _fifths(interval), score.key.minor),
        scale=score.scale.transposed(interval) if score.scale else None,
        position=position if position is None or position >= 0 else None,
        labels=tuple(_relabelled(label, interval) for label in score.labels),
        notes=tuple(_moved(score, note, interval) for note in score.notes),
    )


def _relabelled(label: Label, interval: Interval) -> Label:
    """A chord name with its root, and its bass note if it has one, moved; other words as they are."""
    if label.kind is not LabelKind.CHORD:
        return label
    text = _ROOT.sub(lambda match: str(NoteName.parse(match[0]).transposed(interval)), label.text)
    return replace(label, text=text, voicing=None)


def _fifths(interval: Interval) -> int:
    """How far round the circle of fifths an interval leads: 1 for a fifth, -3 for a minor third."""
    return 7 * interval.semitones - 12 * interval.steps


def _writable(key: Key, interval: Interval) -> Interval:
    """The interval, or the enharmonic one that leads to a key of no more than seven accidentals."""
    fifths = key.fifths + _fifths(interval)
    turns = 0 if abs(fifths) <= MAX_ACCIDENTALS else (fifths + 5) // 12
    return Interval(interval.steps + turns, interval.semitones)


def _moved(score: Score, note: Note, interval: Interval) -> Note:
    place = Place(note.string, note.fret + interval.semitones)
    if not score.neck.holds(place):
        message = f"moved by {interval.semitones} frets, {note.id} would fall on fret {place.fret}"
        raise ScoreError(message, f"The neck has frets 0 to {score.neck.last_fret}.")
    _refuse_off_neck(score, note, interval.semitones)
    becomes_open = (place.fret == 0) != (note.fret == 0)
    finger = None if becomes_open else note.finger
    return replace(
        note,
        place=place,
        pitch=note.pitch.transposed(interval),
        finger=finger,
        techniques=_moved_techniques(note.techniques, interval),
    )


def _refuse_off_neck(score: Score, note: Note, frets: int) -> None:
    """Small notes and the other note of a trill move along, and may leave the neck before the note does."""
    beside = [grace.place for grace in note.techniques.graces]
    if note.techniques.trill is not None:
        beside.append(Place(note.string, note.techniques.trill.fret))
    for place in beside:
        if not score.neck.holds(Place(place.string, place.fret + frets)):
            message = (
                f"moved by {frets} frets, a small note of {note.id} would fall on fret {place.fret + frets}"
            )
            raise ScoreError(message, f"The neck has frets 0 to {score.neck.last_fret}.")


def _moved_techniques(techniques: Techniques, interval: Interval) -> Techniques:
    """The same techniques elsewhere on the neck. A natural harmonic cannot move: its string is open."""
    frets = interval.semitones
    if techniques.harmonic is not None and techniques.harmonic.kind is HarmonicKind.NATURAL and frets:
        message = "a natural harmonic sounds only over its own fret"
        raise ScoreError(message, "Leave the exercise where it is, or write artificial harmonics.")
    harmonic, trill = techniques.harmonic, techniques.trill
    return replace(
        techniques,
        harmonic=harmonic
        and replace(harmonic, touched=harmonic.touched + frets, stopped=harmonic.stopped + frets),
        trill=trill and replace(trill, fret=trill.fret + frets, pitch=trill.pitch.transposed(interval)),
        graces=tuple(
            replace(
                grace,
                place=Place(grace.place.string, grace.place.fret + frets),
                pitch=grace.pitch.transposed(interval),
                finger=None if 0 in (grace.place.fret, grace.place.fret + frets) else grace.finger,
            )
            for grace in techniques.graces
        ),
    )
