"""What a hand cannot play, in a teacher's words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fretwright.fingering.events import Moment, takes_finger
from fretwright.fingering.grips import Choices, Fault, FaultKind
from fretwright.fingering.hand import Hand
from fretwright.fingering.ruler import UM_PER_MM
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack, Finger, Note


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
            message = f"String {note.string} is open here, but a finger ({note.finger.mark}) is written for it."
            yield Problem(note.id, FaultKind.FINGER_ON_OPEN, message, "Write 0, or leave the finger out.")
        elif takes_finger(note, neck) and note.finger is Finger.OPEN:
            message = f"{_where(note.place)} needs a finger, but 0, the open string, is written for it."
            yield Problem(note.id, FaultKind.OPEN_ON_FRET, message, "Write 1 to 4, or leave the finger out.")


def step_problems(
    moment: Moment, choices: Choices, faults: Sequence[Fault], hand: Hand
) -> Iterator[Problem]:
    """The problems of one event: notes that must be let go, and what is wrong with its grip."""
    held = dict(zip(moment.event.held, moment.held_ids, strict=True))
    for place in choices.dropped:
        yield _hold_problem(held[place], place)
    of_string = {place.string: (note_id, place) for place, note_id in held.items()}
    of_string |= {
        note.place.string: (note_id, note.place)
        for note, note_id in zip(moment.event.notes, moment.ids, strict=True)
    }
    for fault in faults:
        note_id, place = of_string[fault.string]
        if fault.kind is FaultKind.HOLD:
            yield _hold_problem(note_id, place)
            continue
        other = of_string[fault.other][1] if fault.other in of_string else None
        stretch_mm = fault.stretch_um / UM_PER_MM if fault.stretch_um else None
        message, mend = _said(fault.kind, place, other, stretch_mm, hand)
        yield Problem(note_id, fault.kind, message, mend, stretch_mm)


def _hold_problem(note_id: str, place: Place) -> Problem:
    message = f"{_where(place)} cannot be held as long as it is written: the hand has to leave it."
    return Problem(note_id, FaultKind.HOLD, message, "Shorten the note, or choose another finger or string.")


def _said(
    kind: FaultKind, place: Place, other: Place | None, stretch_mm: float | None, hand: Hand
) -> tuple[str, str]:
    """The sentence and the mend of a fault."""
    here = _where(place)
    apart = f"{stretch_mm:.0f} mm" if stretch_mm else ""
    there = f" and {_where(other).lower()}" if other and other != place else ""
    match kind:
        case FaultKind.TWO_FRETS:
            return f"One finger cannot stop {here.lower()}{there} at once.", "Write different fingers."
        case FaultKind.FINGERS_CROSSED:
            return (
                f"The fingers of {here.lower()}{there} would have to cross.",
                "Give the higher fret the higher finger.",
            )
        case FaultKind.REACH:
            return (
                f"{here}{there} is {apart} away from the finger that must stay down; "
                f"a {hand.name} hand does not reach that far with these fingers.",
                "Choose another string or finger, or move the passage up the neck.",
            )
        case FaultKind.BARRE:
            return (
                f"A barre on {here.lower()}{there} would also stop a string that must sound lower.",
                "Write different fingers for the two strings.",
            )
        case FaultKind.THUMB:
            return f"The thumb does not reach {here.lower()}.", "Keep the thumb to the two lowest strings."
        case FaultKind.HAMMER:
            return (
                f"The hammer-on to {here.lower()} needs a higher finger than the one that stays down.",
                "Write a higher finger for it, or a lower one for the note before.",
            )
        case FaultKind.PULL:
            return (
                f"The pull-off to {here.lower()} needs a lower finger, already down, than the one that pulls.",
                "Write a lower finger for it, or a higher one for the note before.",
            )
        case FaultKind.SLIDE:
            return f"The slide to {here.lower()} must keep its finger.", "Write one finger for both notes."
        case _:
            return (
                f"The slur to {here.lower()} spans {apart}, more than these fingers reach without a shift.",
                "Slur a shorter distance, use a slide, or write other fingers.",
            )


def _where(place: Place) -> str:
    return f"String {place.string}, fret {place.fret}"
