"""A stretch that was found is heard again, closely: when does each note start, and is it the right one?"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fretwright.ear.align import Pass
from fretwright.ear.arrays import Samples
from fretwright.ear.chosen import Played
from fretwright.ear.judge import second_look, verdicts
from fretwright.ear.listen import Heard, hear_notes, measure
from fretwright.ear.onsets import refined
from fretwright.ear.take import RATE_HZ, Take
from fretwright.ear.track_quiet import clear_around
from fretwright.ear.track_search import Events, Found, Line, stretch_of
from fretwright.ear.track_settle import settled
from fretwright.ear.verdicts import HeardAttack, HeardExtra, HeardNote, Verdict
from fretwright.score.timeline import TimedNote

BEFORE_S: Final = 3.0
AFTER_S: Final = 5.0
"""Samples on either side of a stretch that rehearing wants to see."""
_AT_AN_END: Final = 2
"""Notes at either end of a line that may have gone wrong, so that the search did not see them."""
_LEAD_S: Final = 0.35
_A_SLUR: Final = 0.5
_LEAST_SHARE: Final = 0.8
"""Of the notes the search had heard: with fewer than these the closer hearing has lost its way."""


@dataclass(frozen=True, slots=True)
class Demonstration:
    """One time that an exercise, or a part of it, is played on the track."""

    name: str
    first: int
    """Place in the line's notes at which it begins."""
    notes: tuple[HeardNote, ...]
    """From there to where it ends, one for each written note; times are those of the track."""
    extras: tuple[HeardExtra, ...]
    bpm: float
    complete: bool
    clear_from_s: float
    """Nothing else is heard from here to the first note."""
    clear_until_s: float
    """Nothing else is heard from the last note to here, at most some seconds."""
    judged: bool
    """Whether each note was judged; chords are only placed in time."""
    also_fits: tuple[str, ...] = ()
    """Other exercises of the lesson that sound the same."""


def rehear(samples: Samples, begins_s: float, line: Line, events: Events, found: Found) -> Demonstration:
    """Hear a stretch of a line closely; ``samples`` begin at ``begins_s`` of the track.

    Their speed is that of the stretch: the line is written out at the tempo that was found.
    """
    stretch = stretch_of(events, found)
    first, last = _widened(events, found)
    members = [index for place in range(first, last + 1) for index in events.members[place]]
    asked = [_stretched(line.played.notes[index], stretch) for index in members]
    heard = _closely(samples, begins_s, asked, events, found, stretch) if events.is_single else None
    judged = heard is not None
    if heard is None:
        heard = _placed(samples, begins_s, asked, events, found, first), ()
    notes, extras = heard
    onsets = [note.onset_s for note in notes if note.onset_s is not None]
    ends_s = max(onsets) + asked[-1].duration_s
    clear = clear_around(samples, begins_s, (min(onsets), max(onsets)), ends_s)
    count = len(line.played.notes)
    return Demonstration(
        line.name,
        members[0],
        notes,
        extras,
        line.played.bpm / stretch,
        members[0] <= 0 and members[-1] >= count - 1,
        *clear,
        judged,
    )


def agreement(line: Line, heard: Demonstration) -> float:
    """How far the attacks are those that the line asks for: share right less share wrong, -1 to 1."""
    told = [
        (line.played.notes[heard.first + place].note.attack.is_slur, note.attack is HeardAttack.SLUR)
        for place, note in enumerate(heard.notes)
        if note.attack in {HeardAttack.SLUR, HeardAttack.PLUCK}
    ]
    return float(np.mean([1.0 if asked is slurred else -1.0 for asked, slurred in told])) if told else 0.0


def _widened(events: Events, found: Found) -> tuple[int, int]:
    """First and last event; a line that lacks a note or two at an end is taken to be whole."""
    final = len(events.times_s) - 1
    first = 0 if found.first <= _AT_AN_END else found.first
    return first, final if found.last >= final - _AT_AN_END else found.last


def _stretched(timed: TimedNote, stretch: float) -> TimedNote:
    return replace(timed, onset_s=timed.onset_s * stretch, duration_s=timed.duration_s * stretch)


