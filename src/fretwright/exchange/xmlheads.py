"""From written heads to notes: ties joined, and notes that two staves show made one."""

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final

from fretwright.base.errors import ExchangeError
from fretwright.base.spans import Span
from fretwright.exchange.draft import DraftNote
from fretwright.exchange.xmlgraces import attack_from
from fretwright.exchange.xmlmarks import Marks, OpenEnds
from fretwright.score.note import Attack
from fretwright.score.values import Value
from fretwright.theory.pitch import Pitch

_MOST_HEADS: Final = 100_000


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """One head as the file has it."""

    onset: Fraction
    length: Fraction
    value: Value | None
    """``None`` where its sign is not one that a score knows, or does not fit its length."""
    pitch: Pitch
    """Sounding."""
    staff: str
    is_tied_back: bool
    is_tied_on: bool
    span: Span
    voice: str = ""
    """As the file calls it."""


@dataclass(slots=True)
class _Held:
    """A note while its ties are being joined."""

    note: DraftNote
    staff: str
    voice: str
    is_written: bool = True
    """Whether every head so far has a written value."""


@dataclass(slots=True)
class Heads:
    """Takes heads in the file's order and keeps notes."""

    _notes: list[_Held] = field(default_factory=list)
    _ends: OpenEnds = field(default_factory=OpenEnds)
    _open_ties: dict[tuple[int, str, Fraction], _Held] = field(default_factory=dict)
    """What is tied on, by pitch, staff and the time that it is tied to."""

    def add(self, head: WrittenNote, marks: Marks) -> None:
        """Take one head: a note of its own, or more of the one that it is tied to.

        Raises :class:`~fretwright.base.errors.ExchangeError` for more heads than any part has.
        """
        if len(self._notes) >= _MOST_HEADS:
            raise ExchangeError(f"The part has more than {_MOST_HEADS} notes.", "Export a shorter piece.")
        key = (head.pitch.midi, head.staff, head.onset)
        held = self._open_ties.pop(key, None) if head.is_tied_back else None
        attack, source, in_slur = self._ends.pass_note(marks, head.onset, is_struck=held is None)
        if marks.asked.techniques.shift_slide and attack is Attack.SLIDE:
            attack, source = Attack.PLUCK, None
        if held is None:
            note = DraftNote(
                head.onset, head.length, head.pitch, head.span, (), marks.place, attack, source,
                marks.finger, marks.stroke, in_slur, marks.asked,
            )  # fmt: skip
            if marks.asked.graces:
                note = replace(note, attack=attack_from(marks.asked.graces[-1], head.pitch, attack))
            held = _Held(note, head.staff, head.voice)
            self._notes.append(held)
        else:
            held.note = replace(held.note, duration=held.note.duration + head.length)
            if marks.lets_ring:
                held.note = _let_ring(held.note)
        held.is_written = held.is_written and head.value is not None
        values = (*held.note.values, head.value) if held.is_written and head.value is not None else ()
        held.note = replace(held.note, values=values)
        if head.is_tied_on:
            self._open_ties[head.pitch.midi, head.staff, held.note.end] = held

    @property
    def is_empty(self) -> bool:
        """Whether no head has come yet."""
        return not self._notes

    def voices(self) -> dict[str, int]:
        """The number of each voice that has notes: 1 for the first by the file's own order, 2 for the others.

        A staff of tab under a staff of notes has no voices of its own.
        """
        names = sorted({held.voice for held in self._merged()}, key=lambda name: (len(name), name))
        return {name: 1 if name == names[0] else 2 for name in names}

    def joined(self) -> tuple[DraftNote, ...]:
        """All notes, those that two staves show as one."""
        number_of = self.voices()
        notes = [replace(held.note, voice=number_of[held.voice]) for held in self._merged()]
        if self._ends.names_joins:
            notes = [replace(note, in_slur=False) for note in notes]
        return tuple(notes)

    def _merged(self) -> list[_Held]:
        found: dict[tuple[Fraction, int], list[_Held]] = {}
        for held in self._notes:
            twins = found.setdefault((held.note.onset, held.note.pitch.midi), [])
            twin = next((other for other in twins if _are_one(other, held)), None)
            if twin is None:
                twins.append(held)
            else:
                twin.note = _both(twin.note, held.note)
        return [held for twins in found.values() for held in twins]


def _let_ring(note: DraftNote) -> DraftNote:
    techniques = replace(note.asked.techniques, let_ring=True)
    return replace(note, asked=replace(note.asked, techniques=techniques))


def _are_one(one: _Held, other: _Held) -> bool:
    """Whether two notes of one pitch and onset are the same note, shown twice."""
    places = {one.note.place, other.note.place} - {None}
    return one.staff != other.staff or len(places) < 2


def _both(one: DraftNote, other: DraftNote) -> DraftNote:
    """One note out of two that show it; the longer one's values are kept."""
    longer, shorter = (one, other) if one.duration >= other.duration else (other, one)
    return replace(
        longer,
        place=longer.place or shorter.place,
        attack=longer.attack if longer.attack is not Attack.PLUCK else shorter.attack,
        slurred_from=longer.slurred_from if longer.slurred_from is not None else shorter.slurred_from,
        finger=longer.finger if longer.finger is not None else shorter.finger,
        stroke=longer.stroke or shorter.stroke,
        in_slur=longer.in_slur or shorter.in_slur,
        asked=shorter.asked if longer.asked.is_nothing else longer.asked,
    )
