"""Notes whose pitch moves because it is written so.

How far from its fret each may sound and be right, which soundings are only their movement, and what was made
of the bend and the vibrato.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import floor
from typing import Final

import numpy as np

from fretwright.ear.align import STILL_S, Alignment, Match, Pass
from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.bends import heard_bend
from fretwright.ear.candidates import Candidates
from fretwright.ear.curves import pitch_curve
from fretwright.ear.features import LOWEST_MIDI
from fretwright.ear.take import RATE_HZ
from fretwright.ear.verdicts import HeardNote, Verdict, VibratoVerdict
from fretwright.ear.vibrato import heard_vibrato
from fretwright.score.timeline import TimedNote

_CLEAR_RISE: Final = 0.75
"""A sounding inside a bent note that rises so much was plucked, and is one too many."""
_AS_CLEAR: Final = 0.5
"""The same, against the note's own pluck: in a room every movement rises a little."""
_STRONGER: Final = 2.0
_PASSING_S: Final = 1.2
"""A bend that takes longer to pass the next pitch is not mistaken for a note there."""
_LEAST_ODDS: Final = -4.0
_BELOW_CENTS, _ABOVE_CENTS = 150.0, 250.0
"""How far beyond what is written a course of pitch is looked for."""
_BEFORE_NEXT_S: Final = 0.02


def moves(timed: TimedNote) -> bool:
    """Whether a note's pitch is written to move."""
    return timed.note.techniques.bend is not None or timed.note.techniques.vibrato is not None


def rises_of(asked: Sequence[TimedNote]) -> Counts:
    """Semitones above its fret up to which each note may sound: a bend that goes too far, a swing's top."""
    return np.array([_rise(timed) for timed in asked], dtype=np.int64)


def _rise(timed: TimedNote) -> int:
    bend, vibrato = timed.note.techniques.bend, timed.note.techniques.vibrato
    swing = 1 if vibrato is not None and vibrato.is_wide else 0
    return swing if bend is None else floor(bend.peak + 1)


def starts_of(asked: Sequence[TimedNote]) -> Floats:
    """Semitones above its fret at which each note should begin."""
    bends = [timed.note.techniques.bend for timed in asked]
    return np.array([0.0 if bend is None else float(bend.points[0].semitones) for bend in bends])


def settled(found: Alignment, asked: Sequence[TimedNote], moments: Candidates, odds: Samples) -> Alignment:
    """The alignment with every bent note at its pluck, less the extras that are only a note on its way.

    ``odds`` has shape (moments, PITCHES). A string on its way up passes other pitches and makes moments of
    its own: a note that was found at one of these is put back to the pluck before it.
    """
    if not any(moves(timed) for timed in asked):
        return found
    rises = rises_of(asked)
    passes: list[Pass] = []
    for one in found.passes:
        if passes and _is_all_movement(one, passes[-1].matches[-1], asked, rises, moments, found.shift):
            continue
        plucked = replace(one, matches=_at_plucks(one, asked, rises, moments, odds, found.shift))
        passes.append(replace(plucked, extras=_still_extra(plucked, asked, rises, moments, found.shift)))
    return replace(found, passes=tuple(passes))


def _is_all_movement(
    one: Pass, last: Match, asked: Sequence[TimedNote], rises: Counts, moments: Candidates, shift: int
) -> bool:
    """Whether a pass is but the last note of the one before it, swinging; its pluck may be heard twice."""
    own = asked[last.note].note.midi + shift
    plucked_until_s = float(moments.times_s[last.moment]) + 2 * STILL_S
    soundings = [*((match.moment, match.midi) for match in one.matches), *(extra[:2] for extra in one.extras)]
    return moves(asked[last.note]) and all(
        -1 <= midi - own <= rises[last.note] + 1
        and (moments.rise[moment] < _CLEAR_RISE or moments.times_s[moment] < plucked_until_s)
        for moment, midi in soundings
    )


