"""Why the ear said what it said of a take: its evidence beside the written notes, and the picture of it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from fretwright.base.errors import UsageError
from fretwright.check.check import Checked
from fretwright.ear.align import Match
from fretwright.ear.explain import STEP_S, Explanation, explain
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.take import Refusal, Take, read_take
from fretwright.ear.verdicts import HeardNote, Hearing, Verdict
from fretwright.engrave.evidence import evidence_picture
from fretwright.flows.practise import bend_words, vibrato_words
from fretwright.score.evidence import Evidence, Found, Moment, NoteEvidence
from fretwright.score.marks import MarkShape
from fretwright.score.timeline import TimedNote, timeline
from fretwright.theory.key import Key

_SHAPES: Final = {
    Verdict.MISSED: MarkShape.RING,
    Verdict.WRONG: MarkShape.CROSS,
    Verdict.UNSURE: MarkShape.DIAMOND,
}
_BESIDE: Final = 3
"""Semitones above and below all that is written or was found that are shown as well."""
_LOOKED_S: Final = 0.12
"""How far about its due time a note that was not found was looked for."""


@dataclass(frozen=True, slots=True)
class Explained:
    """What was said of a take, and the picture that tells why."""

    answer: Hearing | Refusal
    svg: str | None
    """``None`` where the file could not even be read."""


def explain_take(checked: Checked, name: str, path: Path, bpm: float | None = None) -> Explained:
    """Listen to a take as :func:`fretwright.flows.practise.hear` does, and draw why it says what it says.

    A take that is refused is drawn as well, as far as there was anything to listen to. Raises
    :class:`~fretwright.base.errors.UsageError` as that does.
    """
    exercise = checked.course.exercise(name)
    if not path.is_file():
        raise UsageError(f"There is no file {path}.", "Give the recording's path.")
    score = checked.fingered[exercise.name].score
    played = timeline(score, bpm or exercise.ladder.start_bpm)
    take = read_take(path)
    if isinstance(take, Refusal):
        return Explained(take, None)
    found = explain(take, played, exercise.ladder)
    evidence = evidence_of(take, played.notes, found, score.key)
    title = f"{exercise.title}: what the ear went by"
    return Explained(found.answer, evidence_picture(evidence, title=title, id_prefix="evidence"))


def evidence_of(take: Take, asked: Sequence[TimedNote], found: Explanation, key: Key) -> Evidence:
    """The evidence of a take, of those pitches that were written or found."""
    late_s, times_s = take.starts_s, found.candidates.times_s
    extras = found.chosen.extras if found.chosen is not None else ()
    notes = tuple(_notes(asked, found, key, late_s)) if found.chosen is not None else ()
    ways = [
        tuple(Found(float(times_s[one.moment]) + late_s, one.midi) for one in time.matches)
        for time in found.times
    ]
    judged = [time is found.chosen for time in found.times]
    pitches = [timed.note.midi + found.shift for timed in asked] + [midi for _, midi, _ in extras]
    pitches += [each.midi for way in ways for each in way]
    pitches += [note.found.midi for note in notes if note.found is not None]
    low = max(LOWEST_MIDI, min(pitches) - _BESIDE)
    high = min(LOWEST_MIDI + PITCHES - 1, max(pitches) + _BESIDE)
    return Evidence(
        headline=_headline(found.answer),
        length_s=take.length_s + late_s,
        step_s=STEP_S,
        levels_db=_course(found.levels_db, late_s, -60.0),
        rises=_course(found.candidates.rise_curve, late_s, 0.0),
        changes=_course(found.candidates.change_curve, late_s, 0.0),
        lowest_midi=low,
        pitch_names=tuple(key.spell(midi).pretty for midi in range(low, high + 1)),
        moments=tuple(
            Moment(
                round(float(at_s) + late_s, 3),
                tuple(round(float(one), 1) for one in row[low - LOWEST_MIDI : high + 1 - LOWEST_MIDI]),
            )
            for at_s, row in zip(times_s, found.odds, strict=True)
        ),
        notes=notes,
        way=next((way for way, is_judged in zip(ways, judged, strict=True) if is_judged), ()),
        too_many=tuple(Found(float(times_s[at]) + late_s, midi) for at, midi, _ in extras),
        others=tuple(way for way, is_judged in zip(ways, judged, strict=True) if not is_judged),
    )


def _headline(answer: Hearing | Refusal) -> str:
    if isinstance(answer, Refusal):
        return f"{answer.reason} {answer.mend}"
    return answer.advice.headline


def _course(
    values: "np.ndarray[tuple[int], np.dtype[np.float64]]", late_s: float, rest: float
) -> tuple[float, ...]:
    """A course in the recording's own time: before the sound begins there is nothing."""
    before = [rest] * round(late_s / STEP_S)
    return (*before, *(round(float(value), 2) for value in values))


