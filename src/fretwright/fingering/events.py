"""What the fretting hand meets, moment by moment.

An event is everything that starts together, with what is still held from before. Notes tapped by the
picking hand, dead notes and notes off the neck take no finger; they only pass time. Small notes and trills
are events of their own (:func:`spelled_out`), so that the hand that plays a note reaches what belongs to it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import lcm, sqrt
from typing import Final

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack, Note
from fretwright.score.techniques import PLAIN

USUAL_GAP: Final = (1, 8)
"""An eighth note: the gap from onset to onset at which a move costs exactly its millimetres."""

_FEWEST_PERMILLE: Final = 500
_MOST_PERMILLE: Final = 2000


@dataclass(frozen=True, slots=True)
class NewNote:
    """One string's part of an event."""

    place: Place
    attack: Attack = Attack.PLUCK
    finger: int | None = None
    """Fixed by the teacher; never 0 here."""
    takes_finger: bool = True
    """Not for an open string, a note tapped by the picking hand, a dead note, or one off the neck."""
    is_bent: bool = False
    is_shaken: bool = False
    """Whether it has vibrato."""


@dataclass(frozen=True, slots=True)
class Event:
    """What starts at one moment, from the lowest string up, and what is held through it."""

    notes: tuple[NewNote, ...]
    held: tuple[Place, ...] = ()
    """Stopped places that go on sounding under a finger."""
    held_open: tuple[int, ...] = ()
    """Open strings that go on sounding."""
    urgency_permille: int = 1000
    """Factor on every move towards this event, in thousandths: 1000 an eighth note after the last."""
    is_rested: bool = False
    """Whether nothing sounded just before, so that the hand had time to move unheard."""

    @property
    def needs_fingers(self) -> bool:
        """Whether any finger is down."""
        return bool(self.held) or any(note.takes_finger for note in self.notes)

    @property
    def is_plain(self) -> bool:
        """Whether at most one finger is down: the case that single lines consist of."""
        return not self.held and sum(note.takes_finger for note in self.notes) <= 1


@dataclass(frozen=True, slots=True)
class Moment:
    """An event and the ids of its notes, in the same order."""

    event: Event
    ids: tuple[str, ...]
    held_ids: tuple[str, ...]


@lru_cache(maxsize=1024)
def urgency_permille(gap: int, ticks_per_whole: int) -> int:
    """How much a move costs more or less for the time there is, from 500 to 2000 thousandths.

    The square root of an eighth note over the gap from the last onset to this one. Written values count
    and tempo does not, so that one exercise has one fingering on every rung of its ladder.
    """
    usual = ticks_per_whole * USUAL_GAP[0] / USUAL_GAP[1]
    return min(_MOST_PERMILLE, max(_FEWEST_PERMILLE, round(1000 * sqrt(usual / gap))))


def takes_finger(note: Note, neck: Neck) -> bool:
    """Whether a finger of the fretting hand stops the note."""
    is_tapped = note.attack is Attack.TAP
    return note.fret > 0 and not is_tapped and not note.techniques.dead and neck.holds(note.place)


def is_open(note: Note) -> bool:
    """Whether an open string sounds."""
    return note.fret == 0 and not note.techniques.dead


_MOMENT: Final = Fraction(1, 1024)
"""Written time of a small note; shorter than any value, so that all of them lie between two notes."""
_BESIDE: Final = ":"
"""Stands between the id of a note and the number of one that belongs to it."""


def owner(note_id: str) -> str:
    """The id of the note that a small note or the note of a trill belongs to; of others their own."""
    return note_id.partition(_BESIDE)[0]


def small_id(note_id: str, nth: int) -> str:
    """The id that a note's small note goes by in the search, counted from 0."""
    return f"{note_id}{_BESIDE}{nth}"


def spelled_out(notes: Sequence[Note]) -> tuple[Note, ...]:
    """The notes with their small notes before them, and a trill as one change there and back.

    Ids of what is added start with that of its note; :func:`owner` gives it.
    """
    if not any(note.techniques.graces or note.techniques.trill for note in notes):
        return tuple(notes)
    found: list[Note] = []
    for note in notes:
        trilled = _trilled(note)
        found += [*_small_notes(note, trilled[0].onset), *trilled]
    return tuple(sorted(found, key=lambda note: (note.onset, -note.string)))


def _beside(note: Note, name: str, onset: Fraction) -> Note:
    """A note without length that belongs to another and is plucked."""
    return replace(
        note,
        id=f"{note.id}{_BESIDE}{name}",
        onset=onset,
        values=(),
        attack=Attack.PLUCK,
        slur_from=None,
        finger=None,
        techniques=PLAIN,
    )