def _closely(
    samples: Samples,
    begins_s: float,
    asked: Sequence[TimedNote],
    events: Events,
    found: Found,
    stretch: float,
) -> tuple[tuple[HeardNote, ...], tuple[HeardExtra, ...]] | None:
    """Verdicts and extras of single notes; nothing where less is heard than the search had."""
    lead_s = found.steps[0][1] - _due_s(events, found.first, stretch) + asked[0].onset_s
    trail_s = found.steps[-1][1] - _due_s(events, found.last, stretch) + asked[-1].onset_s
    start = max(0, round((lead_s - _LEAD_S - begins_s) * RATE_HZ))
    stop = round((trail_s + max(0.7, min(1.2 * asked[-1].duration_s, 1.5)) - begins_s) * RATE_HZ)
    piece = np.ascontiguousarray(samples[start:stop])
    late_s = begins_s + start / RATE_HZ
    heard = hear_notes(Take(piece), asked)
    chosen = _in_order(heard.alignment.passes)
    if chosen is None or len(chosen.matches) < _LEAST_SHARE * len(found.steps):
        return None
    return _judged(piece, asked, heard, chosen, late_s)


def _in_order(passes: Sequence[Pass]) -> Played | None:
    """The fullest pass with what goes on before and after it: the search found a single time through."""
    if not passes:
        return None
    fullest = max(range(len(passes)), key=lambda place: len(passes[place].matches))
    parts = [passes[fullest]]
    for one in reversed(passes[:fullest]):
        if len(one.matches) > 1 and one.matches[-1].note < parts[0].matches[0].note:
            parts.insert(0, one)
    for one in passes[fullest + 1 :]:
        if len(one.matches) > 1 and one.matches[0].note > parts[-1].matches[-1].note:
            parts.append(one)
    matches = tuple(match for one in parts for match in one.matches)
    return Played(tuple(parts), matches, tuple(extra for one in parts for extra in one.extras), complete=True)


def _due_s(events: Events, place: int, stretch: float) -> float:
    """When an event is due, at the tempo of the stretch."""
    return float(events.times_s[place]) * stretch


def _judged(
    piece: Samples, asked: Sequence[TimedNote], heard: Heard, chosen: Played, late_s: float
) -> tuple[tuple[HeardNote, ...], tuple[HeardExtra, ...]]:
    shift = heard.alignment.shift
    measured, _, tuning_cents = measure(piece, asked, heard, chosen)
    moments_s = heard.candidates.times_s[[match.moment for match in measured.matches]]
    written_s = np.array([asked[match.note].onset_s for match in measured.matches])
    onsets_s = settled(written_s, measured.onsets_s, moments_s, measured.slurs < _A_SLUR)
    measured = replace(measured, onsets_s=onsets_s)
    missed = second_look(asked, measured, heard.candidates, heard.odds, shift)
    notes = verdicts(asked, measured, missed, tuning_cents, shift)
    moments = heard.candidates.times_s
    return (
        tuple(
            note if note.onset_s is None else replace(note, onset_s=note.onset_s + late_s) for note in notes
        ),
        tuple(HeardExtra(float(moments[at]) + late_s, midi) for at, midi, _ in chosen.extras),
    )


def _placed(
    samples: Samples,
    begins_s: float,
    asked: Sequence[TimedNote],
    events: Events,
    found: Found,
    first: int,
) -> tuple[HeardNote, ...]:
    """Notes where the search had them, their onsets refined; nothing is said of how they were played."""
    moments = np.array([moment for _, moment in found.steps])
    onsets, _ = refined(samples, moments - begins_s, np.zeros(len(moments)), let_go=True)
    at = {event: float(onset) + begins_s for (event, _), onset in zip(found.steps, onsets, strict=True)}
    places = [place for place, member in enumerate(events.members) for _ in member][
        sum(len(member) for member in events.members[:first]) :
    ]
    return tuple(
        HeardNote(timed.note.id, Verdict.UNSURE, 0.0, onset_s=at.get(place))
        for timed, place in zip(asked, places, strict=False)
    )
