"""Verdicts: what is said of each written note, and how sure it is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fretwright.ear.align import STILL_S, Alignment, Match
from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.candidates import Candidates
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.verdicts import HeardAttack, HeardNote, Verdict
from fretwright.score.note import Attack
from fretwright.score.timeline import TimedNote

_SURE_PLAYED: Final = 0.35
"""Least confidence for "played": the score asks for it, and it is there."""
_SURE_WRONG: Final = 0.8
_SURE_MISSED: Final = 0.8
_EXPECTED: Final = 4.0
"""Odds that a written note is played at all, before anything is heard (logarithm)."""
_LEAST_RISE: Final = 0.2
"""A pluck raises the level at least so much, against the take's strong plucks."""
_FAINT: Final = 1.0
"""Odds up to which a note is taken for heard only where the level rises as well."""
_TWICE_S: Final = 0.085
"""No hand plucks one note again as soon as this."""
_GLIDE_S: Final = 0.15
"""Longest way of a finger that slides."""
_SLUR: Final = 0.7
_PLUCK: Final = 0.3
_UNASKED_SLUR: Final = 0.9
"""A written pluck is called a slur only on stronger evidence."""


@dataclass(frozen=True, slots=True)
class Measured:
    """All that was measured of the notes found, each field of shape (n,), in order of the notes."""

    matches: tuple[Match, ...]
    onsets_s: Floats
    timing_s: Floats
    cents: Floats
    levels_db: Floats
    lengths_s: Floats
    until_next_s: Floats
    slurs: Floats
    """Chance that each was slurred."""


def verdicts(
    asked: Sequence[TimedNote],
    measured: Measured,
    missed: Mapping[int, float],
    tuning_cents: float,
    shift: int,
) -> tuple[HeardNote, ...]:
    """One verdict for each written note; ``missed`` gives the odds that a note not found sounds after all."""
    place = {match.note: index for index, match in enumerate(measured.matches)}
    middle_db = _middle_level(asked, measured)
    out = []
    for number, timed in enumerate(asked):
        if number not in place:
            out.append(_missed(timed, missed.get(number, -8.0)))
            continue
        before = asked[number - 1] if number else None
        out.append(_heard(timed, before, measured, place[number], (tuning_cents, middle_db), shift))
    return tuple(out)


def without_faint(asked: Sequence[TimedNote], alignment: Alignment, found: Candidates) -> Alignment:
    """The alignment without the notes that are written as plucks, hardly heard, and raise no level.

    What rings on, or dies away in a room, has the pitch of a note that was left out but not its attack.
    """

    def is_there(match: Match) -> bool:
        plucked = not asked[match.note].note.attack.is_slur
        return match.odds > _FAINT or not plucked or found.rise[match.moment] > _LEAST_RISE

    passes = (
        replace(one, matches=tuple(match for match in one.matches if is_there(match)))
        for one in alignment.passes
    )
    return replace(alignment, passes=tuple(one for one in passes if one.matches))


def second_look(
    asked: Sequence[TimedNote], measured: Measured, found: Candidates, odds: Samples, shift: int
) -> dict[int, float]:
    """For each note not found, the best odds of its pitch about the time where its neighbours put it.

    For a note written as a pluck only moments count at which the level rises.
    """
    moments_s = found.times_s
    heard = {match.note: float(at) for match, at in zip(measured.matches, measured.onsets_s, strict=True)}
    notes = np.array(sorted(heard))
    times = np.array([heard[n] for n in sorted(heard)])
    written = np.array([timed.onset_s for timed in asked])
    taken = np.sort(measured.onsets_s)
    out = {}
    for number, timed in enumerate(asked):
        if number in heard or len(notes) < 2:
            continue
        at_s = float(np.interp(timed.onset_s, written[notes], times))
        if not written[notes[0]] < timed.onset_s < written[notes[-1]]:
            continue
        near = np.abs(moments_s - at_s) < 0.12
        near &= np.abs(moments_s[:, None] - taken).min(axis=1) > STILL_S * 0.75
        if not timed.note.attack.is_slur:
            near &= found.rise > _LEAST_RISE
        pitch = timed.note.midi + shift - LOWEST_MIDI
        out[number] = float(odds[near, pitch].max(initial=-8.0)) if 0 <= pitch < PITCHES else -8.0
    return out


def is_heard_anyway(
    moment_s: float, midi: int, asked: Sequence[TimedNote], measured: Measured, shift: int
) -> bool:
    """Whether a sounding too many is part of a note that is there.

    It may be that note's beginning or its swell, or a fret that a finger passes as it slides to it.
    """
    for match, onset_s in zip(measured.matches, measured.onsets_s, strict=True):
        after_s = moment_s - onset_s
        if match.midi == midi and abs(after_s) < _TWICE_S:
            return True
        if asked[match.note].note.attack is Attack.SLIDE and match.note and -_GLIDE_S < after_s < _TWICE_S:
            low, high = sorted((asked[match.note - 1].note.midi, asked[match.note].note.midi))
            if low <= midi - shift <= high:
                return True
    return False


def _middle_level(asked: Sequence[TimedNote], measured: Measured) -> float:
    plucked = [
        level
        for match, level in zip(measured.matches, measured.levels_db, strict=True)
        if not asked[match.note].note.attack.is_slur
    ]
    return float(np.median(plucked or measured.levels_db))


def _missed(timed: TimedNote, odds: float) -> HeardNote:
    confidence = _chance(-odds - _EXPECTED)
    verdict = Verdict.MISSED if confidence >= _SURE_MISSED else Verdict.UNSURE
    return HeardNote(timed.note.id, verdict, round(confidence, 3))


def _heard(
    timed: TimedNote,
    before: TimedNote | None,
    measured: Measured,
    at: int,
    frame: tuple[float, float],
    shift: int,
) -> HeardNote:
    match = measured.matches[at]
    tuning_cents, middle_db = frame
    confidence = _chance(match.odds - float(np.logaddexp(0.0, match.rival)))
    as_written = match.midi == timed.note.midi + shift
    verdict = Verdict.PLAYED if as_written else Verdict.WRONG
    if confidence < (_SURE_PLAYED if as_written else _SURE_WRONG):
        verdict = Verdict.UNSURE
    cents = float(measured.cents[at]) - tuning_cents
    return HeardNote(
        timed.note.id,
        verdict,
        round(confidence, 3),
        onset_s=round(float(measured.onsets_s[at]), 4),
        timing_ms=round(1000 * float(measured.timing_s[at]), 1),
        heard_midi=match.midi,
        pitch_cents=None if np.isnan(cents) else round(cents, 1),
        level_db=round(float(measured.levels_db[at]) - middle_db, 1),
        attack=_attack(timed, before, float(measured.slurs[at])),
        length_s=round(float(measured.lengths_s[at]), 3),
        gap_s=round(max(0.0, float(measured.until_next_s[at] - measured.lengths_s[at])), 3),
    )


def _attack(timed: TimedNote, before: TimedNote | None, slur: float) -> HeardAttack:
    if before is None or before.note.string != timed.note.string or before.note.fret == timed.note.fret:
        # nothing rings on this string that could be slurred from
        return HeardAttack.PLUCK
    if slur >= (_SLUR if timed.note.attack is not Attack.PLUCK else _UNASKED_SLUR):
        return HeardAttack.SLUR
    return HeardAttack.PLUCK if slur <= _PLUCK else HeardAttack.UNSURE


def _chance(odds: float) -> float:
    return float(1 / (1 + np.exp(-np.clip(odds, -30, 30))))
