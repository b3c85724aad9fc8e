"""Where a recording and the lesson's text differ: the teacher sees the slip before the students do."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fretwright.course.model import Exercise
from fretwright.ear.track_rehear import Demonstration
from fretwright.ear.track_unlisted import Unlisted
from fretwright.ear.verdicts import HeardAttack, HeardNote, Verdict
from fretwright.score.playing import Playing
from fretwright.score.score import Score
from fretwright.score.timeline import TimedNote, Timeline, timeline

_SHOWN_NOTES: Final = 12
_MANY_PLUCKED: Final = 0.5
_LEAST_PLUCKED: Final = 2


class SlipKind(StrEnum):
    """In what a recording and a text differ."""

    WRONG = "wrong"
    MISSED = "missed"
    EXTRA = "extra"
    PLUCKED = "plucked"
    BROKEN_OFF = "broken-off"
    UNLISTED = "unlisted"
    """Playing that is none of the lesson's exercises."""
    NOT_PLAYED = "not-played"
    """An exercise of the text that is never played."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One difference."""

    kind: SlipKind
    message: str
    """A sentence for the teacher."""
    start_s: float | None = None
    """In the recording's time."""
    end_s: float | None = None
    exercise: str | None = None
    """``lesson/exercise``."""
    note: str | None = None
    """Id of the written note."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One demonstration with the exercise that it is of."""

    exercise: Exercise
    score: Score
    heard: Demonstration
    playing: Playing

    @property
    def ends_early(self) -> bool:
        """Whether notes of the exercise come after its last."""
        return self.playing.last < len(timeline(self.score).notes) - 1


def slips_of(
    shown: Sequence[Shown], unlisted: Sequence[Unlisted], exercises: Sequence[Exercise]
) -> tuple[Slip, ...]:
    """All differences: those with a time in its order, then the exercises that are not played at all."""
    timed = [slip for each in shown for slip in _of_demonstration(each)]
    timed += [_of_unlisted(each, exercises[0]) for each in unlisted]
    played = {each.exercise.name for each in shown}
    played |= {name for each in shown for name in each.heard.also_fits}
    absent = [
        Slip(SlipKind.NOT_PLAYED, f"{each.title} is not played.", exercise=each.name)
        for each in exercises
        if each.name not in played
    ]
    return (*sorted(timed, key=lambda slip: slip.start_s or 0.0), *absent)


def _of_demonstration(shown: Shown) -> Iterator[Slip]:
    written = timeline(shown.score)
    name = shown.exercise.name
    if shown.heard.judged:
        for place, note in enumerate(shown.heard.notes):
            slip = _of_note(shown, written, shown.heard.first + place, note)
            if slip is not None:
                yield slip
        for extra in shown.heard.extras:
            tone = shown.score.key.spell(extra.midi).pretty
            message = f"{tone} is played, and the text has no such note there."
            yield Slip(SlipKind.EXTRA, message, extra.onset_s, extra.onset_s, name)
        yield from _plucked(shown, written)
    if shown.ends_early:
        bar = _bar(written, written.notes[shown.playing.last])
        message = f"The exercise is broken off in bar {bar}."
        yield Slip(SlipKind.BROKEN_OFF, message, shown.playing.ends_s, shown.playing.ends_s, name)


def _of_note(shown: Shown, written: Timeline, place: int, heard: HeardNote) -> Slip | None:
    timed = written.notes[place]
    note, key = timed.note, shown.score.key
    bar = _bar(written, timed)
    asked = f"{key.spell(note.midi).pretty} (string {note.string}, fret {note.fret})"
    if heard.verdict is Verdict.WRONG and heard.heard_midi is not None:
        told = f"Bar {bar}: {key.spell(heard.heard_midi).pretty} is played where the text has {asked}."
        return Slip(SlipKind.WRONG, told, heard.onset_s, heard.onset_s, shown.exercise.name, note.id)
    if heard.verdict is Verdict.MISSED:
        at_s = _due_s(shown, written, place)
        told = f"Bar {bar}: {asked} is in the text and is not heard."
        return Slip(SlipKind.MISSED, told, at_s, at_s, shown.exercise.name, note.id)
    return None


def _due_s(shown: Shown, written: Timeline, place: int) -> float:
    """When a note that was not heard would have come: as far between its neighbours as it is written."""
    known = [
        (written.notes[shown.playing.first + index].onset_s, onset_s)
        for index, onset_s in enumerate(shown.playing.onsets_s)
        if onset_s is not None
    ]
    onset_s = written.notes[place].onset_s
    after = min(max(1, bisect_right(known, (onset_s, float("inf")))), len(known) - 1)
    (left, left_s), (right, right_s) = known[after - 1], known[after]
    return left_s if right <= left else left_s + (onset_s - left) * (right_s - left_s) / (right - left)


def _plucked(shown: Shown, written: Timeline) -> Iterator[Slip]:
    """Slurs that are plucked; one alone may be the ear's mistake."""
    slurs = [
        note
        for place, note in enumerate(shown.heard.notes)
        if written.notes[shown.heard.first + place].note.attack.is_slur
        and note.attack in {HeardAttack.PLUCK, HeardAttack.SLUR}
    ]
    plucked = [note for note in slurs if note.attack is HeardAttack.PLUCK]
    if len(plucked) >= max(_LEAST_PLUCKED, _MANY_PLUCKED * len(slurs)):
        message = f"{len(plucked)} of {len(slurs)} slurs are plucked."
        yield Slip(SlipKind.PLUCKED, message, plucked[0].onset_s, plucked[-1].onset_s, shown.exercise.name)


def _of_unlisted(unlisted: Unlisted, exercise: Exercise) -> Slip:
    key = exercise.score.key
    tones = [key.spell(midi).pretty for midi in unlisted.midi]
    listed = " ".join(tones[:_SHOWN_NOTES]) + (" …" if len(tones) > _SHOWN_NOTES else "")
    message = f"Something is played that is none of the lesson's exercises: {listed}"
    return Slip(SlipKind.UNLISTED, message, unlisted.start_s, unlisted.end_s)


def _bar(written: Timeline, timed: TimedNote) -> int:
    place = bisect_right(written.bars, timed.onset_s + 1e-6, key=lambda bar: bar[0]) - 1
    return written.bars[place][1].bar.number
