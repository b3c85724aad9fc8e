"""What a hand cannot play, in a teacher's words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.fingering.events import Moment, takes_finger
from fretwright.fingering.grips import Choices, Fault, FaultKind
from fretwright.fingering.hand import Hand
from fretwright.fingering.ruler import UM_PER_MM
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Finger, Note


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that the hand cannot do."""

    note_id: str
    kind: FaultKind
    message: str
    """What is wrong, in one sentence."""
    mend: str
    """What to do about it, in one sentence."""
    stretch_mm: float | None = None
    """Distance between the two fingertips along the neck, where reach is what is missing."""


def fixed_problems(notes: Sequence[Note], neck: Neck) -> Iterator[Problem]:
    """Notes that no finger could stop as written, whatever is around them."""
    for note in notes:
        if not neck.holds(note.place):
            message = f"{_where(note.place)} is not on a neck of {neck.last_fret} frets."
            yield Problem(note.id, FaultKind.OFF_NECK, message, f"Use a fret from 0 to {neck.last_fret}.")
        elif note.fret == 0 and note.finger not in (None, Finger.OPEN):
            message = (
                f"String {note.string} is open here, but a finger ({note.finger.mark}) is written for it."
            )
            yield Problem(note.id, FaultKind.FINGER_ON_OPEN, message, "Write 0, or leave the finger out.")
        elif takes_finger(note, neck) and note.finger is Finger.OPEN:
            message = f"{_where(note.place)} needs a finger, but 0, the open string, is written for it."
            yield Problem(note.id, FaultKind.OPEN_ON_FRET, message, "Write 1 to 4, or leave the finger out.")


def step_problems(moment: Moment, choices: Choices, faults: Sequence[Fault], hand: Hand) -> Iterator[Problem]:
    """The problems of one event: notes that must be let go, and what is wrong with its grip."""
    held = dict(zip(moment.event.held, moment.held_ids, strict=True))
    of_string = {place.string: (note_id, place) for place, note_id in held.items()}
    new = zip(moment.event.notes, moment.ids, strict=True)
    of_string |= {note.place.string: (note_id, note.place) for note, note_id in new}
    let_go = [Fault(FaultKind.HOLD, place.string) for place in choices.dropped]
    for fault in (*let_go, *faults):
        note_id, place = of_string[fault.string]
        other = of_string[fault.other][1] if fault.other else None
        stretch_mm = fault.stretch_um / UM_PER_MM if fault.stretch_um else None
        message, mend = _SAID[fault.kind]
        message = message.format(
            here=_where(place).lower(),
            both=f"{_where(place).lower()} and {_where(other).lower()}" if other else _where(place).lower(),
            apart=f"{stretch_mm or 0:.0f} mm",
            hand=hand.name,
        )
        yield Problem(note_id, fault.kind, message[0].upper() + message[1:], mend, stretch_mm)


_SAID: Final = {
    FaultKind.TWO_FRETS: ("one finger cannot stop {both} at once.", "Write different fingers."),
    FaultKind.FINGERS_CROSSED: (
        "the fingers on {both} would have to cross.",
        "Give the higher fret the higher finger.",
    ),
    FaultKind.REACH: (
        "{both} asks for a spread of {apart}, more than these fingers of a {hand} hand have.",
        "Choose other fingers or another string, or move the passage up the neck.",
    ),
    FaultKind.BARRE: (
        "one finger flat on {both} does not reach, or stops a string that must sound lower.",
        "Write different fingers for the two strings.",
    ),
    FaultKind.THUMB: ("the thumb does not reach {here}.", "Keep the thumb to the two lowest strings."),
    FaultKind.HOLD: (
        "{here} cannot be held as long as it is written: the hand has to leave it.",
        "Shorten the note, or choose another finger or string.",
    ),
    FaultKind.HAMMER: (
        "the hammer-on to {here} needs a higher finger than the one that stays down.",
        "Write a higher finger for it, or a lower one for the note before.",
    ),
    FaultKind.PULL: (
        "the pull-off to {here} needs a lower finger than the one that pulls, and it must be down already.",
        "Write a lower finger for it, or a higher one for the note before.",
    ),
    FaultKind.SLIDE: ("the slide to {here} must keep its finger.", "Write one finger for both notes."),
    FaultKind.SLUR_SHIFT: (
        "the slur to {here} spans {apart}, more than these fingers of a {hand} hand reach without a shift.",
        "Slur a shorter distance, slide, or write other fingers.",
    ),
}
"""Message and mend of each fault of a grip or a step."""


def _where(place: Place) -> str:
    return f"String {place.string}, fret {place.fret}"
