"""The ear from end to end: a take and a score go in, a hearing or a refusal comes out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from fretwright.base.errors import UsageError
from fretwright.ear.align import Alignment, Written, align, soundings
from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.arrivals import arrivals
from fretwright.ear.attacks import describe_attacks, slur_chance
from fretwright.ear.candidates import Candidates, at_moments, find_candidates, plucked_at, some_of, together
from fretwright.ear.chords import has_chords, listen_to_chords
from fretwright.ear.chosen import Played, last_complete, played_through
from fretwright.ear.confidence import Case, sure
from fretwright.ear.features import PITCHES, describe, tuning_of
from fretwright.ear.headline import advise
from fretwright.ear.judge import Measured, is_heard_anyway, second_look, verdicts, without_faint
from fretwright.ear.moving import rises_of, settled, starts_of, with_movement
from fretwright.ear.onsets import refined
from fretwright.ear.pitches import odds_of_pitches
from fretwright.ear.pulse import Pulse, fit_pulse
from fretwright.ear.sounding import cents_of, lengths_of, levels_of
from fretwright.ear.take import RATE_HZ, Refusal, Take
from fretwright.ear.touches import first_strokes, knocks_of, with_touches, without_touches
from fretwright.ear.verdicts import HeardExtra, HeardNote, HeardPass, Hearing
from fretwright.score.note import Attack
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import TimedNote, Timeline

_RUNNING_S: Final = 3.0
_LAST_NOTE_S: Final = 1.5
_LEAST_RIGHT: Final = 0.56
_LEAST_NOTES: Final = 4
_LEAST_OF_ALL: Final = 0.75
_A_NOTE: Final = 2.0
_AT_ONCE: Final = 512
_SLUR: Final = 0.5
_AGAIN_S: Final = np.arange(-7, 8) * 0.01


@dataclass(frozen=True, slots=True)
class Heard:
    """What the stages found, kept for drawing and explaining."""

    candidates: Candidates
    odds: Samples
    alignment: Alignment
    tuning_cents: float
    """First estimate, from all partials of the take."""


def listen(take: Take, played: Timeline, ladder: Ladder) -> Hearing | Refusal:
    """Judge a take of one exercise.

    ``played`` is the exercise at the tempo it was asked for. Raises
    :class:`~fretwright.base.errors.UsageError` for an exercise without notes.
    """
    asked = played.notes
    if not asked:
        raise UsageError("The exercise has no notes to listen for.", "Choose one with notes.")
    if has_chords(asked):
        return listen_to_chords(take, played, ladder)
    heard = hear_notes(take, asked)
    times = played_through(heard.alignment.passes, len(asked))
    chosen = last_complete(times)
    refusal = _unfit(heard, chosen, asked)
    if refusal is not None or chosen is None:
        return refusal or _nothing()
    return _told(take, played, ladder, heard, times, chosen)


def hear_notes(take: Take, asked: Sequence[TimedNote]) -> Heard:
    """Candidates, odds and alignment of a take.

    Where the first alignment leaves a note out, the ear listens again at the time at which its neighbours
    put it, candidate or not; then everything is aligned once more.
    """
    samples = take.samples
    found = find_candidates(samples)
    strong = found.times_s[found.rise > 0.3]
    tuning_cents = tuning_of(samples, strong if len(strong) else found.times_s)
    odds = odds_of(samples, found, tuning_cents, found)
    first = first_strokes(asked, found.times_s, odds)
    found, odds = some_of(found, first), odds[first]
    written = Written(
        np.array([timed.onset_s for timed in asked]),
        np.array([timed.note.midi for timed in asked]),
        np.array([_opens_bar(asked, index) for index in range(len(asked))]),
        rises_of(asked),
        starts_of(asked),
        knocks_of(asked),
        asked[-1].duration_s,
    )
    alignment = align(written, found.times_s, odds, plucked_at(found))
    again = _unheard_times(written, alignment, found.times_s)
    if len(again):
        more = at_moments(found, again)
        more_odds = odds_of(samples, more, tuning_cents, found)
        found, order = together(found, more)
        odds = np.concatenate([odds, more_odds])[order]
        alignment = align(written, found.times_s, odds, plucked_at(found))
    alignment = without_faint(asked, settled(alignment, asked, found, odds), found)
    alignment = without_touches(alignment, asked, found.times_s)
    return Heard(found, odds, alignment, tuning_cents)


def odds_of(samples: Samples, moments: Candidates, tuning_cents: float, among: Candidates) -> Samples:
    """Odds of all pitches at all moments, some moments at a time: their numbers take room."""
    pieces = [np.zeros((0, PITCHES), dtype=np.float32)]
    for start in range(0, len(moments.times_s), _AT_ONCE):
        some = some_of(moments, slice(start, start + _AT_ONCE))
        pieces.append(odds_of_pitches(describe(samples, some, tuning_cents, among)).alone)
    return np.concatenate(pieces)


def _unheard_times(written: Written, alignment: Alignment, moments_s: Floats) -> Floats:
    """Moments about the time of each note that a pass leaves out, in steps of 10 ms."""
    times: list[float] = []
    for one in alignment.passes:
        for left, right in pairwise(one.matches):
            missing = range(left.note + 1, right.note)
            ends = written.onsets_s[[left.note, right.note]]
            for note in missing:
                at_s = float(np.interp(written.onsets_s[note], ends, moments_s[[left.moment, right.moment]]))
                times += list(at_s + _AGAIN_S)
    return np.unique(np.round(np.array(times), 3)) if times else np.zeros(0)


def _opens_bar(asked: Sequence[TimedNote], index: int) -> bool:
    """Whether a note is the first of its bar: ids begin with their bar."""
    return index == 0 or asked[index].note.id.split("t")[0] != asked[index - 1].note.id.split("t")[0]


def _nothing() -> Refusal:
    return Refusal(
        "No playing was found in the recording.",
        "Check that the guitar is louder than everything else in the room, and record again.",
    )


def _unfit(heard: Heard, chosen: Played | None, asked: Sequence[TimedNote]) -> Refusal | None:
    """Why the take cannot be of this exercise, if so."""
    notes = int(np.sum(heard.odds.max(axis=1, initial=-9.0) > _A_NOTE))
    if chosen is None or notes < min(_LEAST_NOTES, len(asked)):
        return _nothing()
    first, last = chosen.matches[0].note, chosen.matches[-1].note
    span = last - first + 1
    right = sum(match.midi == asked[match.note].note.midi + heard.alignment.shift for match in chosen.matches)
    if span < min(len(asked), max(_LEAST_NOTES, len(asked) // 5)):
        return Refusal(
            "Too little of the exercise was found in the recording.",
            "Play it from the first note to the last, and leave a second of silence before and after.",
        )
    moved = heard.alignment.shift != 0
    if (right - 0.5 * len(chosen.extras)) < _LEAST_RIGHT * span or (moved and not _is_all(heard, chosen)):
        return Refusal(
            "What was played does not fit this exercise.",
            "Choose the exercise that you played, or record this one.",
        )
    return None


def _is_all(heard: Heard, chosen: Played) -> bool:
    """Whether the take is this exercise from end to end and little else.

    Of no other is it believed that all of it lies some frets away: many an exercise holds a run of others.
    """
    matched = sum(len(one.matches) for one in heard.alignment.passes)
    notes = len(soundings(heard.candidates.times_s, heard.odds, _A_NOTE))
    return chosen.complete and matched >= _LEAST_OF_ALL * notes


def _told(
    take: Take, played: Timeline, ladder: Ladder, heard: Heard, times: Sequence[Played], chosen: Played
) -> Hearing:
    asked, shift = played.notes, heard.alignment.shift
    measured, pulse, tuning_cents = measure(take.samples, asked, heard, chosen)
    missed = second_look(asked, measured, heard.candidates, heard.odds, shift)
    notes = verdicts(asked, measured, missed, tuning_cents, shift)
    notes = sure(Case(asked, measured, missed, heard.candidates, heard.odds, shift), notes)
    notes = with_touches(asked, notes)
    notes = with_movement(take.samples, asked, notes, (tuning_cents, shift, pulse.stretch))
    late_s = take.starts_s
    moments = heard.candidates.times_s
    extras = tuple(
        HeardExtra(round(float(moments[at]) + late_s, 4), midi)
        for at, midi, _ in chosen.extras
        if not is_heard_anyway(float(moments[at]), midi, asked, measured, shift)
    )
    return Hearing(
        tempo_bpm=round(played.bpm / pulse.stretch, 1),
        start_s=round(float(measured.onsets_s.min()) + late_s, 4),
        tuning_cents=round(tuning_cents, 1),
        shift=shift,
        passes=tuple(_pass(one, moments + late_s) for one in times),
        notes=notes if not late_s else tuple(_later(note, late_s) for note in notes),
        extras=extras,
        timing_spread_ms=round(1000 * pulse.spread_s, 1),
        mean_offset_ms=round(1000 * pulse.offset_s, 1),
        drift_percent=round(pulse.drift_percent, 1),
        advice=advise(played, notes, extras, pulse, ladder, shift),
    )


def _pass(one: Played, moments_s: Floats) -> HeardPass:
    first, last = one.moments
    return HeardPass(round(float(moments_s[first]), 3), round(float(moments_s[last]), 3), one.complete)


def _later(note: HeardNote, late_s: float) -> HeardNote:
    return note if note.onset_s is None else replace(note, onset_s=round(note.onset_s + late_s, 4))


def measure(
    samples: Samples, asked: Sequence[TimedNote], heard: Heard, chosen: Played
) -> tuple[Measured, Pulse, float]:
    """Onset, pitch, level, length and attack of every note found; the pulse; the tuning in cents."""
    matches = chosen.matches
    moments = heard.candidates.times_s[[match.moment for match in matches]]
    midi = np.array([match.midi for match in matches])
    running = np.zeros(len(matches))
    following = np.full(len(matches), np.inf)
    sounding = sorted(
        [(float(heard.candidates.times_s[match.moment]), match.midi) for match in matches]
        + [(float(heard.candidates.times_s[at]), number) for at, number, _ in chosen.extras]
    )
    starts = np.array([start for start, _ in sounding])
    for index, moment_s in enumerate(moments):
        before = int(np.searchsorted(starts, moment_s - 1e-6)) - 1
        if before >= 0 and moment_s - starts[before] < _RUNNING_S:
            running[index] = 440.0 * 2 ** ((sounding[before][1] - 69) / 12)
        if before + 2 < len(starts):
            following[index] = starts[before + 2]
    onsets, contrasts = refined(samples, moments, running)
    written_pluck = np.array([not asked[match.note].note.attack.is_slur for match in matches])
    slurs = slur_chance(describe_attacks(samples, onsets, contrasts, written_pluck))
    plucked = slurs < _SLUR
    onsets[plucked], _ = refined(samples, moments[plucked], running[plucked], let_go=True)
    following_s = np.append(moments[1:], np.inf)
    slid = ~plucked & [asked[match.note].note.attack is Attack.SLIDE for match in matches]
    onsets[slid] = arrivals(
        samples,
        moments[slid],
        following_s[slid],
        440.0 * 2 ** ((midi[slid] + heard.tuning_cents / 100 - 69) / 12),
    )
    ends = np.minimum(np.minimum(following, onsets + _LAST_NOTE_S), len(samples) / RATE_HZ)
    ends = np.maximum(ends, onsets + 0.01)
    cents = cents_of(samples, onsets, ends, midi, heard.tuning_cents)
    cents[[_has_no_pitch(asked[match.note]) for match in matches]] = np.nan
    tuning_cents = float(np.nanmedian(cents)) if np.isfinite(cents).any() else 0.0
    pulse = _pulse(asked, chosen, dict(zip((m.note for m in matches), onsets, strict=True)))
    measured = Measured(
        matches,
        onsets,
        pulse.timing_s,
        cents,
        levels_of(samples, onsets),
        lengths_of(samples, onsets, ends),
        ends - onsets,
        slurs,
    )
    return measured, pulse, tuning_cents


def _has_no_pitch(timed: TimedNote) -> bool:
    """Whether a note has no one pitch that could be out of tune."""
    return timed.note.techniques.bend is not None or timed.note.techniques.dead


def _pulse(asked: Sequence[TimedNote], chosen: Played, onsets: dict[int, float]) -> Pulse:
    """The pulse of each unbroken part, put together; tempo and drift are those of the longest."""
    timing: dict[int, float] = {}
    fits = []
    latest = {match.note: match for match in chosen.matches}
    for part in chosen.parts:
        notes = [match.note for match in part.matches if latest.get(match.note) is match]
        if not notes:
            continue
        written = np.array([asked[n].onset_s for n in notes])
        fit = fit_pulse(
            written, np.array([onsets[n] for n in notes]), np.array([_on_beat(asked[n]) for n in notes])
        )
        timing |= dict(zip(notes, fit.timing_s, strict=True))
        fits.append((len(notes), fit))
    longest = max(fits, key=lambda pair: pair[0])[1]
    return replace(longest, timing_s=np.array([timing[match.note] for match in chosen.matches]))


def _on_beat(timed: TimedNote) -> bool:
    return (timed.note.onset * 4).denominator == 1
