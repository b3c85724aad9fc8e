"""How hard an exercise is, in components that can each be measured and named.

Task: put drills in an order from easy to goal, and say why. There is no sum of unlike things here: every
component keeps its unit, and an order is given with the components that it rests on.

Conventions: rates are a second of playing, from the first note to the last, repeats taken and swing applied.
What counts as a step of a component (:data:`STEPS`) and which component goes first are common practice, no
source.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, fields
from itertools import pairwise
from typing import Final

from fretwright.check.skills import is_syncopated
from fretwright.check.techniqueskills import is_technique
from fretwright.fingering.finger import Fingered
from fretwright.score.held import hardest_change
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.timeline import TimedNote, timeline


@dataclass(frozen=True, slots=True)
class Difficulty:
    """What an exercise asks at one tempo."""

    notes_per_second: float
    """In the densest half of a bar; notes that sound together count once."""
    shift_mm_per_s: float
    """Way of the hand along the neck, up and down alike, millimetres a second."""
    stretch_mm: float
    """Furthest that a finger spreads beyond what is comfortable, in millimetres; between the third and the
    fourth finger, which part least, each millimetre counts double (``stretch`` of the fingering's cost)."""
    crossings_per_s: float
    """How often a second the picking hand goes to another string than the one it plucked last."""
    slur_share: float
    """Share of the notes that are slurred, 0 to 1."""
    syncopated_share: float
    """Share of the notes that start off the beat and sound on over the next, 0 to 1."""
    note_lengths: int
    """Different lengths among the notes, 1 where all are alike. The last note is left out, which is held for
    as long as the bar has room."""
    technique_share: float = 0.0
    """Share of the notes that ask for more than a pluck or a slur: bent, shaken, trilled, harmonics ..."""
    bend_semitones: float = 0.0
    """The widest bend."""
    change_mm: float = 0.0
    """What the hardest change of chords costs, in mm-equivalents (:mod:`fretwright.fretboard.change`)."""


@dataclass(frozen=True, slots=True)
class Ranked:
    """One exercise in an order from easy to hard."""

    name: str
    difficulty: Difficulty
    reason: str
    """What is harder in it than in the one before, in words."""


STEPS: Final = Difficulty(
    notes_per_second=1.0,
    shift_mm_per_s=20.0,
    stretch_mm=5.0,
    crossings_per_s=1.0,
    slur_share=0.25,
    syncopated_share=0.25,
    note_lengths=1,
    technique_share=0.25,
    bend_semitones=1.0,
    change_mm=30.0,
)
"""How much of a component a student takes for one step."""
_A_LITTLE: Final = 0.5
"""From this part of a step on a growth is worth a word."""

_SAID: Final = {
    "notes_per_second": ("faster", "{:.1f}", "notes a second"),
    "shift_mm_per_s": ("more way along the neck", "{:.0f}", "mm a second"),
    "stretch_mm": ("stretched further", "{:.0f}", "mm beyond comfort"),
    "crossings_per_s": ("more string crossings", "{:.1f}", "a second"),
    "slur_share": ("more slurs", "{:.0%}", "of the notes"),
    "syncopated_share": ("more syncopation", "{:.0%}", "of the notes"),
    "note_lengths": ("more varied in rhythm", "{:d}", "lengths"),
    "technique_share": ("more techniques", "{:.0%}", "of the notes"),
    "bend_semitones": ("bent further", "{:g}", "semitones"),
    "change_mm": ("harder changes", "{:.0f}", "mm for the hardest"),
}
"""By component: what is said where it grows, how its value reads, and its unit."""


def difficulty(fingered: Fingered, bpm: float) -> Difficulty:
    """What a fingered score asks at ``bpm`` beats a minute.

    Raises :class:`~fretwright.base.errors.ScoreError` for a tempo out of range.
    """
    score = fingered.score
    moments = _moments(timeline(score, bpm).notes)
    last = max((note.onset for note in score.notes), default=None)
    followed = [note for note in score.notes if note.onset != last]
    hardest = hardest_change(score)
    return Difficulty(
        notes_per_second=notes_per_second(score, bpm),
        shift_mm_per_s=_a_second(_way_mm(fingered, moments), moments),
        stretch_mm=max((cost.stretch for cost in fingered.costs.values()), default=0.0),
        crossings_per_s=_a_second(_crossings(moments), moments),
        slur_share=_share([note.attack.is_slur for note in score.notes]),
        syncopated_share=_share([is_syncopated(score, note) for note in followed]),
        note_lengths=len({note.duration for note in followed or score.notes}),
        technique_share=_share([is_technique(note) for note in score.notes]),
        bend_semitones=max((_rise(note) for note in score.notes), default=0.0),
        change_mm=0.0 if hardest is None else round(hardest.cost.total, 1),
    )


def notes_per_second(score: Score, bpm: float) -> float:
    """Notes a second inside the densest half of a bar's length, at a tempo; 0 without notes."""
    window = score.bars[-1].meter.length / 2
    onsets = sorted({note.onset for note in score.notes})
    counts = (bisect_left(onsets, at + window) - nth for nth, at in enumerate(onsets))
    densest = max(counts, default=0)
    return densest / score.tempo.at_start(bpm).seconds_between(score.bars[0].start, window)


def easier_first(rated: Mapping[str, Difficulty]) -> tuple[Ranked, ...]:
    """Exercises from easy to hard, each with what is harder in it than in the one before.

    Speed decides, then the way along the neck, the stretch, the crossings, slurs, rhythm, techniques and
    changes of chords. Each is counted in whole steps of :data:`STEPS` from 0; what is left over decides where
    all these are alike. An exercise that asks no more than another in any component never comes after it; of
    two that are alike the one given first comes first.
    """
    order = sorted(rated.items(), key=lambda item: (_in_steps(item[1]), astuple(item[1])))
    before: Difficulty | None = None
    ranked = []
    for name, one in order:
        ranked.append(Ranked(name, one, _reason(before, one)))
        before = one
    return tuple(ranked)


def _in_steps(rated: Difficulty) -> tuple[int, ...]:
    """How many whole steps each component is above 0."""
    return tuple(int(value / step + 1e-9) for value, step in zip(astuple(rated), astuple(STEPS), strict=True))


def _reason(before: Difficulty | None, one: Difficulty) -> str:
    if before is None:
        return "the easiest to start with"
    rows = zip(fields(one), astuple(before), astuple(one), astuple(STEPS), strict=True)
    harder = [_grown(field.name, left, right, step) for field, left, right, step in rows]
    return "; ".join(filter(None, harder)) or "as hard as the one before"


def _grown(component: str, before: float, after: float, step: float) -> str:
    steps = (after - before) / step
    if steps < _A_LITTLE:
        return ""
    what, pattern, unit = _SAID[component]
    little = "a little " if steps < 1 else ""
    return f"{little}{what} ({pattern.format(after)} {unit} after {pattern.format(before)})"


def _moments(notes: Sequence[TimedNote]) -> list[list[TimedNote]]:
    """Notes that start together, in the order in which they are played."""
    moments: list[list[TimedNote]] = []
    for timed in notes:
        if moments and timed.onset_s == moments[-1][0].onset_s:
            moments[-1].append(timed)
        else:
            moments.append([timed])
    return moments


def _a_second(amount: float, moments: Sequence[Sequence[TimedNote]]) -> float:
    lasts_s = moments[-1][0].onset_s - moments[0][0].onset_s if moments else 0.0
    return amount / lasts_s if lasts_s else 0.0


def _way_mm(fingered: Fingered, moments: Sequence[Sequence[TimedNote]]) -> float:
    """The way of the first finger along the neck, from fret wire to fret wire."""
    neck = fingered.score.neck
    positions = [fingered.positions.get(moment[0].note.id, 0) for moment in moments]
    places_mm = [neck.fret_position_mm(min(fret, neck.last_fret)) for fret in positions if fret > 0]
    return sum(abs(there - here) for here, there in pairwise(places_mm))


def _crossings(moments: Sequence[Sequence[TimedNote]]) -> int:
    plucked = [{timed.note.string for timed in moment if not timed.note.attack.is_slur} for moment in moments]
    return sum(here.isdisjoint(there) for here, there in pairwise(strings for strings in plucked if strings))


def _rise(note: Note) -> float:
    return float(note.techniques.bend.peak) if note.techniques.bend is not None else 0.0


def _share(hits: Sequence[bool]) -> float:
    return sum(hits) / len(hits) if hits else 0.0
