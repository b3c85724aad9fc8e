"""The bass guitar: the string model under the bass player's notes."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import Tuning
from fretwright.score.note import Note
from fretwright.score.timeline import TimedNote, Timeline
from fretwright.score.values import QUARTER
from fretwright.sound.arrays import Samples
from fretwright.sound.band.bass_line import BassNote
from fretwright.sound.instrument import Voice
from fretwright.sound.render import sound_strings

BASS_NECK: Final = Neck(tuning=Tuning.parse("E1 A1 D2 G2"), scale_length_mm=864.0, frets=20)
"""Four strings in fourths on the usual long neck of 34 inches (common practice, no source)."""


def bass_sound(part: Sequence[BassNote], starts: int, samples: int, voice: Voice) -> Samples:
    """The part from sample ``starts`` on, shape (samples, 2), before any gain."""
    timed = tuple(_timed(index, note) for index, note in enumerate(part))
    length_s = max((note.time_s + note.duration_s for note in part), default=0.0)
    return sound_strings(BASS_NECK, Timeline(0.0, timed, (), (), length_s), starts, samples, voice)


def _timed(index: int, played: BassNote) -> TimedNote:
    place = _low_place(played.midi)
    note = Note(
        id=f"bass{index}",
        onset=Fraction(0),
        values=(QUARTER,),
        place=place,
        pitch=BASS_NECK.pitch_at(place),
    )
    return TimedNote(note, played.time_s, played.duration_s, 1, played.duration_s)


def _low_place(midi: int) -> Place:
    """Where a bass player would take it: as near to the nut as it lies."""
    return min(BASS_NECK.places_of(midi), key=lambda place: place.fret)