def _at_plucks(
    one: Pass, asked: Sequence[TimedNote], rises: Counts, moments: Candidates, odds: Samples, shift: int
) -> tuple[Match, ...]:
    """The matches, those of moving notes at the pluck shortly before where it is much the stronger moment."""
    out: list[Match] = []
    for match in one.matches:
        written = asked[match.note].note
        if not moves(asked[match.note]) or match.midi != written.midi + shift:
            out.append(match)
            continue
        after_s = float(moments.times_s[out[-1].moment]) + STILL_S if out else 0.0
        before = np.flatnonzero(
            moments.times_s[: match.moment] > max(after_s, float(moments.times_s[match.moment]) - _PASSING_S)
        )
        low = match.midi - LOWEST_MIDI
        pitches = slice(max(low, 0), max(low + int(rises[match.note]) + 1, 0))
        sounding = odds[before, pitches].max(axis=1, initial=-9.0)
        least_rise = max(_CLEAR_RISE, _STRONGER * float(moments.rise[match.moment]))
        plucks = before[(sounding > _LEAST_ODDS) & (moments.rise[before] > least_rise)]
        out.append(replace(match, moment=int(plucks[-1])) if len(plucks) else match)
    return tuple(out)


def _still_extra(
    one: Pass, asked: Sequence[TimedNote], rises: Counts, moments: Candidates, shift: int
) -> tuple[tuple[int, int, float], ...]:
    starts = np.array([match.moment for match in one.matches])
    kept = []
    for extra in one.extras:
        moment, midi, _ = extra
        place = int(np.searchsorted(starts, moment, side="right")) - 1
        note = one.matches[place].note
        above = midi - shift - asked[note].note.midi
        rise = float(moments.rise[starts[place]])
        is_movement = (
            moves(asked[note])
            and -1 <= above <= rises[note] + 1
            and (moments.rise[moment] < max(_CLEAR_RISE, _AS_CLEAR * rise) or moment == starts[place])
        )
        if not is_movement:
            kept.append(extra)
    return tuple(kept)


def with_movement(
    samples: Samples,
    asked: Sequence[TimedNote],
    notes: Sequence[HeardNote],
    frame: tuple[float, int, float],
) -> tuple[HeardNote, ...]:
    """The verdicts with what became of each bend and vibrato.

    ``frame`` is the tuning in cents, the shift in semitones and how much longer than asked notes were played.
    """
    onsets = sorted(note.onset_s for note in notes if note.onset_s is not None)
    return tuple(
        _moved(samples, timed, note, onsets, frame) if moves(timed) else note
        for timed, note in zip(asked, notes, strict=True)
    )


def _moved(
    samples: Samples,
    timed: TimedNote,
    note: HeardNote,
    onsets_s: Sequence[float],
    frame: tuple[float, int, float],
) -> HeardNote:
    if note.verdict is not Verdict.PLAYED or note.onset_s is None:
        return note
    tuning_cents, shift, stretch = frame
    bend, vibrato = timed.note.techniques.bend, timed.note.techniques.vibrato
    until_s = min(
        note.onset_s + stretch * timed.duration_s,
        next((one for one in onsets_s if one > note.onset_s), len(samples) / RATE_HZ) - _BEFORE_NEXT_S,
    )
    hertz = 440.0 * 2 ** ((timed.note.midi + shift - 69 + tuning_cents / 100) / 12)
    width = vibrato.width_cents if vibrato is not None else 0.0
    peak = 100 * float(bend.peak) if bend is not None else 0.0
    reach = (-_BELOW_CENTS - width / 2, peak + _ABOVE_CENTS + width / 2)
    curve = pitch_curve(samples, (note.onset_s, until_s), hertz, reach)
    told = heard_bend(curve, bend, swings=vibrato is not None) if bend is not None else None
    arrived_s = (told.reach_ms or 0.0) / 1000 if told is not None else 0.0
    swing = heard_vibrato(curve, vibrato, arrived_s) if vibrato is not None else None
    swings = swing is not None and swing.verdict is VibratoVerdict.SWINGS
    return replace(
        note,
        # of a pitch that moves no deviation from one of those that it passes means anything
        pitch_cents=None if bend is not None or swings else note.pitch_cents,
        bend=told,
        vibrato=swing,
    )
