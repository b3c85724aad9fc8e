"""Planning: course -> what is practised; hearings -> what practice knows of takes.

The one place where the ear's verdicts and the plan meet. A plan is made anew from hearings whenever it is
wanted, so that a later version of the rules holds for the whole history.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from itertools import pairwise
from statistics import median
from typing import Any, Final

from fretwright.base.errors import UsageError
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.ear.verdicts import HeardAttack, HeardNote, Hearing, Verdict
from fretwright.practice.faults import Came, NoteOutcome, TakeOutcome, faults_of, is_clean, slur_level_db
from fretwright.practice.history import Fault, FaultKind, PracticeExercise, TakeSummary
from fretwright.score.score import LabelKind, Score
from fretwright.score.timeline import TimedNote, timeline

_VALUES_OF_MUSIC: Final = 3
"""A drill has one or two note values; a line that somebody would listen to has more."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """Which take it was."""

    id: str
    exercise: str
    """``lesson/exercise``."""
    at: datetime
    """When it was played, aware."""
    asked_bpm: float


def practised(checked: Checked) -> tuple[PracticeExercise, ...]:
    """The exercises of a course that can be practised against the ear, in teaching order."""
    return tuple(
        _practised(exercise, checked.score_of(exercise))
        for exercise in checked.course.exercises
        if is_heard(checked.score_of(exercise))
    )


def is_heard(score: Score) -> bool:
    """Whether the ear can judge it: single notes and chords alike, as long as there is a note."""
    return bool(score.notes)


def _practised(exercise: Exercise, score: Score) -> PracticeExercise:
    played = timeline(score)
    return PracticeExercise(
        name=exercise.name,
        title=exercise.title,
        lesson=exercise.lesson,
        ladder=exercise.ladder,
        beats=played.length_s * played.bpm / 60,
        is_music=is_music(exercise, score),
    )


def is_music(exercise: Exercise, score: Score) -> bool:
    """Whether it is a lick or a piece, as opposed to a drill; the course does not say it, its notes do.

    Music has chords over it, or was written out and moves in at least three note values.
    """
    if any(label.kind is LabelKind.CHORD for label in score.labels):
        return True
    values = {note.duration for note in score.notes}
    return exercise.is_tab and exercise.source is None and len(values) >= _VALUES_OF_MUSIC


def summary_of(score: Score, heard: Hearing, stamp: Stamp) -> TakeSummary:
    """What practice keeps of one judged take.

    Raises :class:`~fretwright.base.errors.UsageError` if the hearing is of another score.
    """
    outcome = outcome_of(score, heard)
    return TakeSummary(
        id=stamp.id,
        exercise=stamp.exercise,
        at=stamp.at,
        asked_bpm=stamp.asked_bpm,
        played_bpm=heard.tempo_bpm,
        clean=is_clean(outcome),
        faults=faults_of(outcome),
        spread_ms=outcome.spread_ms,
        interval_ms=outcome.interval_ms,
        slur_db=slur_level_db(outcome.notes),
    )


def stored_summary(summary: TakeSummary) -> dict[str, Any]:
    """A summary as a JSON document."""
    return {**asdict(summary), "at": summary.at.isoformat()}


def summary_from(stored: Mapping[str, Any]) -> TakeSummary:
    """What :func:`stored_summary` made."""
    faults = tuple(Fault(**{**each, "kind": FaultKind(each["kind"])}) for each in stored["faults"])
    return TakeSummary(**{**stored, "at": datetime.fromisoformat(stored["at"]), "faults": faults})


def outcome_of(score: Score, heard: Hearing) -> TakeOutcome:
    """A hearing as practice judges it.

    Raises :class:`~fretwright.base.errors.UsageError` if the hearing is of another score.
    """
    played = timeline(score, heard.tempo_bpm).notes
    if [timed.note.id for timed in played] != [note.id for note in heard.notes]:
        raise UsageError("What was heard is of another exercise.", "Hear the take again.")
    gaps = [two.onset_s - one.onset_s for one, two in pairwise(played) if two.onset_s > one.onset_s]
    return TakeOutcome(
        notes=tuple(_note(timed, note) for timed, note in zip(played, heard.notes, strict=True)),
        interval_ms=1000 * median(gaps) if gaps else 1000.0,
        spread_ms=heard.timing_spread_ms,
        drift_percent=heard.drift_percent,
        extras=len(heard.extras),
        shift=heard.shift,
        complete=any(one.complete for one in heard.passes),
    )


def _note(timed: TimedNote, heard: HeardNote) -> NoteOutcome:
    told = heard.attack not in {None, HeardAttack.UNSURE}
    return NoteOutcome(
        bar=bar_of(heard.id),
        came=Came(heard.verdict.value),
        is_slur=timed.note.attack.is_slur,
        plucked=heard.attack is HeardAttack.PLUCK if told else None,
        timing_ms=heard.timing_ms,
        cents=heard.pitch_cents,
        level_db=heard.level_db,
    )


def bar_of(note_id: str) -> int:
    """The number of the bar in which a note stands, as its id says (``b2t3-8s4``)."""
    return int(note_id[1 : note_id.index("t")])


def overruled(heard: Hearing, meant: Mapping[int, Verdict]) -> Hearing:
    """The same hearing with a teacher's verdicts in place of the ear's, by the note's place in it.

    What was measured of such a note is left out: it rested on what the ear took it for.
    """
    notes = tuple(
        HeardNote(note.id, meant[place], 1.0, onset_s=note.onset_s) if place in meant else note
        for place, note in enumerate(heard.notes)
    )
    return replace(heard, notes=notes)