def _small_notes(note: Note, start: Fraction) -> list[Note]:
    graces = note.techniques.graces
    small: list[Note] = []
    for nth, grace in enumerate(graces):
        before = graces[nth - 1] if nth else None
        one = _beside(note, str(nth), start - (len(graces) - nth) * _MOMENT)
        if before is not None and before.is_slurred_on:
            rises = grace.place.fret > before.place.fret
            attack = Attack.HAMMER_ON if rises else Attack.PULL_OFF
            one = replace(one, attack=attack, slur_from=small[-1].id)
        small.append(replace(one, place=grace.place, pitch=grace.pitch, finger=grace.finger))
    return small


def _trilled(note: Note) -> list[Note]:
    """The note alone, or with one change before it: the finger of its trill is down when it starts."""
    trill = note.techniques.trill
    if trill is None or note.attack is Attack.TAP:
        return [note]
    start = _beside(note, "start", note.onset - 2 * _MOMENT)
    start = replace(start, attack=note.attack, slur_from=note.slur_from, finger=note.finger)
    upper = _beside(note, "trill", note.onset - _MOMENT)
    place = Place(note.string, trill.fret)
    upper = replace(upper, place=place, pitch=trill.pitch, attack=Attack.HAMMER_ON, slur_from=start.id)
    return [start, upper, replace(note, attack=Attack.PULL_OFF, slur_from=upper.id)]


def moments(notes: Sequence[Note], neck: Neck) -> tuple[Moment, ...]:
    """The events of notes that stand in order of onset and then from the lowest string up."""
    clock = _Clock(notes)
    new_notes = [_new_note(note, neck) for note in notes]
    found: list[Moment] = []
    sounding: dict[int, int] = {}
    first, last_onset, last_end = 0, 0, 0
    while first < len(notes):
        onset = clock.onsets[first]
        after = first + 1
        while after < len(notes) and clock.onsets[after] == onset:
            after += 1
        for note in notes[first:after]:
            sounding.pop(note.string, None)
        held = [i for _, i in sorted(sounding.items(), reverse=True) if clock.ends[i] > onset]
        stopped = [i for i in held if new_notes[i].takes_finger]
        event = Event(
            notes=tuple(new_notes[first:after]),
            held=tuple(notes[i].place for i in stopped),
            held_open=tuple(notes[i].string for i in held if is_open(notes[i])),
            urgency_permille=urgency_permille(onset - last_onset, clock.ticks_per_whole) if found else 1000,
            is_rested=bool(found) and last_end < onset,
        )
        ids = tuple(note.id for note in notes[first:after])
        found.append(Moment(event, ids, tuple(notes[i].id for i in stopped)))
        sounding = {notes[i].string: i for i in (*held, *range(first, after))}
        last_onset, last_end = onset, max(last_end, *clock.sounding_ends[first:after])
        first = after
    return tuple(found)


def _new_note(note: Note, neck: Neck) -> NewNote:
    stopped = takes_finger(note, neck)
    fixed = int(note.finger) if stopped and note.finger is not None and note.finger > 0 else None
    techniques = note.techniques
    return NewNote(
        note.place,
        note.attack,
        fixed,
        stopped,
        is_bent=stopped and techniques.bend is not None,
        is_shaken=stopped and techniques.vibrato is not None,
    )


class _Clock:
    """Onsets and ends of notes in whole ticks, since arithmetic on fractions is slow."""

    def __init__(self, notes: Sequence[Note]) -> None:
        durations = self._durations(notes)
        denominators = {note.onset.denominator for note in notes} | {d.denominator for d in durations}
        self.ticks_per_whole = ticks = lcm(8, *denominators)
        self.onsets = [note.onset.numerator * (ticks // note.onset.denominator) for note in notes]
        self.sounding_ends = [
            onset + duration.numerator * (ticks // duration.denominator)
            for onset, duration in zip(self.onsets, durations, strict=True)
        ]
        self.ends = list(self.sounding_ends)
        """When the finger may be lifted: a note that a slur leaves is held until the slur."""
        index_of = {note.id: i for i, note in enumerate(notes)}
        for onset, note in zip(self.onsets, notes, strict=True):
            left = index_of.get(note.slur_from) if note.slur_from else None
            if left is not None:
                self.ends[left] = max(self.ends[left], onset)

    @staticmethod
    def _durations(notes: Sequence[Note]) -> list[Fraction]:
        """The written durations, added up once for each kind of value."""
        known: dict[int, Fraction] = {}
        durations = []
        for note in notes:
            key = id(note.values[0]) if len(note.values) == 1 else id(note.values)
            duration = known.get(key)
            if duration is None:
                duration = known[key] = note.duration
            durations.append(duration)
        return durations
