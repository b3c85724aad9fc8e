"""Notes that are more than one sounding, or no pitch at all: trills, tremolos, grace notes, dead strings.

How often a trill goes to and fro and how many strokes a tremolo has is the player's own affair; a grace
note has no time of its own; a dead string knocks. None of these is a fault, and none can be judged as a plain
note.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np

from fretwright.ear.align import Alignment, Pass
from fretwright.ear.arrays import Floats, Marks, Samples
from fretwright.ear.features import LOWEST_MIDI
from fretwright.ear.verdicts import HeardAttack, HeardNote, Verdict
from fretwright.score.note import Attack, Note
from fretwright.score.timeline import TimedNote

_STROKE_S: Final = 0.45
"""After a longer pause a stroke is not one of many."""
_GRACE_S: Final = 0.25
"""So long before its note a grace note may sound."""


def knocks_of(asked: Sequence[TimedNote]) -> Marks:
    """Which notes are dead: a stroke is listened for there, and no pitch."""
    return np.array([timed.note.techniques.dead for timed in asked], dtype=bool)


def first_strokes(asked: Sequence[TimedNote], moments_s: Floats, odds: Samples) -> Marks:
    """Which moments may begin a note: all but the further strokes of a tremolo; shape (moments,).

    Played at another tempo than asked, some stroke or other lies wherever the aligner would like a note to
    be. Where the next note has the same pitch nothing tells it from one more stroke, and all moments stay.
    """
    pitches = {timed.note.midi for timed in asked if timed.note.techniques.tremolo is not None}
    pitches -= {one.note.midi for one, other in pairwise(asked) if one.note.midi == other.note.midi}
    first = np.ones(len(moments_s), dtype=bool)
    if not pitches:
        return first
    sounding, since_s = -1, -np.inf
    for at, row in enumerate(odds):
        if row.max() > 0:
            midi = int(row.argmax()) + LOWEST_MIDI
            # an octave above is taken for the note itself now and then
            is_again = (midi - sounding) % 12 == 0 and moments_s[at] - since_s < _STROKE_S
            first[at] = not (is_again and sounding in pitches)
            sounding, since_s = sounding if is_again else midi, float(moments_s[at])
    return first


def without_touches(found: Alignment, asked: Sequence[TimedNote], moments_s: Floats) -> Alignment:
    """The alignment less the extras that are part of a written note.

    A trill or tremolo may sound its pitches again until the next note, a grace note just before its note.
    What seems a pass of its own may be no more than the last note going on.
    """
    if not any(_has_touches(timed.note) for timed in asked):
        return found
    passes: list[Pass] = []
    for one in found.passes:
        goes_on = _repeated(asked[passes[-1].matches[-1].note].note) if passes else set()
        if not {match.midi - found.shift for match in one.matches} <= goes_on:
            passes.append(replace(one, extras=_beyond_touches(one, asked, moments_s, found.shift)))
    return replace(found, passes=tuple(passes))


def _has_touches(note: Note) -> bool:
    written = note.techniques
    return written.trill is not None or written.tremolo is not None or bool(written.graces)


def _beyond_touches(
    one: Pass, asked: Sequence[TimedNote], moments_s: Floats, shift: int
) -> tuple[tuple[int, int, float], ...]:
    starts = np.array([match.moment for match in one.matches])
    kept = []
    for extra in one.extras:
        moment, midi, _ = extra
        place = int(np.searchsorted(starts, moment, side="right")) - 1
        allowed = _repeated(asked[one.matches[place].note].note)
        if place + 1 < len(starts) and moments_s[starts[place + 1]] - moments_s[moment] < _GRACE_S:
            allowed |= _graces(asked[one.matches[place + 1].note].note)
        if midi - shift not in allowed:
            kept.append(extra)
    return tuple(kept)


def _repeated(note: Note) -> set[int]:
    """The pitches that a note sounds again and again."""
    trill = note.techniques.trill
    if trill is not None:
        return {note.midi, trill.pitch.midi}
    return {note.midi} if note.techniques.tremolo is not None else set()


def _graces(note: Note) -> set[int]:
    return {grace.pitch.midi for grace in note.techniques.graces}


def with_touches(asked: Sequence[TimedNote], notes: Sequence[HeardNote]) -> tuple[HeardNote, ...]:
    """The verdicts, less what cannot be told of such notes.

    A dead string has no pitch, and a knock that was not found may have been soft. How a note began cannot be
    told where a grace note led into it, nor that a slur was plucked on its way from a tapped note: a hand
    that lets go of a tap plucks the string as it should, and what follows lives on that.
    """
    told = []
    is_off_tap = False
    for timed, note in zip(asked, notes, strict=True):
        is_off_tap = timed.note.attack is Attack.TAP or (is_off_tap and timed.note.attack.is_slur)
        told.append(_told(timed, note, is_off_tap=is_off_tap))
    return tuple(told)


def _told(timed: TimedNote, note: HeardNote, *, is_off_tap: bool) -> HeardNote:
    if timed.note.techniques.dead:
        heard = note.verdict is Verdict.PLAYED
        verdict = Verdict.PLAYED if heard else Verdict.UNSURE
        return replace(note, verdict=verdict, heard_midi=None, pitch_cents=None)
    is_led_into = any(grace.is_slurred_on for grace in timed.note.techniques.graces)
    if note.attack is HeardAttack.PLUCK and (is_led_into or (is_off_tap and timed.note.attack.is_slur)):
        return replace(note, attack=HeardAttack.UNSURE)
    return note
