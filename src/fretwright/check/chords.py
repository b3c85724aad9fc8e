"""Chords and strumming: whether a chart says what it means, and leaves both hands the time they need."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby
from typing import Final

from fretwright.base.findings import Finding, Severity
from fretwright.check.case import Case, enumeration
from fretwright.check.hands import FINGER_MOVES_PER_SECOND
from fretwright.fingering.strokes import strokes
from fretwright.fretboard.change import Change
from fretwright.fretboard.voicing import Voicing
from fretwright.fretboard.voicing_names import name_of_frets
from fretwright.fretboard.voicing_sound import wanted_of
from fretwright.score.held import changes_of, voicings_of
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.theory.chord import Chord
from fretwright.theory.pitch import NoteName

_EASY_MM: Final = 60.0
"""A change that costs no more than this is one movement of the hand (common practice, no source)."""
_SECOND_MOVEMENT_MM: Final = 200.0
"""So much more takes the time of another movement (common practice, no source)."""


def strokes_against_the_beat(case: Case) -> Iterator[Finding]:
    """Strokes that go against the swing of a hand that keeps time: down on the beat and up in between.

    Down-strokes alone are a way of playing, single bass notes are none of the swing, and groups of three have
    more than one usual way.
    """
    score = case.score
    strums = [group for group in _together(score) if len(group) > 1 and group[0].picking_finger is None]
    if "strum" not in case.exercise.fields or all(group[0].stroke is Stroke.DOWN for group in strums):
        return
    first_ids = {group[0].id for group in strums}
    bare = score.with_notes(tuple(_without_stroke(note) for note in score.notes))
    usual = {note.id: note.stroke for note in strokes(bare).notes}
    against = [
        note
        for note in score.notes
        if note.id in first_ids and note.stroke != usual[note.id] and not _in_threes(score, note)
    ]
    if not against:
        return
    note = against[0]
    bar = score.bar_at(note.onset)
    beats = (note.onset - bar.start) / bar.meter.beat
    where = f"{'on' if beats.denominator == 1 else 'after'} beat {int(beats) + 1}"
    way = note.stroke.value if note.stroke else ""
    more = f", and {len(against) - 1} more like it" if len(against) > 1 else ""
    yield case.finding(
        "stroke-against-beat",
        Severity.ADVICE,
        case.span_of("strum"),
        f"In bar {bar.number} a stroke {where} goes {way}, against the swing of a hand in time{more}.",
        "Let strokes on the beat go down and those between go up, unless it is meant.",
    )


def _in_threes(score: Score, note: Note) -> bool:
    return note.values[0].tuplet is not None or score.bar_at(note.onset).meter.is_compound


def _together(score: Score) -> list[list[Note]]:
    return [list(group) for _, group in groupby(score.notes, key=lambda note: note.onset)]


def _without_stroke(note: Note) -> Note:
    return replace(note, stroke=None)


def names_against_voicings(case: Case) -> Iterator[Finding]:
    """A chord held so that it sounds as another one."""
    for voicing in voicings_of(case.score):
        wrong = _what_is_wrong(voicing)
        if wrong is None:
            continue
        names = name_of_frets(voicing.frets, voicing.neck)
        called = f"; what sounds is {names[0].chord}" if names and names[0].chord != voicing.chord else ""
        yield case.finding(
            "voicing-is-another-chord",
            Severity.WARNING,
            case.span_of("voicings", "chords"),
            f"{voicing.text} is named {voicing.chord}, but {wrong}{called}.",
            "Check the frets, or call the chord by what sounds.",
        )


def _what_is_wrong(voicing: Voicing) -> str | None:
    chord = voicing.chord
    sounding = {pitch.midi % 12 for pitch in voicing.pitches}
    strange = [str(pitch.name) for pitch in voicing.pitches if pitch.midi % 12 not in chord.pitch_classes]
    if strange:
        distinct = list(dict.fromkeys(strange))
        return f"{enumeration(distinct)} {'is' if len(distinct) == 1 else 'are'} no part of it"
    missing = [_name_in(chord, needed) for needed in sorted(wanted_of(chord, voicing.neck).needed - sounding)]
    if missing:
        return f"its {enumeration(missing)} never sounds"
    lowest = min(voicing.pitches, key=lambda pitch: pitch.midi)
    if chord.is_slash and lowest.midi % 12 != chord.bass.pitch_class:
        return f"its lowest note is {lowest.name}"
    return None


def _name_in(chord: Chord, pitch_class: int) -> str:
    named: dict[int, NoteName] = {note.pitch_class: note for note in (*chord.notes, chord.bass)}
    return str(named[pitch_class])


def changes_too_fast(case: Case) -> Iterator[Finding]:
    """A change for which the goal leaves less time than the movements of one hand take.

    One limb repeats a movement 5 to 7 times a second (Fujii and others 2009, of drumming); an easy change is
    one movement, a wide one takes the time of more.
    """
    goal = case.exercise.ladder.goal_bpm
    tempo = case.score.tempo.at_start(goal)
    worst: tuple[float, float, Change] | None = None
    for timed in changes_of(case.score):
        has_s = tempo.seconds_between(timed.since, timed.at)
        more = max(0.0, timed.change.cost.total - _EASY_MM) / _SECOND_MOVEMENT_MM
        needs_s = (1.0 + more) / FINGER_MOVES_PER_SECOND
        if has_s < needs_s - 1e-9 and (worst is None or has_s / needs_s < worst[0] / worst[1]):
            worst = has_s, needs_s, timed.change
    if worst is None:
        return
    has_s, needs_s, found = worst
    yield case.finding(
        "change-beyond-hands",
        Severity.WARNING,
        case.span_of("tempo"),
        f"At the goal of {goal:g} the change from {found.before.chord} to {found.after.chord} has"
        f" {has_s:.2f} s; it takes a hand about {needs_s:.2f} s.",
        "Lower the goal, leave out the stroke before the change, or choose voicings nearer to each other.",
    )
