"""What hands can do: stretches, fixed fingers and tempos."""

from collections.abc import Iterator
from contextlib import suppress
from typing import Final

from fretwright.base.errors import FretboardError
from fretwright.base.findings import Finding, Severity
from fretwright.check.case import Case
from fretwright.check.skills import skill_named
from fretwright.fretboard.neck import Place
from fretwright.fretboard.shapes import Shape, shape_at
from fretwright.score.note import Attack, Note
from fretwright.score.score import Score
from fretwright.score.timeline import TimedNote, timeline

STROKES_PER_SECOND: Final = 14.0
"""One limb repeats a movement 5 to 7 times a second (Fujii and others 2009, of drumming); a down- and an
up-stroke make one such movement, so that 14 strokes a second is where picking ends for almost everybody."""

FINGER_MOVES_PER_SECOND: Final = 7.0
"""The same source, for one finger that hammers or pulls again and again."""

_SHORTEST_RUN: Final = 4
"""Fewer quick notes than this are an ornament, which a hand throws faster than it can repeat."""


def beyond_the_hand(case: Case) -> Iterator[Finding]:
    """What the fingering search could not make playable.

    What even the largest hand cannot do is an error; what only a large hand can do is a warning.
    """
    by_id = {note.id: note for note in case.score.notes}
    hopeless = {(problem.note_id, problem.kind) for problem in case.largest.problems}
    for problem in case.fingered.problems:
        is_hopeless = (problem.note_id, problem.kind) in hopeless
        yield case.finding(
            problem.kind.value,
            Severity.ERROR if is_hopeless else Severity.WARNING,
            case.span_at(by_id[problem.note_id], "fingers", "position", "scale"),
            problem.message if is_hopeless else f"{problem.message} Only a large hand can play it.",
            problem.mend,
        )


def beyond_any_tempo(case: Case) -> Iterator[Finding]:
    """A goal at which the picking hand, or one finger, would have to move faster than hands do."""
    goal = case.exercise.ladder.goal_bpm
    notes = timeline(case.score, goal).notes
    picked = [timed for timed in notes if not timed.note.attack.is_slur]
    found = _fastest_run(picked, STROKES_PER_SECOND)
    if found is not None:
        yield _too_fast(case, found[0], f"{found[1]:.0f} strokes a second", STROKES_PER_SECOND)
    for finger in {timed.note.finger for timed in notes if timed.note.attack in _FINGER_ATTACKS}:
        moves = [
            timed for timed in notes if timed.note.finger == finger and timed.note.attack in _FINGER_ATTACKS
        ]
        found = _fastest_run(moves, FINGER_MOVES_PER_SECOND)
        if found is not None and finger is not None:
            what = f"{found[1]:.0f} slurs a second with the {finger.spoken}"
            yield _too_fast(case, found[0], what, FINGER_MOVES_PER_SECOND)


_FINGER_ATTACKS: Final = (Attack.HAMMER_ON, Attack.TAP)


def _fastest_run(notes: list[TimedNote], limit: float) -> tuple[Note, float] | None:
    """The first of the quickest run of movements and its rate, if above ``limit`` a second."""
    onsets = sorted({timed.onset_s: timed.note for timed in notes}.items())
    if len(onsets) < _SHORTEST_RUN:
        return None
    span = _SHORTEST_RUN - 1
    runs = [
        (span / (onsets[index + span][0] - onsets[index][0]), onsets[index][1])
        for index in range(len(onsets) - span)
    ]
    rate, note = max(runs, key=lambda run: run[0])
    return (note, rate) if rate > limit + 1e-9 else None


def _too_fast(case: Case, note: Note, what: str, limit: float) -> Finding:
    return case.finding(
        "tempo-beyond-hands",
        Severity.WARNING,
        case.span_of("tempo"),
        f"At the goal of {case.exercise.ladder.goal_bpm:g} the run from {note.place} on asks for {what};"
        f" hands stop at about {limit:g}.",
        "Lower the goal, or slur some of the notes.",
    )


def gaps_in_a_shape(case: Case, siblings: tuple[Case, ...]) -> Iterator[Finding]:
    """A string between the outer ones that the exercise's own shape uses and a sibling plays.

    A lesson that teaches the string skip leaves strings out on purpose.
    """
    shape = _own_shape(case, siblings)
    taught = {skill_named(name) for name, _ in case.lesson.teaches}
    if shape is None or not case.score.notes or "string skip" in taught:
        return
    played = {note.string for note in case.score.notes}
    owned = {note.place.string for note in shape.notes}
    for string in sorted(owned - played, reverse=True):
        if not min(played) < string < max(played):
            continue
        sibling = next((other for other in siblings if _plays(other, case, string, shape)), None)
        if sibling is not None:
            yield case.finding(
                "string-left-out",
                Severity.WARNING,
                case.span_of("strings", "tab", "path"),
                f"{case.exercise.title!r} leaves out string {string} of its shape,"
                f" which {sibling.exercise.title!r} plays.",
                f"Play string {string} too, or narrow the exercise so that the gap is meant.",
            )


def _own_shape(case: Case, siblings: tuple[Case, ...]) -> Shape | None:
    """The shape that an exercise was laid out from; for a tab, the shape of its scale that it moves in.

    That is the one at the position it names, or else one that a sibling was laid out from.
    """
    if case.exercise.shape is not None:
        return case.exercise.shape
    score = case.score
    if score.scale is None:
        return None
    shapes = [other.exercise.shape for other in siblings if other.exercise.shape is not None]
    if score.position is not None:
        with suppress(FretboardError):  # that scale has no shape there, so that none can be left
            shapes = [shape_at(score.scale, score.neck, score.position), *shapes]
    return next((shape for shape in shapes if shape.scale == score.scale and _holds_all(shape, score)), None)


def _holds_all(shape: Shape, score: Score) -> bool:
    return shape.neck == score.neck and {note.place for note in score.notes} <= _places(shape)


def _places(shape: Shape) -> set[Place]:
    return {note.place for note in shape.notes}


def _plays(other: Case, case: Case, string: int, shape: Shape) -> bool:
    """Whether another exercise moves in the same shape and plays the string."""
    return (
        other is not case
        and _holds_all(shape, other.score)
        and any(note.string == string for note in other.score.notes)
    )
