"""The ear for exercises with notes that sound together: strummed, plucked, or mixed with single notes.

The way is that of single lines (:mod:`fretwright.ear.listen`) with strokes in place of notes: candidates
and the odds of all pitches there, an alignment of strokes, then onset and spread of each stroke, then a
verdict on every string.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from fretwright.ear.align import Alignment
from fretwright.ear.arrays import Counts, Floats, Samples
from fretwright.ear.candidates import Candidates, find_candidates, some_of
from fretwright.ear.chord_align import align_events
from fretwright.ear.chord_words import remarks_on_chords
from fretwright.ear.chosen import Played, last_complete, played_through
from fretwright.ear.features import PITCHES, describe, tuning_of
from fretwright.ear.headline import advise
from fretwright.ear.pitches import odds_of_pitches
from fretwright.ear.pulse import Pulse, fit_pulse
from fretwright.ear.rolls import SHARES, first_strings, roll_s, stretch_of, without_rolled
from fretwright.ear.sounding import levels_of
from fretwright.ear.string_judge import JudgedString, judge_strings
from fretwright.ear.strings import both, read_strokes
from fretwright.ear.strokes import band_powers, times_of
from fretwright.ear.take import Refusal, Take
from fretwright.ear.track_search import Events, events_of
from fretwright.ear.verdicts import (
    HeardAttack,
    HeardExtra,
    HeardNote,
    HeardPass,
    HeardStroke,
    Hearing,
    Verdict,
)
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import TimedNote, Timeline

_CLEAR_RISE: Final = 0.3
_AT_ONCE: Final = 512
_LEAST_STROKES: Final = 4
_LEAST_SHARE: Final = 0.2
_LEAST_RIGHT: Final = 0.6
_EXTRA_COUNTS: Final = 0.3
_NEAR_DUE_S: Final = 0.1
_TWICE_S: Final = 0.12
_AS_CLEAR: Final = 0.35
_SURE_LEFT_OUT: Final = 0.9
_EVEN: Final = 0.5
_WORTH: Final = {Verdict.PLAYED: 1.0, Verdict.UNSURE: 0.5}
_LEAST_APART_S: Final = 1e-3


@dataclass(frozen=True, slots=True)
class HeardChords:
    """What the stages found, kept for drawing and explaining."""

    candidates: Candidates
    among: Samples
    """Odds of all pitches at all candidates."""
    alignment: Alignment
    """Its notes are events."""
    tuning_cents: float


@dataclass(frozen=True, slots=True)
class _Times:
    """The strokes found of one pass, in order of the events; each field of shape (n,)."""

    events: Counts
    onsets_s: Floats
    spreads_s: Floats
    levels_db: Floats


def has_chords(asked: Sequence[TimedNote]) -> bool:
    """Whether any two notes start together."""
    onsets = [timed.onset_s for timed in asked]
    return any(two - one < _LEAST_APART_S for one, two in pairwise(onsets))


def listen_to_chords(take: Take, played: Timeline, ladder: Ladder) -> Hearing | Refusal:
    """Judge a take of an exercise with chords, as :func:`fretwright.ear.listen.listen` does of a line."""
    events = events_of(played)
    heard = hear_events(take, events)
    times = played_through(heard.alignment.passes, len(events.times_s))
    chosen = last_complete(times)
    if chosen is not None:
        chosen = without_rolled(chosen, played.notes, events, heard.candidates.times_s)
    refusal = _unfit(chosen, events, played.notes)
    if refusal is not None or chosen is None:
        return refusal or _no_playing()
    found = _times_of(take.samples, played.notes, events, heard, chosen)
    judged = _judged(take.samples, played.notes, events, heard, chosen, found)
    if not _is_this_exercise(judged, events, found):
        return _another()
    return _told(take, played, ladder, (events, heard, times, chosen), found, judged)


def hear_events(take: Take, events: Events) -> HeardChords:
    """Candidates, odds and alignment of a take."""
    found = find_candidates(take.samples)
    strong = found.times_s[found.rise > _CLEAR_RISE]
    tuning_cents = tuning_of(take.samples, strong if len(strong) else found.times_s)
    pieces = [np.zeros((0, PITCHES), dtype=np.float32)]
    for start in range(0, len(found.times_s), _AT_ONCE):
        some = some_of(found, slice(start, start + _AT_ONCE))
        pieces.append(odds_of_pitches(describe(take.samples, some, tuning_cents, found)).among)
    among = np.concatenate(pieces)
    return HeardChords(found, among, align_events(events, found.times_s, among, found.rise), tuning_cents)


# ---------------------------------------------------------------------------------------------------------
# Refusals


def _no_playing() -> Refusal:
    return Refusal(
        "No strokes were found in the recording.",
        "Check that the guitar is louder than everything else in the room, and record again.",
    )


def _another() -> Refusal:
    return Refusal(
        "What was played does not fit this exercise.",
        "Choose the exercise that you played, or record this one.",
    )


def _unfit(chosen: Played | None, events: Events, asked: Sequence[TimedNote]) -> Refusal | None:
    """Why the take cannot be of this exercise, by its strokes."""
    if chosen is None:
        return _no_playing()
    count = len(events.times_s)
    span = chosen.matches[-1].note - chosen.matches[0].note + 1
    if span < min(count, max(_LEAST_STROKES, _LEAST_SHARE * count)):
        return Refusal(
            "Too little of the exercise was found in the recording.",
            "Play it from the first stroke to the last, and leave a second of silence before and after.",
        )
    # of strings that are all written dead no pitch is asked
    right = sum(
        match.odds > match.rival
        or all(asked[index].note.techniques.dead for index in events.members[match.note])
        for match in chosen.matches
    )
    if right - _EXTRA_COUNTS * len(chosen.extras) < _LEAST_RIGHT * span:
        return _another()
    return None


def _is_this_exercise(judged: dict[int, JudgedString], events: Events, found: _Times) -> bool:
    """Whether most of what is written sounds: another sequence of chords shares strings, but not most."""
    told = [judged[index] for event in found.events for index in events.members[event] if index in judged]
    sounding = sum(_WORTH.get(one.verdict, 0.0) for one in told)
    return sounding >= _LEAST_RIGHT * len(told)


# ---------------------------------------------------------------------------------------------------------
# Measuring


def _times_of(
    samples: Samples, asked: Sequence[TimedNote], events: Events, heard: HeardChords, chosen: Played
) -> _Times:
    moments = heard.candidates.times_s[first_strings(chosen, asked, events, heard.candidates)]
    onsets, spreads = times_of(band_powers(samples), moments)
    return _Times(
        np.array([match.note for match in chosen.matches]), onsets, spreads, levels_of(samples, onsets)
    )


def _judged(
    samples: Samples,
    asked: Sequence[TimedNote],
    events: Events,
    heard: HeardChords,
    chosen: Played,
    found: _Times,
) -> dict[int, JudgedString]:
    """Verdicts on the notes of all strokes found; a slur is judged by its pitch alone."""
    shift = heard.alignment.shift
    stretch = stretch_of(chosen)
    spreads_s = _written_spreads(asked, events, found) * stretch
    extras = heard.candidates.times_s[[at for at, _, _ in chosen.extras]]
    strays = [at_s for at_s in extras.tolist() if not _belongs(at_s, found, spreads_s)]
    every = np.unique(np.concatenate([found.onsets_s, strays]))
    read = read_strokes(samples, every, heard.tuning_cents)
    rows_of: dict[int, Sequence[int]] = {}
    rolled_s: list[float] = []
    for event, onset_s in zip(found.events.tolist(), found.onsets_s.tolist(), strict=True):
        members = events.members[event]
        if any(asked[index].note.attack.is_slur for index in members):
            continue
        row = int(np.searchsorted(every, onset_s))
        for index in members:
            rows_of[index] = (row,)
            late_s = asked[index].late_s * stretch if roll_s(asked, members) else 0.0
            if late_s:
                rows_of[index] = range(len(every) + len(rolled_s), len(every) + len(rolled_s) + len(SHARES))
                rolled_s += [onset_s + share * late_s for share in SHARES]
    if rolled_s:
        read = both(read, read_strokes(samples, every, heard.tuning_cents, np.array(rolled_s)))
    judged = judge_strings(asked, events, read, rows_of, shift)
    for match in chosen.matches:
        if events.members[match.note][0] in rows_of:
            continue
        fits = match.odds > match.rival
        for index in events.members[match.note]:
            verdict = Verdict.PLAYED if fits else Verdict.UNSURE
            judged[index] = JudgedString(verdict, _EVEN, asked[index].note.midi + shift if fits else None)
    return judged


def _pulse_of(asked: Sequence[TimedNote], events: Events, chosen: Played, found: _Times) -> Pulse:
    """The pulse of each unbroken part put together; tempo and drift are those of the longest."""
    row = {int(event): place for place, event in enumerate(found.events)}
    latest = {match.note: match for match in chosen.matches}
    timing_s = np.zeros(len(found.events))
    longest, most = None, 0
    for part in chosen.parts:
        own = [match.note for match in part.matches if latest.get(match.note) is match]
        if not own:
            continue
        rows = np.array([row[event] for event in own])
        beats = [(asked[events.members[event][0]].note.onset * 4).denominator == 1 for event in own]
        fit = fit_pulse(events.times_s[own], found.onsets_s[rows], np.array(beats))
        timing_s[rows] = fit.timing_s
        if len(own) > most:
            longest, most = fit, len(own)
    return replace(longest or fit_pulse(timing_s, timing_s, timing_s == 0), timing_s=timing_s)


# ---------------------------------------------------------------------------------------------------------
# Telling


def _told(
    take: Take,
    played: Timeline,
    ladder: Ladder,
    stages: tuple[Events, HeardChords, Sequence[Played], Played],
    found: _Times,
    judged: dict[int, JudgedString],
) -> Hearing:
    events, heard, times, chosen = stages
    asked, shift, late_s = played.notes, heard.alignment.shift, take.starts_s
    pulse = _pulse_of(asked, events, chosen, found)
    strokes = _strokes(events, found, pulse, late_s)
    left_out = _left_out(events, heard, found)
    notes: list[HeardNote] = []
    for index, timed in enumerate(asked):
        stroke = next(one for one in strokes if index in one.places)
        notes.append(_note(timed, stroke, judged.get(index), left_out.get(index)))
    moments = heard.candidates.times_s
    extras = _extras(events, heard, chosen, found, (asked, pulse.stretch, late_s))
    words = remarks_on_chords(asked, notes, strokes, shift)
    return Hearing(
        tempo_bpm=round(played.bpm / pulse.stretch, 1),
        start_s=round(float(found.onsets_s.min()) + late_s, 4),
        tuning_cents=round(heard.tuning_cents, 1),
        shift=shift,
        passes=tuple(_pass(one, moments + late_s) for one in times),
        notes=tuple(notes),
        extras=extras,
        timing_spread_ms=round(1000 * pulse.spread_s, 1),
        mean_offset_ms=round(1000 * pulse.offset_s, 1),
        drift_percent=round(pulse.drift_percent, 1),
        advice=advise(played, tuple(notes), extras, pulse, ladder, shift, words),
        strokes=strokes,
    )


def _pass(one: Played, moments_s: Floats) -> HeardPass:
    start_s, end_s = (round(float(moments_s[at]), 3) for at in one.moments)
    return HeardPass(start_s, end_s, one.complete)


def _written_spreads(asked: Sequence[TimedNote], events: Events, found: _Times) -> Floats:
    """How long each stroke found is written to take: a rolled chord takes its time."""
    return np.array([max(asked[index].late_s for index in events.members[event]) for event in found.events])


def _extras(
    events: Events,
    heard: HeardChords,
    chosen: Played,
    found: _Times,
    frame: tuple[Sequence[TimedNote], float, float],
) -> tuple[HeardExtra, ...]:
    """Strokes too many: struck about as clearly as the others, and no part of any of them."""
    asked, stretch, late_s = frame
    moments_s, rise = heard.candidates.times_s, heard.candidates.rise
    least = _AS_CLEAR * float(np.median(rise[[match.moment for match in chosen.matches]]))
    spreads_s = _written_spreads(asked, events, found) * stretch
    return tuple(
        HeardExtra(round(float(moments_s[at]) + late_s, 4), midi)
        for at, midi, _ in chosen.extras
        if rise[at] > least and not _belongs(float(moments_s[at]), found, spreads_s)
    )


def _belongs(moment_s: float, found: _Times, spreads_s: Floats) -> bool:
    """Whether a sounding is the swell of a stroke, or one of its later strings."""
    after_s = moment_s - found.onsets_s
    return bool(((after_s > -_TWICE_S) & (after_s < np.maximum(_TWICE_S, 2 * spreads_s + _TWICE_S))).any())


def _strokes(events: Events, found: _Times, pulse: Pulse, late_s: float) -> tuple[HeardStroke, ...]:
    middle_db = float(np.median(found.levels_db))
    row = {int(event): place for place, event in enumerate(found.events)}
    out = []
    for event, members in enumerate(events.members):
        if event not in row:
            out.append(HeardStroke(members))
            continue
        at = row[event]
        out.append(
            HeardStroke(
                members,
                onset_s=round(float(found.onsets_s[at]) + late_s, 4),
                timing_ms=round(1000 * float(pulse.timing_s[at]), 1),
                spread_ms=round(1000 * float(found.spreads_s[at]), 1) if len(members) > 1 else None,
                level_db=round(float(found.levels_db[at]) - middle_db, 1),
            )
        )
    return tuple(out)


def _left_out(events: Events, heard: HeardChords, found: _Times) -> dict[int, Verdict]:
    """For the notes of each stroke not found: missed, or unsure where something was struck at its time."""
    out: dict[int, Verdict] = {}
    for event, members in enumerate(events.members):
        if event in found.events:
            continue
        due_s = float(np.interp(events.times_s[event], events.times_s[found.events], found.onsets_s))
        inside = found.events[0] < event < found.events[-1]
        near = np.abs(heard.candidates.times_s - due_s) < _NEAR_DUE_S
        near &= np.abs(heard.candidates.times_s[:, None] - found.onsets_s).min(axis=1) > _TWICE_S
        struck = bool((heard.candidates.rise[near] > _CLEAR_RISE).any())
        verdict = Verdict.UNSURE if struck and inside else Verdict.MISSED
        out |= dict.fromkeys(members, verdict)
    return out


def _note(
    timed: TimedNote, stroke: HeardStroke, judged: JudgedString | None, left_out: Verdict | None
) -> HeardNote:
    if judged is None or stroke.onset_s is None:
        verdict = left_out or Verdict.UNSURE
        return HeardNote(timed.note.id, verdict, _SURE_LEFT_OUT if verdict is Verdict.MISSED else _EVEN)
    sounds = judged.midi is not None
    return HeardNote(
        timed.note.id,
        judged.verdict,
        round(judged.confidence, 3),
        onset_s=stroke.onset_s if sounds else None,
        timing_ms=stroke.timing_ms if sounds else None,
        heard_midi=judged.midi,
        level_db=stroke.level_db if len(stroke.places) == 1 else None,
        attack=_attack(timed) if sounds else None,
    )


def _attack(timed: TimedNote) -> HeardAttack:
    """A slur among chords is not told from a pluck yet."""
    return HeardAttack.UNSURE if timed.note.attack.is_slur else HeardAttack.PLUCK
