"""The class picture: on the exercise's own plate, how often each note fails, and which bar stops people.

What became of each note in each student's newest takes enters; a plate with marks and a table of bars leave.
Every student counts once, however much they record: a note's rate is the mean over students of the share of
their takes in which it was missed or wrong. What the ear left open is not counted on either side.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Final

from fretwright.ear.verdicts import Verdict
from fretwright.engrave.heard import HeardPlate, heard_plate
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.flows.agreement import Rate
from fretwright.score.marks import Mark, MarkedScore, MarkShape
from fretwright.score.score import Score

WORTH_A_MARK: Final = 0.1
"""Rates below are left off the plate: one slip in ten is nobody's stumbling block."""
STOPS_IN_SHARE: Final = 0.5
"""A bar stops a student who fails in it in at least this share of their takes."""
_MEANINGS: Final = {
    MarkShape.RING: "share of takes in which the note fails, mostly left out",
    MarkShape.CROSS: "share of takes in which the note fails, mostly as another note",
}
_FAILED: Final = frozenset({Verdict.MISSED, Verdict.WRONG})


@dataclass(frozen=True, slots=True)
class NoteOutcome:
    """What became of one written note in one take, a teacher's overrule counted before the ear."""

    student: int
    take: int
    note_id: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class NotePicture:
    """One note over the class."""

    note_id: str
    students: int
    """In whose takes it was told at all."""
    failing: float
    """Mean share of takes in which it failed, from 0 to 1."""
    missed: float
    """The part of it that was missed; the rest was wrong."""


@dataclass(frozen=True, slots=True)
class BarPicture:
    """One bar over the class."""

    number: int
    stopped: Rate
    """Students whom it stops, of those who played it."""
    failing: float
    """Mean of its notes' rates."""


@dataclass(frozen=True, slots=True)
class ClassPicture:
    """One exercise over the class."""

    students: int
    takes: int
    notes: tuple[NotePicture, ...]
    """In the order of the score; those that were told in no take are absent."""
    bars: tuple[BarPicture, ...]

    @property
    def worst(self) -> BarPicture | None:
        """The bar that stops most, of equals the one whose notes fail most; ``None`` where none does."""
        stopping = [bar for bar in self.bars if bar.stopped.hits]
        return max(
            stopping, key=lambda bar: (bar.stopped.share or 0.0, bar.failing, -bar.number), default=None
        )

    @property
    def headline(self) -> str:
        """Which bar stops people, in a sentence."""
        if not self.takes:
            return "Nobody has recorded this exercise yet."
        people = _counted(self.students, "student")
        if self.worst is None:
            return f"No bar stops anybody: {people}, {_counted(self.takes, 'take')}."
        stopped = self.worst.stopped
        return f"Bar {self.worst.number} stops {stopped.hits} of {_counted(stopped.cases, 'student')}."


def class_picture(score: Score, outcomes: Iterable[NoteOutcome]) -> ClassPicture:
    """Gather what became of the notes; those that the score does not have are passed over."""
    order = {note.id: place for place, note in enumerate(score.notes)}
    bar_of = {note.id: score.bar_at(note.onset).number for note in score.notes}
    told = [each for each in outcomes if each.note_id in order]
    by_note = sorted(_by_note(told).items(), key=lambda entry: order[entry[0]])
    notes = tuple(_note(note_id, some) for note_id, some in by_note)
    return ClassPicture(
        students=len({each.student for each in told}),
        takes=len({each.take for each in told}),
        notes=notes,
        bars=tuple(_bars(told, notes, bar_of)),
    )


def class_plate(
    score: Score,
    title: str,
    picture: ClassPicture,
    style: PlateStyle = PlateStyle(),  # noqa: B008 - immutable
    *,
    id_prefix: str = "class",
) -> HeardPlate:
    """The exercise's plate with the failure rates of its notes, in shapes and words."""
    words = f"{title}: the class"
    return heard_plate(
        engrave(score, style, title=words, id_prefix=f"{id_prefix}-plate"),
        class_marks(picture),
        title=words,
        description=_described(picture),
        id_prefix=f"{id_prefix}-heard",
    )


def class_marks(picture: ClassPicture) -> MarkedScore:
    """What is written onto the plate: the rate under each note that fails often enough to be worth it."""
    marks = tuple(_mark(note) for note in picture.notes if note.failing >= WORTH_A_MARK)
    shapes = {mark.shape for mark in marks}
    meanings = tuple((shape, words) for shape, words in _MEANINGS.items() if shape in shapes)
    return MarkedScore(headline="", marks=marks, meanings=meanings)


def _by_note(told: Iterable[NoteOutcome]) -> Mapping[str, Sequence[NoteOutcome]]:
    found: defaultdict[str, list[NoteOutcome]] = defaultdict(list)
    for each in told:
        if each.verdict is not Verdict.UNSURE:
            found[each.note_id].append(each)
    return found


def _note(note_id: str, some: Sequence[NoteOutcome]) -> NotePicture:
    by_student: defaultdict[int, list[Verdict]] = defaultdict(list)
    for each in some:
        by_student[each.student].append(each.verdict)
    failing = fmean(_share(verdicts, _FAILED) for verdicts in by_student.values())
    missed = fmean(_share(verdicts, {Verdict.MISSED}) for verdicts in by_student.values())
    return NotePicture(note_id, len(by_student), failing, missed)


def _share(verdicts: Sequence[Verdict], wanted: Iterable[Verdict]) -> float:
    asked = frozenset(wanted)
    return sum(verdict in asked for verdict in verdicts) / len(verdicts)


def _bars(
    told: Iterable[NoteOutcome], notes: Iterable[NotePicture], bar_of: Mapping[str, int]
) -> list[BarPicture]:
    """For each bar how many students fail in it again and again."""
    fails: defaultdict[tuple[int, int, int], bool] = defaultdict(bool)
    for each in told:
        fails[bar_of[each.note_id], each.student, each.take] |= each.verdict in _FAILED
    takes: defaultdict[tuple[int, int], list[bool]] = defaultdict(list)
    for (bar, student, _), failed in fails.items():
        takes[bar, student].append(failed)
    stopped: defaultdict[int, list[bool]] = defaultdict(list)
    for (bar, _), failures in takes.items():
        stopped[bar].append(fmean(failures) >= STOPS_IN_SHARE)
    rates: defaultdict[int, list[float]] = defaultdict(list)
    for note in notes:
        rates[bar_of[note.note_id]].append(note.failing)
    return [
        BarPicture(bar, Rate(sum(each), len(each)), fmean(rates[bar] or [0.0]))
        for bar, each in sorted(stopped.items())
    ]


def _mark(note: NotePicture) -> Mark:
    shape = MarkShape.RING if 2 * note.missed >= note.failing else MarkShape.CROSS
    return Mark(note.note_id, shape, f"{note.failing:.0%}")


def _described(picture: ClassPicture) -> str:
    """The picture in words, for whoever cannot see it."""
    notes = [f"{note.note_id}: {note.failing:.0%}" for note in picture.notes if note.failing >= WORTH_A_MARK]
    bars = [f"bar {bar.number}: {bar.stopped.hits} of {bar.stopped.cases}" for bar in picture.bars]
    told = [picture.headline]
    told += [f"Students stopped, {', '.join(bars)}."] if bars else []
    told += [f"Notes that fail, {', '.join(notes)}."] if notes else []
    return " ".join(told)


def _counted(count: int, word: str) -> str:
    return f"{count} {word if count == 1 else word + 's'}"
