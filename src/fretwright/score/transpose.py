"""Moving a score to another pitch by moving every hand along the neck."""

from dataclasses import replace

from fretwright.base.errors import ScoreError
from fretwright.fretboard.neck import Place
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.theory.interval import Interval


def transpose(score: Score, interval: Interval) -> Score:
    """The same shapes on the same strings, an interval higher or lower.

    Fingers are kept, save where a note becomes open or stops being open: those are left for the fingering
    search. Raises :class:`~fretwright.base.errors.ScoreError` where a note would leave the neck.
    """
    return replace(
        score,
        key=score.key.transposed(interval),
        scale=score.scale.transposed(interval) if score.scale else None,
        position=None if score.position is None else score.position + interval.semitones,
        notes=tuple(_moved(score, note, interval) for note in score.notes),
    )


def _moved(score: Score, note: Note, interval: Interval) -> Note:
    place = Place(note.string, note.fret + interval.semitones)
    if not score.neck.holds(place):
        message = f"moved by {interval.semitones} frets, {note.id} would fall on fret {place.fret}"
        raise ScoreError(message, f"The neck has frets 0 to {score.neck.last_fret}.")
    becomes_open = (place.fret == 0) != (note.fret == 0)
    finger = None if becomes_open else note.finger
    return replace(note, place=place, pitch=note.pitch.transposed(interval), finger=finger)
