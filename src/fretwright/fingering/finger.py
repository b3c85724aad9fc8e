"""Put fingers and strokes on a score."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from operator import add
from typing import Final

from fretwright.fingering.cost import NoteCost, Step, Terms, note_cost, step_faults
from fretwright.fingering.events import Moment, is_open, moments, owner, small_id, spelled_out
from fretwright.fingering.hand import MEDIUM, Hand
from fretwright.fingering.pickinghand import with_picking_fingers
from fretwright.fingering.price import step_terms
from fretwright.fingering.problems import Problem, fixed_problems, step_problems
from fretwright.fingering.ruler import ruler_for
from fretwright.fingering.search import Path, all_choices, cheapest, starting
from fretwright.fingering.strokes import Picking, stroke_row
from fretwright.score.note import Finger, Note
from fretwright.score.score import Score
from fretwright.score.techniques import Techniques

_OPEN_POSITION_FRETS: Final = 4
_FINGERS: Final = tuple(Finger)


@dataclass(frozen=True, slots=True)
class Fingered:
    """A score with fingers and strokes, and what they cost."""

    score: Score
    """Every note has a finger, save those that the picking hand taps and those off the neck."""
    costs: Mapping[str, NoteCost]
    """By note id, in mm-equivalents."""
    positions: Mapping[str, int]
    """Fret of the first finger, or where it hovers, by note id."""
    problems: tuple[Problem, ...]
    """What this hand cannot play, in order of time; the fingering is then the least bad one."""

    @property
    def total(self) -> float:
        """The cost of the whole score in mm-equivalents."""
        return sum(cost.total for cost in self.costs.values())


def finger(score: Score, hand: Hand = MEDIUM, picking: Picking = Picking.ALTERNATE) -> Fingered:
    """Find the fingering that costs a hand least, exactly, and the strokes of the picking hand.

    Fingers and strokes that are already on a note are the teacher's and are kept; where they cannot be
    played the note is reported. Repeats are not unfolded: a bar has one fingering. Tempo plays no part, so
    that a student keeps the same fingers from the first rung of the ladder to the last.
    """
    ruler = ruler_for(score.neck, hand)
    found = moments(spelled_out(score.notes), score.neck)
    start = _starting_position(score)
    row = [(choices,) for choices in all_choices(ruler, found, start)]
    path = cheapest(ruler, row, start)
    terms: dict[str, Terms] = {}
    problems = list(fixed_problems(score.notes, score.neck))
    for moment, choices, step in zip(found, path.choices, _steps(path, start), strict=True):
        for note_id, row_terms in zip(moment.ids, step_terms(ruler, step), strict=True):
            name = owner(note_id)
            terms[name] = Terms(*map(add, terms[name], row_terms)) if name in terms else row_terms
        faults = step_problems(moment, choices, step_faults(ruler, step), hand)
        problems += [replace(problem, note_id=owner(problem.note_id)) for problem in faults]
    order = {note.id: i for i, note in enumerate(score.notes)}
    problems.sort(key=lambda problem: order[problem.note_id])
    return Fingered(
        score.with_notes(_with_fingers(score, found, path, picking)),
        {name: note_cost(row_terms) for name, row_terms in terms.items()},
        _positions(found, path),
        tuple(problems),
    )


def _starting_position(score: Score) -> int:
    """Where the hand is before the first note; 0 is nowhere in particular.

    That is where the teacher says, or the first position for a single line with open strings that stays
    below the fifth fret: the trade fingers it from the nut (common practice, no source).
    """
    if score.position and 0 < score.position <= score.neck.last_fret:
        return score.position
    frets = {note.fret for note in score.notes}
    is_line = len({note.onset for note in score.notes}) == len(score.notes)
    return 1 if is_line and 0 in frets and max(frets) <= _OPEN_POSITION_FRETS else 0


def _steps(path: Path, start: int) -> list[Step]:
    """The steps of a path, the first from where the hand starts."""
    before = starting(start)
    events = [before.event, *(choices.event for choices in path.choices)]
    grips = [before.grips[0], *path.grips]
    return [
        Step(left, before_event, grip, event)
        for (left, before_event), (grip, event) in pairwise(zip(grips, events, strict=True))
    ]


def _with_fingers(score: Score, found: tuple[Moment, ...], path: Path, picking: Picking) -> tuple[Note, ...]:
    fingers: dict[str, Finger] = {}
    for moment, grip in zip(found, path.grips, strict=True):
        pressed = iter(grip.pressed)
        for note_id, note in zip(moment.ids, moment.event.notes, strict=True):
            if note.takes_finger:
                fingers[note_id] = _FINGERS[next(pressed).finger]
    picked = with_picking_fingers(score)
    row = zip(picked.notes, stroke_row(picked, picking), strict=True)
    return tuple(
        replace(
            note,
            finger=fingers.get(note.id, _without_search(note)),
            stroke=stroke,
            techniques=_with_small_fingers(note, fingers),
        )
        for note, stroke in row
    )


def _with_small_fingers(note: Note, fingers: Mapping[str, Finger]) -> Techniques:
    """What is asked of a note, its small notes with the fingers that were found for them."""
    if not note.techniques.graces:
        return note.techniques
    graces = []
    for nth, grace in enumerate(note.techniques.graces):
        usual = grace.finger if grace.place.fret else Finger.OPEN
        graces.append(replace(grace, finger=fingers.get(small_id(note.id, nth), usual)))
    return replace(note.techniques, graces=tuple(graces))


def _without_search(note: Note) -> Finger | None:
    """The finger of a note that takes none: open strings have their 0; what is written for others stays."""
    if is_open(note):
        return Finger.OPEN
    return note.finger if note.techniques.dead else None


def _positions(found: tuple[Moment, ...], path: Path) -> dict[str, int]:
    """Where the hand stands; before its first finger comes down, where that will be."""
    set_down = next((grip.position for grip in path.grips if grip.position), 1)
    return {
        note_id: grip.position or set_down
        for moment, grip in zip(found, path.grips, strict=True)
        for note_id in moment.ids
        if note_id == owner(note_id)
    }