def _notes(asked: Sequence[TimedNote], found: Explanation, key: Key, late_s: float) -> Iterator[NoteEvidence]:
    matches = {} if found.chosen is None else {match.note: match for match in found.chosen.matches}
    times_s = found.candidates.times_s
    known = sorted(matches)
    places = [float(times_s[matches[step].moment]) for step in known]
    written = [asked[found.steps[step][0]].onset_s for step in known]
    told = found.answer.notes if isinstance(found.answer, Hearing) else (None,) * len(asked)
    for step, members in enumerate(found.steps):
        match = matches.get(step)
        for number in members:
            timed, note = asked[number], told[number]
            midi = timed.note.midi + found.shift
            due_s = float(np.interp(timed.onset_s, written, places))
            heard = _heard_midi(match, note, alone=len(members) == 1)
            sounds = None if match is None or heard is None else (match.moment, heard)
            why = [*(_why_not(due_s, midi, found) if sounds is None else _why(sounds, midi, found, key))]
            if sounds is not None and number == members[0]:
                # once for all strings of a chord
                why.append(_standing_out(sounds[0], found))
            yield NoteEvidence(
                timed.note.id,
                key.spell(midi).pretty,
                midi,
                due_s + late_s,
                None if sounds is None else Found(float(times_s[sounds[0]]) + late_s, sounds[1]),
                None if note is None else _SHAPES.get(note.verdict),
                (*_verdict(note), *why),
            )


def _heard_midi(match: Match | None, note: HeardNote | None, *, alone: bool) -> int | None:
    """What was heard of a note: of a line the alignment says it, of a chord's string its own verdict."""
    if match is None:
        return None
    return match.midi if alone else note.heard_midi if note is not None else None


def _verdict(note: HeardNote | None) -> Iterator[str]:
    if note is None:
        yield "not judged"
        return
    yield f"{note.verdict.value} {100 * note.confidence:.0f} %"
    if note.timing_ms is not None:
        yield f"{abs(note.timing_ms):.0f} ms {'late' if note.timing_ms >= 0 else 'early'}"
    if note.attack is not None:
        yield note.attack.value
    yield from bend_words(note.bend)
    yield from vibrato_words(note.vibrato)


def _why(sounds: tuple[int, int], midi: int, found: Explanation, key: Key) -> Iterator[str]:
    """What spoke for a sounding: its odds, the next best pitch's, and how it stood out."""
    moment, heard = sounds
    row = found.odds[moment]
    at, own = heard - LOWEST_MIDI, midi - LOWEST_MIDI
    if 0 <= at < PITCHES:
        yield f"{key.spell(heard).pretty} {row[at]:+.1f}"
        if all(len(members) == 1 for members in found.steps):
            # beside a chord's other strings the next best pitch says nothing
            others = row.copy()
            others[at] = -np.inf
            best = int(others.argmax())
            yield f"next {key.spell(best + LOWEST_MIDI).pretty} {others[best]:+.1f}"
    if heard != midi and 0 <= own < PITCHES:
        yield f"written {key.spell(midi).pretty} {row[own]:+.1f}"


def _standing_out(moment: int, found: Explanation) -> str:
    return f"pluck {found.candidates.rise[moment]:.1f}, change {found.candidates.change[moment]:.1f}"


def _why_not(due_s: float, midi: int, found: Explanation) -> Iterator[str]:
    near = np.abs(found.candidates.times_s - due_s) < _LOOKED_S
    at = midi - LOWEST_MIDI
    if not near.any() or not 0 <= at < PITCHES:
        yield "nothing starts near"
        return
    yield f"at best {found.odds[near, at].max():+.1f}"
    yield f"pluck {found.candidates.rise[near].max():.1f} near"
